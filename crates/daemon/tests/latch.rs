//! The latch where the program has run out of files. A test of its own process: it takes them all.

use std::fs::File;
use std::process::Command;

use control::{Evidence, Finding, Interlock, Severity};
use daemon::store::{Latch, Latched};
use pyrometry::units::Millis;

const INSIDE: &str = "SAGGAR_TEST_OF_FEW_FILES";

#[test]
fn sr_44_a_trip_is_noted_although_every_file_the_program_may_open_is_taken() {
    if std::env::var_os(INSIDE).is_some() {
        return with_few_files();
    }
    let this = std::env::current_exe().expect("this test");
    let mut shell = Command::new("sh");
    shell.args(["-c", "ulimit -n 64; exec \"$0\"", &this.to_string_lossy()]).env(INSIDE, "1");
    let inside = shell.output().expect("a shell");
    assert!(inside.status.success(), "{}", String::from_utf8_lossy(&inside.stdout));
}

fn with_few_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut unprepared, mut prepared) =
        (Latch::at(folder.path().join("other")), Latch::at(folder.path().join("latch")));
    prepared.write(None).expect("written");
    let trip = Finding {
        interlock: Interlock::AboveCeiling,
        severity: Severity::Trip,
        part: Some(control::Part::Probe(0)),
        evidence: Evidence { seen: 1291.0, bound: 1290.0, lasted: Millis::from_seconds(3) },
    };
    let taken: Vec<File> = std::iter::from_fn(|| File::open(folder.path()).ok()).collect();
    assert!((40..64).contains(&taken.len()), "the limit holds: {}", taken.len());
    assert!(unprepared.write(Some(trip)).is_err(), "none is left");
    prepared.write(Some(trip)).expect("noted all the same");
    drop(taken);
    assert_eq!(prepared.read(), Latched::Trip(trip));
}
