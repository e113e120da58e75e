//! What a control step pays.

use std::hint::black_box;
use std::time::Instant;

use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Millis};

use crate::head;

/// Firings timed; the quickest counts, being the one least disturbed.
const FIRINGS: usize = 7;

pub(crate) fn print() {
    let history = firing();
    println!();
    println!("## What heat-work costs");
    println!();
    println!("A whole firing in steps of one second: 100 °C/h to 1100 °C, 60 to 1222, 83 down to 760;");
    println!("all 38 cones in each step. A cone that cannot yet move, and one long down, cost nothing.");
    head(&["", "steps", "ns a step, on average", "aim"]);
    println!("| whole firing | {} | {:.0} | 500 |", history.len(), ns_a_step(&history));
    let hot: Vec<Celsius> = history.iter().copied().filter(|at| at.c() > 1000.0).collect();
    println!("| above 1000 °C | {} | {:.0} | |", hot.len(), ns_a_step(&hot));
}

fn firing() -> Vec<Celsius> {
    let mut history = Vec::new();
    for (from_c, to_c, rate_c_per_h) in
        [(20.0, 1100.0, 100.0), (1100.0, 1222.0, 60.0), (1222.0, 760.0, -83.0)]
    {
        let seconds = (to_c - from_c) / rate_c_per_h * 3600.0;
        let mut second = 0.0;
        while second < seconds {
            history.extend(Celsius::new(from_c + rate_c_per_h * second / 3600.0));
            second += 1.0;
        }
    }
    history
}

fn ns_a_step(history: &[Celsius]) -> f64 {
    let times = (0..FIRINGS).map(|_| {
        let begun = Instant::now();
        let mut work = HeatWork::NONE;
        for at in history {
            work.add(black_box(*at), Millis::from_seconds(1));
        }
        black_box(&work);
        begun.elapsed().as_secs_f64() * 1e9
    });
    let quickest = times.reduce(|one, other| if other < one { other } else { one }).unwrap_or(0.0);
    quickest / history.iter().map(|_| 1.0).sum::<f64>()
}
