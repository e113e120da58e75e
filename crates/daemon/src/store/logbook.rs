//! The logbook: the list of firings and what happened in each.

use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OptionalExtension, Row};

use super::StoreError;
use super::migrations::migrate;

/// How long a writer waits for another program that is reading the logbook.
const PATIENCE: Duration = Duration::from_secs(5);

/// How a firing came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// It is under way.
    Running,
    /// The schedule ran to its end.
    Finished,
    /// A person ended it.
    ShutOff,
    /// An interlock ended it.
    Tripped,
    /// The program or the power ended it.
    Interrupted,
    /// A sensor could not have guided it when it fell due.
    NotLit,
    /// A person called it off before it fell due.
    Cancelled,
}

/// A firing about to begin.
#[derive(Clone, Debug)]
pub struct NewFiring {
    /// The schedule's title.
    pub title: String,
    /// Its file's name.
    pub schedule: String,
    /// Its text, as fired.
    pub schedule_text: String,
    /// The cone it aims at.
    pub aim: Option<String>,
    /// Whether the kiln is simulated.
    pub simulated: bool,
    /// When it is lit, RFC 3339.
    pub started: String,
    /// The firing that the power ended and that it carries on.
    pub carries_on: Option<i64>,
    /// The probes and banks it is fired with, as JSON; `None` in firings from before they were noted.
    pub parts: Option<String>,
    /// Why it is a proving firing (SR-10), in words; `None` when it is none.
    pub proving: Option<String>,
}

/// A firing as the logbook has it.
#[derive(Clone, Debug)]
pub struct FiringRow {
    /// Its number.
    pub id: i64,
    /// What was asked for.
    pub firing: NewFiring,
    /// How it came out.
    pub outcome: Outcome,
    /// How it ended, once it has.
    pub closing: Option<Closing>,
}

/// How a firing ended.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Closing {
    /// When, RFC 3339.
    pub ended: String,
    /// From light-up, s.
    pub duration_s: f64,
    /// The hottest reading, °C.
    pub hottest_c: Option<f64>,
    /// The cone reached.
    pub cone: Option<String>,
    /// The last reading, °C.
    pub last_c: Option<f64>,
}

/// What is known of the kiln from the record of the latest firing.
#[derive(Clone, Debug, PartialEq)]
pub struct LastSeen {
    /// When that record ended, RFC 3339.
    pub ended: String,
    /// The last reading in it, °C.
    pub last_c: f64,
}

/// What kind of thing happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// A trip.
    Trip,
    /// Heat was withheld.
    Withheld,
    /// A notice.
    Notice,
    /// An order, with what became of it.
    Order,
    /// A cone was seen.
    ConeSeen,
    /// The phase changed.
    Phase,
    /// Anything about the record itself.
    Record,
}

/// Something that happened.
#[derive(Clone, Debug)]
pub struct Event {
    /// In which firing; `None` at rest.
    pub firing: Option<i64>,
    /// When, RFC 3339.
    pub time: String,
    /// From light-up, s.
    pub at_s: Option<f64>,
    /// What kind of thing.
    pub kind: EventKind,
    /// Its name in the vocabulary.
    pub name: String,
    /// What a person reads.
    pub words: String,
}

impl Outcome {
    const ALL: [Self; 7] = [
        Self::Running,
        Self::Finished,
        Self::ShutOff,
        Self::Tripped,
        Self::Interrupted,
        Self::NotLit,
        Self::Cancelled,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Running => "running",
            Self::Finished => "finished",
            Self::ShutOff => "shut-off",
            Self::Tripped => "tripped",
            Self::Interrupted => "interrupted",
            Self::NotLit => "not-lit",
            Self::Cancelled => "cancelled",
        }
    }

    fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|outcome| outcome.name() == name)
    }
}

impl EventKind {
    const ALL: [Self; 7] =
        [Self::Trip, Self::Withheld, Self::Notice, Self::Order, Self::ConeSeen, Self::Phase, Self::Record];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Trip => "trip",
            Self::Withheld => "withheld",
            Self::Notice => "notice",
            Self::Order => "order",
            Self::ConeSeen => "cone-seen",
            Self::Phase => "phase",
            Self::Record => "record",
        }
    }

    fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

/// The logbook. Clones share one connection; whoever uses it may wait for the disk.
#[derive(Clone, Debug)]
pub struct Logbook(Arc<Mutex<Connection>>);

impl Logbook {
    /// Opens the logbook, making or bringing it up to date as needed.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        Self::connect(path).map_err(|why| {
            if let StoreError::Logbook(rusqlite::Error::SqliteFailure(failure, words)) = &why
                && matches!(failure.code, ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
            {
                let why = words.clone().unwrap_or_else(|| failure.to_string());
                return StoreError::Damaged { path: path.display().to_string(), why };
            }
            why
        })
    }

    fn connect(path: &Path) -> Result<Self, StoreError> {
        let mut connection = Connection::open(path)?;
        connection.busy_timeout(PATIENCE)?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        // Nothing acknowledged is lost in a power cut (SR-44).
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.pragma_update(None, "foreign_keys", "ON")?;
        migrate(&mut connection)?;
        Ok(Self(Arc::new(Mutex::new(connection))))
    }

    fn connection(&self) -> MutexGuard<'_, Connection> {
        // A panic elsewhere leaves SQLite itself in order: an open transaction rolls back.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Notes a firing about to begin; gives its number.
    pub fn begin(&self, firing: &NewFiring) -> Result<i64, StoreError> {
        let connection = self.connection();
        connection.execute(
            "INSERT INTO firings (title, schedule, schedule_text, aim, simulated, started, parts, proving,
                 carries_on, outcome)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, 'running')",
            (
                &firing.title,
                &firing.schedule,
                &firing.schedule_text,
                &firing.aim,
                firing.simulated,
                &firing.started,
                &firing.parts,
                &firing.proving,
                firing.carries_on,
            ),
        )?;
        Ok(connection.last_insert_rowid())
    }

    /// Takes back a firing that did not begin after all.
    pub fn discard(&self, id: i64) -> Result<(), StoreError> {
        self.connection().execute("DELETE FROM firings WHERE id = ?1", [id])?;
        Ok(())
    }

    /// Notes how a firing's heating came out.
    pub fn decide(&self, id: i64, outcome: Outcome) -> Result<(), StoreError> {
        self.connection().execute("UPDATE firings SET outcome = ?2 WHERE id = ?1", (id, outcome.name()))?;
        Ok(())
    }

    /// Closes a firing; one whose outcome is still open becomes interrupted.
    pub fn close(&self, id: i64, closing: &Closing) -> Result<(), StoreError> {
        self.connection().execute(
            "UPDATE firings SET ended = ?2, duration_s = ?3, hottest_c = ?4, cone = ?5, last_c = ?6,
                    outcome = CASE outcome WHEN 'running' THEN 'interrupted' ELSE outcome END
             WHERE id = ?1",
            (id, &closing.ended, closing.duration_s, closing.hottest_c, &closing.cone, closing.last_c),
        )?;
        Ok(())
    }

    /// Notes an event.
    pub fn note(&self, event: &Event) -> Result<(), StoreError> {
        self.connection().execute(
            "INSERT INTO events (firing, time, at_s, kind, name, words) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            (event.firing, &event.time, event.at_s, event.kind.name(), &event.name, &event.words),
        )?;
        Ok(())
    }

    /// Every firing, the newest first.
    pub fn firings(&self) -> Result<Vec<FiringRow>, StoreError> {
        let connection = self.connection();
        let mut query = connection.prepare_cached("SELECT * FROM firings ORDER BY id DESC")?;
        let rows = query.query_map([], read_firing)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// One firing.
    pub fn firing(&self, id: i64) -> Result<Option<FiringRow>, StoreError> {
        let connection = self.connection();
        let mut query = connection.prepare_cached("SELECT * FROM firings WHERE id = ?1")?;
        Ok(query.query_row([id], read_firing).optional()?)
    }

    /// Firings that were never closed.
    pub fn unclosed(&self) -> Result<Vec<FiringRow>, StoreError> {
        Ok(self.firings()?.into_iter().filter(|row| row.closing.is_none()).collect())
    }

    /// The parts of the latest firing that ran to its end, on the simulated kiln or on a real one.
    pub fn parts_proven(&self, simulated: bool) -> Result<Option<String>, StoreError> {
        let connection = self.connection();
        let mut query = connection.prepare_cached(
            "SELECT parts FROM firings WHERE outcome = 'finished' AND simulated = ?1 AND parts IS NOT NULL
             ORDER BY id DESC LIMIT 1",
        )?;
        Ok(query.query_row([simulated], |row| row.get(0)).optional()?)
    }

    /// Numbers firings from after this one, where they are not further already: a new logbook beside the
    /// traces of a lost one must not give their numbers again.
    pub fn number_after(&self, firing: i64) -> Result<(), StoreError> {
        let connection = self.connection();
        let known = connection
            .execute("UPDATE sqlite_sequence SET seq = max(seq, ?1) WHERE name = 'firings'", [firing])?;
        if known == 0 {
            connection.execute("INSERT INTO sqlite_sequence (name, seq) VALUES ('firings', ?1)", [firing])?;
        }
        Ok(())
    }

    /// The number of the latest firing; zero before the first.
    pub fn latest(&self) -> Result<i64, StoreError> {
        let connection = self.connection();
        Ok(connection.query_row("SELECT coalesce(max(id), 0) FROM firings", [], |row| row.get(0))?)
    }

    /// Where the latest firing's record leaves the kiln. `None` where nothing is known: no firing after
    /// number `after`, none with a reading, or one that is still recorded.
    pub fn last_seen(&self, after: i64) -> Result<Option<LastSeen>, StoreError> {
        let connection = self.connection();
        let mut query = connection
            .prepare_cached("SELECT ended, last_c FROM firings WHERE id > ?1 ORDER BY id DESC LIMIT 1")?;
        let found: Option<(Option<String>, Option<f64>)> =
            query.query_row([after], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
        Ok(found.and_then(|(ended, last_c)| Some(LastSeen { ended: ended?, last_c: last_c? })))
    }

    /// What happened in a firing, in the order of time.
    pub fn events(&self, firing: i64) -> Result<Vec<Event>, StoreError> {
        let connection = self.connection();
        let mut query = connection.prepare_cached("SELECT * FROM events WHERE firing = ?1 ORDER BY id")?;
        let rows = query.query_map([firing], |row| {
            Ok(Event {
                firing: row.get("firing")?,
                time: row.get("time")?,
                at_s: row.get("at_s")?,
                kind: EventKind::named(&row.get::<_, String>("kind")?).unwrap_or(EventKind::Record),
                name: row.get("name")?,
                words: row.get("words")?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

fn read_firing(row: &Row<'_>) -> rusqlite::Result<FiringRow> {
    let ended: Option<String> = row.get("ended")?;
    let (duration_s, hottest_c, cone) = (row.get("duration_s")?, row.get("hottest_c")?, row.get("cone")?);
    let last_c = row.get("last_c")?;
    let outcome: String = row.get("outcome")?;
    Ok(FiringRow {
        id: row.get("id")?,
        firing: NewFiring {
            title: row.get("title")?,
            schedule: row.get("schedule")?,
            schedule_text: row.get("schedule_text")?,
            aim: row.get("aim")?,
            simulated: row.get("simulated")?,
            started: row.get("started")?,
            carries_on: row.get("carries_on")?,
            parts: row.get("parts")?,
            proving: row.get("proving")?,
        },
        outcome: Outcome::named(&outcome).unwrap_or(Outcome::Interrupted),
        closing: match (ended, duration_s) {
            (Some(ended), Some(duration_s)) => Some(Closing { ended, duration_s, hottest_c, cone, last_c }),
            (Some(_) | None, Some(_) | None) => None,
        },
    })
}
