//! Traces of every format version ever written stay readable, and mean what they meant.
//!
//! `tests/data/version-1.jsonl` was made by [`proposal`] when version 1 was fixed. It is never made
//! again: a change that can't read it needs a new version and a new sample beside it.

mod common;

use std::path::{Path, PathBuf};

use control::{Contact, Decision, Evidence, Finding, Interlock, Order, Outcome, Phase, Refusal, Severity};
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::cone::Cone;
use pyrometry::constant;
use pyrometry::units::{Amps, Celsius, Millis, Millivolts};
use trace::{Ending, FORMAT_VERSION, Seen, TraceReader, TraceWriter};

/// The interlocks there were when version 1 was fixed.
const INTERLOCKS: [Interlock; 13] = [
    Interlock::BrokenThermocouple,
    Interlock::ShortedThermocouple,
    Interlock::AmplifierNotAnswering,
    Interlock::StaleReading,
    Interlock::StuckReading,
    Interlock::JumpingReading,
    Interlock::ReversedThermocouple,
    Interlock::AboveCeiling,
    Interlock::AbovePlan,
    Interlock::HeatingWhileOff,
    Interlock::NotHeating,
    Interlock::FiringTooLong,
    Interlock::CheckMissing,
];

/// A step with few things, one with many, and one of each way a probe can answer.
fn steps() -> Vec<(Seen, Decision)> {
    let plain = |second| {
        let seen = common::seen(second);
        let decision = common::stepper(&seen.observation());
        (seen, decision)
    };
    let cold_junction = constant!(Celsius, 24.1);
    let saids = [
        Said::Nothing,
        Said::Reading { junction: constant!(Celsius, 25.31), cold_junction },
        Said::Emf { emf: constant!(Millivolts, -0.049), cold_junction },
    ];
    let mut steps = vec![plain(0), plain(12), busy()];
    for (second, said) in (13..).zip(saids) {
        let (mut seen, decision) = plain(second);
        seen.probes[0].said = said;
        steps.push((seen, decision));
    }
    steps.extend([plain(40), plain(42)]);
    steps
}

/// Everything at once.
fn busy() -> (Seen, Decision) {
    let mut amps = [None; 8];
    amps[..2].copy_from_slice(&[Some(constant!(Amps, 0.0)), Some(constant!(Amps, 14.7))]);
    let cone = Cone::parse("6").expect("a cone");
    let all = [
        ChipFaults::OPEN,
        ChipFaults::SHORT_TO_GROUND,
        ChipFaults::SHORT_TO_SUPPLY,
        ChipFaults::NO_ANSWER,
        ChipFaults::CONFIGURATION_LOST,
        ChipFaults::OUT_OF_RANGE,
    ]
    .into_iter()
    .fold(ChipFaults::NONE, ChipFaults::with);
    let orders = [
        Order::Stay,
        Order::CarryOn,
        Order::ShutOff,
        Order::ClearTrip,
        Order::NextSegment,
        Order::AddMinutes(15),
        Order::EndClimb,
        Order::ConeSeen { cone, bend_deg: 45 },
    ];
    let seen = Seen {
        at: Millis::new(12_345),
        probes: [Report::single(Said::Words { junction: -1, cold_junction: i32::MAX }, all)]
            .into_iter()
            .collect(),
        lid: Contact::Open,
        contactor: Contact::NotFitted,
        amps,
        orders: orders.into_iter().collect(),
        forecast: Some(control::Expected::lasting(Millis::from_hours(12))),
    };
    let finding = |interlock| Finding {
        interlock,
        severity: Severity::Notice,
        part: None,
        evidence: Evidence { seen: 0.1 + 0.2, bound: f64::INFINITY, lasted: Millis::ZERO },
    };
    let outcomes = [
        Outcome::Taken,
        Outcome::Refused(Refusal::NotInThisPhase),
        Outcome::Refused(Refusal::CauseStillThere),
        Outcome::Refused(Refusal::TooLate),
        Outcome::Refused(Refusal::TooLong(Millis::from_hours(24))),
    ];
    let decision = Decision {
        at: Millis::new(12_346),
        phase: Phase::CoolEnoughToOpen,
        notices: INTERLOCKS.into_iter().map(finding).collect(),
        outcomes: outcomes.into_iter().collect(),
        ..common::stepper(&common::seen(12).observation())
    };
    (seen, decision)
}

fn sample(version: u32) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/data/version-{version}.jsonl"))
}

/// Writes what would be the sample of the present version where a person can look at it.
fn proposal() -> PathBuf {
    let mut writer = TraceWriter::new(Vec::new(), &common::head()).expect("memory");
    for (seen, decision) in steps() {
        writer.step(&seen.observation(), &decision).expect("memory");
    }
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("version-{FORMAT_VERSION}.jsonl"));
    std::fs::write(&path, writer.into_inner()).expect("a disk");
    path
}

#[test]
fn version_1_means_what_it_meant() {
    let mut reader = TraceReader::open(&sample(1)).expect("a trace");
    assert_eq!(reader.head(), &common::head());
    let report = trace::replay_with(
        TraceReader::open(&sample(1)).expect("a trace"),
        common::BUILD,
        recorded(),
        |_| {},
    );
    assert!(report.as_ref().is_ok_and(trace::ReplayReport::agrees), "{report:?}");
    let seen: Vec<Seen> = reader.by_ref().map(|step| step.expect("readable").seen).collect();
    assert_eq!(seen, steps().into_iter().map(|(seen, _)| seen).collect::<Vec<_>>());
    assert_eq!(reader.ending(), Some(Ending::Whole));
}

/// Decides what the sample's makers decided, so that replay compares every bit of it.
fn recorded() -> impl FnMut(&control::Observation<'_>) -> Decision {
    let mut decisions = steps().into_iter().map(|(_, decision)| decision);
    move |_| decisions.next().expect("as many steps as the sample has")
}

#[test]
fn there_is_a_sample_of_every_version() {
    for version in 1..=FORMAT_VERSION {
        let path = sample(version);
        assert!(
            path.exists(),
            "{} is missing; look at {}, then put it there",
            path.display(),
            proposal().display()
        );
    }
}
