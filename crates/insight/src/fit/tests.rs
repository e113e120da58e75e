//! A model is found again from a firing that it made.

use control::{Bank, Closeness, SwitchKind};
use pyrometry::units::Watts;

use super::*;

/// A usual kiln, as guessed.
fn guessed() -> Kiln {
    let body = crate::Body {
        chamber: crate::Chamber::Volume { m3: 0.15 },
        lining: crate::Lining::SoftBrick,
        wall_m: 0.076,
    };
    let power = Watts::new(11_500.0).unwrap();
    let bank = Bank {
        power,
        current: None,
        switch: SwitchKind::Mechanical,
        on_least: Millis::from_seconds(2),
        off_least: Millis::from_seconds(2),
        cycle_least: Millis::from_seconds(10),
        probe: 0,
    };
    Kiln {
        probes: [].into_iter().collect(),
        banks: [bank].into_iter().collect(),
        switching: Closeness::Sparing,
        ceiling: Celsius::new(1300.0).unwrap(),
        supply_limit: power,
        firing_longest: Millis::from_hours(36),
        stay_longest: Millis::from_hours(2),
        open_below: Celsius::new(80.0).unwrap(),
        model: crate::guess(&body, power, 40.0).unwrap(),
    }
}

/// A firing to 1200 °C at 150 °C/h, held and cooled at 100 °C/h, with what a kiln of that model takes.
fn fired(kiln: &Kiln, truth: &KilnModel, until_c: f64) -> Vec<Sample> {
    let lasting = Millis::from_seconds(10);
    let start = Celsius::new(20.0).unwrap();
    let mut stores = Stores::found(truth, 1.0, kiln.rated(), start);
    let climb_s = (until_c - 20.0) / 150.0 * 3600.0;
    let course = |t_s: f64| match t_s - climb_s {
        before_s if before_s < 0.0 => 20.0 + 150.0 / 3600.0 * t_s,
        held_s if held_s < 1800.0 => until_c,
        after_s => until_c - 100.0 / 3600.0 * (after_s - 1800.0),
    };
    let steps = (climb_s + 1800.0 + 7200.0) / 10.0;
    let mut t_s = 0.0;
    let mut samples = Vec::new();
    while t_s < steps * 10.0 {
        t_s += 10.0;
        let chamber = Celsius::new(course(t_s)).unwrap();
        // The duty for which the balance closes in this step.
        let (mut less, mut more) = (0.0, 1.0);
        for _ in 0..40 {
            let duty = 0.5 * (less + more);
            let mut tried = stores;
            let Flows { given_w, lining_w, ware_w, leak_w } =
                tried.follow(chamber, Duty::limited(duty), lasting);
            if given_w > lining_w + ware_w + leak_w {
                more = duty;
            } else {
                less = duty;
            }
        }
        let given = Duty::limited(0.5 * (less + more));
        stores.follow(chamber, given, lasting);
        samples.push(Sample { lasting, chamber, given });
    }
    samples
}

fn other(model: &KilnModel, change: impl Fn(&mut Parameters)) -> KilnModel {
    let mut parameters = *model.parameters();
    change(&mut parameters);
    KilnModel::new(parameters).unwrap()
}

#[test]
fn a_load_and_a_lining_unlike_the_guess_are_found_from_one_firing() {
    let kiln = guessed();
    for (load, conducts) in [(0.5, 1.0), (1.8, 0.85), (1.0, 1.2)] {
        let truth = other(&kiln.model, |p| {
            p.ware_j_per_k *= load;
            p.conductivity_ratio *= conducts;
        });
        let fit = fit(&kiln, &fired(&kiln, &truth, 1200.0)).unwrap();
        let ratio = |field| fit.parameters.iter().find(|fitted| fitted.field == field).unwrap();
        let ware = ratio("ware_j_per_k");
        assert!((ware.ratio / load - 1.0).abs() < 0.1, "{load}: {fit:?}");
        assert!(ware.deviation_ratio < 0.15 && ratio("leak_w_per_k").deviation_ratio > 0.15, "{fit:?}");
        assert!(
            fit.residual_share < 0.003 && fit.residual_share < 0.5 * fit.residual_before_share,
            "{fit:?}"
        );
    }
}

#[test]
fn what_is_fitted_says_so_and_a_firing_as_guessed_changes_little() {
    let kiln = guessed();
    let fit = fit(&kiln, &fired(&kiln, &kiln.model, 1200.0)).unwrap();
    assert_eq!(fit.model.parameters().certainty, Certainty::Fitted);
    for fitted in &fit.parameters {
        assert!((fitted.ratio - 1.0).abs() < 0.02, "{fitted:?}");
    }
}

#[test]
fn a_firing_that_is_short_or_cold_teaches_nothing() {
    let kiln = guessed();
    let cold = fired(&kiln, &kiln.model, 290.0);
    assert_eq!(fit(&kiln, &cold), Err(NotFitted::TooLittle));
    let short: Vec<Sample> = fired(&kiln, &kiln.model, 1200.0).into_iter().take(719).collect();
    assert_eq!(fit(&kiln, &short), Err(NotFitted::TooLittle));
    assert_eq!(fit(&kiln, &[]), Err(NotFitted::TooLittle));
}
