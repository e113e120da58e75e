//! Climbs of every speed on healthy kilns whose load was told wrongly: nothing trips, little is
//! overshot.

mod common;

use common::{Bench, celsius, climb, flat_out, kiln_of, programme};
use control::{Firing, Phase, Segment, Start};
use kiln_sim::{KilnSpec, Ware};
use pyrometry::units::Millis;

const TOLD_KG: f64 = 30.0;

/// Ware of the same kind for every mass, 0.04 m² a kilogram, in a kiln of more or less power.
fn kiln(mass_kg: f64, power_ratio: f64) -> KilnSpec {
    let ware = Ware { mass_kg, area_m2: 0.04 * mass_kg, core_lag_s: 240.0 };
    let mut spec = KilnSpec { ware, ..KilnSpec::default() };
    for bank in &mut spec.banks {
        bank.rated_w *= power_ratio;
    }
    spec
}

/// Fires one segment as the daemon would, with its own forecast; gives how far the junction went
/// beyond the target.
fn overshoot_c(spec: &KilnSpec, segment: Segment, to_c: f64) -> f64 {
    let programme = programme(&[segment]);
    let forecast = insight::longest_forecast(&kiln_of(spec, TOLD_KG), &programme, celsius(spec.start_c));
    let firing = Firing { programme, delay: Millis::ZERO, forecast };
    let mut bench = Bench::with(spec, TOLD_KG, Some(firing), Start::default());
    let mut most_c = f64::MIN;
    loop {
        let decision = bench.step(&[]);
        let mass_kg = spec.ware.mass_kg;
        let healthy = decision.trip.is_none() && decision.withheld.is_none();
        assert!(healthy, "{mass_kg} kg, {segment:?}, {} s: {decision:?}", bench.second());
        if bench.true_junction_c() > most_c {
            most_c = bench.true_junction_c();
        }
        if decision.segment.is_none() && decision.phase != Phase::SetForLater {
            return most_c - to_c;
        }
    }
}

/// Half the power, all of it, and a third more.
const POWERS: [f64; 3] = [0.5, 1.0, 1.3];

fn fire_all(powers: &[f64], loads_kg: &[f64], most_c: f64, segment: impl Fn(f64) -> Segment) {
    for power_ratio in powers {
        for to_c in [60.0, 90.0, 120.0, 150.0, 300.0, 500.0, 800.0, 1100.0] {
            for mass_kg in loads_kg {
                let over_c = overshoot_c(&kiln(*mass_kg, *power_ratio), segment(to_c), to_c);
                assert!(
                    over_c < most_c,
                    "{mass_kg} kg, {power_ratio} × power, to {to_c} °C: {over_c} °C over"
                );
            }
        }
    }
}

#[test]
fn flat_out_with_half_to_double_the_load_never_trips_and_overshoots_little() {
    fire_all(&POWERS, &[15.0, 30.0, 45.0, 60.0], 7.0, |to_c| flat_out(to_c, 30));
}

#[test]
fn flat_out_with_a_fifteenth_to_three_times_the_load_never_trips() {
    fire_all(&POWERS, &[2.0, 8.0], 10.0, |to_c| flat_out(to_c, 30));
    // With half the power three times the load takes longer than any forecast, and that is told.
    fire_all(&[1.0, 1.3], &[90.0], 10.0, |to_c| flat_out(to_c, 30));
}

#[test]
fn a_climb_faster_than_the_kiln_can_does_not_wind_up() {
    fire_all(&POWERS, &[15.0, 30.0, 60.0], 7.0, |to_c| climb(400.0, to_c, 30));
}

#[test]
fn usual_climbs_with_half_to_double_the_load_stay_within_three_degrees() {
    fire_all(&POWERS, &[15.0, 30.0, 60.0], 3.0, |to_c| climb(100.0, to_c, 30));
}
