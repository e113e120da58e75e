//! Heat-work: how far a temperature history has brought every cone down.
//!
//! [`HeatWork`] accumulates D, the share of the work that brings a cone down, for every cone,
//! heating and cooling alike. The law is told in `heat_work/law.rs`. Within 15 to 150 °C/h it
//! meets the chart; outside, [`Evidence`] says so.

mod evidence;
mod law;
mod questions;
mod witness;

pub use evidence::{Evidence, Spread};
pub use questions::{Unreachable, end_point, hold_after_ramp, hold_to_fall, peak_for, rate_per_h};
pub use witness::{Bend, Posture, Running, WitnessCone, WitnessSet};

use crate::cone::{CONES, Cone};
use crate::units::{Celsius, CelsiusDelta, Millis, greater, lesser};
use law::{LAWS, Law, inverse_kelvin};

/// Where a cone's D stops counting: it lies flat long since, and no reading of [`HeatWork`] needs
/// more (when the next cone falls on a ramp of the chart, this one has at most 400: 022 at
/// 150 °C/h; from 019 up at most 60).
const ENOUGH: f64 = 1000.0;

/// A temperature change below this is taken at its middle, which costs one exponential a cone
/// instead of two and misses by less than (B/T²·0.1)²/24 = 4 × 10⁻⁶ of the share added.
const SMALL_STEP_C: f64 = 0.1;

/// The heat-work done so far. A plain value: copy it to ask "what if", keep it to restart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatWork {
    done: [f64; CONES],
    last: Option<Celsius>,
    hottest: Celsius,
}

/// What a stored heat-work lacks to be one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotHeatWork {
    /// It has not one share for each cone.
    WrongLength,
    /// A share is negative, not a number or above what is counted.
    BadShare {
        /// Whose.
        cone: Cone,
    },
}

impl HeatWork {
    /// Before the firing.
    pub const NONE: Self = Self { done: [0.0; CONES], last: None, hottest: Celsius::LEAST };

    /// Goes on to a temperature, reached in a straight line from the last one over this span.
    ///
    /// Exact for a history of straight lines, however long the steps. The first temperature after
    /// [`HeatWork::NONE`] or [`HeatWork::break_off`] counts as held over its span.
    pub fn add(&mut self, to: Celsius, span: Millis) {
        let from = self.last.unwrap_or(to);
        self.last = Some(to);
        let hot = from.hotter(to);
        self.hottest = self.hottest.hotter(hot);
        let (hours, hot_c, change_c) = (span.hours(), hot.c(), (to - from).magnitude().c());
        let middle = inverse_kelvin(from + (to - from) * 0.5);
        let (at_hot, at_cold) = (inverse_kelvin(hot), inverse_kelvin(from.colder(to)));
        for (done, law) in self.done.iter_mut().zip(&LAWS) {
            if hot_c < law.nothing_below_c || *done >= ENOUGH {
                continue;
            }
            let rate_per_h = if change_c < SMALL_STEP_C {
                law.rate_per_h(middle)
            } else {
                (law.k_integral(at_hot) - law.k_integral(at_cold)) / change_c
            };
            *done = lesser(*done + rate_per_h * hours, ENOUGH);
        }
    }

    /// Forgets the last temperature, so that the time until the next is not counted: for a gap in
    /// which the temperature is unknown.
    pub fn break_off(&mut self) {
        self.last = None;
    }

    /// D: 0 at the start, 1 when the cone is down; counted up to 1000.
    #[must_use]
    pub fn progress(&self, cone: Cone) -> f64 {
        self.done.get(cone.index()).copied().unwrap_or(0.0)
    }

    /// The shares of all cones in the order of [`Cone::ALL`], for storing.
    #[must_use]
    pub fn shares(&self) -> &[f64; CONES] {
        &self.done
    }

    /// The hottest temperature so far; `None` before the first.
    #[must_use]
    pub fn hottest(&self) -> Option<Celsius> {
        (self.hottest > Celsius::LEAST).then_some(self.hottest)
    }

    /// From stored shares and the hottest temperature until then. The next temperature begins
    /// anew, as after [`HeatWork::break_off`].
    pub fn restored(shares: &[f64], hottest: Option<Celsius>) -> Result<Self, NotHeatWork> {
        let mut restored = Self { hottest: hottest.unwrap_or(Celsius::LEAST), ..Self::NONE };
        if shares.len() != CONES {
            return Err(NotHeatWork::WrongLength);
        }
        for ((slot, share), cone) in restored.done.iter_mut().zip(shares).zip(Cone::ALL) {
            if !(0.0..=ENOUGH).contains(share) {
                return Err(NotHeatWork::BadShare { cone });
            }
            *slot = *share;
        }
        Ok(restored)
    }

    /// The continuous cone, on the scale of [`Cone::ordinal`]; `None` before 022 is down, and 14
    /// from when 14 is.
    ///
    /// With e the distance in °C past a cone's end point at 60 °C/h for the same heat-work: the
    /// highest cone with e ≥ 0, plus the part e / (e − e of the next) of the step to the next.
    #[must_use]
    pub fn reached(&self) -> Option<f64> {
        self.reached_if_hotter(CelsiusDelta::ZERO)
    }

    /// The continuous cone if the whole history had been hotter than read by this much.
    ///
    /// Shifts e, which is exact for a ramp at 60 °C/h and good to some 0.1 cone for others.
    #[must_use]
    pub fn reached_if_hotter(&self, by: CelsiusDelta) -> Option<f64> {
        let cone = Cone::ALL.into_iter().rev().find(|cone| self.past_c(*cone, by) >= 0.0)?;
        let Some(next) = cone.next() else {
            return Some(cone.ordinal());
        };
        let past = self.past_c(cone, by);
        let share = past / (past - self.past_c(next, by));
        Some(cone.ordinal() + share * (next.ordinal() - cone.ordinal()))
    }

    /// The highest cone that is down.
    #[must_use]
    pub fn down(&self) -> Option<Cone> {
        Cone::ALL.into_iter().rev().find(|cone| self.progress(*cone) >= 1.0)
    }

    /// The temperature at which a ramp of 60 °C/h would have done the same work, judged by the
    /// cone that is down and the one after; `None` before any is.
    #[must_use]
    pub fn equivalent_at_60_c_per_h(&self) -> Option<Celsius> {
        let cone = self.down()?;
        let next = cone.next().unwrap_or(cone);
        let (low_c, high_c) = (self.ramp_c(cone), self.ramp_c(next));
        let past = self.past_c(cone, CelsiusDelta::ZERO);
        let to_next = past - self.past_c(next, CelsiusDelta::ZERO);
        let share = if to_next > 0.0 { past / to_next } else { 0.0 };
        Celsius::new(low_c + share * (high_c - low_c))
    }

    /// The hotter and colder of these, as cones, for a sensor uncertain by ± this much.
    #[must_use]
    pub fn spread(&self, uncertainty: CelsiusDelta) -> Spread {
        let by = uncertainty.magnitude();
        Spread {
            least: self.reached_if_hotter(-by),
            likely: self.reached(),
            most: self.reached_if_hotter(by),
        }
    }

    /// How far the law's evidence carries for this cone in this history.
    #[must_use]
    pub fn evidence(&self, cone: Cone) -> Evidence {
        let ramp_c_per_h = Law::of(cone).k_integral(inverse_kelvin(self.hottest));
        // A plain ramp to the hottest temperature has D = K/β: the history is worth that β.
        Evidence::at_rate(ramp_c_per_h / greater(self.progress(cone), f64::MIN_POSITIVE))
    }

    /// Where a 60 °C/h ramp has done this cone's share, in °C.
    fn ramp_c(&self, cone: Cone) -> f64 {
        Law::of(cone).after_60_c_per_h_c(self.progress(cone))
    }

    /// e: °C past the cone's end point at 60 °C/h.
    fn past_c(&self, cone: Cone, by: CelsiusDelta) -> f64 {
        self.ramp_c(cone) - Law::of(cone).t60_c() + by.c()
    }
}

impl Default for HeatWork {
    fn default() -> Self {
        Self::NONE
    }
}
