//! One piece of a reference function: a polynomial over a span of temperature, and its inverse.
//!
//! The inverse is Newton's method on the direct function. It starts from a table, computed while
//! compiling, of points equally spaced in emf with the first two derivatives of t(E) there: a
//! start good to about 1 mK in the middle of a span, so one evaluation usually settles it. A
//! bracket guards the ends, where the curve is nearly flat and Newton's step may overshoot.

use crate::units::{between, whole_steps};

/// Cells of the start table: at 32 the start misses by a few mK at most over a kiln's range.
const CELLS: usize = 32;
const CELLS_F64: f64 = 32.0;

/// A Newton step this small ends the search: with |S′/2S| below 0.2 /°C on every piece, what is
/// left after a step of x is below 0.2·x², here 2 × 10⁻⁹ °C (near type B's minimum 10⁻⁵ °C).
const SETTLED_C: f64 = 1e-4;

/// More than halving the widest span (1372 °C) down to [`SETTLED_C`] takes.
const ITERATIONS: usize = 40;

/// Type K's extra term above 0 °C: `height·exp(sharpness·(t − centre)²)`.
#[derive(Clone, Copy)]
pub(super) struct Bump {
    pub(super) height_mv: f64,
    pub(super) sharpness: f64,
    pub(super) centre_c: f64,
}

/// A direct reference function over a span of temperature.
#[derive(Clone, Copy)]
pub(super) struct Function {
    pub(super) low_c: f64,
    pub(super) high_c: f64,
    pub(super) coefficients: &'static [f64],
    pub(super) bump: Option<Bump>,
}

impl Function {
    /// Emf in mV and its slope in mV/°C.
    #[inline]
    pub(super) fn emf_and_slope(&self, t_c: f64) -> (f64, f64) {
        let (mut emf, mut slope) = (0.0, 0.0);
        for coefficient in self.coefficients.iter().rev() {
            slope = slope * t_c + emf;
            emf = emf * t_c + coefficient;
        }
        if let Some(bump) = &self.bump {
            let from_centre = t_c - bump.centre_c;
            let height = bump.height_mv * libm::exp(bump.sharpness * from_centre * from_centre);
            emf += height;
            slope += 2.0 * bump.sharpness * from_centre * height;
        }
        (emf, slope)
    }
}

/// A point of the start table: t(E) and its first two derivatives there.
#[derive(Clone, Copy)]
struct Start {
    t_c: f64,
    c_per_mv: f64,
    c_per_mv2: f64,
}

/// A function with what its inverse needs.
pub(super) struct Piece {
    pub(super) function: Function,
    /// From here up the emf rises with temperature.
    pub(super) rising_from_c: f64,
    pub(super) emf_low_mv: f64,
    pub(super) emf_high_mv: f64,
    starts: [Start; CELLS + 1],
}

impl Piece {
    /// A piece that rises over its whole span.
    pub(super) const fn new(function: Function) -> Self {
        Self::rising_from(function.low_c, function)
    }

    /// A piece that rises only from a temperature inside its span.
    pub(super) const fn rising_from(rising_from_c: f64, function: Function) -> Self {
        let emf_low_mv = tabulated(&function, rising_from_c)[0];
        let emf_high_mv = tabulated(&function, function.high_c)[0];
        let starts = starts(&function, rising_from_c, emf_low_mv, emf_high_mv);
        Self { function, rising_from_c, emf_low_mv, emf_high_mv, starts }
    }

    /// The temperature between `rising_from_c` and `high_c` whose emf is this; the nearer end for
    /// an emf outside the piece.
    #[inline]
    pub(super) fn inverse(&self, emf_mv: f64) -> f64 {
        let emf_mv = between(emf_mv, self.emf_low_mv, self.emf_high_mv);
        let (mut low, mut high) = (self.rising_from_c, self.function.high_c);
        let mut t = inside(self.start(emf_mv), low, high);
        for _ in 0..ITERATIONS {
            let (emf, slope) = self.function.emf_and_slope(t);
            if emf > emf_mv {
                high = t;
            } else {
                low = t;
            }
            let next = inside(t - (emf - emf_mv) / slope, low, high);
            let step = next - t;
            t = next;
            if step.abs() < SETTLED_C {
                break;
            }
        }
        t
    }

    /// A start for Newton's method: the second-order expansion about the nearest table point.
    #[inline]
    fn start(&self, emf_mv: f64) -> f64 {
        let cell_mv = (self.emf_high_mv - self.emf_low_mv) / CELLS_F64;
        let nearest = whole_steps((emf_mv - self.emf_low_mv) / cell_mv);
        let Some(point) = usize::try_from(nearest).ok().and_then(|index| self.starts.get(index)) else {
            return f64::NAN; // outside the piece: `inside` turns it into the middle
        };
        let away = emf_mv - (self.emf_low_mv + f64::from(nearest) * cell_mv);
        point.t_c + away * (point.c_per_mv + away * 0.5 * point.c_per_mv2)
    }
}

/// The guess if it lies between the bounds, else (and for NaN) their middle.
#[inline]
fn inside(guess: f64, low: f64, high: f64) -> f64 {
    if guess >= low && guess <= high { guess } else { low + 0.5 * (high - low) }
}

// What follows runs while compiling only.

#[allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "evaluated while compiling, never in the program"
)]
const fn starts(function: &Function, low_c: f64, emf_low_mv: f64, emf_high_mv: f64) -> [Start; CELLS + 1] {
    let mut table = [Start { t_c: low_c, c_per_mv: 0.0, c_per_mv2: 0.0 }; CELLS + 1];
    let mut index = 0;
    while index <= CELLS {
        let emf_mv = emf_low_mv + (emf_high_mv - emf_low_mv) * (index as f64 / CELLS_F64);
        let t_c = halved(function, low_c, emf_mv);
        let [_, slope, curvature] = tabulated(function, t_c);
        // t(E): t′ = 1/E′, t″ = −E″/E′³
        table[index] = Start { t_c, c_per_mv: 1.0 / slope, c_per_mv2: -curvature / (slope * slope * slope) };
        index += 1;
    }
    table
}

/// The temperature of an emf by halving.
#[allow(clippy::indexing_slicing, reason = "evaluated while compiling, never in the program")]
const fn halved(function: &Function, low_c: f64, emf_mv: f64) -> f64 {
    let (mut low, mut high) = (low_c, function.high_c);
    let mut halvings = 0;
    while halvings < 48 {
        let middle = 0.5 * (low + high);
        if tabulated(function, middle)[0] > emf_mv {
            high = middle;
        } else {
            low = middle;
        }
        halvings += 1;
    }
    0.5 * (low + high)
}

/// Emf and its first two derivatives, for the tables.
#[allow(clippy::indexing_slicing, reason = "evaluated while compiling, never in the program")]
const fn tabulated(function: &Function, t_c: f64) -> [f64; 3] {
    let (mut emf, mut slope, mut half_curvature) = (0.0, 0.0, 0.0);
    let mut left = function.coefficients.len();
    while left > 0 {
        left -= 1;
        half_curvature = half_curvature * t_c + slope;
        slope = slope * t_c + emf;
        emf = emf * t_c + function.coefficients[left];
    }
    let mut curvature = 2.0 * half_curvature;
    if let Some(bump) = function.bump {
        let from_centre = t_c - bump.centre_c;
        let height = bump.height_mv * exp_while_compiling(bump.sharpness * from_centre * from_centre);
        let pull = 2.0 * bump.sharpness * from_centre;
        emf += height;
        slope += pull * height;
        curvature += (2.0 * bump.sharpness + pull * pull) * height;
    }
    [emf, slope, curvature]
}

/// exp(x) of a number that is not positive, to about 10⁻¹³: exp(x) = exp(x/1024)^1024.
const fn exp_while_compiling(x: f64) -> f64 {
    let y = x / 1024.0;
    let mut power =
        1.0 + y * (1.0 + y / 2.0 * (1.0 + y / 3.0 * (1.0 + y / 4.0 * (1.0 + y / 5.0 * (1.0 + y / 6.0)))));
    let mut doublings = 0;
    while doublings < 10 {
        power *= power;
        doublings += 1;
    }
    power
}
