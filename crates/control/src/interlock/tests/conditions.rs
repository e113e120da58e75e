//! SR-06, SR-08, SR-09, SR-12, SR-24 and SR-26.

use super::plant::{Build, Firing};
use super::*;
use crate::finding::Severity;
use pyrometry::units::lesser;

/// Noise of a standard deviation: uniform within ±√3 of it.
fn jitter(deviation_c: f64, second: f64) -> f64 {
    libm::sqrt(3.0) * deviation_c * noise(second)
}

#[test]
fn sr_06_growing_jitter_is_told_then_withholds_then_trips() {
    let mut rig = Rig::climbing();
    let mut worst = [None; 3];
    for step in 0..3_000 {
        let second = f64::from(step);
        let judgement = rig.read(500.0 + jitter(second * 0.002, second));
        if names(&judgement.notices).contains(&Interlock::JaggedReading) {
            worst[0].get_or_insert(second);
        }
        if withheld_by(&judgement) == Some(Interlock::JaggedReading) {
            worst[1].get_or_insert(second);
        }
        if judgement.trip.is_some() {
            worst[2].get_or_insert(second);
            break;
        }
    }
    let [Some(told), Some(withheld), Some(tripped)] = worst else { panic!("{worst:?}") };
    assert!((450.0..650.0).contains(&told), "1 °C at 500 s: {told}");
    assert!(told < withheld && withheld < tripped, "{worst:?}");
}

#[test]
fn sr_06_a_steep_bent_climb_with_a_window_ripple_is_not_jagged() {
    let mut rig = Rig::climbing();
    for step in 0..1_200 {
        let second = f64::from(step);
        let ripple_c = 1.5 * libm::sin(second * core::f64::consts::TAU / 20.0);
        let judgement = rig.read(100.0 + 0.0004 * second * second + ripple_c + 0.2 * noise(second));
        assert!(!names(&judgement.notices).contains(&Interlock::JaggedReading), "{step}: {judgement:?}");
    }
}

#[test]
fn sr_08_a_lead_shorted_at_the_amplifier_trips_before_the_kiln_is_at_300_degrees() {
    for load in [0.5, 1.0, 2.0] {
        let mut firing = Firing::new(Build { load, ..Build::USUAL });
        firing.amplifier = |_| 26.0;
        let trip = firing.climb(150.0, 1_000.0).expect("the reading never rises");
        assert_eq!(trip.interlock, Interlock::ShortedLead, "load {load}");
        assert!(firing.plant.chamber_c() < 300.0, "{}", firing.plant.chamber_c());
    }
}

#[test]
fn sr_08_a_heavy_kiln_on_weak_mains_that_warms_slowly_does_not_trip() {
    let mut firing = Firing::new(Build { load: 2.0, mains: 0.9, walls: 1.15, ambient_c: 3.0 });
    assert_eq!(firing.climb(20.0, 120.0), None);
}

#[test]
fn sr_09_a_thermocouple_creeping_out_withholds_within_six_seconds_and_trips_within_eleven() {
    let mut rig = Rig::climbing();
    assert_eq!(rig.read_for(120, |second| 800.0 + 0.1 * noise(second)), None);
    let falls = |second: f64| 800.0 - 1.1 * second;
    let withheld = (0..6).find(|second| {
        withheld_by(&rig.read(falls(f64::from(*second)))) == Some(Interlock::ThermocouplePulledOut)
    });
    assert_eq!(withheld, Some(5));
    let (second, trip) = rig.read_for(20, |second| falls(second + 6.0)).expect("it goes on");
    assert_eq!((second, trip.interlock), (3, Interlock::ThermocouplePulledOut));
}

#[test]
fn sr_09_a_kiln_that_falls_a_little_slower_or_with_its_lid_open_does_not_trip() {
    let mut rig = Rig::climbing();
    assert_eq!(rig.read_for(200, |second| 1_200.0 - 0.9 * second), None);
    let mut opened = Rig::climbing();
    opened.lid = Contact::Open;
    assert_eq!(opened.read_for(25, |second| 1_200.0 - 3.0 * second), None);
}

#[test]
fn sr_09_elements_that_dim_after_full_power_explain_a_fall_for_a_while_and_a_faster_one_never() {
    let off_after_heating = |c_per_s: f64| {
        let mut rig = Rig::climbing();
        rig.banks_on(2);
        assert_eq!(rig.read_for(120, |second| 300.0 + 0.3 * second + 0.1 * noise(second)), None);
        rig.banks_on(0);
        rig.read_for(60, |second| 336.0 - c_per_s * lesser(second, 30.0) + 0.1 * noise(second))
    };
    assert_eq!(off_after_heating(1.1), None);
    let (second, trip) = off_after_heating(2.2).expect("no element dims so fast");
    assert_eq!(trip.interlock, Interlock::ThermocouplePulledOut);
    assert!(second <= 10, "{second}");
}

#[test]
fn sr_09_jitter_is_not_taken_for_a_fall_and_a_fall_within_it_is_still_found() {
    let mut rig = Rig::climbing();
    let jitters = |second: u32| 800.0 + 3.4 * noise(f64::from(second));
    for second in 0..1_800 {
        let judgement = rig.read(jitters(second));
        assert_ne!(withheld_by(&judgement), Some(Interlock::ThermocouplePulledOut), "at {second} s");
    }
    let (_, trip) = rig
        .read_for(40, |second| 800.0 - 4.0 * second + 3.4 * noise(1_800.0 + second))
        .expect("it falls out of the kiln");
    assert_eq!(trip.interlock, Interlock::ThermocouplePulledOut);
}

#[test]
fn sr_12_a_box_at_60_is_told_at_70_withholds_and_at_80_trips() {
    for (cold_c, severity) in [
        (59.9, None),
        (60.0, Some(Severity::Notice)),
        (70.0, Some(Severity::Withhold)),
        (80.0, Some(Severity::Trip)),
    ] {
        let mut rig = Rig::climbing();
        rig.cold_junction_c = cold_c;
        let judgement = rig.read(500.0);
        let found = [judgement.trip, judgement.withheld, judgement.notices.first().copied()];
        let found = found.into_iter().flatten().next();
        assert_eq!(found.map(|finding| finding.severity), severity, "{cold_c}");
    }
}

#[test]
fn sr_12_a_box_that_warms_two_degrees_in_a_minute_is_told_and_a_slower_one_is_not() {
    for (c_per_min, told) in [(2.2, true), (1.5, false)] {
        let mut rig = Rig::climbing();
        let mut found = false;
        for second in 0..300 {
            rig.cold_junction_c = 25.0 + c_per_min * f64::from(second) / 60.0;
            found |= names(&rig.read(500.0).notices).contains(&Interlock::EnclosureHot);
        }
        assert_eq!(found, told, "{c_per_min} °C a minute");
    }
}

#[test]
fn sr_12_a_hot_box_withholds_for_half_an_hour_or_a_fall_of_a_hundred_degrees_and_then_trips() {
    let mut rig = Rig::climbing();
    rig.cold_junction_c = 72.0;
    let (second, trip) = rig.read_for(2_000, |second| 500.0 + 0.1 * noise(second)).expect("patience ends");
    assert_eq!((second, trip.interlock), (1_800, Interlock::EnclosureHot));
    let mut falling = Rig::climbing();
    falling.cold_junction_c = 72.0;
    let (second, _) = falling.read_for(2_000, |second| 500.0 - 0.2 * second).expect("it falls too far");
    assert!((500..540).contains(&second), "{second}");
}

#[test]
fn sr_12_just_two_degrees_within_a_minute_are_told_as_a_rise_and_sixty_degrees_as_a_limit() {
    let told = |from_c: f64, to_c: f64| {
        let mut rig = Rig { span: Millis::from_seconds(5), cold_junction_c: from_c, ..Rig::climbing() };
        rig.read_for(20, |second| 500.0 + noise(second));
        rig.cold_junction_c = to_c;
        let said = (0..4_u32).flat_map(|second| rig.read(500.0 + noise(f64::from(second))).notices);
        said.map(|finding| std::format!("{finding}")).next().unwrap_or_default()
    };
    assert_eq!(told(25.0, 26.9), "");
    let rise = told(25.0, 27.0);
    assert!(rise.contains("warmed by 2.0 °C within a minute"), "{rise}");
    let limit = told(60.0, 60.0);
    assert!(limit.contains("is at 60 °C; 60 °C is its limit"), "{limit}");
}

/// When a kiln that moves at a rate with some of its two banks on is told to have stalled, s.
fn stalled_at(c_per_min: f64, banks: usize) -> Option<u32> {
    let mut rig = Rig::climbing();
    rig.banks_on(banks);
    (0..2_400_u32).find(|second| {
        let second = f64::from(*second);
        let reading_c = 1_100.0 + c_per_min * second / 60.0 + 0.05 * noise(second);
        names(&rig.read(reading_c).notices).contains(&Interlock::KilnStalled)
    })
}

#[test]
fn sr_24_a_kiln_that_gains_nothing_at_full_power_is_told_after_a_quarter_of_an_hour() {
    assert!(stalled_at(0.05, 2).is_some_and(|second| (900..980).contains(&second)));
}

#[test]
fn sr_24_a_kiln_that_climbs_slowly_or_is_given_half_its_power_is_not_told() {
    assert_eq!(stalled_at(0.3, 2), None);
    assert_eq!(stalled_at(0.05, 1), None);
}

#[test]
fn sr_26_an_open_or_unreadable_lid_withholds_in_the_same_step_and_a_shut_one_does_not() {
    let mut rig = Rig::climbing();
    assert_eq!(withheld_by(&rig.read(500.0)), None);
    for (lid, said) in [
        (Contact::Open, "the lid is open."),
        (Contact::Unreadable, "whether the lid is shut cannot be read."),
    ] {
        rig.lid = lid;
        let withheld = rig.read(500.0).withheld.expect("no heat while the lid may be open");
        assert_eq!(withheld.interlock, Interlock::LidOpen);
        assert_eq!(std::format!("{}", withheld.seen()), said);
    }
    rig.lid = Contact::Shut;
    assert_eq!(withheld_by(&rig.read(500.0)), None);
}

#[test]
fn sr_26_a_lid_left_open_trips_after_half_an_hour_and_one_shut_before_does_not() {
    let mut rig = Rig::climbing();
    rig.lid = Contact::Open;
    let trip = rig.read_for(1_799, |second| 500.0 + 0.1 * noise(second));
    assert_eq!(trip, None);
    let mut left = rig.clone();
    assert_eq!(left.read_for(10, |_| 500.0).map(|(_, trip)| trip.interlock), Some(Interlock::LidOpen));
    rig.lid = Contact::Shut;
    assert_eq!(rig.read_for(600, |second| 500.0 + 0.1 * noise(second)), None);
}

#[test]
fn sr_26_an_open_lid_refuses_light_up() {
    let mut rig = Rig::in_phase(Phase::Resting);
    rig.lid = Contact::Open;
    let judgement = rig.read(20.0);
    assert_eq!(judgement.refuses_light_up.map(|finding| finding.interlock), Some(Interlock::LidOpen));
    assert_eq!(judgement.trip, None);
}
