//! What a firing teaches: the next one is regulated by it, and one that went wrong teaches nothing.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use daemon::files::kiln;
use daemon::learning::{Learned, NotLearned};
use trace::TraceReader;

fn config(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config").join(path)
}

/// Simulates a schedule; gives its trace.
fn fired(schedule: &str, folder: &Path) -> PathBuf {
    let trace = folder.join("fired.jsonl");
    let run = Command::new(env!("CARGO_BIN_EXE_saggar"))
        .arg("simulate")
        .args([&config(schedule), &PathBuf::from("--trace"), &trace])
        .output()
        .expect("it runs");
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    fs::read_dir(folder).expect("a folder").next().expect("a trace").expect("an entry").path()
}

#[test]
fn a_firings_trace_teaches_the_kiln_that_it_was_fired_in_and_no_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let learned =
        Learned::from_trace(&fired("schedules/mid-fire-glaze.toml", folder.path())).expect("it teaches");
    let mut file = kiln::load(&config("kilns/simulated.toml")).expect("an example").value;
    let model = learned.model_of(&file.kiln).expect("of this kiln");
    assert_eq!(model.parameters().certainty, control::Certainty::Fitted);
    let kept = learned.written().expect("it is written");
    assert_eq!(Learned::parse(&kept).expect("and read"), learned);
    assert!(learned.told().contains("the load is"), "{}", learned.told());

    let bank = file.kiln.banks.first_mut().expect("a bank");
    bank.power = pyrometry::units::Watts::new(bank.power.w() + 100.0).expect("a power");
    assert_eq!(learned.model_of(&file.kiln), None, "another bank is another kiln");
}

#[test]
fn a_firing_too_cold_to_show_anything_teaches_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let schedule = folder.path().join("cold.toml");
    let text = "title = \"Drying\"\nscale = \"C\"\n\n[[segment]]\nrate = 60\nto = 90\nsoak = \"3 h\"\n";
    fs::write(&schedule, text).expect("written");
    let traces = tempfile::tempdir().expect("a folder");
    let trace = fired(schedule.to_str().expect("a path"), traces.path());
    assert!(matches!(Learned::from_trace(&trace), Err(NotLearned::TooLittle)));
}

#[test]
fn a_firing_that_tripped_teaches_nothing() {
    let trace = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/traces/sr-23-not-heating.jsonl.gz");
    assert!(TraceReader::open(&trace).is_ok());
    assert!(matches!(Learned::from_trace(&trace), Err(NotLearned::Tripped)));
}
