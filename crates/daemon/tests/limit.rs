//! A daemon whose warden has a limit probe of its own: real processes, and a file of readings for the probe.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use hal::Level;
use hal::pins::{Pin, Pins as _, SimulatedPins};
use serde_json::{Value, json};

use common::{Daemon, config, saggar};

const LIMIT: &str =
    "ceiling-c 1280\namplifier MAX31856\nthermocouple K\nreadings limit-readings\nmains-hz 50\n";
const FLAT_OUT: &str = "title = \"Flat out\"\nscale = \"C\"\n[[segment]]\nrate = \"flat out\"\nto = 900\n";

struct Kiln {
    daemon: Daemon,
    pins: SimulatedPins,
    folder: tempfile::TempDir,
}

/// The simulated kiln's file with a limit file beside it.
fn kiln_file(folder: &Path, limit: &str) -> PathBuf {
    let kiln = fs::read_to_string(config("kilns/simulated.toml")).expect("the simulated kiln");
    let file = folder.join("kiln.toml");
    fs::write(&file, format!("{kiln}\n[warden]\nlimit_file = \"limit\"\n")).expect("written");
    fs::write(folder.join("limit"), limit).expect("written");
    file
}

impl Kiln {
    fn new(reading: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let data = folder.path().join("data");
        fs::create_dir_all(data.join("schedules")).expect("a shelf");
        fs::write(data.join("schedules/flat-out.toml"), FLAT_OUT).expect("written");
        fs::write(folder.path().join("limit-readings"), reading).expect("written");
        let file = kiln_file(folder.path(), LIMIT);
        let daemon = Daemon::start_with(&data, &["--kiln", file.to_str().expect("a path"), "--speed", "5"]);
        let pins = SimulatedPins::open(&data.join("pins")).expect("pins");
        Self { daemon, pins, folder }
    }

    fn reads(&self, reading: &str) {
        let path = self.folder.path().join("limit-readings");
        let fresh = path.with_extension("new");
        fs::write(&fresh, reading).expect("written");
        fs::rename(&fresh, &path).expect("put in place whole");
    }

    fn wait_until(&self, wanted: &str, holds: impl Fn(&Value) -> bool) -> Value {
        self.daemon.wait_until(wanted, holds)
    }

    fn light(&self) {
        let lit = self.daemon.light_up("flat-out.toml");
        assert_eq!(lit.status, 200, "{lit:?}");
        self.wait_until("it heats", |now| now["contactor"] == true);
    }

    fn is_refused_with(&self, words: &str) {
        let refused = self.daemon.light_up("flat-out.toml");
        let why = refused.body["why"].as_str().unwrap_or_default().to_owned();
        assert!(refused.status == 409 && why.contains(words), "{refused:?}");
    }
}

fn of_limit(now: &Value) -> Option<&Value> {
    now["attention"].as_array()?.iter().find(|told| told["part"] == "limit probe")
}

#[test]
fn sr_37_a_firing_whose_limit_probe_passes_its_ceiling_is_off_at_once_trips_and_says_what_it_read() {
    let mut kiln = Kiln::new("1279");
    kiln.light();
    let now = kiln.daemon.now();
    assert_eq!(of_limit(&now), None);
    assert_eq!(now["limit"], json!({ "finding": "within", "reading_c": 1279.0, "ceiling_c": 1280.0 }));
    kiln.reads("1281.5");
    let now = kiln.wait_until("tripped", |now| now["phase"] == "tripped");
    assert_eq!(kiln.pins.level(Pin::Contactor), Ok(Level::Off));
    assert_eq!(kiln.pins.not_off(), []);
    assert_eq!(now["trip"]["name"], "contactor-not-following");
    let told = of_limit(&now).expect("told beside the trip");
    assert_eq!(told["name"], "above-limit");
    let names = [0, 1].map(|place| now["attention"][place]["name"].clone());
    assert_eq!(names, ["contactor-not-following", "above-limit"], "the worst first");
    let seen = told["seen"].as_str().expect("words");
    assert!(seen.contains("reads 1281.5 °C, above its ceiling of 1280 °C"), "{seen}");
    assert_eq!(kiln.daemon.order(&json!("clear-trip")).status, 200);
    kiln.wait_until("cleared", |now| now["trip"].is_null());
    kiln.is_refused_with("The limit probe reads 1281.5 °C, above its ceiling of 1280 °C. No firing is lit");
    kiln.reads("1272");
    kiln.wait_until("read", |now| {
        of_limit(now).is_some_and(|told| told["seen"].as_str().is_some_and(|seen| seen.contains("1272.0")))
    });
    kiln.is_refused_with("not 10 °C below it since: it reads 1272.0 °C");
    kiln.reads("1269");
    kiln.wait_until("cooled", |now| of_limit(now).is_none());
    kiln.light();
}

#[test]
fn sr_37_with_a_limit_probe_that_cannot_be_read_nothing_is_lit_and_a_firing_trips() {
    let kiln = Kiln::new("open");
    kiln.is_refused_with("The limit probe has not been read yet: its circuit is open. No firing is lit");
    kiln.wait_until("blind", |now| of_limit(now).is_some_and(|told| told["name"] == "limit-blind"));
    kiln.is_refused_with("no usable reading for more than 10 s: its circuit is open. No firing is lit");
    kiln.reads("20");
    kiln.wait_until("seen", |now| now["light_up"]["possible"] == true);
    kiln.light();
    kiln.reads("no-answer");
    let now = kiln.wait_until("tripped", |now| now["phase"] == "tripped");
    let told = of_limit(&now).expect("told beside the trip");
    assert_eq!(told["name"], "limit-blind");
    assert!(
        told["seen"].as_str().is_some_and(|seen| seen.contains("its amplifier does not answer")),
        "{told}"
    );
}

#[test]
fn sr_37_a_firing_set_for_later_that_falls_due_with_a_blind_limit_probe_gets_no_heat_and_trips() {
    let mut kiln = Kiln::new("20");
    let wanted = json!({ "schedule": "flat-out.toml", "confirmed": common::CHECKS, "delay_minutes": 2 });
    assert_eq!(kiln.daemon.post("/api/light-up", &wanted).status, 200);
    kiln.reads("open");
    let now = kiln.wait_until("tripped", |now| now["phase"] == "tripped");
    assert_eq!(now["trip"]["name"], "contactor-not-following");
    assert_eq!(of_limit(&now).expect("told beside the trip")["name"], "limit-blind");
    assert_eq!(kiln.pins.not_off(), []);
}

#[test]
fn sr_37_a_limit_file_that_is_wrong_or_not_there_starts_nothing_and_says_line_and_cure() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = kiln_file(folder.path(), &LIMIT.replace("thermocouple K", "thermocouple"));
    let refused = || {
        let mut serve = saggar();
        serve.args(["serve", "--listen", "127.0.0.1:0", "--kiln"]).arg(&file);
        let output = serve.arg("--data").arg(folder.path().join("data")).output().expect("it ends");
        assert_eq!(output.status.code(), Some(2), "{output:?}");
        assert!(!folder.path().join("data/pins").exists(), "before anything is touched");
        String::from_utf8_lossy(&output.stderr).into_owned()
    };
    let said = refused();
    assert!(said.contains("limit, line 3: `thermocouple ` cannot be understood; write the letter"), "{said}");
    let checked = saggar().arg("check").arg(&file).output().expect("it ends");
    assert_eq!(checked.status.code(), Some(2), "{checked:?}");
    assert!(String::from_utf8_lossy(&checked.stderr).contains("limit, line 3"), "{checked:?}");
    fs::remove_file(folder.path().join("limit")).expect("removed");
    let said = refused();
    assert!(said.contains("limit: it cannot be read") && said.contains("is the path right"), "{said}");
}

#[test]
fn the_check_of_a_kiln_file_tells_the_limit_probes_ceiling() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = kiln_file(folder.path(), LIMIT);
    let checked = saggar().arg("check").arg(&file).output().expect("it ends");
    let said = String::from_utf8_lossy(&checked.stdout).into_owned();
    assert!(
        checked.status.success() && said.contains("ceiling 1290 °C, limit probe 1280 °C."),
        "{checked:?}"
    );
}
