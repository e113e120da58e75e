//! Corrections and their limits; uncertainty budgets against quoted standards.

use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::{Calibration, Day, Override, Point, Refusal};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::uncertainty::{Chain, Lead, ToleranceClass, tolerance};
use pyrometry::units::{Celsius, CelsiusDelta};

fn celsius(value: f64) -> Celsius {
    Celsius::new(value).expect("a temperature")
}

fn degrees(value: f64) -> CelsiusDelta {
    CelsiusDelta::new(value).expect("a difference")
}

fn point(at: f64, add: f64) -> Point {
    Point { at: celsius(at), add: degrees(add) }
}

fn piecewise(points: &[(f64, f64)]) -> Result<Calibration, Refusal> {
    let points: Vec<Point> = points.iter().map(|(at, add)| point(*at, *add)).collect();
    Calibration::piecewise(&points, Override::None)
}

#[test]
fn a_correction_is_straight_between_its_points_and_held_outside() {
    let calibration = piecewise(&[(600.0, 2.0), (1000.0, 4.0), (1200.0, 10.0)]).expect("within the limits");
    for (at, expected) in [
        (20.0, 2.0),
        (600.0, 2.0),
        (800.0, 3.0),
        (1000.0, 4.0),
        (1100.0, 7.0),
        (1200.0, 10.0),
        (1300.0, 10.0),
    ] {
        assert_eq!(calibration.correction(celsius(at)).c(), expected, "{at}");
    }
    for (at, expected) in [(500.0, 100.0), (600.0, 0.0), (900.0, 0.0), (1250.0, 50.0)] {
        assert_eq!(calibration.beyond_evidence(celsius(at)).c(), expected, "{at}");
    }
    let read = calibration.uncorrected(celsius(1107.0));
    assert!((calibration.corrected(read).c() - 1107.0).abs() < 1e-9);
}

#[test]
fn more_than_twenty_five_degrees_needs_a_recorded_override() {
    assert!(Calibration::offset(degrees(25.0), Override::None).is_ok());
    assert!(Calibration::offset(degrees(-25.01), Override::None).is_err());
    assert!(Calibration::offset(degrees(-25.01), Override::Recorded).is_ok());
    let thirteen = Calibration::offset(degrees(13.0), Override::None).expect("small");
    let points = piecewise(&[(600.0, 10.0), (1200.0, 12.5)]).expect("small");
    let refused = thirteen.and(points, Override::None);
    assert_eq!(refused, Err(Refusal::TooMuch { correction: degrees(25.5) }));
    let sum = thirteen.and(points, Override::Recorded).expect("recorded");
    assert_eq!(sum.correction(celsius(900.0)).c(), 13.0 + 11.25);
}

#[test]
fn a_sum_bends_where_either_part_does() {
    let first = piecewise(&[(600.0, 0.0), (1000.0, 4.0)]).expect("small");
    let second = piecewise(&[(800.0, 1.0), (1200.0, 3.0)]).expect("small");
    let sum = first.and(second, Override::None).expect("small");
    for at in [500.0, 700.0, 900.0, 1100.0, 1300.0] {
        let expected = first.correction(celsius(at)).c() + second.correction(celsius(at)).c();
        assert!((sum.correction(celsius(at)).c() - expected).abs() < 1e-12, "{at}");
    }
}

#[test]
fn a_correction_that_could_turn_the_scale_round_is_refused() {
    assert_eq!(piecewise(&[(600.0, 0.0), (600.0, 1.0)]), Err(Refusal::NotRising { point: 1 }));
    assert_eq!(piecewise(&[(600.0, 0.0), (604.0, 1.01)]), Err(Refusal::TooSteep { point: 1 }));
    assert!(piecewise(&[(600.0, 0.0), (604.0, 1.0)]).is_ok());
    let nine: Vec<(f64, f64)> = (0..9).map(|n| (f64::from(n) * 100.0, 0.0)).collect();
    assert_eq!(piecewise(&nine), Err(Refusal::TooManyPoints));
    assert!(piecewise(&nine[..8]).is_ok());
}

#[test]
fn a_calibration_remembers_the_later_day() {
    let day = |text| Day::parse(text).expect("a day");
    let old = Calibration::NONE.dated(day("2025-03-01"));
    let new = Calibration::NONE.dated(day("2026-02-28"));
    assert_eq!(old.and(new, Override::None).map(|sum| sum.day()), Ok(Some(day("2026-02-28"))));
    assert_eq!(day("2024-03-01").days_since(day("2024-02-28")), 2);
    assert_eq!(day("2026-02-28").days_since(day("2025-02-28")), 365);
    assert_eq!(day("2025-02-28").days_since(day("2026-02-28")), 0);
    assert_eq!(day("2026-11-25").to_string(), "2026-11-25");
    for nonsense in ["2026-02-29", "2026-13-01", "2026-1-1", "26-01-01", "2026-01-01-", "+026-01-01", ""] {
        assert_eq!(Day::parse(nonsense), None, "{nonsense}");
    }
}

/// IEC 60584-1 and ASTM E230 as quoted: K class 2 at 1200 °C ±9 °C, class 1 at 1000 ±4, S class 1
/// ±1 to 1100 °C and 1 + 0.003 (t − 1100) above; the fixed part rules when cold.
#[test]
fn tolerance_classes_are_those_of_the_standards() {
    use ToleranceClass::{Class1, Class2, Special, Standard};
    for (thermocouple, class, at, expected) in [
        (Thermocouple::K, Class2, 1200.0, 9.0),
        (Thermocouple::K, Class2, 300.0, 2.5),
        (Thermocouple::K, Class1, 1000.0, 4.0),
        (Thermocouple::K, Class1, 100.0, 1.5),
        (Thermocouple::N, Standard, 1000.0, 7.5),
        (Thermocouple::N, Special, 100.0, 1.1),
        (Thermocouple::S, Class1, 1100.0, 1.0),
        (Thermocouple::S, Class1, 1300.0, 1.6),
        (Thermocouple::R, Class2, 1300.0, 3.25),
        (Thermocouple::S, Special, 1300.0, 1.3),
        (Thermocouple::T, Class1, 100.0, 0.5),
        (Thermocouple::J, Class2, 700.0, 5.25),
        (Thermocouple::B, Class2, 1600.0, 4.0),
    ] {
        let found = tolerance(thermocouple, class, celsius(at)).c();
        assert!((found - expected).abs() < 1e-9, "{thermocouple} {class:?} at {at}: {found}");
    }
}

fn chain(thermocouple: Thermocouple, amplifier: Amplifier) -> Chain {
    Chain {
        sensor: Sensor { thermocouple, amplifier, calibration: Calibration::NONE },
        class: ToleranceClass::Class1,
        lead: Lead::Extension,
        drift: CelsiusDelta::ZERO,
        calibrated_within: None,
    }
}

/// The chain at 1250 °C (class 1, extension, converter, cold junction), root sum of squares of the
/// half-widths as usually quoted: K about ±7 °C, S about ±3 °C without its leads.
#[test]
fn a_whole_chain_comes_to_what_is_usually_quoted() {
    let quoted = |chain: &Chain| {
        let budget = chain.budget(celsius(1250.0), celsius(30.0));
        budget.parts().iter().map(|part| part.half_width.c().powi(2)).sum::<f64>().sqrt()
    };
    let k = quoted(&chain(Thermocouple::K, Amplifier::Max31855));
    assert!((6.0..8.0).contains(&k), "{k}");
    let s = quoted(&Chain { lead: Lead::None, ..chain(Thermocouple::S, Amplifier::Max31856) });
    assert!((2.0..4.0).contains(&s), "{s}");
}

#[test]
fn a_budget_combines_as_jcgm_100_says() {
    let budget = chain(Thermocouple::K, Amplifier::Max31856).budget(celsius(1000.0), celsius(25.0));
    let squares: f64 = budget.parts().iter().map(|part| part.half_width.c().powi(2) / 3.0).sum();
    assert!((budget.standard().c() - squares.sqrt()).abs() < 1e-12);
    assert!((budget.expanded().c() - 2.0 * squares.sqrt()).abs() < 1e-12);
}

#[test]
fn a_calibration_takes_the_place_of_the_class_and_grows_outside_its_points() {
    let mut calibrated = chain(Thermocouple::K, Amplifier::Max31856);
    calibrated.sensor.calibration = piecewise(&[(1000.0, 3.0), (1200.0, 4.0)]).expect("small");
    calibrated.calibrated_within = Some(degrees(1.5));
    let at = |chain: &Chain, t_c| chain.budget(celsius(t_c), celsius(25.0)).expanded().c();
    let plain = chain(Thermocouple::K, Amplifier::Max31856);
    assert!(at(&calibrated, 1100.0) < 0.5 * at(&plain, 1100.0));
    assert!(at(&calibrated, 700.0) > at(&calibrated, 1000.0));
}
