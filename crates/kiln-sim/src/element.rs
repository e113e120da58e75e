//! Resistance wire: iron-chromium-aluminium, its resistance, mass and radiating surface.

use crate::spec::Wire;

const DENSITY_KG_PER_M3: f64 = 7100.0; // iron-chromium-aluminium wire, makers' handbooks, from memory
const HEAT_CAPACITY: [f64; 2] = [470.0, 0.25]; // J/kgK and per °C: 0.46 kJ/kgK at 20 °C, 0.72 at 1000 °C, same handbooks, from memory
const COIL_SEEN: f64 = 0.5; // share of a coil's surface that sees the chamber, the rest sees its own turns and groove; engineering judgement
const EMISSIVITY: f64 = 0.7; // oxidised wire, from memory
const CONVECTION_W_PER_M2K: f64 = 20.0; // thin wire in hot still air; Incropera, table 1.1: free convection in gases 2 to 25

/// Resistance over cold resistance: `[°C, factor]`, straight lines between (A-1 grade of wire,
/// makers' tables: 1.00 to 400 °C, 1.04 at 1000 to 1300 °C, 1.05 at 1400 °C).
const RESISTANCE_FACTOR: [[f64; 2]; 4] = [[400.0, 1.0], [1000.0, 1.04], [1300.0, 1.04], [1400.0, 1.05]];

/// One bank's wire, as one body.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Element {
    /// Conductance when cold and new, S.
    pub(crate) conductance_s: f64,
    /// Emissivity times area seen, m².
    pub(crate) grey_m2: f64,
    /// Convection, W/K.
    pub(crate) convection_w_per_k: f64,
    capacity: [f64; 2],
}

impl Element {
    pub(crate) fn new(rated_w: f64, rated_v: f64, wire: Wire) -> Self {
        let area_m2 = rated_w / (wire.surface_load_w_per_cm2 * 1.0e4);
        let mass_kg = DENSITY_KG_PER_M3 * area_m2 * wire.diameter_mm / 1000.0 / 4.0;
        Self {
            conductance_s: rated_w / (rated_v * rated_v),
            grey_m2: EMISSIVITY * COIL_SEEN * area_m2,
            convection_w_per_k: CONVECTION_W_PER_M2K * COIL_SEEN * area_m2,
            capacity: HEAT_CAPACITY.map(|term| term * mass_kg),
        }
    }

    pub(crate) fn capacity_j_per_k(&self, at_c: f64) -> f64 {
        self.capacity[0] + self.capacity[1] * at_c
    }

    /// Heat stored above 0 °C, J.
    pub(crate) fn stored_j(&self, at_c: f64) -> f64 {
        at_c * (self.capacity[0] + self.capacity[1] * at_c / 2.0)
    }
}

/// Resistance over cold resistance at a temperature.
pub(crate) fn resistance_factor(at_c: f64) -> f64 {
    let [mut below, rest @ ..] = RESISTANCE_FACTOR;
    if at_c <= below[0] {
        return below[1];
    }
    for above in rest {
        if at_c <= above[0] {
            return below[1] + (above[1] - below[1]) * (at_c - below[0]) / (above[0] - below[0]);
        }
        below = above;
    }
    below[1]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn resistance_follows_the_wire_makers_table() {
        for (at_c, factor) in
            [(20.0, 1.0), (400.0, 1.0), (700.0, 1.02), (1150.0, 1.04), (1400.0, 1.05), (1500.0, 1.05)]
        {
            assert!((resistance_factor(at_c) - factor).abs() < 1e-12, "{at_c} °C");
        }
    }
}
