//! SR-13: zones that read apart.

use pyrometry::units::{between, greater};

use super::*;
use crate::finding::Severity;

/// A kiln of two zones, climbing by a plan.
fn two_zones() -> Rig {
    let mut kiln = kiln_with_banks(2, 1.0);
    let probe = kiln.probes[0];
    kiln.probes.push(probe).unwrap();
    kiln.banks[1].probe = 1;
    let interlocks = Interlocks::new(&kiln, None);
    Rig { interlocks, kiln, setpoint: Some(celsius(500.0)), ..Rig::climbing() }
}

impl Rig {
    fn read_both(&mut self, second: u32, readings_c: [f64; 2]) -> Judgement {
        let cold_junction = celsius(self.cold_junction_c);
        let jitter_c = libm::round(6.0 * noise(f64::from(second))) / 128.0; // steps of a fine chip, so that differences are exact
        let measured = readings_c
            .map(|c| Ok(Measured { junction: celsius(c + jitter_c), cold_junction: Some(cold_junction) }));
        let said = readings_c.map(|c| Said::Reading { junction: celsius(c + jitter_c), cold_junction });
        self.see_said(&said.map(|said| Report::single(said, ChipFaults::NONE)), &measured)
    }

    /// The first second of some in which the zones are told of so badly.
    fn told_at(&mut self, worst: Severity, seconds: u32, apart_c: impl Fn(f64) -> f64) -> Option<u32> {
        (0..seconds).find(|second| {
            let judgement = self.read_both(*second, [500.0, 500.0 - apart_c(f64::from(*second))]);
            match worst {
                Severity::Notice => names(&judgement.notices).contains(&Interlock::ZonesApart),
                Severity::Withhold => withheld_by(&judgement) == Some(Interlock::ZonesApart),
                Severity::Trip => judgement.trip.is_some_and(|trip| trip.interlock == Interlock::ZonesApart),
            }
        })
    }
}

/// Together for a minute, then apart at a pace that a kiln can have.
fn parting(to_c: f64) -> impl Fn(f64) -> f64 {
    move |second| between((second - 60.25) / 10.0, 0.0, to_c)
}

#[test]
fn sr_13_zones_26_degrees_apart_are_told_after_five_minutes_and_24_are_not() {
    let apart_from = 60 + 250;
    let told = two_zones().told_at(Severity::Notice, 1_200, parting(26.0)).unwrap();
    assert!((apart_from + 298..=apart_from + 302).contains(&told), "{told}");
    let mut rig = two_zones();
    rig.told_at(Severity::Notice, told, parting(26.0));
    assert!(!rig.interlocks.stands(Interlock::ZonesApart), "before it is told");
    rig.told_at(Severity::Notice, 10, |_| 26.0);
    assert!(rig.interlocks.stands(Interlock::ZonesApart), "since then");
    assert_eq!(two_zones().told_at(Severity::Notice, 3_000, parting(24.0)), None);
}

#[test]
fn sr_13_zones_51_degrees_apart_withhold_after_a_minute_and_then_trip_and_49_do_not() {
    let apart_from = 60 + 500;
    let mut rig = two_zones();
    let withheld = rig.told_at(Severity::Withhold, 1_200, parting(51.0)).unwrap();
    assert!((apart_from + 58..=apart_from + 62).contains(&withheld), "{withheld}");
    let tripped = rig.told_at(Severity::Trip, 1_200, |_| 51.0).unwrap();
    assert!((598..=602).contains(&tripped), "ten minutes after the withhold began: {tripped}");
    assert_eq!(two_zones().told_at(Severity::Withhold, 3_000, parting(49.0)), None);
}

#[test]
fn sr_13_zones_that_part_for_less_than_five_minutes_are_not_told() {
    // 25 °C and more from the 310th to the 600th second of every ten minutes.
    let apart = |second: f64| parting(30.0)(second % 600.0);
    assert_eq!(two_zones().told_at(Severity::Notice, 3_000, apart), None);
}

#[test]
fn sr_13_a_kiln_found_with_its_zones_apart_has_an_hour_to_bring_them_together() {
    let told = two_zones().told_at(Severity::Withhold, 7_200, |_| 60.0).unwrap();
    assert!((3_655..=3_665).contains(&told), "an hour and a minute: {told}");
    let just_apart = two_zones().told_at(Severity::Notice, 7_200, |_| 25.0).unwrap();
    assert!((3_895..=3_905).contains(&just_apart), "an hour and five minutes: {just_apart}");
    let comes_together = |second: f64| greater(60.0 - second / 50.0, 0.0);
    assert_eq!(two_zones().told_at(Severity::Notice, 7_200, comes_together), None);
}

#[test]
fn sr_13_zones_may_cool_apart_where_no_plan_holds_them_together() {
    let mut rig = Rig { setpoint: None, ..two_zones() };
    assert_eq!(rig.told_at(Severity::Notice, 3_000, parting(80.0)), None);
    let mut rig = Rig { phase: Phase::Cooling, ..two_zones() };
    assert_eq!(rig.told_at(Severity::Notice, 3_000, parting(80.0)), None);
}

#[test]
fn sr_13_a_kiln_with_one_reading_left_is_not_judged_by_it() {
    let mut rig = two_zones();
    for second in 0..600 {
        let cold_junction = celsius(25.0);
        let reading = celsius(500.0 + 0.05 * noise(f64::from(second)));
        let measured = Measured { junction: reading, cold_junction: Some(cold_junction) };
        let said = [Said::Reading { junction: reading, cold_junction }, Said::Nothing];
        let judgement = rig.see_said(
            &said.map(|said| Report::single(said, ChipFaults::NONE)),
            &[Ok(measured), Err(SensorFault::NoAnswer)],
        );
        assert!(!names(&judgement.notices).contains(&Interlock::ZonesApart), "{second}");
    }
}
