//! What becomes of verdicts: worst wins, latch, patience, refusal without heat.

use proptest::prelude::*;

use super::*;
use crate::finding::{Evidence, Part, Severity};

const FAULTS: [SensorFault; 4] =
    [SensorFault::Open, SensorFault::Short, SensorFault::NoAnswer, SensorFault::OutOfRange];

fn an_old_trip() -> Finding {
    Finding {
        interlock: Interlock::NotHeating,
        severity: Severity::Trip,
        part: None,
        evidence: Evidence { seen: 0.1, bound: 0.2, lasted: Millis::from_minutes(10) },
    }
}

#[test]
fn a_latched_trip_survives_healthy_steps_and_is_cleared_by_a_person() {
    let mut rig = Rig::climbing();
    rig.interlocks = Interlocks::new(&rig.kiln, Some(an_old_trip()));
    rig.phase = Phase::Tripped;
    assert_eq!(rig.interlocks.clear(), Err(()), "nothing is known before the first step");
    for second in 0..100 {
        assert_eq!(rig.read(20.0 + 0.1 * noise(f64::from(second))).trip, Some(an_old_trip()));
    }
    assert_eq!(rig.interlocks.clear(), Ok(()));
    assert_eq!(rig.read(20.0).trip, None);
}

#[test]
fn a_trip_cannot_be_cleared_while_its_cause_is_there() {
    let mut rig = Rig::climbing();
    for _ in 0..3 {
        rig.see(Err(SensorFault::Open));
    }
    rig.phase = Phase::Tripped;
    rig.see(Err(SensorFault::Open));
    assert_eq!(rig.interlocks.clear(), Err(()));
    for _ in 0..15 {
        rig.read(20.0);
    }
    assert_eq!(rig.interlocks.clear(), Ok(()));
}

#[test]
fn a_trip_cannot_be_cleared_while_its_own_row_withholds() {
    let mut rig = Rig::climbing();
    let broken = Finding { interlock: Interlock::BrokenThermocouple, ..an_old_trip() };
    rig.interlocks = Interlocks::new(&rig.kiln, Some(broken));
    rig.phase = Phase::Tripped;
    rig.read(20.0);
    rig.see(Err(SensorFault::Open));
    assert_eq!(rig.interlocks.clear(), Err(()), "one open sample withholds");
    for _ in 0..15 {
        rig.read(20.0);
    }
    assert_eq!(rig.interlocks.clear(), Ok(()));
}

#[test]
fn a_trip_cannot_be_cleared_while_another_row_trips() {
    let mut rig = Rig::climbing();
    rig.interlocks = Interlocks::new(&rig.kiln, Some(an_old_trip()));
    rig.phase = Phase::Tripped;
    let ceiling = rig.kiln.ceiling.c();
    for _ in 0..5 {
        rig.read(ceiling + 20.0);
    }
    assert_eq!(rig.interlocks.clear(), Err(()));
}

#[test]
fn the_worst_of_several_findings_wins_and_the_others_are_told() {
    let mut rig = Rig::climbing();
    rig.read(20.0);
    rig.see(Err(SensorFault::Open));
    rig.see(Err(SensorFault::Open));
    let judgement = rig.see(Err(SensorFault::Open));
    assert_eq!(trip_of(&judgement), Some(Interlock::BrokenThermocouple));
    rig.phase = Phase::Tripped;
    let ceiling = rig.kiln.ceiling.c();
    let mut later = rig.read(ceiling + 20.0);
    for _ in 0..20 {
        later = rig.read(ceiling + 20.0);
    }
    assert_eq!(trip_of(&later), Some(Interlock::BrokenThermocouple), "the first trip stays the one to clear");
    let told = later.notices.iter().find(|notice| notice.interlock == Interlock::AboveCeiling);
    assert_eq!(told.map(|told| told.severity), Some(Severity::Notice), "what trips later is told beside it");
}

#[test]
fn what_has_tripped_is_not_told_beside_itself() {
    let mut rig = Rig::climbing();
    let ceiling_c = rig.kiln.ceiling.c();
    assert_eq!(trip_of(&rig.read(ceiling_c + 16.0)), Some(Interlock::AboveCeiling));
    for second in 0..20 {
        let judgement = rig.read(ceiling_c + 16.0 + 0.1 * noise(f64::from(second)));
        assert_eq!(names(&judgement.notices), []);
    }
}

#[test]
fn a_withhold_of_ten_minutes_without_a_break_trips_and_a_shorter_one_does_not() {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(100.0));
    let reading = |second: f64| 127.0 + 0.2 * noise(second);
    assert_eq!(rig.read_for(60 + 599, reading), None);
    let (_, trip) = rig.read_for(2, reading).expect("ten minutes have passed");
    assert_eq!((trip.interlock, trip.evidence.lasted), (Interlock::AbovePlan, Millis::from_minutes(10)));
    assert_eq!(trip.severity, Severity::Trip);
}

#[test]
fn withholds_of_nine_minutes_with_a_break_between_them_do_not_trip() {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(100.0));
    let reading = |above_c: f64| move |second: f64| 100.0 + above_c + 0.2 * noise(second);
    assert_eq!(rig.read_for(60 + 540, reading(27.0)), None);
    assert_eq!(rig.read_for(60, reading(24.0)), None);
    assert_eq!(rig.read_for(60 + 540, reading(27.0)), None);
}

#[test]
fn where_no_heat_is_permitted_a_sensing_row_refuses_light_up_and_does_not_trip() {
    for phase in Phase::ALL.into_iter().filter(|phase| !phase.may_heat()) {
        let mut rig = Rig::in_phase(phase);
        let mut judgement = rig.see(Err(SensorFault::Open));
        for _ in 0..100 {
            judgement = rig.see(Err(SensorFault::Open));
        }
        assert_eq!((judgement.trip, judgement.withheld), (None, None));
        assert!(judgement.refuses_light_up.is_some());
        assert!(names(&judgement.notices).contains(&Interlock::BrokenThermocouple));
        assert!(judgement.notices.iter().all(|told| told.severity == Severity::Notice));
    }
}

#[test]
fn a_sample_that_faulted_is_not_usable_and_a_good_one_is() {
    let mut rig = Rig::climbing();
    assert!(rig.read(20.0).usable[0]);
    assert!(!rig.see(Err(SensorFault::Open)).usable[0]);
    assert!(!rig.see_said(&[], &[]).usable[0], "an absent report");
}

#[test]
fn every_probe_of_several_is_judged_and_named() {
    let mut rig = Rig::climbing();
    let probe = rig.kiln.probes[0];
    rig.kiln.probes.push(probe).unwrap();
    rig.interlocks = Interlocks::new(&rig.kiln, None);
    let sound = Ok(Measured { junction: celsius(20.0), cold_junction: Some(celsius(20.0)) });
    let reports = [Report::single(Said::Nothing, ChipFaults::NONE); 2];
    let both = rig.clone().see_said(&reports, &[Err(SensorFault::Open); 2]).withheld.and_then(|by| by.part);
    assert_eq!(both, Some(Part::Probe(0)), "of equals the first");
    for (probe, measured) in [(0, [Err(SensorFault::Open), sound]), (1, [sound, Err(SensorFault::Open)])] {
        let judgement = rig.see_said(&reports, &measured);
        let withheld = judgement.withheld.expect("one of them is open");
        assert_eq!(
            (withheld.interlock, withheld.part),
            (Interlock::BrokenThermocouple, Some(Part::Probe(probe)))
        );
        assert_eq!([judgement.usable[0], judgement.usable[1]], measured.map(|measured| measured.is_ok()));
    }
}

proptest! {
    #[test]
    fn any_faulted_or_absent_report_withholds_or_trips_in_the_same_step(
        healthy in 0_u32..200,
        level in 0.0..1200.0,
        which in 0_usize..5,
    ) {
        let mut rig = Rig::climbing();
        rig.read_for(healthy, |second| level + 0.2 * noise(second));
        let judgement = match FAULTS.get(which) {
            Some(fault) => rig.see(Err(*fault)),
            None => rig.see_said(&[], &[]),
        };
        prop_assert!(judgement.withheld.is_some() || judgement.trip.is_some());
        prop_assert!(!judgement.usable[0]);
    }

    #[test]
    fn no_reading_whatever_makes_a_latched_trip_go_away(readings in prop::collection::vec(-200.0..1400.0, 1..200)) {
        let mut rig = Rig::climbing();
        rig.interlocks = Interlocks::new(&rig.kiln, Some(an_old_trip()));
        for reading in readings {
            prop_assert_eq!(rig.read(reading).trip, Some(an_old_trip()));
        }
    }
}
