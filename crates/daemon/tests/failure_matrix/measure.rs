//! How long until every pin is off, over as many runs as are asked for.
//!
//! `SAGGAR_MATRIX_RUNS` asks for more than one; `.ci/failure-matrix` prints the table.

use std::time::{Duration, Instant};

use crate::kiln::{Kiln, PATIENCE};

/// SR-31.
const OFF_WITHIN: Duration = Duration::from_secs(3);
/// How long it is watched that what went off stays off: two steps, and a look of the warden's.
const STAYS_OFF: Duration = Duration::from_millis(2_200);

fn runs() -> u32 {
    std::env::var("SAGGAR_MATRIX_RUNS").ok().and_then(|runs| runs.parse().ok()).unwrap_or(1)
}

/// Strikes a heating kiln, at moments spread over the second between two steps, and measures.
/// Gives the kiln of the last run, with everything off.
pub(crate) fn measured(cell: &str, strike: impl Fn(&Kiln)) -> Kiln {
    let mut lasted = Vec::new();
    let mut last = None;
    for run in 0..runs() {
        let kiln = Kiln::heating();
        std::thread::sleep(Duration::from_secs(1) * run / runs());
        lasted.push(until_off(&kiln, &strike));
        kiln.holds_for(STAYS_OFF, cell, |kiln| !kiln.heats());
        last = Some(kiln);
    }
    tell(cell, &mut lasted);
    assert!(lasted.iter().all(|span| *span <= OFF_WITHIN), "{cell}: {lasted:?}");
    last.expect("at least one run")
}

fn until_off(kiln: &Kiln, strike: &impl Fn(&Kiln)) -> Duration {
    assert!(kiln.heats(), "struck while it heats");
    let struck = Instant::now();
    strike(kiln);
    while !kiln.all_is_off() {
        assert!(struck.elapsed() < PATIENCE, "never off");
        std::thread::sleep(Duration::from_millis(1));
    }
    struck.elapsed()
}

fn tell(cell: &str, lasted: &mut [Duration]) {
    lasted.sort_unstable();
    let at = |share: usize| lasted[(lasted.len() - 1) * share / 100].as_millis();
    println!("| {cell} | {} | {} | {} | {} | {} |", lasted.len(), at(0), at(50), at(90), at(100));
}
