//! The account of heat that several rows judge by, against sums done by hand.

use super::super::observer::{Observer, Sample, Totals};
use super::*;
use crate::model::{KilnModel, Parameters};

const FIVE_S: Millis = Millis::from_seconds(5);

/// A kiln of two banks of 5 kW that give 4 kW each. Its lining is next to nothing and its leak 10 W/K,
/// so that what it loses is 10 W for each degree above the room.
fn leaky() -> Rig {
    let mut rig = Rig { span: FIVE_S, cold_junction_c: 20.0, ..Rig::in_phase(Phase::Resting) };
    let model = Parameters {
        wall_area_m2: 0.01,
        wall_thickness_m: 0.6,
        brick_kg_per_m3: 50.0,
        conductivity_ratio: 0.1,
        leak_w_per_k: 10.0,
        power_ratio: 0.8,
        ..*rig.kiln.model.parameters()
    };
    rig.kiln.model = KilnModel::new(model).unwrap();
    rig.interlocks = Interlocks::new(&rig.kiln, None);
    rig
}

fn observer(rig: &Rig) -> &Observer {
    &rig.interlocks.observer
}

/// Reads for some seconds, in steps of five; gives the latest sample.
fn reads(rig: &mut Rig, seconds: u32, reading: impl Fn(f64) -> f64) -> Sample {
    for step in 0..seconds / 5 {
        rig.read(reading(5.0 * f64::from(step)));
    }
    observer(rig).ago(0).expect("ten seconds make a sample")
}

fn within_a_percent(seen: f64, expected: f64) -> bool {
    (seen - expected).abs() <= 0.01 * expected.abs()
}

#[test]
fn a_sample_is_the_mean_of_ten_seconds_and_tells_when_it_was_taken() {
    let mut rig = leaky();
    rig.span = SECOND;
    let mut taken = Vec::new();
    for second in 0..=40_u32 {
        rig.read(if second % 2 == 0 { 100.0 } else { 101.0 });
        if let Some(sample) = observer(&rig).fresh() {
            taken.push((second, sample.at.seconds(), sample.chamber_c));
        }
    }
    // The first has eleven readings, six of them the lower.
    let first_c = (6.0 * 100.0 + 5.0 * 101.0) / 11.0;
    assert_eq!(taken, [(10, 10.0, first_c), (20, 20.0, 100.5), (30, 30.0, 100.5), (40, 40.0, 100.5)]);
    assert_eq!(observer(&rig).ago(2).map(|sample| sample.at.seconds()), Some(20.0));
}

#[test]
fn after_seconds_without_a_reading_the_first_one_makes_a_sample() {
    let mut rig = leaky();
    rig.span = SECOND;
    rig.read(100.0);
    for _ in 0..10 {
        rig.read(100.0);
    }
    for _ in 0..13 {
        rig.see(Err(SensorFault::Open));
        assert_eq!(observer(&rig).fresh(), None);
    }
    rig.read(100.0);
    assert_eq!(observer(&rig).fresh().map(|sample| sample.at.seconds()), Some(24.0));
}

#[test]
fn heat_given_is_the_real_power_of_the_banks_that_are_on_times_their_time() {
    let mut rig = leaky();
    reads(&mut rig, 105, |_| 100.0);
    assert_eq!(observer(&rig).totals().given_j, 0.0);
    rig.banks_on(1);
    let one = reads(&mut rig, 300, |_| 100.0);
    assert!(within_a_percent(one.given_j, 4_000.0 * 300.0), "{one:?}");
    assert!(within_a_percent(observer(&rig).duty_over(20).unwrap(), 0.5));
    rig.banks_on(2);
    let both = reads(&mut rig, 200, |_| 100.0);
    assert!(within_a_percent(both.given_j, 4_000.0 * 300.0 + 8_000.0 * 200.0), "{both:?}");
    assert!(within_a_percent(observer(&rig).duty_over(20).unwrap(), 1.0));
    assert!(within_a_percent(observer(&rig).duty_over(40).unwrap(), 0.75));
    assert_eq!(both.totals(), observer(&rig).totals());
}

#[test]
fn heat_lost_is_the_leak_times_the_degrees_above_the_room_times_the_time() {
    let mut rig = leaky();
    let before = reads(&mut rig, 105, |_| 220.0);
    let after = reads(&mut rig, 600, |_| 220.0);
    let lost_j = after.lost_j - before.lost_j;
    assert!(within_a_percent(lost_j, 10.0 * 200.0 * 600.0), "{lost_j}");
    assert_eq!(observer(&rig).totals().lost_j, after.lost_j);
}

#[test]
fn heat_stored_by_a_rise_of_a_hundred_degrees_is_a_hundred_times_what_ware_and_elements_hold() {
    let mut rig = leaky();
    let before = reads(&mut rig, 105, |_| 100.0);
    reads(&mut rig, 100, |second| 100.0 + second);
    let after = reads(&mut rig, 8 * 3_600, |_| 200.0);
    let stored_j = after.stored_j - before.stored_j;
    assert!(within_a_percent(stored_j, 100.0 * (30_000.0 + 4_000.0)), "{stored_j}");
    assert_eq!(observer(&rig).store_j_per_k(), 34_000.0);
}

#[test]
fn a_kiln_found_more_than_sixty_degrees_above_its_amplifier_hides_its_wall_for_an_hour() {
    let known_after = |found_c: f64, cold_junction_c: f64| {
        let mut rig = leaky();
        rig.cold_junction_c = cold_junction_c;
        (0..4_000_u32).step_by(5).find(|_| {
            rig.read(found_c);
            observer(&rig).ago(0).is_some() && observer(&rig).knows_the_wall()
        })
    };
    assert_eq!(known_after(80.0, 20.0), Some(10), "sixty degrees are a summer's day and a warm box");
    assert_eq!(known_after(80.1, 20.0), Some(3_610));
    assert_eq!(known_after(50.0, 25.0), Some(10));
}

#[test]
fn sr_08_a_sure_rise_has_the_model_forty_percent_out_twice_the_load_and_elements_that_take_150_degrees_first()
{
    let rig = leaky();
    let then = Totals { given_j: 1.0e6, lost_j: 0.5e6 };
    let now = Totals { given_j: 11.0e6, lost_j: 1.5e6 };
    let left_j = 0.6 * 10.0e6 - 1.4 * 1.0e6 - 150.0 * 4_000.0;
    let risen_c = observer(&rig).surely_risen_c(then, now);
    assert!(within_a_percent(risen_c, left_j / (2.0 * 34_000.0)), "{risen_c}");
}
