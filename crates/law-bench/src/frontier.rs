//! What closeness costs in operations: the controller at shortest cycles from hasty to lazy.

use std::fmt;

use control::{Closeness, SwitchKind};
use pyrometry::units::Millis;

use crate::case::{Switching, usual};
use crate::fire::{Begun, fire};
use crate::track::Figures;

const CYCLES_S: [u64; 7] = [4, 8, 12, 20, 30, 45, 60];

struct Point {
    banks: usize,
    cycle_s: u64,
    figures: Figures,
}

/// The controller's figures over shortest cycles, with one and with two banks.
pub(crate) struct Frontier(Vec<Point>);

impl Frontier {
    pub(crate) fn measured() -> Self {
        let settings = [1, 2].into_iter().flat_map(|banks| CYCLES_S.map(|cycle_s| (banks, cycle_s)));
        let point = |(banks, cycle_s)| {
            let cycle = Millis::from_seconds(cycle_s);
            let case = usual(banks, Switching { kind: SwitchKind::Mechanical, cycle });
            Point {
                banks,
                cycle_s,
                figures: fire(&case, Begun { switching: Closeness::Close, learned: None }, |_, _| {})
                    .figures(),
            }
        };
        Self(settings.map(point).collect())
    }
}

impl fmt::Display for Frontier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| banks | shortest cycle s | operations | ramp RMS °C | slow cooling RMS °C | soak span °C |"
        )?;
        writeln!(f, "|{}", " ---: |".repeat(6))?;
        for point in &self.0 {
            let figures = &point.figures;
            writeln!(
                f,
                "| {} | {} | {} | {:.2} | {:.2} | {:.2} |",
                point.banks,
                point.cycle_s,
                figures.operations,
                figures.climb_rms_c,
                figures.cooling_rms_c.unwrap_or(f64::NAN),
                figures.soak_span_c.unwrap_or(f64::NAN)
            )?;
        }
        Ok(())
    }
}
