//! SR-04 at its bounds: what shows that a reading ought to change, and how long it may not.

use super::*;
use pyrometry::amplifier::Amplifier;
use pyrometry::units::{Millivolts, lesser};

/// A step of the fine chip of these tests, °C.
const STEP_C: f64 = 1.0 / 128.0;

/// What a chip says, counted in its steps; type K gives 0.04 mV a degree (IEC 60584-1, roughly).
type Says = fn(f64) -> Said;

const SAYS: [Says; 3] = [
    |steps| Said::Words { junction: whole(steps), cold_junction: 25 * 64 },
    |steps| Said::Reading { junction: celsius(500.0 + STEP_C * steps), cold_junction: celsius(25.0) },
    |steps| Said::Emf {
        emf: Millivolts::new(20.0 + 0.04 * STEP_C * steps).unwrap(),
        cold_junction: celsius(25.0),
    },
];

fn whole(steps: f64) -> i32 {
    // Small whole numbers, give or take what rounding left.
    (-99..=99).find(|word| (f64::from(*word) - steps).abs() < 0.5).unwrap_or_default()
}

/// When a reading that goes by these words, over and over, and then stands is told or more, s.
fn told_after(says: Says, pattern: &[f64]) -> Option<u32> {
    let mut rig = Rig::climbing();
    let measured = Ok(Measured { junction: celsius(500.0), cold_junction: Some(celsius(25.0)) });
    let mut say = |steps: f64| {
        let judgement = rig.see_said(&[Report::single(says(steps), ChipFaults::NONE)], &[measured]);
        names(&judgement.notices).contains(&Interlock::StuckReading)
    };
    for _ in 0..80 {
        for steps in pattern {
            assert!(!say(*steps), "while it moves");
        }
    }
    let last = *pattern.last().expect("it moves");
    (1..=25).find(|_| say(last))
}

#[test]
fn sr_04_a_reading_dithers_where_it_turns_back_by_two_steps_and_not_by_less_whatever_the_chip_says() {
    for says in SAYS {
        assert_eq!(told_after(says, &[0.0, 2.02]), Some(20));
        assert_eq!(told_after(says, &[0.0, 1.0]), None);
    }
}

#[test]
fn sr_04_a_reading_dithers_where_a_quarter_of_its_samples_turn_back_and_not_where_a_fifth_do() {
    let zigzag = |leg: usize| {
        let up = (0..leg).map(|sample| 3.0 * f64::from(u8::try_from(sample).unwrap()));
        let top = 3.0 * f64::from(u8::try_from(leg).unwrap());
        up.clone().chain(up.map(|steps| top - steps)).collect::<Vec<f64>>()
    };
    let says = SAYS[1];
    assert_eq!(told_after(says, &zigzag(3)), Some(20));
    assert_eq!(told_after(says, &zigzag(5)), None);
    // The same where the last sample before it stands is the one that turned back.
    let mut turned = zigzag(5);
    turned.rotate_left(2);
    assert_eq!(told_after(says, &turned), None);
}

#[test]
fn sr_04_a_sample_that_is_missing_does_not_forget_that_a_reading_dithers() {
    let mut rig = Rig::climbing();
    rig.read_for(300, |second| 500.0 + 0.1 * noise(second));
    rig.see(Err(SensorFault::Open));
    let told = (0..30_u32).find(|_| names(&rig.read(500.0).notices).contains(&Interlock::StuckReading));
    assert_eq!(told, Some(20), "the first begins the run");
}

#[test]
fn sr_04_a_slow_quiet_climb_that_stands_for_a_minute_is_not_told() {
    let mut rig = Rig::climbing();
    for second in 0..300 {
        rig.read(500.0 + STEP_C * f64::from(second));
    }
    assert!((0..60).all(|_| rig.read(500.0 + STEP_C * 299.0).notices.is_empty()));
}

/// When a quiet reading of 500 °C that stands withholds, and the bound it is held to, both in seconds;
/// its plan goes from one place to another in the second minute.
fn withheld_after(from_c: f64, to_c: f64, amplifier: Amplifier) -> Option<(u32, f64)> {
    let mut rig = Rig::climbing();
    rig.kiln.probes[0].sensor.amplifier = amplifier;
    (0..700_u32).find_map(|second| {
        rig.setpoint = Some(celsius(if second < 60 { from_c } else { to_c }));
        let withheld = rig.read(500.0).withheld.filter(|by| by.interlock == Interlock::StuckReading)?;
        Some((second, withheld.evidence.bound))
    })
}

#[test]
fn sr_04_one_word_for_three_minutes_while_the_plan_moved_just_three_degrees_withholds() {
    for to_c in [503.0, 497.0] {
        assert_eq!(withheld_after(500.0, to_c, Amplifier::Max31856), Some((180, 180.0)), "to {to_c} °C");
    }
    assert_eq!(withheld_after(500.0, 502.99, Amplifier::Max31856), Some((600, 600.0)));
    assert_eq!(withheld_after(500.0, 502.99, Amplifier::Max31855), None);
}

#[test]
fn sr_04_one_word_for_five_minutes_while_the_plan_waits_just_three_degrees_away_withholds() {
    for at_c in [503.0, 497.0] {
        assert_eq!(withheld_after(at_c, at_c, Amplifier::Max31855), Some((300, 300.0)), "at {at_c} °C");
    }
    assert_eq!(withheld_after(502.99, 502.99, Amplifier::Max31855), None);
}

/// When a coarse reading that climbed or fell by 3 °C a minute and then stands trips, s; `ahead_c` is how far
/// it is ahead of a plan that goes on at that rate.
fn coarse_trips_after(rig: &mut Rig, c_per_s: f64, ahead_c: f64) -> Option<u32> {
    for probe in &mut rig.kiln.probes {
        probe.sensor.amplifier = Amplifier::Max31855;
    }
    rig.banks_on(usize::from(c_per_s > 0.0));
    let probes = rig.kiln.probes.len();
    let quarter = |c: f64| libm::round(c * 4.0) / 4.0;
    let mut say = |second: u32, reading_c: f64| {
        let way = libm::copysign(1.0, c_per_s);
        rig.setpoint = Some(celsius(500.0 + c_per_s * f64::from(second) - way * ahead_c));
        let cold_junction = celsius(25.0);
        // The others go on.
        let at_c = [reading_c, 500.0 + c_per_s * f64::from(second)].map(quarter);
        let said = at_c.map(|c| Said::Reading { junction: celsius(c), cold_junction });
        let reports = said.map(|said| Report::single(said, ChipFaults::NONE));
        let measured =
            at_c.map(|c| Ok(Measured { junction: celsius(c), cold_junction: Some(cold_junction) }));
        trip_of(&rig.see_said(&reports[..probes], &measured[..probes])) == Some(Interlock::StuckReading)
    };
    for second in 0..600 {
        assert!(!say(second, 500.0 + c_per_s * f64::from(second)), "while it moves");
    }
    (0..600).find(|second| say(600 + second, 500.0 + c_per_s * 599.0))
}

#[test]
fn sr_04_a_coarse_reading_that_is_ahead_of_its_plan_may_wait_for_it_and_one_that_is_behind_may_not() {
    for c_per_s in [0.05, -0.05] {
        let trips = |ahead_c| coarse_trips_after(&mut Rig::climbing(), c_per_s, ahead_c);
        assert!(trips(0.0).is_some_and(|second| (115..=121).contains(&second)), "{:?}", trips(0.0));
        assert!(trips(-5.0).is_some_and(|second| (115..=121).contains(&second)), "{:?}", trips(-5.0));
        // 7 °C ahead, and a degree more before four steps are due: the plan needs 160 s for it.
        assert!(trips(7.0).is_some_and(|second| (155..=165).contains(&second)), "{:?}", trips(7.0));
    }
}

#[test]
fn sr_04_a_coarse_reading_above_or_below_a_plan_that_stands_may_stand_with_it() {
    for stands_at_c in [522.0, 538.0] {
        let mut rig = Rig::climbing();
        rig.kiln.probes[0].sensor.amplifier = Amplifier::Max31855;
        rig.banks_on(1);
        let quarter = |c: f64| libm::round(c * 4.0) / 4.0;
        for second in 0..600 {
            let planned_c = stands_at_c - 22.0 + 0.05 * f64::from(second);
            rig.setpoint = Some(celsius(lesser(planned_c, stands_at_c)));
            assert_eq!(rig.read(quarter(500.0 + 0.05 * f64::from(second))).trip, None);
        }
        assert_eq!(rig.read_for(290, |_| quarter(500.0 + 0.05 * 599.0)), None, "a plan at {stands_at_c} °C");
    }
}

#[test]
fn sr_04_a_coarse_reading_of_one_zone_of_several_may_stand_for_five_minutes() {
    let mut rig = Rig::climbing();
    let probe = rig.kiln.probes[0];
    rig.kiln.probes.push(probe).unwrap();
    rig.kiln.banks[1].probe = 1;
    let tripped = coarse_trips_after(&mut rig, 0.05, 0.0);
    assert!(tripped.is_some_and(|second| (295..=301).contains(&second)), "{tripped:?}");
}
