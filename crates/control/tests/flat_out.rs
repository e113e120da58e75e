//! Climbs of every speed on healthy kilns whose load was told wrongly: nothing trips, little is
//! overshot.

mod common;

use common::{Bench, celsius, climb, flat_out, kiln_of, programme};
use control::{Firing, Kiln, Phase, Segment, Start};
use kiln_sim::{BankSpec, KilnSpec, Ware};
use pyrometry::units::{Millis, Watts};

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
fn overshoot_c(spec: &KilnSpec, supply_limit: Watts, segment: Segment, to_c: f64) -> f64 {
    let programme = programme(&[segment]);
    let told = Kiln { supply_limit, ..kiln_of(spec, TOLD_KG) };
    let forecast = insight::longest_forecast(&told, &programme, celsius(spec.start_c));
    let firing = Firing { programme, delay: Millis::ZERO, forecast, learned: None };
    let mut bench = Bench::with(spec, TOLD_KG, Some(firing), &Start::default());
    bench.begin_anew_with(|kiln| kiln.supply_limit = supply_limit);
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

/// Power of all banks together.
fn rated(spec: &KilnSpec) -> Watts {
    Watts::new(spec.banks.iter().map(|bank| bank.rated_w).sum()).unwrap()
}

/// Half the power, all of it, and a third more.
const POWERS: [f64; 3] = [0.5, 1.0, 1.3];

fn fire_all(powers: &[f64], loads_kg: &[f64], most_c: f64, segment: impl Fn(f64) -> Segment) {
    for power_ratio in powers {
        for to_c in [60.0, 90.0, 120.0, 150.0, 300.0, 500.0, 800.0, 1100.0] {
            for mass_kg in loads_kg {
                let spec = kiln(*mass_kg, *power_ratio);
                let over_c = overshoot_c(&spec, rated(&spec), segment(to_c), to_c);
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
    fire_all(&POWERS, &[15.0, 30.0, 45.0, 60.0], 6.0, |to_c| flat_out(to_c, 30));
}

#[test]
fn flat_out_with_a_fifteenth_to_three_times_the_load_never_trips() {
    fire_all(&POWERS, &[2.0, 8.0], 6.0, |to_c| flat_out(to_c, 30));
    // With half the power three times the load takes longer than any forecast, and that is told.
    fire_all(&[1.0, 1.3], &[90.0], 7.0, |to_c| flat_out(to_c, 30));
}

#[test]
fn a_climb_faster_than_the_kiln_can_does_not_wind_up() {
    fire_all(&POWERS, &[15.0, 30.0, 60.0], 4.0, |to_c| climb(400.0, to_c, 30));
}

#[test]
fn usual_climbs_with_half_to_double_the_load_stay_within_three_degrees() {
    fire_all(&POWERS, &[15.0, 30.0, 60.0], 3.0, |to_c| climb(100.0, to_c, 30));
}

/// Banks that take turns on a short supply: what they are asked for and what they get differ.
#[test]
fn a_supply_shorter_than_its_banks_is_no_reason_to_trip() {
    let bank = kiln(30.0, 1.0).banks[0];
    for (banks, supply_w) in [(2, 6_000.0), (4, 3.2 * bank.rated_w / 2.0), (4, 2.9 * bank.rated_w / 2.0)] {
        let rated_w = 2.0 * bank.rated_w / f64::from(banks);
        let mut spec = kiln(30.0, 1.0);
        spec.banks = (0..banks).map(|_| BankSpec { rated_w, ..bank }).collect();
        let supply = Watts::new(supply_w).unwrap();
        for (segment, to_c, most_c) in [
            (flat_out(500.0, 30), 500.0, 4.0),
            (climb(400.0, 800.0, 30), 800.0, 4.0),
            (climb(100.0, 600.0, 30), 600.0, 2.0),
        ] {
            let over_c = overshoot_c(&spec, supply, segment, to_c);
            assert!(over_c < most_c, "{banks} banks on {supply_w} W, {segment:?}: {over_c} °C over");
        }
    }
}
