//! A small kiln, a stepper as simple as can be, and traces made of them.
#![allow(dead_code, reason = "each test file uses its own part")]

use control::{
    Bank, BankLevels, Certainty, Contact, Decision, Evidence, Finding, Firing, Interlock, Kiln, KilnModel,
    Observation, Pace, Parameters, Phase, Probe, Programme, Segment, Setup, Severity, Start, SwitchKind,
    Target,
};
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said, Sensor};
use pyrometry::calibration::{Calibration, Day, Override, Point};
use pyrometry::constant;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour, Duty, Millis, Watts};
use trace::{Head, Seen, Software, TraceReader, TraceWriter};

pub(crate) const BUILD: &str = "0123abcd";

pub(crate) fn parameters() -> Parameters {
    Parameters {
        certainty: Certainty::Guessed,
        ware_j_per_k: 20000.5,
        quick_j_per_k: 4000.0,
        wall_area_m2: 1.7,
        wall_thickness_m: 0.115,
        brick_kg_per_m3: 770.0,
        conductivity_ratio: 1.0,
        leak_w_per_k: 0.35,
        power_ratio: 0.98,
    }
}

pub(crate) fn probe_with(offset: CelsiusDelta) -> Probe {
    let point = |at, add| Point { at, add };
    let points = [
        point(constant!(Celsius, 0.0), constant!(CelsiusDelta, 0.1)),
        point(constant!(Celsius, 1200.0), constant!(CelsiusDelta, -2.7)),
    ];
    let calibration = Calibration::offset(offset, Override::Recorded)
        .and_then(|offset| offset.and(Calibration::piecewise(&points, Override::None)?, Override::Recorded))
        .expect("a calibration")
        .dated(Day::new(2026, 11, 25).expect("a day"));
    Probe { sensor: Sensor { thermocouple: Thermocouple::K, amplifier: Amplifier::Max31856, calibration } }
}

pub(crate) fn kiln() -> Kiln {
    let bank = Bank {
        power: constant!(Watts, 3600.0),
        current: None,
        switch: SwitchKind::Mechanical,
        on_least: Millis::from_seconds(2),
        off_least: Millis::from_seconds(2),
        cycle_least: Millis::from_seconds(20),
        probe: 0,
    };
    let solid = Bank { switch: SwitchKind::SolidState, power: constant!(Watts, 1200.0), ..bank };
    Kiln {
        probes: [probe_with(constant!(CelsiusDelta, -1.3))].into_iter().collect(),
        banks: [bank, solid].into_iter().collect(),
        switching: control::Closeness::Sparing,
        ceiling: constant!(Celsius, 1300.0),
        supply_limit: constant!(Watts, 7400.0),
        firing_longest: Millis::from_hours(24),
        stay_longest: Millis::from_hours(2),
        open_below: constant!(Celsius, 95.0),
        model: KilnModel::new(parameters()).expect("a kiln"),
    }
}

pub(crate) fn segments() -> Vec<Segment> {
    let soak = Millis::from_minutes(30);
    let cone = pyrometry::cone::Cone::parse("6").expect("a cone");
    let no_hotter_than = constant!(Celsius, 1235.0);
    let to_cone = Target::Cone { cone, no_hotter_than, at_most: Millis::from_minutes(90) };
    vec![
        Segment::Climb {
            pace: Pace::Rate(constant!(CelsiusPerHour, 60.0)),
            target: Target::Temperature(constant!(Celsius, 120.0)),
            soak,
        },
        Segment::Climb { pace: Pace::FlatOut, target: to_cone, soak: Millis::ZERO },
        Segment::LetFall { to: constant!(Celsius, 1040.0), soak: Millis::ZERO },
        Segment::SlowCool { rate: constant!(CelsiusPerHour, -80.0), to: constant!(Celsius, 760.0), soak },
        Segment::Watch { lasting: Millis::from_hours(1) },
    ]
}

pub(crate) fn setup() -> Setup {
    let programme = Programme::new(segments().into_iter().collect()).expect("can be run");
    let (delay, forecast) = (Millis::from_minutes(5), control::Expected::lasting(Millis::from_hours(11)));
    let latched = Finding {
        interlock: Interlock::AboveCeiling,
        severity: Severity::Trip,
        part: Some(control::Part::Probe(0)),
        evidence: Evidence { seen: 1301.25, bound: 1300.0, lasted: Millis::from_seconds(2) },
    };
    Setup {
        kiln: kiln(),
        firing: Some(Firing { programme, delay, forecast, learned: None }),
        start: Start { latched: Some(latched), carried: None },
    }
}

pub(crate) fn software() -> Software {
    Software { name: "saggar".into(), version: "0.1.0".into(), build: BUILD.into() }
}

pub(crate) fn head() -> Head {
    Head {
        software: software(),
        kiln: "Garden kiln".into(),
        probes: vec!["middle".into()],
        banks: vec!["upper".into(), "lower".into()],
        title: "Stoneware glaze, thin ware".into(),
        simulated: true,
        started: "2026-11-25T10:15:00Z".into(),
        setup: setup(),
    }
}

/// What a probe says that warms by half a degree a second; it breaks at 40 s.
pub(crate) fn seen(second: u32) -> Seen {
    let junction = 4000 + 64 * i32::try_from(second).expect("small"); // steps of 2⁻⁷ °C
    let healthy = Report::single(Said::Words { junction, cold_junction: 1500 }, ChipFaults::NONE);
    let broken = Report::single(Said::Nothing, ChipFaults::OPEN);
    Seen {
        at: Millis::from_seconds(u64::from(second)),
        probes: [if second < 40 { healthy } else { broken }].into_iter().collect(),
        lid: Contact::Shut,
        contactor: Contact::NotFitted,
        amps: [None; control::BANKS_MOST],
        orders: heapless::Vec::new(),
        forecast: None,
    }
}

/// Decides something plausible from what it sees alone: a stand-in with every field in use.
pub(crate) fn stepper(observation: &Observation<'_>) -> Decision {
    let report = observation.probes[0];
    let chamber = match report.said {
        Said::Words { junction, .. } => Celsius::new(f64::from(junction) / 128.0 - 1.3),
        Said::Reading { junction, .. } => Some(junction),
        Said::Nothing | Said::Emf { .. } => None,
    };
    let setpoint = Celsius::new(30.0 + observation.at.seconds() / 3.0);
    let lag = chamber.zip(setpoint).map(|(chamber, setpoint)| setpoint - chamber);
    let duty = Duty::limited(lag.map_or(0.0, |lag| 0.2 + lag.c() / 70.0));
    let finding = |severity| Finding {
        interlock: Interlock::BrokenThermocouple,
        severity,
        part: Some(control::Part::Probe(0)),
        evidence: Evidence { seen: f64::NAN, bound: 1.0, lasted: Millis::from_seconds(1) },
    };
    let trip = (observation.at >= Millis::from_seconds(42)).then(|| finding(Severity::Trip));
    let withheld = chamber.is_none().then(|| finding(Severity::Withhold));
    let mut banks = BankLevels::default();
    banks[1] = duty.ratio() > 0.1;
    Decision {
        at: observation.at,
        phase: if trip.is_some() { Phase::Tripped } else { Phase::Climbing },
        segment: Some(0),
        setpoint,
        junctions: [chamber, None, None, None],
        chamber,
        lag,
        duty: [duty, duty, Duty::OFF, Duty::OFF, Duty::OFF, Duty::OFF, Duty::OFF, Duty::OFF],
        banks,
        permission: withheld.is_none(),
        waiting: lag.is_some_and(|lag| lag.c() < -8.0),
        trip,
        withheld,
        refuses_light_up: withheld,
        notices: withheld.into_iter().collect(),
        cone: chamber.map(|chamber| chamber.c() / 100.0 - 22.0),
        climb_end: None,
        outcomes: heapless::Vec::new(),
    }
}

/// A trace of so many seconds.
pub(crate) fn trace_of(seconds: u32) -> Vec<u8> {
    let mut writer = TraceWriter::new(Vec::new(), &head()).expect("memory");
    for second in 0..seconds {
        let seen = seen(second);
        let observation = seen.observation();
        writer.step(&observation, &stepper(&observation)).expect("memory");
    }
    writer.into_inner()
}

pub(crate) fn packed(plain: &[u8]) -> Vec<u8> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    std::io::Write::write_all(&mut encoder, plain).expect("memory");
    encoder.finish().expect("memory")
}

pub(crate) fn reader(bytes: &[u8]) -> TraceReader<'_> {
    TraceReader::new(bytes).expect("a trace")
}

/// A setup that nothing from before holds back.
pub(crate) fn fresh_head() -> Head {
    let mut head = head();
    head.setup.start = Start::default();
    head
}

/// A firing by the real controller of a kiln so simple that it warms in proportion to duty.
pub(crate) fn fired(seconds: u32) -> Vec<u8> {
    let head = fresh_head();
    let mut controller = control::Controller::new(head.setup.clone());
    let mut writer = TraceWriter::new(Vec::new(), &head).expect("memory");
    let mut chamber_c = 20.0;
    for second in 0..seconds {
        let mut seen = seen(0);
        seen.at = Millis::from_seconds(u64::from(second));
        // One step of the chip is 2⁻⁷ °C; a step of dither keeps the reading from looking stuck.
        let junction = pyrometry::units::whole_steps(chamber_c * 128.0) + i32::from(second % 2 == 0);
        seen.probes[0].said = Said::Words { junction, cold_junction: 1500 };
        let observation = seen.observation();
        let decision = controller.step(&observation);
        chamber_c += 0.1 * decision.duty[0].ratio() - (chamber_c - 20.0) / 20_000.0;
        writer.step(&observation, &decision).expect("memory");
    }
    writer.into_inner()
}
