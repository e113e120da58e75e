//! What a firing taught reaches the next one through the daemon, and nothing wrong with it keeps a kiln cold.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::{Daemon, config, run, saggar};
use control::KilnModel;
use daemon::files::{kiln, schedule};
use daemon::learning::Learned;
use daemon::store::DataFolder;
use pyrometry::units::Celsius;
use serde_json::{Value, json};
use trace::TraceReader;

/// Long and hot enough to teach: two hours and 300 °C.
const TEACHES: &str = "title = \"Teaches\"\nscale = \"C\"\n\n[[segment]]\nrate = 160\nto = 420\n";

/// A data folder with that schedule on its shelf.
fn folder() -> tempfile::TempDir {
    let data = tempfile::tempdir().expect("a folder");
    fs::create_dir_all(data.path().join("schedules")).expect("made");
    fs::write(data.path().join("schedules/teaches.toml"), TEACHES).expect("written");
    data
}

/// What the head of a firing's trace says its regulators were given.
fn regulated_by(data: &Path, firing: i64) -> Option<KilnModel> {
    let trace = TraceReader::open(&DataFolder::trace_found(data, firing)).expect("the trace opens");
    trace.head().setup.firing.as_ref().expect("of a firing").learned
}

/// What the logbook says of it.
fn told(daemon: &Daemon, firing: i64) -> String {
    let sheet = daemon.get(&format!("/api/firings/{firing}")).body;
    let events = sheet["events"].as_array().expect("events");
    let told = events.iter().find(|event| event["name"] == "regulated-by").expect("it is told");
    told["words"].as_str().expect("words").to_owned()
}

/// Fires what teaches, from cold, until something was learned of it.
fn teach(daemon: &Daemon, data: &Path) {
    assert_eq!(daemon.light_up("teaches.toml").body, json!({"firing": 1}));
    daemon.wait_until("cool enough", |now| now["phase"] == "cool-enough-to-open");
    daemon.wait_until("learned", |_| DataFolder::learned(data).exists());
}

#[test]
fn a_second_light_up_is_regulated_by_what_the_first_firing_taught_and_replays_so() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "3600");
    teach(&daemon, data.path());
    assert_eq!(regulated_by(data.path(), 1), None);
    assert!(told(&daemon, 1).contains("no firing has taught anything"), "{}", told(&daemon, 1));

    let kept = fs::read_to_string(DataFolder::learned(data.path())).expect("kept");
    let kiln = kiln::load(&config("kilns/simulated.toml")).expect("an example").value.kiln;
    let model = Learned::parse(&kept).expect("whole").model_of(&kiln).expect("of this kiln");
    assert_ne!(model.parameters().ware_j_per_k, kiln.model.parameters().ware_j_per_k);

    assert_eq!(daemon.light_up("teaches.toml").body, json!({"firing": 2}));
    daemon
        .wait_until("heating", |now| now["setpoint_c"].as_f64().is_some_and(|setpoint_c| setpoint_c > 100.0));
    assert_eq!(regulated_by(data.path(), 2), Some(model));
    assert!(told(&daemon, 2).contains("regulated by what firing-000001"), "{}", told(&daemon, 2));

    assert!(daemon.terminate());
    let trace = DataFolder::trace_found(data.path(), 2);
    let replayed = run(&["replay", trace.to_str().expect("a path")]);
    let said = String::from_utf8_lossy(&replayed.stdout).into_owned();
    assert!(replayed.status.success() && said.contains("to the bit"), "{said}");
}

/// What a light-up is regulated by, and what is said of it, where this was kept.
fn lit_after(kept: &[u8], more: &[&str]) -> (Option<KilnModel>, String) {
    let data = folder();
    fs::write(DataFolder::learned(data.path()), kept).expect("written");
    let daemon = Daemon::start_with(data.path(), &[&["--speed", "60"], more].concat());
    assert_eq!(daemon.light_up("teaches.toml").body, json!({"firing": 1}));
    daemon.wait_until("heating", |now| now["phase"] == "climbing" && now["contactor"] == true);
    (regulated_by(data.path(), 1), told(&daemon, 1))
}

/// What a simulated firing teaches of the simulated kiln, as it is kept.
fn lesson(folder: &Path) -> String {
    let (schedule, trace) = (folder.join("teaches.toml"), folder.join("fired.jsonl"));
    fs::write(&schedule, TEACHES).expect("written");
    let fired = saggar().arg("simulate").arg(&schedule).arg("--trace").arg(&trace).output().expect("it runs");
    assert!(fired.status.success(), "{}", String::from_utf8_lossy(&fired.stderr));
    Learned::from_trace(&trace).expect("it teaches").written().expect("written")
}

/// A lesson with a parameter so many times the kiln file's, sealed again.
fn with(lesson: &str, field: &str, ratio: f64) -> String {
    let line = lesson.lines().next().expect("a line");
    let mut said: Value = serde_json::from_str(line).expect("an object");
    let ratios = said["ratios"].as_array_mut().expect("ratios");
    let named = ratios.iter_mut().find(|named| named[0] == field).expect("that field");
    named[1] = json!(ratio);
    let line = said.to_string();
    let mut sum = flate2::Crc::new();
    sum.update(line.as_bytes());
    format!("{line}\n{:08x}\n", sum.sum())
}

#[test]
fn a_damaged_lesson_leaves_the_light_up_to_the_kiln_file_and_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = lesson(folder.path());
    let (model, said) = lit_after(whole.as_bytes(), &[]);
    assert!(model.is_some() && said.contains("taught of this kiln"), "the lesson itself is good: {said}");

    let flipped = whole.replacen("ware_j_per_k\",", "ware_j_per_k\",1", 1);
    assert_ne!(flipped, whole);
    let cut = &whole.as_bytes()[..whole.len() / 2];
    for damaged in [flipped.as_bytes(), cut, b"", b"\xff\xfe\x00", b"{}\n"] {
        let (model, said) = lit_after(damaged, &[]);
        assert_eq!(model, None, "{said}");
        assert!(said.contains("regulated by the kiln file") && said.contains("cannot be used"), "{said}");
    }
}

#[test]
fn a_lesson_that_is_whole_but_of_no_kiln_there_can_be_leaves_the_light_up_to_the_kiln_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = lesson(folder.path());
    let (model, said) = lit_after(with(&whole, "ware_j_per_k", 1.0e30).as_bytes(), &[]);
    assert_eq!(model, None, "{said}");
    assert!(said.contains("no kiln can be as it says"), "{said}");
}

#[test]
fn a_lesson_of_another_kiln_leaves_the_light_up_to_the_kiln_file_and_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = fs::read_to_string(config("kilns/simulated.toml")).expect("read");
    let stronger: PathBuf = folder.path().join("stronger.toml");
    fs::write(&stronger, text.replace("rating_w = 5000", "rating_w = 5200")).expect("written");
    let kiln = ["--kiln", stronger.to_str().expect("a path")];
    let (model, said) = lit_after(lesson(folder.path()).as_bytes(), &kiln);
    assert_eq!(model, None, "{said}");
    assert!(said.contains("of another kiln than this kiln file's"), "{said}");
}

#[test]
fn a_lesson_that_cannot_be_read_at_all_leaves_the_light_up_to_the_kiln_file_and_is_told() {
    let data = folder();
    fs::create_dir(DataFolder::learned(data.path())).expect("made in its place");
    let daemon = Daemon::start(data.path(), "60");
    assert_eq!(daemon.light_up("teaches.toml").body, json!({"firing": 1}));
    assert_eq!(regulated_by(data.path(), 1), None);
    assert!(told(&daemon, 1).contains("cannot be used"), "{}", told(&daemon, 1));
}

/// As fast as the kiln can: how long it takes is the kiln's.
const FLAT_OUT: &str = "title = \"Flat out\"\nscale = \"C\"\n\n[[segment]]\nrate = \"flat out\"\nto = 900\n";

/// A data folder with that schedule as well.
fn folder_with_flat_out() -> tempfile::TempDir {
    let data = folder();
    fs::write(data.path().join("schedules/flat-out.toml"), FLAT_OUT).expect("written");
    data
}

/// How long the shelf says that the flat-out schedule lasts.
fn listed_s(daemon: &Daemon) -> f64 {
    let list = daemon.get("/api/schedules").body;
    let entries = list.as_array().expect("a list");
    let entry = entries.iter().find(|entry| entry["file"] == "flat-out.toml").expect("on the shelf");
    entry["duration_s"].as_f64().expect("it gets there")
}

#[test]
fn the_shelf_tells_time_and_energy_by_what_was_taught_as_soon_as_it_was() {
    let made = tempfile::tempdir().expect("a folder");
    let lesson = with(&lesson(made.path()), "ware_j_per_k", 2.5);
    let data = folder_with_flat_out();
    let daemon = Daemon::start(data.path(), "1");
    let (before_s, before) = (listed_s(&daemon), daemon.get("/api/schedules/flat-out.toml").body);
    assert_eq!(before["forecast"]["by"], "kiln-file");

    fs::write(DataFolder::learned(data.path()), &lesson).expect("taught");
    let (after_s, after) = (listed_s(&daemon), daemon.get("/api/schedules/flat-out.toml").body);
    assert_eq!(after["forecast"]["by"], "earlier-firing");
    let file = kiln::load(&config("kilns/simulated.toml")).expect("an example").value;
    let model = Learned::parse(&lesson).expect("whole").model_of(&file.kiln).expect("of this kiln");
    let taught = control::Kiln { model, ..file.kiln.clone() };
    let path = data.path().join("schedules/flat-out.toml");
    let schedule = schedule::load(&path, Some(&file)).expect("a schedule").value;
    let found_at = daemon.now()["chamber_c"].as_f64().and_then(Celsius::new).expect("it was read");
    let lasts = |kiln| insight::forecast(kiln, &schedule.programme, found_at).duration.seconds();
    assert!((before_s - lasts(&file.kiln)).abs() < 60.0, "{before_s} s");
    assert!((after_s - lasts(&taught)).abs() < 60.0, "{after_s} s");
    assert!(after_s > 1.2 * before_s, "{before_s} s, then {after_s} s");
    let kwh = |sheet: &Value| sheet["forecast"]["energy_kwh"].as_f64().expect("an energy");
    assert!(kwh(&after) > 1.2 * kwh(&before), "{} kWh, then {} kWh", kwh(&before), kwh(&after));
}

#[test]
fn what_a_taught_kiln_cannot_climb_and_a_lesson_that_is_damaged_are_told_before_the_light_up() {
    let made = tempfile::tempdir().expect("a folder");
    let weak = with(&lesson(made.path()), "power_ratio", 0.3);
    let data = folder_with_flat_out();
    let daemon = Daemon::start(data.path(), "1");
    let notes = || daemon.get("/api/schedules/teaches.toml").body["forecast"]["notes"].to_string();
    assert_eq!(notes(), "[]");
    fs::write(DataFolder::learned(data.path()), &weak).expect("taught");
    assert!(notes().contains("Segment 1: this kiln cannot climb that fast"), "{}", notes());
    fs::write(DataFolder::learned(data.path()), &weak[..weak.len() / 2]).expect("torn");
    assert!(notes().contains("What firings taught of this kiln cannot be used"), "{}", notes());
}

/// What a firing lit with this lesson is held to, and how long people are told that it heats.
fn held_to_and_told(lesson: &str) -> (control::Expected, f64) {
    let data = folder_with_flat_out();
    fs::write(DataFolder::learned(data.path()), lesson).expect("taught");
    let daemon = Daemon::start(data.path(), "1");
    assert_eq!(daemon.light_up("flat-out.toml").body, json!({"firing": 1}));
    let now = daemon.wait_until("an end", |now| now["firing"]["heating_ends"].is_string());
    let time = |text: &Value| text.as_str().expect("a time").parse::<jiff::Timestamp>().expect("a time");
    let told_s = time(&now["firing"]["heating_ends"]).duration_since(time(&now["firing"]["started"]));
    let trace = TraceReader::open(&DataFolder::trace_found(data.path(), 1)).expect("the trace opens");
    let held_to = trace.head().setup.firing.as_ref().expect("of a firing").forecast;
    (held_to, told_s.as_secs_f64())
}

#[test]
fn sr_25_what_was_taught_moves_the_end_that_people_are_told_and_not_what_the_firing_is_held_to() {
    let made = tempfile::tempdir().expect("a folder");
    let lesson = lesson(made.path());
    let (light, light_s) = held_to_and_told(&with(&lesson, "ware_j_per_k", 0.5));
    let (heavy, heavy_s) = held_to_and_told(&with(&lesson, "ware_j_per_k", 2.5));
    assert!(heavy_s > 1.5 * light_s, "{light_s} s, and {heavy_s} s");
    let near = |one: f64, other: f64| (one - other).abs() < 0.01 * one;
    assert!(near(light.lasts.seconds(), heavy.lasts.seconds()), "{light:?} {heavy:?}");
    let energy = |expected: control::Expected| expected.energy.expect("forecast").j();
    assert!(near(energy(light), energy(heavy)), "{light:?} {heavy:?}");
}
