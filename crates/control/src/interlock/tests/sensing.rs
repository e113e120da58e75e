//! SR-01 to SR-07.

use super::*;
use pyrometry::amplifier::Amplifier;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::lesser;

/// Steps with a fault where `faulty` says so, else a healthy sample; the first step that trips.
fn trips_at(fault: SensorFault, steps: u32, faulty: impl Fn(u32) -> bool) -> Option<(u32, Interlock)> {
    let mut rig = Rig::climbing();
    (0..steps).find_map(|step| {
        let judgement =
            if faulty(step) { rig.see(Err(fault)) } else { rig.read(20.0 + 0.2 * noise(f64::from(step))) };
        trip_of(&judgement).map(|trip| (step, trip))
    })
}

#[test]
fn sr_01_open_thermocouple_withholds_at_once_and_trips_at_the_third_in_a_row() {
    let mut rig = Rig::climbing();
    rig.read(20.0);
    assert_eq!(withheld_by(&rig.see(Err(SensorFault::Open))), Some(Interlock::BrokenThermocouple));
    assert_eq!(trips_at(SensorFault::Open, 20, |step| step >= 5), Some((7, Interlock::BrokenThermocouple)));
    assert_eq!(
        trips_at(SensorFault::OutOfRange, 20, |step| step >= 5),
        Some((7, Interlock::BrokenThermocouple))
    );
}

#[test]
fn sr_01_five_open_flags_in_ten_seconds_trip_and_four_do_not() {
    assert_eq!(
        trips_at(SensorFault::Open, 30, |step| step >= 10 && step % 2 == 0),
        Some((18, Interlock::BrokenThermocouple))
    );
    assert_eq!(trips_at(SensorFault::Open, 30, |step| (10..18).contains(&step) && step % 2 == 0), None);
}

#[test]
fn sr_01_two_open_flags_in_a_row_do_not_trip() {
    assert_eq!(trips_at(SensorFault::Open, 60, |step| (10..12).contains(&step)), None);
}

#[test]
fn sr_02_short_trips_at_the_third_in_a_row() {
    assert_eq!(trips_at(SensorFault::Short, 20, |step| step >= 5), Some((7, Interlock::ShortedThermocouple)));
}

#[test]
fn sr_02_two_shorts_in_a_row_withhold_and_do_not_trip() {
    assert_eq!(trips_at(SensorFault::Short, 60, |step| (10..12).contains(&step)), None);
    let mut rig = Rig::climbing();
    rig.read(20.0);
    assert_eq!(withheld_by(&rig.see(Err(SensorFault::Short))), Some(Interlock::ShortedThermocouple));
}

#[test]
fn sr_03_dead_amplifier_trips_at_the_third_failure_and_two_do_not() {
    assert_eq!(
        trips_at(SensorFault::NoAnswer, 20, |step| step >= 5),
        Some((7, Interlock::AmplifierNotAnswering))
    );
    assert_eq!(trips_at(SensorFault::NoAnswer, 60, |step| (10..12).contains(&step)), None);
}

#[test]
fn sr_03_a_step_later_than_five_seconds_withholds_and_one_of_five_does_not() {
    let mut rig = Rig::climbing();
    rig.read(20.0);
    rig.span = Millis::from_seconds(5);
    assert_eq!(withheld_by(&rig.read(20.1)), None);
    rig.span = Millis::new(5_001);
    assert_eq!(withheld_by(&rig.read(20.2)), Some(Interlock::StaleReading));
    rig.span = SECOND;
    assert_eq!(withheld_by(&rig.read(20.1)), None, "fresh again");
}

#[test]
fn sr_03_a_last_good_sample_older_than_fifteen_seconds_trips() {
    let mut rig = Rig::climbing();
    rig.read(20.0);
    rig.span = Millis::from_seconds(15);
    assert_eq!(trip_of(&rig.read(20.1)), None);
    rig.span = Millis::new(15_001);
    assert_eq!(trip_of(&rig.read(20.2)), Some(Interlock::StaleReading));
}

#[test]
fn sr_04_a_noisy_fine_reading_that_freezes_is_told_at_twenty_seconds_and_trips_at_thirty() {
    let mut rig = Rig::climbing();
    assert_eq!(rig.read_for(300, |second| 500.0 + 0.1 * noise(second)), None);
    let frozen = 500.0 + 0.1 * noise(299.0);
    for _ in 0..19 {
        assert!(rig.read(frozen).notices.is_empty());
    }
    assert_eq!(names(&rig.read(frozen).notices), [Interlock::StuckReading]);
    assert_eq!(rig.read_for(9, |_| frozen), None);
    assert_eq!(rig.read_for(1, |_| frozen).map(|(_, trip)| trip.interlock), Some(Interlock::StuckReading));
}

#[test]
fn sr_04_a_quiet_reading_that_stands_still_as_heat_begins_or_at_a_soak_does_not_trip() {
    let mut rig = Rig::climbing();
    rig.banks_on(2);
    assert_eq!(rig.read_for(90, |_| 20.0), None);
    let mut soaking = Rig::climbing();
    soaking.banks_on(1);
    assert_eq!(soaking.read_for(600, |second| 500.0 + 0.05 * second), None);
    soaking.banks_on(0);
    assert_eq!(soaking.read_for(170, |_| 530.0), None, "power fell, so the rise may end");
}

#[test]
fn sr_04_a_quiet_fine_reading_frozen_in_a_soak_withholds_at_ten_minutes_where_a_coarse_one_may_stand() {
    let withheld_at = |amplifier: Amplifier| {
        let mut rig = Rig::climbing();
        rig.kiln.probes[0].sensor.amplifier = amplifier;
        rig.banks_on(1);
        assert_eq!(rig.read_for(600, |second| 500.0 + 0.05 * second), None);
        rig.banks_on(0);
        rig.setpoint = Some(celsius(530.0));
        (0..700).find(|_| withheld_by(&rig.read(530.0)) == Some(Interlock::StuckReading))
    };
    assert_eq!(withheld_at(Amplifier::Max31856), Some(600), "the first of them is where the run begins");
    assert_eq!(withheld_at(Amplifier::Max31855), None);
}

#[test]
fn sr_04_a_quiet_fine_reading_may_stand_still_for_hours_while_nothing_heats() {
    let mut rig = Rig::climbing();
    rig.phase = Phase::Resting;
    rig.setpoint = None;
    rig.banks_on(0);
    assert!((0..7_200).all(|_| withheld_by(&rig.read(20.0)).is_none()));
}

#[test]
fn sr_04_a_quiet_ramp_that_freezes_under_the_same_power_trips() {
    let mut rig = Rig::climbing();
    rig.banks_on(1);
    assert_eq!(rig.read_for(600, |second| 500.0 + 0.05 * second), None);
    let (second, trip) = rig.read_for(100, |_| 529.95).expect("it ought to go on rising");
    assert_eq!((second, trip.interlock), (89, Interlock::StuckReading));
}

#[test]
fn sr_04_a_coarse_ramp_that_freezes_trips_at_two_minutes() {
    let coarse = |rig: &mut Rig| {
        for probe in &mut rig.kiln.probes {
            probe.sensor.amplifier = Amplifier::Max31855;
        }
        rig.banks_on(1);
    };
    let quarter = |c: f64| (c * 4.0).round() / 4.0;
    let mut ramp = Rig::climbing();
    coarse(&mut ramp);
    assert_eq!(ramp.read_for(600, |second| quarter(500.0 + 0.05 * second)), None);
    let frozen = quarter(500.0 + 0.05 * 599.0);
    let (second, trip) = ramp.read_for(200, |_| frozen).expect("it ought to go on rising");
    assert_eq!(trip.interlock, Interlock::StuckReading);
    assert!((115..=120).contains(&second), "{second}");
}

#[test]
fn sr_04_a_cold_kiln_that_waits_may_stand_still_on_platinum_and_a_straight_line_chip() {
    // IEC 60584-1: type R gives 5.9 µV/°C at 20 °C, where the chip counts 10.506: steps of 0.45 °C.
    let stands_still = |thermocouple: Thermocouple, plan_c_per_h: f64| {
        let mut rig = Rig::climbing();
        rig.kiln.probes[0].sensor.amplifier = Amplifier::Max31855;
        rig.kiln.probes[0].sensor.thermocouple = thermocouple;
        rig.banks_on(1);
        let step_c = 0.25 * 10.506 / 5.9;
        (0..490_u32).find_map(|second| {
            let t_s = f64::from(second);
            rig.setpoint = Some(celsius(16.0 + plan_c_per_h * t_s / 3_600.0));
            let reading_c = 16.0 + 80.0 * lesser(t_s, 360.0) / 3_600.0;
            trip_of(&rig.read((reading_c / step_c).round() * step_c))
        })
    };
    assert_eq!(stands_still(Thermocouple::R, 80.0), None);
    assert_eq!(stands_still(Thermocouple::K, 80.0), Some(Interlock::StuckReading), "its steps are smaller");
    assert_eq!(stands_still(Thermocouple::K, 49.0), None, "it is ahead of its plan");
}

#[test]
fn sr_05_a_jump_is_discarded_and_withholds_in_the_same_step() {
    let mut rig = Rig::climbing();
    rig.read_for(100, |_| 300.0);
    let judgement = rig.read(311.0);
    assert_eq!(withheld_by(&judgement), Some(Interlock::JumpingReading));
    assert!(!judgement.usable[0]);
    let after = rig.read(300.5);
    assert_eq!((withheld_by(&after), trip_of(&after), after.usable[0]), (None, None, true));
}

#[test]
fn sr_05_a_change_of_five_degrees_in_a_second_is_let_through_and_a_little_more_is_not() {
    let mut rig = Rig::climbing();
    rig.read_for(100, |_| 300.0);
    assert_eq!(withheld_by(&rig.read(305.0)), None);
    assert_eq!(withheld_by(&rig.read(310.1)), Some(Interlock::JumpingReading));
}

#[test]
fn sr_05_a_step_that_stays_trips_and_heat_is_withheld_from_its_first_sample() {
    let mut rig = Rig::climbing();
    rig.read_for(100, |_| 300.0);
    for _ in 0..4 {
        assert_eq!(withheld_by(&rig.read(340.0)), Some(Interlock::JumpingReading));
    }
    assert_eq!(trip_of(&rig.read(340.0)), Some(Interlock::JumpingReading));
}

#[test]
fn sr_05_ten_jumps_in_a_minute_trip_and_nine_do_not() {
    let spiky = |every: u32, count: u32| {
        let mut rig = Rig::climbing();
        rig.read_for(70, |_| 300.0);
        (0..count * every).find_map(|second| {
            let reading = if second % every == 0 { 330.0 } else { 300.0 };
            trip_of(&rig.read(reading))
        })
    };
    assert_eq!(spiky(6, 10), Some(Interlock::JumpingReading));
    assert_eq!(spiky(6, 9), None);
    assert_eq!(spiky(8, 30), None, "at most eight in any minute");
}

#[test]
fn sr_05_the_fastest_healthy_rise_is_no_jump_even_after_a_gap() {
    let mut rig = Rig::climbing();
    assert_eq!(rig.read_for(60, |second| 100.0 + 1.25 * second), None);
    rig.span = Millis::from_seconds(5);
    let judgement = rig.read(100.0 + 1.25 * 64.0);
    assert_eq!((withheld_by(&judgement), judgement.usable[0]), (None, true));
}

#[test]
fn sr_07_reversed_thermocouple_trips_within_three_minutes() {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(60.0));
    rig.banks_on(1);
    // The kiln warms by 2 °C a minute, so 2·CJ − T falls by as much.
    let (second, trip) =
        rig.read_for(600, |second| 25.0 - 2.0 * second / 60.0).expect("it falls while heated");
    assert_eq!(trip.interlock, Interlock::ReversedThermocouple);
    assert!(second <= 200, "{second}");
}

#[test]
fn sr_07_a_reading_that_falls_less_than_three_degrees_or_at_little_duty_does_not_trip() {
    let mut heated = Rig::climbing();
    heated.setpoint = Some(celsius(60.0));
    heated.banks_on(1);
    assert_eq!(heated.read_for(400, |second| 25.0 - 0.9 * second / 60.0), None);
    let mut idle = Rig::climbing();
    idle.setpoint = Some(celsius(60.0));
    assert_eq!(idle.read_for(400, |second| 25.0 - 1.1 * second / 60.0), None);
}

#[test]
fn sr_07_colder_than_the_cold_junction_trips_beyond_the_boxs_warmth_and_not_within_it() {
    let mut rig = Rig::climbing();
    rig.cold_junction_c = 20.0;
    rig.read(5.0); // a winter shed: the box is 15 °C warmer at light-up
    assert_eq!(trip_of(&rig.read(0.5)), None);
    assert_eq!(trip_of(&rig.read(-4.0)), None);
    assert_eq!(trip_of(&rig.read(-5.5)), Some(Interlock::ReversedThermocouple));
}

#[test]
fn sr_07_a_reading_that_rose_and_then_falls_is_not_called_reversed() {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(60.0));
    rig.banks_on(1);
    assert_eq!(rig.read_for(300, |second| 25.0 + 3.0 * second / 60.0), None);
    assert_eq!(rig.read_for(400, |second| 40.0 - 2.0 * second / 60.0), None);
}
