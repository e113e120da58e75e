//! What a firing taught reaches the next one through the daemon, and nothing wrong with it keeps a kiln cold.

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::{Daemon, config, run, saggar};
use control::KilnModel;
use daemon::files::kiln;
use daemon::learning::Learned;
use daemon::store::DataFolder;
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
    let line = whole.lines().next().expect("a line");
    let mut said: Value = serde_json::from_str(line).expect("an object");
    for ratio in said["ratios"].as_array_mut().expect("ratios") {
        ratio[1] = json!(1.0e30);
    }
    let line = said.to_string();
    let mut sum = flate2::Crc::new();
    sum.update(line.as_bytes());
    let (model, said) = lit_after(format!("{line}\n{:08x}\n", sum.sum()).as_bytes(), &[]);
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
