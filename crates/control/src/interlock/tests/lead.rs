//! SR-08 at its bounds: how much heat, how little rise, how near to the cold junction.

use super::plain::{DITHER_C, Plain};
use super::*;

/// Full power into a kiln whose reading rises at once by so much and then stays; the trip and when.
fn stays(lit_c: f64, rises_c: f64) -> Option<(u32, Finding)> {
    let mut rig = Plain::TIGHT.rig(Phase::Climbing, lit_c);
    rig.setpoint = Some(celsius(lit_c));
    rig.banks_on(2);
    (1..=100_u32).find_map(|step| {
        let up_and_down_c = if step % 2 == 0 { DITHER_C } else { -DITHER_C };
        let trip = rig.read(lit_c + rises_c + up_and_down_c).trip?;
        Some((5 * step, trip))
    })
}

#[test]
fn sr_08_a_reading_that_stays_trips_once_the_heat_makes_thirty_degrees_by_the_most_doubtful_model() {
    // 0.6 of the heat, less 150 · 5 kJ, makes 30 °C of twice 25 kJ/K with 3.75 MJ: 375 s of 10 kW.
    let (second, trip) = stays(20.0, 0.0).expect("nothing is seen of the heat");
    assert_eq!((second, trip.interlock), (375, Interlock::ShortedLead));
    assert_eq!(trip.evidence.lasted, Millis::from_seconds(375));
}

#[test]
fn sr_08_a_reading_that_rose_five_degrees_or_is_further_than_fifteen_from_the_cold_junction_does_not_trip() {
    assert_eq!(stays(20.0, 4.9).map(|(_, trip)| trip.interlock), Some(Interlock::ShortedLead));
    assert_eq!(stays(20.0, 5.0 + DITHER_C), None);
    assert_eq!(stays(34.9, 0.0).map(|(_, trip)| trip.interlock), Some(Interlock::ShortedLead));
    assert_eq!(stays(35.1, 0.0), None);
    assert_eq!(stays(5.1, 0.0).map(|(_, trip)| trip.interlock), Some(Interlock::ShortedLead));
}

#[test]
fn sr_08_a_new_light_up_begins_the_count_anew() {
    let mut rig = Plain::TIGHT.rig(Phase::Climbing, 20.0);
    rig.setpoint = Some(celsius(20.0));
    rig.banks_on(2);
    assert_eq!(rig.samples(300, |_| 20.0), None);
    rig.phase = Phase::Cooling;
    rig.banks_on(0);
    assert_eq!(rig.samples(20, |_| 20.0), None);
    rig.phase = Phase::Climbing;
    rig.banks_on(2);
    assert_eq!(rig.samples(370, |_| 20.0), None);
    assert_eq!(rig.samples(10, |_| 20.0).map(|(_, trip)| trip.interlock), Some(Interlock::ShortedLead));
}
