//! A folder of traces as a test suite, judged with a stand-in for the controller.

mod common;

use std::fs;

use common::{BUILD, packed, reader, software, stepper, trace_of};
use trace::{
    Expectations, Software, SuiteReport, judge_path_with, judge_recorded, replay_with, rerecord_with,
};

const BREAKS: &str = r#"
about = "The thermocouple breaks at 40 s"
[[expect]]
withhold = "broken-thermocouple"
after = "40 s"
by = "41 s"
[[expect]]
trip = "broken-thermocouple"
by = "42 s"
[[expect]]
phase = "tripped"
[[never]]
trip = "not-heating"
[[never]]
notice = "any"
by = "39 s"
"#;

fn judged(folder: &std::path::Path) -> SuiteReport {
    judge_path_with(folder, BUILD, |_| stepper).expect("a folder")
}

#[test]
fn a_folder_is_judged_trace_by_trace() {
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, bytes: &[u8]| fs::write(folder.path().join(name), bytes).expect("a disk");
    put("breaks.jsonl.gz", &packed(&trace_of(60)));
    put("breaks.expect.toml", BREAKS.as_bytes());
    put("quiet.jsonl", &trace_of(10));
    put("quiet.expect.toml", b"[[never]]\ntrip = \"any\"\n[[never]]\nwithhold = \"any\"\n");
    put("notes.txt", b"not a trace");
    let report = judged(folder.path());
    assert!(report.passes(), "{report}");
    assert_eq!(
        report.to_string(),
        "breaks.jsonl.gz passes: 60 steps over 59 s: every decision the same, to the bit\n\
        \x20 met: expected withheld heat broken-thermocouple not before 40 s by 41 s; it began at 40 s\n\
        \x20 met: expected trip broken-thermocouple by 42 s; it began at 42 s\n\
        \x20 met: expected phase tripped; it began at 42 s\n\
        \x20 met: never trip not-heating; it did not happen\n\
        \x20 met: never any notice by 39 s; it did not happen\n\
        quiet.jsonl passes: 10 steps over 9 s: every decision the same, to the bit\n\
        \x20 met: never any trip; it did not happen\n\
        \x20 met: never any withheld heat; it did not happen\n\
        2 of 2 pass"
    );
}

#[test]
fn what_fails_is_told_with_its_reason() {
    let cases: [(&str, &[u8], &str); 8] = [
        (
            "late.expect.toml",
            b"[[expect]]\ntrip = \"any\"\nby = \"41 s\"\n",
            "NOT MET: expected any trip by 41 s; it began at 42 s",
        ),
        (
            "early.expect.toml",
            b"[[expect]]\ntrip = \"any\"\nafter = \"43 s\"\n",
            "NOT MET: expected any trip not before 43 s; it began at 42 s",
        ),
        (
            "missing.expect.toml",
            b"[[expect]]\nphase = \"cooling\"\n",
            "NOT MET: expected phase cooling; it did not happen",
        ),
        ("trips.expect.toml", b"[[never]]\ntrip = \"any\"\n", "NOT MET: never any trip; it began at 42 s"),
        ("within.expect.toml", b"[[never]]\nwithhold = \"any\"\nafter = \"50 s\"\n", "it began at 50 s"),
        (
            "misspelt.expect.toml",
            b"[[never]]\ntrap = \"any\"\n",
            "misspelt.jsonl FAILS: its expectation file: ",
        ),
        ("cone.expect.toml", b"[[expect]]\ncone = \"6\"\n", "NOT MET: expected cone 6; it did not happen"),
        (
            "lonely.expect.toml",
            b"[[never]]\ntrip = \"any\"\n",
            "lonely.expect.toml FAILS: there is no trace beside",
        ),
    ];
    for (name, text, reason) in cases {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join(name), text).expect("a disk");
        if !name.starts_with("lonely") {
            let trace = folder.path().join(name.replace(".expect.toml", ".jsonl"));
            fs::write(trace, trace_of(60)).expect("a disk");
        }
        let report = judged(folder.path());
        assert!(!report.passes(), "{report}");
        assert!(report.to_string().contains(reason), "{report}");
    }
}

#[test]
fn a_damaged_trace_fails_and_an_empty_folder_does_not_pass() {
    let folder = tempfile::tempdir().expect("a folder");
    let report = judged(folder.path());
    assert!(!report.passes());
    assert!(report.to_string().starts_with("no trace found"), "{report}");
    fs::write(folder.path().join("noise.jsonl"), b"noise\n").expect("a disk");
    let report = judged(folder.path());
    assert!(!report.passes());
    assert_eq!(
        report.to_string(),
        "noise.jsonl FAILS: this is no trace: its first line doesn't say that it is one\n0 of 1 pass"
    );
}

#[test]
fn a_single_file_is_judged_with_the_expectations_beside_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("breaks.jsonl");
    fs::write(&path, trace_of(60)).expect("a disk");
    fs::write(folder.path().join("breaks.expect.toml"), BREAKS).expect("a disk");
    let report = judged(&path);
    assert!(report.passes(), "{report}");
    assert_eq!(report.cases.len(), 1);
}

#[test]
fn a_cone_counts_as_reached_from_its_ordinal_on() {
    let trace = trace_of(40);
    let reached = |name: &str, cone: f64| {
        let expectations =
            Expectations::parse(&format!("[[expect]]\ncone = \"{name}\"\n")).expect("well written");
        let step = |observation: &control::Observation<'_>| control::Decision {
            cone: Some(cone),
            ..stepper(observation)
        };
        let mut judge = trace::Judge::new(&expectations);
        replay_with(reader(&trace), BUILD, step, |decision| judge.see(decision)).expect("readable");
        judge.verdicts()[0].met
    };
    assert!(reached("06", -5.0) && reached("06", 6.0) && reached("6", 6.0));
    assert!(
        !reached("6", 6.0_f64.next_down())
            && !reached("06", (-5.0_f64).next_down())
            && !reached("6", f64::NAN)
    );
}

#[test]
fn recorded_decisions_are_judged_without_a_controller() {
    let expectations = Expectations::parse(BREAKS).expect("well written");
    let trace = trace_of(60);
    let verdicts = judge_recorded(reader(&trace), &expectations).expect("readable");
    assert!(verdicts.iter().all(|verdict| verdict.met), "{verdicts:?}");
    let trace = trace_of(41);
    let verdicts = judge_recorded(reader(&trace), &expectations).expect("readable");
    assert_eq!(verdicts.iter().filter(|verdict| !verdict.met).count(), 2, "{verdicts:?}");
}

#[test]
fn recording_anew_puts_this_builds_decisions_in_place_of_anothers() {
    for name in ["old.jsonl", "old.jsonl.gz"] {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join(name);
        let trace = trace_of(60);
        fs::write(&path, if name == "old.jsonl" { trace } else { packed(&trace) }).expect("a disk");
        let changed = |observation: &control::Observation<'_>| control::Decision {
            waiting: true,
            ..stepper(observation)
        };
        let newer = Software { build: "newer".into(), ..software() };
        assert_eq!(rerecord_with(&path, newer, |_| changed).expect("readable"), 60);
        let report = judge_path_with(&path, "newer", |_| changed).expect("a file");
        assert!(report.to_string().contains("every decision the same"), "{report}");
        let before = judge_path_with(&path, "newer", |_| stepper).expect("a file");
        assert!(!before.passes(), "{before}");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1, "nothing is left beside it");
    }
}
