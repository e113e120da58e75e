//! The sentence in each phase, and what it says of the time ahead.

use std::sync::Arc;

use control::{Carried, Contact, Controller, Firing, Left, Observation, Setup, Start};
use hal::Level;
use insight::forecast;
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Joules};

use super::*;
use crate::clock::KilnClock;
use crate::files::{Source, schedule};
use crate::kilns;
use crate::run::{Course, FiringSheet, KeptPins, LightUp, Obeyed, Standing};

const GLAZE: &str = include_str!("../../../../config/schedules/mid-fire-glaze.toml");

fn celsius(c: f64) -> Celsius {
    Celsius::new(c).unwrap()
}

/// A kiln at 20 °C, lit a moment ago.
fn just_lit(text: &str) -> Snapshot {
    let kiln = kilns::simulated().unwrap();
    let checked =
        schedule::check(Source::new("glaze.toml", text), Some(&kiln)).unwrap_or_else(|why| panic!("{why}"));
    let schedule = checked.value;
    let told = forecast(&kiln.kiln, &schedule.programme, celsius(20.0));
    let firing = Firing {
        programme: schedule.programme.clone(),
        delay: Millis::ZERO,
        forecast: control::Expected::lasting(told.duration),
        learned: None,
    };
    let setup = Setup { kiln: kiln.kiln.clone(), firing: Some(firing), start: Start::default() };
    let said = Said::Reading { junction: celsius(20.0), cold_junction: celsius(20.0) };
    let decision = Controller::new(setup).step(&Observation {
        at: Millis::ZERO,
        probes: &[Report::single(said, ChipFaults::NONE)],
        lid: Contact::NotFitted,
        contactor: Contact::NotFitted,
        amps: [None; control::BANKS_MOST],
        orders: &[],
        forecast: None,
    });
    let mut course = Course::default();
    course.take(Some(&schedule.programme), Millis::from_hours(3), &[], &decision);
    let sheet = FiringSheet {
        proving: None,
        id: 1,
        file: "glaze.toml".to_owned(),
        schedule: Arc::new(schedule),
        forecast: Arc::new(told),
        delay: Millis::ZERO,
        started: String::new(),
    };
    Snapshot {
        presence: crate::run::Presence::NotAsked,
        decision,
        reports: heapless::Vec::new(),
        contactor: Level::Off,
        rate: None,
        firing: Some(Arc::new(sheet)),
        course,
        heat_work: HeatWork::NONE,
        light_up: LightUp::Possible,
        sensor_for: Millis::ZERO,
        had_trip: false,
        not_lit: None,
        warden: Standing::Trusts,
        limit: None,
        kept: KeptPins::default(),
        shut_off: Obeyed::default(),
        signals: crate::run::SignalsNow::default(),
        late_worst: std::time::Duration::ZERO,
        latch_unreadable: None,
        trouble: None,
    }
}

/// The same, come to a segment in a phase.
fn come_to(text: &str, segment: u8, phase: Phase, chamber_c: f64) -> Snapshot {
    let mut snapshot = just_lit(text);
    snapshot.decision.segment = Some(segment);
    snapshot.decision.phase = phase;
    snapshot.decision.chamber = Some(celsius(chamber_c));
    snapshot.decision.setpoint = Some(celsius(chamber_c));
    snapshot.decision.lag = Some(CelsiusDelta::ZERO);
    snapshot
}

fn noon() -> ZonedDateTime {
    "2026-11-25T12:00:00+01:00[Europe/Berlin]".parse().unwrap()
}

fn after(hours: i64) -> ZonedDateTime {
    noon().saturating_add(SignedDuration::from_hours(hours))
}

fn said(snapshot: &Snapshot, ends: &Ends) -> String {
    sentence(snapshot, ends, &noon())
}

#[test]
fn a_climb_to_a_cone_says_when_the_cone_the_end_of_heat_and_the_opening_come() {
    let snapshot = come_to(GLAZE, 2, Phase::Climbing, 1140.0);
    let top = Some(Top { what: "cone 6".to_owned(), at: after(2) });
    let ends = Ends { top, off: Some(after(7)), heating: Some(after(8)), open: Some(after(20)) };
    assert_eq!(
        said(&snapshot, &ends),
        "Climbing to cone 6 at 60 °C/h: 1140 °C now, on plan. \
         Cone 6 about 14:00, elements off about 19:00, cool enough to open about Thursday 08:00."
    );
}

#[test]
fn a_top_where_the_elements_go_off_is_said_once() {
    let snapshot = come_to(GLAZE, 2, Phase::Climbing, 1140.0);
    let top = Some(Top { what: "1222 °C".to_owned(), at: after(2) });
    let ends = Ends { top, off: Some(after(2)), heating: None, open: None };
    assert!(
        said(&snapshot, &ends).ends_with(" 1222 °C and elements off about 14:00."),
        "{}",
        said(&snapshot, &ends)
    );
}

#[test]
fn a_fall_says_what_comes_next_and_no_rate_down_has_a_minus() {
    let falling = come_to(GLAZE, 3, Phase::Cooling, 1150.0);
    let ends = Ends { off: Some(after(4)), ..Ends::default() };
    assert_eq!(
        said(&falling, &ends),
        "Falling to 1040 °C by itself, then slow cooling: 1150 °C now. Last heat about 16:00."
    );
    let slowly = come_to(GLAZE, 4, Phase::SlowCooling, 900.0);
    assert_eq!(said(&slowly, &Ends::default()), "Cooling slowly to 760 °C at 80 °C/h: 900 °C now, on plan.");
    let mut over = come_to(GLAZE, 4, Phase::Cooling, 500.0);
    over.decision.segment = None;
    assert_eq!(said(&over, &Ends::default()), "Cooling by itself, elements off: 500 °C now.");
    let watch = include_str!("../../../../config/schedules/watch-only.toml");
    let watching = come_to(watch, 0, Phase::Cooling, 20.0);
    assert_eq!(said(&watching, &Ends::default()), "Watching without heat: 20 °C now.");
}

#[test]
fn the_top_is_ahead_until_it_is_reached() {
    let clock = KilnClock::simulated();
    let lit = just_lit(GLAZE);
    let ends = Ends::of(&lit, &clock);
    let top = ends.top.expect("a top ahead");
    assert_eq!(top.what, "cone 6");
    let told = &lit.firing.as_ref().unwrap().forecast;
    let off_by = |time: &ZonedDateTime, span: Millis| {
        (time.duration_since(&clock.now()).as_secs_f64() - span.seconds()).abs()
    };
    // A forecast has a point a minute, so where a segment stands is known to a minute.
    assert!(off_by(&top.at, told.segments[2].arrives) < 90.0, "{top:?}");
    assert!(off_by(&ends.off.expect("an end of heat"), told.end_of_heating) < 90.0);
    assert!(Ends::of(&come_to(GLAZE, 3, Phase::Cooling, 1150.0), &clock).top.is_none());
    let mut soaking = come_to(GLAZE, 2, Phase::Soaking, 1220.0);
    soaking.course.soak_left = Some(Millis::from_minutes(10));
    assert!(Ends::of(&soaking, &clock).top.is_none());
}

#[test]
fn a_kiln_that_stalls_on_the_way_is_given_no_end() {
    let clock = KilnClock::simulated();
    let mut lit = just_lit(GLAZE);
    let mut sheet = FiringSheet::clone(lit.firing.as_ref().unwrap());
    let mut told = (*sheet.forecast).clone();
    told.segments[2].arrival = insight::Arrival::Never(celsius(1150.0));
    sheet.forecast = Arc::new(told);
    lit.firing = Some(Arc::new(sheet));
    let ends = Ends::of(&lit, &clock);
    assert!(ends.top.is_none() && ends.off.is_none() && ends.heating.is_none() && ends.open.is_none());
}

#[test]
fn a_climb_back_to_a_soak_that_was_cut_short_is_told_as_that_and_not_at_the_segments_rate() {
    let mut snapshot = come_to(GLAZE, 0, Phase::Climbing, 90.0);
    let left = Left::Soak { at: celsius(120.0), left: Millis::from_minutes(10) };
    let carried = Carried {
        segment: 0,
        left,
        chamber: celsius(120.0),
        gap: Millis::from_minutes(5),
        elapsed: Millis::from_hours(2),
        given: Joules::ZERO,
        alight: Millis::from_hours(2),
        heat_work: HeatWork::NONE,
    };
    let told = |snapshot: &Snapshot| climbing(snapshot, Scale::Celsius, "90 °C");
    assert!(told(&snapshot).starts_with("Climbing to "), "{}", told(&snapshot));
    snapshot.course = Course::begin(Some(&carried));
    let said = told(&snapshot);
    assert!(said.starts_with("Climbing back to what is left of the soak: 90 °C now"), "{said}");
}
