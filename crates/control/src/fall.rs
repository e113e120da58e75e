//! How a kiln falls by itself, and the heat-work it does on the way.
//!
//! Quick at first, while the ware is colder than the chamber and still takes heat; then slower and
//! slower, as the lining's skin gives heat back.

use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis, greater, lesser};

/// Below this far under the peak, cooling adds nothing that counts: a tenth of the rate every
/// 25 to 35 °C (from the rate law's slopes).
pub(crate) const COUNTED_C: f64 = 120.0;

/// The fall is followed in so many pieces of 10 °C, within each as a straight line.
const PIECES: usize = 12;
const PIECE_C: f64 = 10.0;

/// A kiln that has not fallen a piece in an hour is as good as held; nothing more is asked of it.
const PIECE_LONGEST_S: f64 = 3600.0;

/// Step in which a fall is computed: some tenths of a degree at the quickest.
const STEP_S: f64 = 5.0;

/// The time each piece of 10 °C takes, from the present temperature down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fall {
    pieces_s: [f64; PIECES],
}

impl Fall {
    /// At one rate all the way; its sign does not matter, and none is taken as the slowest told.
    pub(crate) fn steady(rate: CelsiusPerHour) -> Self {
        let piece_s = lesser(PIECE_C / greater(rate.c_per_s().abs(), f64::MIN_POSITIVE), PIECE_LONGEST_S);
        Self { pieces_s: [piece_s; PIECES] }
    }

    /// From what a step of that many seconds takes off a temperature in °C.
    pub(crate) fn computed(from_c: f64, mut after: impl FnMut(f64, f64) -> f64) -> Self {
        let mut fall = Self { pieces_s: [PIECE_LONGEST_S; PIECES] };
        let mut at_c = from_c;
        let mut end_c = from_c;
        for piece_s in &mut fall.pieces_s {
            end_c -= PIECE_C;
            let mut taken_s = 0.0;
            while at_c > end_c && taken_s < PIECE_LONGEST_S {
                at_c = after(at_c, STEP_S);
                taken_s += STEP_S;
            }
            *piece_s = taken_s;
            if taken_s >= PIECE_LONGEST_S {
                break; // the pieces below take no less
            }
        }
        fall
    }

    /// How long it takes altogether.
    pub(crate) fn lasts_s(&self) -> f64 {
        self.pieces_s.iter().sum()
    }

    /// Adds the way from one temperature to a colder one, of a fall that began at `top`. What lies
    /// more than [`COUNTED_C`] below that is not followed.
    pub(crate) fn add_to(&self, work: &mut HeatWork, top: Celsius, from: Celsius, to: Celsius) {
        let mut end_c = top.c();
        let mut at_c = from.c();
        for piece_s in &self.pieces_s {
            end_c -= PIECE_C;
            let next_c = greater(end_c, to.c());
            if next_c >= at_c {
                continue; // above where this way begins, or below where it ends
            }
            let span_s = piece_s * (at_c - next_c) / PIECE_C;
            at_c = next_c;
            if let (Some(next), Some(span)) = (Celsius::new(next_c), Millis::from_seconds_f64(span_s)) {
                work.add(next, span);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use pyrometry::cone::Cone;
    use pyrometry::constant;

    use super::*;

    const TOP: Celsius = constant!(Celsius, 1222.0);
    const FOOT: Celsius = constant!(Celsius, 1102.0);

    fn began_at_top() -> HeatWork {
        let mut work = HeatWork::NONE;
        work.add(TOP, Millis::ZERO);
        work
    }

    /// Cooling does what heating does: straight down from 1222 °C at 60 °C/h is cone 6 (Orton).
    #[test]
    fn a_steady_fall_from_a_cones_end_point_does_the_cones_work() {
        let fall = Fall::steady(constant!(CelsiusPerHour, -60.0));
        let mut whole = began_at_top();
        fall.add_to(&mut whole, TOP, TOP, FOOT);
        let cone = Cone::parse("6").unwrap();
        assert!((whole.progress(cone) - 1.0).abs() < 0.01, "{}", whole.progress(cone));
        let mut halves = began_at_top();
        let middle = constant!(Celsius, 1187.5);
        fall.add_to(&mut halves, TOP, TOP, middle);
        fall.add_to(&mut halves, TOP, middle, FOOT);
        assert!((halves.progress(cone) - whole.progress(cone)).abs() < 1e-3);
    }

    #[test]
    fn a_computed_fall_takes_its_time_and_a_kiln_that_does_not_fall_is_given_up() {
        let steady = Fall::computed(1222.0, |at_c, step_s| at_c - step_s / 60.0);
        assert!((steady.lasts_s() - 7200.0).abs() < 120.0, "{}", steady.lasts_s());
        let held = Fall::computed(1222.0, |at_c, _| at_c);
        assert!(held.lasts_s() >= PIECE_LONGEST_S);
    }
}
