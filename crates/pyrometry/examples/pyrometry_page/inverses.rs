//! Three ways from emf to temperature, accuracy and time in one table.

use std::error::Error;
use std::hint::black_box;
use std::time::Instant;

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millivolts};
use serde_json::Value;

use crate::{head, published};

/// One published inverse polynomial with the emfs it is for.
struct Polynomial {
    low_mv: f64,
    high_mv: f64,
    coefficients: Vec<f64>,
}

pub(crate) fn print() -> Result<(), Box<dyn Error>> {
    println!();
    println!("## From emf to temperature, three ways");
    println!();
    println!("Over the emfs for which NIST publishes inverse polynomials, 2000 of them per type.");
    println!("Bisection halves the range until it is below 0.1 m°C. The polynomials' own stated errors");
    println!("reach 0.06 °C, and outside their ranges they say nothing.");
    head(&["type", "ours, m°C", "ns", "bisection, m°C", "ns", "published polynomials, m°C", "ns"]);
    let text = std::fs::read_to_string(published("its90_coefficients.json"))?;
    let all: Value = serde_json::from_str(&text)?;
    for thermocouple in Thermocouple::ALL {
        let polynomials = polynomials(&all[thermocouple.letter().to_string()]["inverse"])?;
        let pairs = pairs(thermocouple, &polynomials)?;
        let ours = contest(&pairs, |emf| thermocouple.junction(emf).map_or(f64::NAN, Celsius::c));
        let halved = contest(&pairs, |emf| bisection(thermocouple, emf));
        let published = contest(&pairs, |emf| inverse_polynomial(&polynomials, emf.mv()));
        println!(
            "| {} | {:.6} | {:.0} | {:.3} | {:.0} | {:.1} | {:.0} |",
            thermocouple.letter(),
            ours.0,
            ours.1,
            halved.0,
            halved.1,
            published.0,
            published.1
        );
    }
    Ok(())
}

fn polynomials(inverse: &Value) -> Result<Vec<Polynomial>, Box<dyn Error>> {
    let number = |value: &Value| -> Result<f64, Box<dyn Error>> {
        Ok(value.as_str().ok_or("a number as text")?.parse()?)
    };
    let pieces = inverse.as_array().ok_or("a list of polynomials")?;
    pieces
        .iter()
        .map(|piece| {
            let coefficients = piece["d"].as_array().ok_or("a list of coefficients")?;
            Ok(Polynomial {
                low_mv: number(&piece["mv_min"])?,
                high_mv: number(&piece["mv_max"])?,
                coefficients: coefficients.iter().map(number).collect::<Result<_, _>>()?,
            })
        })
        .collect()
}

/// Emfs with their true temperatures, spread evenly over the published ranges.
fn pairs(
    thermocouple: Thermocouple,
    polynomials: &[Polynomial],
) -> Result<Vec<(Millivolts, f64)>, Box<dyn Error>> {
    let lowest_mv = polynomials.first().ok_or("a polynomial")?.low_mv;
    let highest_mv = polynomials.last().ok_or("a polynomial")?.high_mv;
    let at = |emf_mv| {
        thermocouple
            .junction(Millivolts::new(emf_mv).ok_or("an emf outside the unit")?)
            .map_err(Box::<dyn Error>::from)
    };
    let (low, high) = (at(lowest_mv)?, at(highest_mv)?);
    (0..2000)
        .map(|n| {
            let junction = low + (high - low) * ((f64::from(n) + 0.5) / 2000.0);
            Ok((thermocouple.emf(junction)?, junction.c()))
        })
        .collect()
}

/// The largest error in m°C and the time per answer in ns, the best of ten rounds.
fn contest(pairs: &[(Millivolts, f64)], junction_c: impl Fn(Millivolts) -> f64) -> (f64, f64) {
    let mut worst_c = 0.0;
    for (emf, truth_c) in pairs {
        let error_c = (junction_c(*emf) - truth_c).abs();
        if error_c.is_nan() || error_c > worst_c {
            worst_c = error_c;
        }
    }
    let mut best_s = f64::INFINITY;
    for _ in 0..10 {
        let start = Instant::now();
        for (emf, _) in pairs {
            black_box(junction_c(black_box(*emf)));
        }
        let taken_s = start.elapsed().as_secs_f64();
        if taken_s < best_s {
            best_s = taken_s;
        }
    }
    (worst_c * 1e3, best_s / 2000.0 * 1e9)
}

fn bisection(thermocouple: Thermocouple, emf: Millivolts) -> f64 {
    let range = thermocouple.rising_range();
    let (mut low, mut high) = (*range.start(), *range.end());
    while (high - low).c() > 1e-4 {
        let middle = low + (high - low) * 0.5;
        if thermocouple.emf(middle).is_ok_and(|found| found > emf) {
            high = middle;
        } else {
            low = middle;
        }
    }
    (low + (high - low) * 0.5).c()
}

fn inverse_polynomial(polynomials: &[Polynomial], emf_mv: f64) -> f64 {
    let piece = polynomials.iter().find(|piece| emf_mv >= piece.low_mv && emf_mv <= piece.high_mv);
    let piece = piece.or(polynomials.last());
    piece.map_or(f64::NAN, |piece| piece.coefficients.iter().rev().fold(0.0, |sum, d| sum * emf_mv + d))
}
