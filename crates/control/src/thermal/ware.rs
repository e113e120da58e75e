//! The ware's heat: a store that follows the chamber slowly when cold and closely when hot.

use pyrometry::units::{Celsius, Millis, lesser};

use super::{SIGMA_W_PER_M2K4, ZERO_C_K};
use crate::model::KilnModel;

/// Surface of ware and furniture for its heat capacity, m²K/J: about 0.04 m² a kilogram at
/// 1000 J/kgK (pots and shelves of 10 to 20 mm; common practice, no source).
const SURFACE_M2K_PER_J: f64 = 4.0e-5;

/// Emissivity of ware (ceramics near 0.8, handbook range 0.75 to 0.95).
const EMISSIVITY: f64 = 0.8;

/// Convection to ware, W/m²K (free convection, handbook range 5 to 25).
const CONVECTION_W_PER_M2K: f64 = 6.0;

/// Time heat takes into the body of the ware and between stacked shelves.
const INTO_THE_BODY_S: f64 = 150.0;

/// Longest explicit step, well below the quickest answer.
const STEP_LONGEST_S: f64 = 20.0;

/// Ware and furniture lumped into one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ware {
    body_c: f64,
    capacity_j_per_k: f64,
    /// How its heat capacity goes over that of the model: at 0 °C, and for each degree.
    warmed: [f64; 2],
}

/// The heat capacity that the model tells, whatever the temperature.
const AS_TOLD: [f64; 2] = [1.0, 0.0];

/// That of fired clay over the 1000 J/kgK that a load is guessed with: 850 J/kgK and 0.25 more for each
/// degree (960 at 400 °C, as burnt fireclay brick; Incropera, table A.3).
const FIRED_CLAY: [f64; 2] = [0.85, 2.5e-4];

impl Ware {
    /// Ware as warm as the chamber.
    pub(crate) fn at_rest(model: &KilnModel, share: f64, standing_at: Celsius) -> Self {
        let capacity_j_per_k = share * model.parameters().ware_j_per_k;
        Self { body_c: standing_at.c(), capacity_j_per_k, warmed: FIRED_CLAY }
    }

    /// The same, of one heat capacity throughout: what the interlocks' bounds are fitted with.
    pub(crate) fn at_rest_as_told(model: &KilnModel, standing_at: Celsius) -> Self {
        Self { warmed: AS_TOLD, ..Self::at_rest(model, 1.0, standing_at) }
    }

    /// Lets time pass with the chamber at a temperature; gives the heat flowing in at its end, W.
    pub(crate) fn step(&mut self, chamber_c: f64, span: Millis) -> f64 {
        let mut left_s = lesser(span.seconds(), 3600.0);
        while left_s > 0.0 {
            let step_s = lesser(left_s, STEP_LONGEST_S);
            self.body_c += (chamber_c - self.body_c) * self.answer_per_s(chamber_c) * step_s;
            left_s -= step_s;
        }
        self.takes_w(chamber_c)
    }

    /// Heat it would take from a chamber at this temperature now.
    pub(crate) fn takes_w(&self, chamber_c: f64) -> f64 {
        let [at_0c, per_c] = self.warmed;
        let holds_j_per_k = self.capacity_j_per_k * (at_0c + per_c * self.body_c);
        holds_j_per_k * self.answer_per_s(chamber_c) * (chamber_c - self.body_c)
    }

    /// Part of the difference that closes each second.
    fn answer_per_s(&self, chamber_c: f64) -> f64 {
        let (chamber_k, ware_k) = (chamber_c + ZERO_C_K, self.body_c + ZERO_C_K);
        let radiation =
            SIGMA_W_PER_M2K4 * EMISSIVITY * (chamber_k * chamber_k + ware_k * ware_k) * (chamber_k + ware_k);
        let at_surface_per_s = (radiation + CONVECTION_W_PER_M2K) * SURFACE_M2K_PER_J;
        at_surface_per_s / (1.0 + at_surface_per_s * INTO_THE_BODY_S)
    }
}
