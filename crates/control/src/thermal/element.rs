//! The elements' heat: what they give now, and what they hold that must still come out.

use libm::sqrt;
use pyrometry::units::{Duty, Millis, Watts, between, greater, lesser};

use super::{SIGMA_W_PER_M2K4, ZERO_C_K};
use crate::model::KilnModel;

/// Surface load of pottery kiln elements at full power, W/m². Makers' design ranges lie around
/// 1 to 2 W/cm²; common practice, no source.
const SURFACE_LOAD_W_PER_M2: f64 = 15_000.0;

/// Emissivity of oxidised wire (memory) and the part of its view that isn't itself.
const EMISSIVITY: f64 = 0.7;

/// Convection from wire to air, W/m²K (free convection, handbook range 5 to 25).
const CONVECTION_W_PER_M2K: f64 = 10.0;

/// How fast the elements are brought to what the chamber needs, at the quickest: less than one
/// cycle can't be switched.
const BRING_S: f64 = 15.0;

/// Cold elements answer slowly, and forcing them faster than this many times their own pace makes
/// every error of the model and every noise of the reading swing the duty from end to end.
const FORCED_MOST: f64 = 4.0;

/// Cold elements are brought with at most so many times what is needed: what they hold is only guessed,
/// six times too much for wire of 1.3 mm at 1.4 W/cm² (density and heat capacity of the alloy from
/// memory), and would be given before any reading shows it.
const BROUGHT_BY_MOST: f64 = 2.0;

/// Longest explicit step: at 1300 °C the elements answer within about 8 s.
const STEP_LONGEST_S: f64 = 3.0;

/// Elements lumped into one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Elements {
    wire_c: f64,
    area_m2: f64,
    capacity_j_per_k: f64,
    power_w: f64,
}

impl Elements {
    /// Elements as warm as their surroundings.
    pub(crate) fn at_rest(model: &KilnModel, power: Watts, share: f64, chamber_c: f64) -> Self {
        let parameters = model.parameters();
        Self {
            wire_c: chamber_c,
            area_m2: greater(0.001, power.w() / SURFACE_LOAD_W_PER_M2),
            capacity_j_per_k: greater(10.0, share * parameters.quick_j_per_k),
            power_w: greater(1.0, power.w() * parameters.power_ratio),
        }
    }

    /// Lets time pass at a duty.
    pub(crate) fn step(&mut self, duty: Duty, chamber_c: f64, span: Millis) {
        let mut left_s = lesser(span.seconds(), 600.0);
        while left_s > 0.0 {
            let step_s = lesser(left_s, STEP_LONGEST_S);
            let stored_w = duty.ratio() * self.power_w - self.gives_w(chamber_c);
            self.wire_c += stored_w * step_s / self.capacity_j_per_k;
            left_s -= step_s;
        }
    }

    /// Heat given to the chamber now.
    pub(crate) fn gives_w(&self, chamber_c: f64) -> f64 {
        let (wire_k, chamber_k) = (self.wire_c + ZERO_C_K, chamber_c + ZERO_C_K);
        let radiated_w = self.radiates_w_per_k4() * (fourth(wire_k) - fourth(chamber_k));
        radiated_w + CONVECTION_W_PER_M2K * self.area_m2 * (self.wire_c - chamber_c)
    }

    /// The unlimited duty that brings the elements to giving this much.
    pub(crate) fn duty_to_give(&self, needed_w: f64, chamber_c: f64) -> f64 {
        let excess_w = self.excess_j(needed_w, chamber_c) / self.bring_s(chamber_c);
        let forced_w = self.gives_w(chamber_c) - excess_w;
        lesser(forced_w, BROUGHT_BY_MOST * greater(needed_w, 0.0)) / self.power_w
    }

    /// Heat above what is held when giving this much: it comes out whatever the duty.
    pub(crate) fn excess_j(&self, needed_w: f64, chamber_c: f64) -> f64 {
        self.capacity_j_per_k * (self.wire_c - self.wire_giving_c(needed_w, chamber_c))
    }

    /// How fast the elements are brought from one giving to another.
    pub(crate) fn bring_s(&self, chamber_c: f64) -> f64 {
        let own_pace_s = self.capacity_j_per_k / self.gives_w_per_k(greater(self.wire_c, chamber_c));
        greater(BRING_S, own_pace_s / FORCED_MOST)
    }

    /// The wire's temperature when giving this much: radiation alone, then two Newton steps with
    /// convection, which matters below red heat.
    fn wire_giving_c(&self, needed_w: f64, chamber_c: f64) -> f64 {
        let needed_w = between(needed_w, 0.0, self.power_w);
        let fourth_power = fourth(chamber_c + ZERO_C_K) + needed_w / self.radiates_w_per_k4();
        let mut wire_c = sqrt(sqrt(fourth_power)) - ZERO_C_K;
        for _ in 0..2 {
            let giving = Self { wire_c, ..*self };
            wire_c -= (giving.gives_w(chamber_c) - needed_w) / self.gives_w_per_k(wire_c);
        }
        wire_c
    }

    /// How much more is given for each degree of wire.
    fn gives_w_per_k(&self, wire_c: f64) -> f64 {
        let wire_k = wire_c + ZERO_C_K;
        4.0 * self.radiates_w_per_k4() * wire_k * wire_k * wire_k + CONVECTION_W_PER_M2K * self.area_m2
    }

    fn radiates_w_per_k4(&self) -> f64 {
        SIGMA_W_PER_M2K4 * EMISSIVITY * self.area_m2
    }
}

fn fourth(k: f64) -> f64 {
    let squared = k * k;
    squared * squared
}
