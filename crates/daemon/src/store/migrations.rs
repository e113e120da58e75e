//! The logbook's shape, version by version. A version that was released is never changed again.

use rusqlite::{Connection, TransactionBehavior};

use super::StoreError;

/// Each brings the logbook from the version before it to its own, counted from one.
const MIGRATIONS: [&str; 3] = [
    "
    CREATE TABLE firings (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        title TEXT NOT NULL,
        schedule TEXT NOT NULL,          -- the file's name
        schedule_text TEXT NOT NULL,     -- as fired
        aim TEXT,                        -- the cone it aimed at
        simulated INTEGER NOT NULL,
        started TEXT NOT NULL,           -- RFC 3339
        ended TEXT,                      -- RFC 3339; NULL while it runs
        outcome TEXT NOT NULL,
        duration_s REAL,
        hottest_c REAL,
        cone TEXT                        -- reached
    );
    CREATE TABLE events (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        firing INTEGER REFERENCES firings (id) ON DELETE CASCADE,  -- NULL at rest
        time TEXT NOT NULL,              -- RFC 3339
        at_s REAL,                       -- from light-up
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        words TEXT NOT NULL
    );
    CREATE INDEX events_of_firing ON events (firing, id);
",
    "
    ALTER TABLE firings ADD COLUMN parts TEXT;    -- probes and banks it was fired with, JSON
    ALTER TABLE firings ADD COLUMN proving TEXT;  -- why it was a proving firing; NULL when it was none
    ALTER TABLE firings ADD COLUMN last_c REAL;   -- the last reading of its record
",
    "
    ALTER TABLE firings ADD COLUMN carries_on INTEGER REFERENCES firings (id);  -- the one the power ended
",
];

/// Brings a logbook to the newest version.
pub(super) fn migrate(connection: &mut Connection) -> Result<(), StoreError> {
    connection.execute_batch(
        "CREATE TABLE IF NOT EXISTS migrations (version INTEGER PRIMARY KEY, applied TEXT NOT NULL)",
    )?;
    let found: i64 =
        connection.query_row("SELECT coalesce(max(version), 0) FROM migrations", [], |row| row.get(0))?;
    let known = i64::try_from(MIGRATIONS.len()).unwrap_or(i64::MAX);
    if found > known {
        return Err(StoreError::FromTheFuture { found, known });
    }
    for (version, sql) in (1_i64..).zip(MIGRATIONS).filter(|(version, _)| *version > found) {
        let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        change.execute_batch(sql)?;
        let now = jiff::Timestamp::now().to_string();
        change.execute("INSERT INTO migrations VALUES (?1, ?2)", (version, now))?;
        change.commit()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Logbook;

    #[test]
    fn a_logbook_of_version_1_keeps_its_firings_which_carry_none_on() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("logbook.sqlite");
        let old = Connection::open(&path).expect("a logbook");
        let begun = "CREATE TABLE migrations (version INTEGER PRIMARY KEY, applied TEXT NOT NULL);
            INSERT INTO migrations VALUES (1, '2026-11-25T10:00:00Z');";
        old.execute_batch(begun).expect("begun");
        old.execute_batch(MIGRATIONS[0]).expect("of version 1");
        let fired = "INSERT INTO firings (title, schedule, schedule_text, simulated, started, outcome)
            VALUES ('Bisque', 'bisque.toml', '', 0, '2026-11-25T10:00:00Z', 'finished')";
        old.execute_batch(fired).expect("fired");
        drop(old);
        let row = Logbook::open(&path).expect("newer").firing(1).expect("readable").expect("kept");
        assert_eq!((row.firing.title.as_str(), row.firing.carries_on), ("Bisque", None));
    }
}
