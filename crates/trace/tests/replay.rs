//! Replay finds what differs, and says where.

mod common;

use common::{BUILD, head, reader, seen, stepper, trace_of};
use pyrometry::units::{CelsiusDelta, Millis};
use trace::{Comparison, Ending, TraceReader, TraceWriter, replay_with};

#[test]
fn the_same_controller_decides_the_same() {
    let trace = trace_of(60);
    let report = replay_with(reader(&trace), BUILD, stepper, |_| {}).expect("readable");
    assert_eq!(report.comparison, Comparison::Same);
    assert_eq!((report.steps, report.lasted, report.ending), (60, Millis::from_seconds(59), Ending::Whole));
    assert_eq!(report.to_string(), "60 steps over 59 s: every decision the same, to the bit");
}

#[test]
fn a_changed_decision_is_found_and_named() {
    let trace = trace_of(60);
    let changed = |observation: &control::Observation<'_>| {
        let mut decision = stepper(observation);
        if observation.at >= Millis::from_seconds(12) {
            decision.banks[0] = true;
            decision.waiting = true;
        }
        decision
    };
    let report = replay_with(reader(&trace), BUILD, changed, |_| {}).expect("readable");
    assert!(!report.agrees());
    assert_eq!(
        report.to_string(),
        "60 steps over 59 s: first difference in line 14, at 12 s: on was recorded as [1], recomputed as [0,1]; \
         waiting was recorded as nothing, recomputed as true"
    );
}

#[test]
fn a_difference_in_the_last_bit_alone_is_found() {
    let trace = trace_of(30);
    let changed = |observation: &control::Observation<'_>| {
        let mut decision = stepper(observation);
        if observation.at == Millis::from_seconds(7) {
            decision.lag = decision.lag.and_then(|lag| CelsiusDelta::new(lag.c().next_up()));
        }
        decision
    };
    let report = replay_with(reader(&trace), BUILD, changed, |_| {}).expect("readable");
    let Comparison::Differ(difference) = report.comparison else { panic!("{report}") };
    assert_eq!((difference.line, difference.at, difference.fields.len()), (9, Millis::from_seconds(7), 1));
    assert_eq!(difference.fields[0].field, "lag_c");
    assert_ne!(difference.fields[0].recorded, difference.fields[0].recomputed);
}

#[test]
fn a_zero_of_the_other_sign_is_a_difference() {
    let mut writer = TraceWriter::new(Vec::new(), &head()).expect("memory");
    let seen = seen(0);
    let zero = |number| control::Decision { lag: CelsiusDelta::new(number), ..stepper(&seen.observation()) };
    writer.step(&seen.observation(), &zero(0.0)).expect("memory");
    let trace = writer.into_inner();
    assert!(replay_with(reader(&trace), BUILD, |_| zero(0.0), |_| {}).expect("readable").agrees());
    assert!(!replay_with(reader(&trace), BUILD, |_| zero(-0.0), |_| {}).expect("readable").agrees());
}

#[test]
fn another_build_is_not_compared() {
    let trace = trace_of(10);
    let report = replay_with(reader(&trace), "another", stepper, |_| {}).expect("readable");
    assert_eq!(report.comparison, Comparison::OtherBuild { build: BUILD.into() });
}

#[test]
fn inputs_alone_are_replayed_without_comparison() {
    let mut writer = TraceWriter::new(Vec::new(), &head()).expect("memory");
    for second in 0..5 {
        writer.input(&seen(second)).expect("memory");
    }
    let trace = writer.into_inner();
    let mut watched = 0;
    let report = replay_with(reader(&trace), BUILD, stepper, |_| watched += 1).expect("readable");
    assert_eq!((report.comparison, watched), (Comparison::InputsAlone, 5));
}

#[test]
fn a_torn_last_line_is_left_out_and_reported() {
    let trace = trace_of(10);
    let report = replay_with(reader(&trace[..trace.len() - 5]), BUILD, stepper, |_| {}).expect("readable");
    assert_eq!((report.steps, report.ending), (9, Ending::Torn { line: 11 }));
    assert!(report.to_string().ends_with("(line 11, the last, is torn and was left out)"), "{report}");
}

#[test]
fn the_real_controller_replays_its_own_firing_to_the_same_bits() {
    let trace = common::fired(3600);
    let report = trace::replay(reader(&trace), BUILD).expect("readable");
    assert_eq!((&report.comparison, report.steps), (&Comparison::Same, 3600), "{report}");
}

#[test]
fn the_real_controller_started_otherwise_is_found_out() {
    let text = String::from_utf8(common::fired(600)).expect("JSON");
    let delayed = text.replacen("\"delay_ms\":300000", "\"delay_ms\":301000", 1);
    let report = trace::replay(reader(delayed.as_bytes()), BUILD).expect("readable");
    let Comparison::Differ(difference) = &report.comparison else { panic!("{report}") };
    assert_eq!(difference.at, Millis::from_minutes(5), "{report}");
    assert!(difference.fields.iter().any(|field| field.field == "phase"), "{report}");
}

#[test]
fn recording_anew_with_the_real_controller_makes_its_decisions_the_recorded_ones() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("inputs.jsonl");
    let mut writer = TraceWriter::new(Vec::new(), &common::fresh_head()).expect("memory");
    (0..30).for_each(|second| writer.input(&seen(second)).expect("memory"));
    std::fs::write(&path, writer.into_inner()).expect("a disk");
    let newer = trace::Software { build: "newer".into(), ..common::software() };
    assert_eq!(trace::rerecord(&path, newer).expect("readable"), 30);
    let report = trace::judge_path(&path, "newer").expect("a file");
    assert!(report.passes() && report.to_string().contains("every decision the same"), "{report}");
}

#[test]
fn the_whole_setup_comes_back_from_the_head() {
    let trace = trace_of(1);
    assert_eq!(TraceReader::new(&trace[..]).expect("a trace").head().setup, common::setup());
}

#[test]
fn a_hole_is_told_and_nothing_after_it_passes_for_a_changed_decision() {
    // Five minutes in, the schedule's clock depends on every step before.
    let text = String::from_utf8(common::fired(900)).expect("JSON");
    let holed: Vec<String> = text
        .lines()
        .enumerate()
        .filter(|(number, _)| !(601..641).contains(number))
        .map(|(number, line)| match number {
            641 => line.replacen(",\"saw\":", ",\"lost\":40,\"saw\":", 1),
            _ => line.to_owned(),
        })
        .collect();
    let unmarked = holed.join("\n").replace(",\"lost\":40", "") + "\n";
    let report = trace::replay(reader(unmarked.as_bytes()), BUILD).expect("readable");
    assert!(!report.agrees(), "a hole that nobody marked cannot be told from a changed decision");

    let mut shown = 0;
    let marked = holed.join("\n") + "\n";
    let mut controller = control::Controller::new(reader(marked.as_bytes()).head().setup.clone());
    let report = replay_with(reader(marked.as_bytes()), BUILD, |seen| controller.step(seen), |_| shown += 1)
        .expect("readable");
    assert_eq!((report.comparison.clone(), report.steps, shown), (Comparison::Same, 600, 860));
    assert_eq!(report.hole, Some(trace::Hole { line: 602, lost: 40, after: 260 }));
    assert_eq!(
        report.to_string(),
        "600 steps over 9 min 59 s: every decision the same, to the bit; before line 602 the trace has a hole, \
         40 steps are lost, so the 260 steps after it could not be compared"
    );
}

#[test]
fn recording_anew_keeps_a_hole_and_decides_nothing_after_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("holed.jsonl");
    let mut writer = TraceWriter::new(Vec::new(), &common::fresh_head()).expect("memory");
    (0..10).for_each(|second| writer.input(&seen(second)).expect("memory"));
    writer.lose(5);
    (15..20).for_each(|second| writer.input(&seen(second)).expect("memory"));
    std::fs::write(&path, writer.into_inner()).expect("a disk");
    assert_eq!(trace::rerecord(&path, common::software()).expect("readable"), 15);
    let steps: Vec<trace::Step> =
        TraceReader::open(&path).expect("a trace").map(|step| step.expect("readable")).collect();
    assert!(steps[..10].iter().all(|step| step.decided.is_some() && step.lost == 0));
    assert!(steps[10..].iter().all(|step| step.decided.is_none()));
    assert_eq!(steps[10].lost, 5);
}
