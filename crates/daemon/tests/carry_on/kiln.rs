//! A kiln whose file asks for carrying on, fired, killed and started again.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use control::{Evidence, Finding, Interlock, Part, Severity};
use daemon::store::{DataFolder, Latch};
use pyrometry::units::Millis;
use serde_json::{Value, json};

use crate::common::{self, Daemon, saggar};

/// A data folder with a kiln file that asks for carrying on, and a schedule.
pub(crate) struct Kiln {
    pub(crate) data: tempfile::TempDir,
}

impl Kiln {
    pub(crate) fn new() -> Self {
        let data = tempfile::tempdir().expect("a folder");
        fs::create_dir(data.path().join("schedules")).expect("made");
        let schedule =
            "title = \"Slowly\"\nscale = \"C\"\n[[segment]]\nrate = 200\nto = 600\nsoak = \"1 h\"\n";
        fs::write(data.path().join("schedules/slowly.toml"), schedule).expect("written");
        let kiln = Self { data };
        let text = fs::read_to_string(common::config("kilns/simulated.toml")).expect("a kiln file");
        let carries_on = "on_return = \"carry on\"\ngap_at_most = \"15 min\"\ndrop_at_most = 100";
        let text = text.replace("on_return = \"remain off\"", carries_on);
        assert!(text.contains(carries_on));
        fs::write(kiln.file(), text).expect("written");
        kiln
    }

    /// With contacts that sense these besides.
    pub(crate) fn sensing(sensed: &[&str]) -> Self {
        let kiln = Self::new();
        let text = fs::read_to_string(kiln.file()).expect("text");
        let contacts = sensed.iter().map(|sensed| format!("\n[[contact]]\nsenses = \"{sensed}\"\n"));
        fs::write(kiln.file(), text + &contacts.collect::<String>()).expect("written");
        kiln
    }

    pub(crate) fn file(&self) -> PathBuf {
        self.data.path().join("kiln.toml")
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.data.path().join(name)
    }

    pub(crate) fn trace(&self) -> PathBuf {
        DataFolder::trace(self.data.path(), 1)
    }

    /// As if every start so far had been long ago: three starts in a row would be too many.
    pub(crate) fn forget_starts(&self) {
        fs::write(self.path("starts"), "0\n").expect("written");
    }

    /// As if a trip had been latched before the power went.
    pub(crate) fn latch_a_trip(&self) {
        let trip = Finding {
            interlock: Interlock::AboveCeiling,
            severity: Severity::Trip,
            part: Some(Part::Probe(0)),
            evidence: Evidence { seen: 1291.0, bound: 1290.0, lasted: Millis::from_seconds(3) },
        };
        Latch::at(self.path("latch")).write(Some(trip)).expect("written");
    }

    /// Writes a file anew with something in it replaced.
    pub(crate) fn change(path: &Path, from: &str, to: &str) {
        let text = fs::read_to_string(path).expect("text");
        assert!(text.contains(from), "{from} in {}", path.display());
        fs::write(path, text.replace(from, to)).expect("written");
    }

    pub(crate) fn start(&self) -> Daemon {
        self.start_at("60")
    }

    pub(crate) fn start_at(&self, speed: &str) -> Daemon {
        self.start_as(saggar(), speed)
    }

    /// By a command that was made ready for it.
    pub(crate) fn start_as(&self, command: Command, speed: &str) -> Daemon {
        let file = self.file();
        let file = file.to_str().expect("a path");
        Daemon::start_as(command, self.data.path(), &["--kiln", file, "--speed", speed])
    }

    /// Started so slowly that a person has a few seconds while it looks at the kiln.
    pub(crate) fn looked_at(&self) -> Daemon {
        let daemon = self.start_at("3");
        daemon.wait_until("looked at", is_looked_at);
        daemon
    }

    /// Lights the schedule and waits until it is two minutes in, warm by a few degrees.
    pub(crate) fn lit(&self) -> Daemon {
        let daemon = self.start();
        press(&daemon);
        assert_eq!(daemon.light_up("slowly.toml").body, json!({"firing": 1}));
        daemon.wait_until("two minutes in", |now| {
            now["firing"]["elapsed_s"].as_f64().is_some_and(|elapsed_s| elapsed_s > 120.0)
        });
        daemon
    }

    /// Started again, with the firing looked at: what the page says became of it.
    pub(crate) fn started_again(&self) -> (Daemon, String) {
        let daemon = self.start();
        let became = decided(&daemon);
        (daemon, became)
    }

    /// Started again after a kill, it stays off and says this.
    pub(crate) fn stays_off(&self, why: &str) -> Daemon {
        let daemon = self.start();
        Self::says_it_stays_off(&daemon, why);
        daemon
    }

    /// A daemon that has been started again says that it stays off, and why.
    pub(crate) fn says_it_stays_off(daemon: &Daemon, why: &str) {
        let became = decided(daemon);
        assert!(became.starts_with("It is not carried on, and the kiln stays off. "), "{became}");
        assert!(became.contains(why), "{became}");
        is_off(daemon);
        let events = daemon.get("/api/firings/1").body["events"].to_string();
        assert!(events.contains("not-carried-on") && events.contains(why), "{events}");
    }
}

pub(crate) fn became(now: &Value) -> Option<String> {
    let attention = now["attention"].as_array()?;
    let told = attention.iter().find(|told| told["name"] == "interrupted")?;
    told["done"].as_str().map(str::to_owned)
}

/// What the page says, once it is decided, became of the firing.
pub(crate) fn decided(daemon: &Daemon) -> String {
    let now = daemon.wait_until("decided", |now| became(now).is_some() && !is_looked_at(now));
    became(&now).expect("told")
}

pub(crate) fn is_looked_at(now: &Value) -> bool {
    became(now).is_some_and(|became| became.contains("being looked at"))
}

/// Presses the kiln's button, where it has one.
pub(crate) fn press(daemon: &Daemon) {
    if daemon.post("/api/simulated/button", &json!({})).status == 200 {
        daemon.wait_until("pressed", |now| now["light_up"]["presence_shown"] == true);
    }
}

pub(crate) fn is_off(daemon: &Daemon) {
    let now = daemon.now();
    assert_eq!((&now["contactor"], &now["firing"]), (&json!(false), &Value::Null), "{now}");
    assert_eq!(daemon.get("/api/firings").body.as_array().map(Vec::len), Some(1));
}

/// Started at a real kiln's speed: it looks at the kiln for 15 s.
pub(crate) fn looks_at_it(kiln: &Kiln) -> Daemon {
    let file = kiln.file();
    let daemon = Daemon::start_with(kiln.data.path(), &["--kiln", file.to_str().expect("a path")]);
    daemon.wait_until("looked at", is_looked_at);
    daemon
}
