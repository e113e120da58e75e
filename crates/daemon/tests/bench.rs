//! The commands for people at the bench, as an outside harness runs them.

mod common;

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::process::{Output, Stdio};

use common::{Daemon, config, run, saggar};
use serde_json::Value;

fn words(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Runs the program with this on its standard input.
fn fed(arguments: &[&str], input: &[u8]) -> Output {
    let mut child = saggar()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // A program that has refused the first line reads no more.
    let _refused = child.stdin.take().expect("piped").write_all(input);
    child.wait_with_output().expect("it ends")
}

/// NIST SRD 60, type K: −10 °C is −0.392 mV, 1000 °C 41.276 mV.
#[test]
fn emf_takes_negative_values_as_they_are_typed_and_answers_one_a_line() {
    for arguments in [&["emf", "K", "-10", "1000"][..], &["emf", "K", "--", "-10", "1000"]] {
        let told = run(arguments);
        assert_eq!(told.status.code(), Some(0), "{}", words(&told.stderr));
        let said = words(&told.stdout);
        let last: Vec<f64> = said
            .lines()
            .map(|line| {
                line.trim_end_matches(" mV").rsplit(' ').next().expect("a word").parse().expect("a number")
            })
            .collect();
        assert_eq!(last.len(), 2, "{said}");
        assert!((last[0] + 0.392).abs() < 0.0005 && (last[1] - 41.276).abs() < 0.0005, "{said}");
    }
    let back = words(&run(&["emf", "K", "--inverse", "-0.392", "--json"]).stdout);
    let answer: Value = serde_json::from_str(&back).expect("JSON");
    assert!(answer["temp_c"].as_f64().is_some_and(|found| (found + 10.0).abs() < 0.01), "{back}");
    assert!(back.find("emf_mv") < back.find("temp_c"), "the answer comes last: {back}");
}

#[test]
fn emf_reads_lines_until_one_is_bad_and_names_it() {
    let told = fed(&["emf", "S"], b"0\r\n\r\n1000\r\nhot\r\n1200\r\n");
    assert_eq!(told.status.code(), Some(2));
    assert_eq!(words(&told.stdout).lines().count(), 2);
    assert_eq!(words(&told.stderr), "saggar: standard input, line 4: \"hot\" is no number\n");
    for arguments in [&["emf", "Q", "1"][..], &["emf", "K", "1373"], &["emf", "K", "--", "--"], &["emf"]] {
        assert_eq!(run(arguments).status.code(), Some(2), "{arguments:?}");
    }
}

/// Orton's chart: cone 6 at 1222 °C at 60 °C/h.
#[test]
fn a_log_is_told_by_its_cone_and_a_bad_one_by_file_line_and_reason() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = folder.path().join("glaze.csv");
    let mut rows = String::from("time_s,temp_c,note\r\n\r\n");
    for minute in 0..=1201_u32 {
        let _ = write!(rows, "{},{},\r\n", minute * 60, 21 + minute);
    }
    fs::write(&log, &rows).expect("written");
    let name = log.to_str().expect("a plain name");
    let told = run(&["cone", name, "--json"]);
    assert_eq!(told.status.code(), Some(0), "{}", words(&told.stderr));
    let answer: Value = serde_json::from_slice(&told.stdout).expect("JSON");
    assert!(answer["cone"].as_f64().is_some_and(|cone| (cone - 6.0).abs() < 0.01), "{answer}");
    assert_eq!((&answer["label"], &answer["rows"]), (&"6".into(), &1202.into()), "{answer}");
    assert_eq!(fed(&["cone", "-", "--json"], rows.as_bytes()).stdout, told.stdout);

    fs::write(&log, "time_s,temp_c\r\n0,20\r\n60,\r\n").expect("written");
    let refused = run(&["cone", name]);
    assert_eq!(refused.status.code(), Some(2));
    assert_eq!(words(&refused.stderr), format!("saggar: {name}: line 3: there is no temp_c\n"));
    assert_eq!(run(&["cone", "no-such.csv"]).status.code(), Some(2));
}

#[test]
fn end_points_are_told_for_a_cone_and_a_rate_and_nonsense_ends_with_two() {
    let told = words(&run(&["cone", "--at", "60", "6", "--json"]).stdout);
    let answer: Value = serde_json::from_str(&told).expect("JSON");
    assert!(answer["end_point_c"].as_f64().is_some_and(|end| (end - 1222.0).abs() < 0.5), "{told}");
    for arguments in
        [["cone", "--at", "-60", "6"], ["cone", "--at", "60", "15"], ["cone", "--at", "fast", "6"]]
    {
        assert_eq!(run(&arguments).status.code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn the_example_schedules_are_unloaded_at_the_cone_they_aim_at() {
    for (name, cone, within) in [
        ("mid-fire-glaze", 6.0, 0.1),
        ("bisque", -3.0, 0.25),
        ("high-fire", 10.0, 0.25),
        ("lustre", -17.0, 0.25),
    ] {
        let schedule = config(&format!("schedules/{name}.toml"));
        let told = saggar().arg("simulate").arg(schedule).arg("--json").output().expect("runs");
        let report: Value = serde_json::from_slice(&told.stdout).expect("JSON");
        let unloaded = report["cone_ordinal"].as_f64().expect("a cone");
        assert!((unloaded - cone).abs() < within, "{name}: {unloaded}");
    }
}

#[test]
fn the_kiln_as_it_is_tells_how_uncertain_its_temperature_and_cone_are() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "3600");
    let schedule = "title = \"Quick\"\nscale = \"C\"\n[[segment]]\nrate = 400\nto = 720\n";
    fs::write(data.path().join("schedules/quick.toml"), schedule).expect("written");
    assert_eq!(daemon.light_up("quick.toml").status, 200);
    let cold = daemon.now()["uncertainty"]["c"].as_f64().expect("degrees");
    let fired = daemon.wait_until("a cone is down", |now| now["uncertainty"]["cones"].is_array());
    let hot = fired["uncertainty"]["c"].as_f64().expect("degrees");
    assert!((1.0..20.0).contains(&cold) && (1.0..20.0).contains(&hot), "{cold} {hot}");
    let cones: Vec<f64> =
        fired["uncertainty"]["cones"].as_array().expect("three").iter().filter_map(Value::as_f64).collect();
    assert_eq!(cones.len(), 3, "{fired}");
    assert!(cones[0] <= cones[1] && cones[1] <= cones[2], "{cones:?}");
    assert!(cones[2] - cones[0] < 3.0, "{cones:?}");
}

#[test]
fn a_trace_that_cannot_be_read_ends_a_replay_with_two_and_a_torn_one_does_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name);
    let simulated = saggar()
        .arg("simulate")
        .arg(config("schedules/bisque.toml"))
        .arg("--trace")
        .arg(path("whole.jsonl"))
        .output()
        .expect("runs");
    assert_eq!(simulated.status.code(), Some(0), "{}", words(&simulated.stderr));
    let whole = fs::read_to_string(path("whole.jsonl")).expect("a trace");
    let begun: String = whole.lines().take(400).fold(String::new(), |text, line| text + line + "\n");
    fs::write(path("torn.jsonl"), &begun[..begun.len() - 30]).expect("written");
    fs::write(path("garbled.jsonl"), begun.replacen("\"at_ms\":200000", "\"at_ms\":20z000", 1))
        .expect("written");
    fs::write(path("foreign.jsonl"), "{\"colour\":\"blue\"}\n").expect("written");
    fs::write(path("notes.txt"), "cone 6 looked good\n").expect("written");
    fs::create_dir(path("empty")).expect("made");
    let ends = |name: &str| saggar().arg("replay").arg(path(name)).output().expect("runs").status.code();
    assert_eq!(ends("whole.jsonl"), Some(0));
    assert_eq!(ends("torn.jsonl"), Some(0));
    for name in ["garbled.jsonl", "foreign.jsonl", "notes.txt", "empty", "no-such.jsonl"] {
        assert_eq!(ends(name), Some(2), "{name}");
    }
}
