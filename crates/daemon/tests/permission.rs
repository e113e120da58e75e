//! What a light-up needs, on the real program.

mod common;

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::Stdio;

use common::{CHECKS, Daemon, config, run, saggar};
use serde_json::{Value, json};

const QUICK: &str =
    "title = \"Quick\"\nscale = \"C\"\n[[segment]]\nrate = 300\nto = 120\nsoak = \"20 min\"\n";

/// A data folder with a schedule that is soon over, and a kiln file in it.
fn folder(kiln: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let shelf = folder.path().join("data/schedules");
    std::fs::create_dir_all(&shelf).expect("a shelf");
    std::fs::write(shelf.join("quick.toml"), QUICK).expect("a schedule");
    let file = folder.path().join("kiln.toml");
    std::fs::write(&file, kiln).expect("a kiln file");
    (folder, file)
}

fn kiln(from: &str, to: &str) -> String {
    let usual = std::fs::read_to_string(config("kilns/simulated.toml")).expect("the simulated kiln");
    assert!(usual.contains(from), "{from}");
    usual.replacen(from, to, 1)
}

fn with_contact(senses: &str) -> String {
    format!("{}\n[[contact]]\nsenses = \"{senses}\"\n", kiln("", ""))
}

fn start(folder: &Path, file: &Path, speed: &str) -> Daemon {
    let file = file.display().to_string();
    Daemon::start_with(&folder.join("data"), &["--kiln", &file, "--speed", speed])
}

/// Fires the quick schedule to its end.
fn prove(daemon: &Daemon) {
    let lit = daemon.light_up("quick.toml");
    assert_eq!(lit.status, 200, "{lit:?}");
    let number = &lit.body["firing"];
    daemon.wait_until("finished", |_| {
        let firings = daemon.get("/api/firings").body;
        firings[0]["id"] == *number && firings[0]["outcome"] == "finished"
    });
}

#[test]
fn sr_10_a_first_firing_proves_the_parts_and_the_next_with_the_same_parts_does_not() {
    let (folder, file) = folder(&kiln("", ""));
    let daemon = start(folder.path(), &file, "3600");
    let why = daemon.get("/api/light-up").body["proving"]["why"][0].as_str().map(str::to_owned);
    assert!(why.expect("nothing is proven yet").contains("No firing with these parts"));
    prove(&daemon);
    assert_eq!(daemon.get("/api/light-up").body["proving"], Value::Null);
    daemon.wait_until("cool again", |now| now["chamber_c"].as_f64().is_some_and(|c| c < 60.0));
    prove(&daemon);
    let firings = daemon.get("/api/firings").body;
    assert_eq!(firings[0]["proving"], Value::Null);
    assert!(firings[1]["proving"].is_string(), "{firings}");
    let summary = daemon.get("/api/firings/1").body["summary"].to_string();
    assert!(summary.contains("It was a proving firing"), "{summary}");
    drop(daemon);
    let data = folder.path().join("data").display().to_string();
    let told = run(&["logbook", "--data", &data]).stdout;
    let told = String::from_utf8(told).expect("text");
    assert_eq!(told.lines().filter(|line| line.contains("(proving firing)")).count(), 1, "{told}");
}

#[test]
fn sr_10_another_type_of_thermocouple_is_lit_only_once_it_is_confirmed_and_as_a_proving_firing() {
    let (folder, file) = folder(&kiln("", ""));
    prove(&start(folder.path(), &file, "3600"));
    std::fs::write(&file, kiln("thermocouple = \"K\"", "thermocouple = \"N\"")).expect("changed");
    let daemon = start(folder.path(), &file, "60");
    let asks = daemon.get("/api/light-up").body;
    let why = asks["proving"]["why"].to_string();
    assert!(why.contains("changed from K to N"), "{why}");
    assert_eq!(asks["checklist"].as_array().map(Vec::len), Some(6));
    let refused = daemon.light_up("quick.toml");
    assert_eq!((refused.status, &refused.body["missing"]), (409, &json!(["type-changed-1"])));
    let mut arguments = vec!["light-up", "quick.toml", "--daemon", &daemon.address];
    arguments.extend(CHECKS.iter().flat_map(|check| ["--confirm", check]));
    let told = String::from_utf8(run(&arguments).stderr).expect("text");
    assert!(told.contains("--confirm type-changed-1") && told.contains("This is a proving firing"), "{told}");
    arguments.extend(["--confirm", "type-changed-1"]);
    assert!(run(&arguments).status.success());
    let status = String::from_utf8(run(&["status", "--daemon", &daemon.address]).stdout).expect("text");
    assert!(status.contains("A proving firing") && status.contains("from K to N"), "{status}");
}

#[test]
fn sr_46_with_a_button_a_firing_is_lit_only_by_whoever_pressed_it_at_the_kiln() {
    let (folder, file) = folder(&with_contact("presence button"));
    let daemon = start(folder.path(), &file, "60");
    let refused = daemon.light_up("quick.toml");
    assert_eq!(refused.status, 409);
    assert!(refused.body["why"].to_string().contains("Press the button at the kiln"), "{refused:?}");
    assert_eq!(daemon.now()["light_up"]["presence_shown"], false);
    assert_eq!(daemon.get("/api/firings").body, json!([]), "nothing is left behind");
    assert_eq!(daemon.post("/api/simulated/button", &json!({})).status, 200);
    daemon.wait_until("pressed", |now| now["light_up"]["presence_shown"] == true);
    assert_eq!(daemon.light_up("quick.toml").status, 200);
}

#[test]
fn sr_46_without_a_button_there_is_none_to_press_and_the_checklist_asks_for_somebody() {
    let (folder, file) = folder(&kiln("", ""));
    let daemon = start(folder.path(), &file, "60");
    assert_eq!(daemon.post("/api/simulated/button", &json!({})).status, 404);
    assert_eq!(daemon.now()["light_up"]["presence_shown"], Value::Null);
    let asks = daemon.get("/api/light-up").body.to_string();
    assert!(asks.contains("I stand at the kiln now"), "{asks}");
}

#[test]
fn sr_29_a_kiln_with_a_mirror_contact_is_fired_by_warden_and_daemon_without_a_word_of_it() {
    let (folder, file) = folder(&with_contact("contactor"));
    let daemon = start(folder.path(), &file, "1200");
    prove(&daemon);
    let events = daemon.get("/api/firings/1").body["events"].to_string();
    assert!(!events.contains("contactor-not-following"), "{events}");
    daemon.wait_until("open again", |now| now["contactor"] == false && now["light_up"]["possible"] == true);
}

#[test]
fn a_firing_lit_with_the_start_on_a_simulated_kiln_says_what_it_confirmed() {
    let (folder, file) = folder(&with_contact("presence button"));
    let mut child = saggar()
        .args(["serve", "--listen", "127.0.0.1:0", "--alight", "quick.toml", "--kiln"])
        .arg(&file)
        .arg("--data")
        .arg(folder.path().join("data"))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the daemon starts");
    let stdout = BufReader::new(child.stdout.take().expect("its output"));
    let mut said = String::new();
    for line in stdout.lines().map_while(Result::ok) {
        said = format!("{said}{line}\n");
        if line.contains("is alight") {
            break;
        }
    }
    child.kill().expect("killed");
    child.wait().expect("gone");
    assert!(said.contains("Firing 1 is alight"), "{said}");
    assert!(said.contains("--alight confirms the whole checklist"), "{said}");
    assert!(said.contains("It is a proving firing. No firing with these parts"), "{said}");
}

/// The logbook as it was before parts were noted, with a firing that ran to its end.
const BEFORE_PARTS: &str = "
    CREATE TABLE migrations (version INTEGER PRIMARY KEY, applied TEXT NOT NULL);
    INSERT INTO migrations VALUES (1, '2026-01-01T00:00:00Z');
    CREATE TABLE firings (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        title TEXT NOT NULL, schedule TEXT NOT NULL, schedule_text TEXT NOT NULL, aim TEXT,
        simulated INTEGER NOT NULL, started TEXT NOT NULL, ended TEXT, outcome TEXT NOT NULL,
        duration_s REAL, hottest_c REAL, cone TEXT
    );
    CREATE TABLE events (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        firing INTEGER REFERENCES firings (id) ON DELETE CASCADE,
        time TEXT NOT NULL, at_s REAL, kind TEXT NOT NULL, name TEXT NOT NULL, words TEXT NOT NULL
    );
    CREATE INDEX events_of_firing ON events (firing, id);
    INSERT INTO firings VALUES (1, 'Old', 'old.toml', '', NULL, 1, '2026-01-02T08:00:00Z',
        '2026-01-03T08:00:00Z', 'finished', 86400.0, 1200.0, '6');
";

#[test]
fn sr_10_a_logbook_from_before_parts_were_noted_is_kept_and_proves_none() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = daemon::store::DataFolder::logbook(folder.path());
    let connection = rusqlite::Connection::open(&path).expect("a logbook");
    connection.execute_batch(BEFORE_PARTS).expect("as it was");
    drop(connection);
    let logbook = daemon::store::Logbook::open(&path).expect("brought up to date");
    let old = logbook.firing(1).expect("read").expect("kept");
    assert_eq!((old.firing.title.as_str(), old.firing.parts, old.firing.proving), ("Old", None, None));
    assert_eq!(old.closing.expect("closed").hottest_c, Some(1200.0));
    assert_eq!(logbook.parts_proven(true).expect("read"), None);
    assert_eq!(logbook.last_seen(0).expect("read"), None, "it did not say what it read last");
}

/// Puts a firing into the logbook that ended so long ago at that temperature.
fn left_at(folder: &Path, c: f64, minutes_ago: i64) {
    let ended = jiff::Timestamp::now() - jiff::SignedDuration::from_mins(minutes_ago);
    let path = daemon::store::DataFolder::logbook(&folder.join("data"));
    let logbook = rusqlite::Connection::open(path).expect("the logbook");
    logbook.busy_timeout(std::time::Duration::from_mins(1)).expect("patience");
    logbook
        .execute(
            "INSERT INTO firings (title, schedule, schedule_text, simulated, started, ended, outcome,
                                  duration_s, last_c)
             VALUES ('Before', 'before.toml', '', 1, ?1, ?1, 'shut-off', 3600.0, ?2)",
            (ended.to_string(), c),
        )
        .expect("noted");
}

#[test]
fn sr_46_a_kiln_that_reads_cold_ten_minutes_after_900_degrees_is_not_lit_and_a_month_later_it_is() {
    let (folder, file) = folder(&kiln("", ""));
    let daemon = start(folder.path(), &file, "1");
    left_at(folder.path(), 900.0, 10);
    let refused = daemon.light_up("quick.toml");
    assert_eq!(refused.status, 409);
    let why = refused.body["why"].as_str().expect("words");
    assert!(why.contains("cannot be colder than") && why.contains("was left at 900 °C"), "{why}");
    assert_eq!(daemon.now()["phase"], "resting");
    left_at(folder.path(), 900.0, 30 * 24 * 60);
    assert_eq!(daemon.light_up("quick.toml").status, 200);
}
