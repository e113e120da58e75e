//! What fills the chamber: one radiant field and one body of gas a zone, neither storing heat.
//!
//! Each zone is an evenly irradiated enclosure, in which a grey surface gains
//! `εA·(H − σT⁴)` and the irradiation `H` is what makes all gains sum to nothing (Oppenheim's
//! network with view factors in proportion to area; Incropera, §13.3). The gas likewise: each
//! surface gains `hA·(Tg − T)`. Zones exchange both with the zone above and below, and with
//! ambient through gaps; so each field is the solution of a small tridiagonal system.

use crate::ZONES_MOST;

/// What feeds a field in each zone: the sum of weights, and of weights times values.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Field {
    pub(crate) weight: [f64; ZONES_MOST],
    pub(crate) weighted: [f64; ZONES_MOST],
}

impl Field {
    pub(crate) fn add(&mut self, zone: usize, weight: f64, value: f64) {
        self.weight[zone] += weight;
        self.weighted[zone] += weight * value;
    }

    /// The field's value in each zone, with `between` the weight that neighbours have on each
    /// other. Gaussian elimination down, substitution up: the system is diagonally dominant.
    pub(crate) fn solve(&self, zones: usize, between: f64) -> [f64; ZONES_MOST] {
        let mut value = [0.0; ZONES_MOST];
        if zones == 1 {
            value[0] = self.weighted[0] / self.weight[0];
            return value;
        }
        let mut carried = [0.0; ZONES_MOST];
        for zone in 0..zones {
            let (above, above_value) =
                if zone == 0 { (0.0, 0.0) } else { (carried[zone - 1], value[zone - 1]) };
            let neighbours = if zone == 0 || zone == zones - 1 { between } else { 2.0 * between };
            let pivot = self.weight[zone] + neighbours - between * above;
            carried[zone] = between / pivot;
            value[zone] = (self.weighted[zone] + between * above_value) / pivot;
        }
        for zone in (0..zones - 1).rev() {
            value[zone] += carried[zone] * value[zone + 1];
        }
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_of_four_zones_leaves_no_residue_in_any_zone() {
        let mut field = Field::default();
        for (zone, (weight, value)) in
            [(1.0, 900.0), (2.0, 400.0), (0.5, 1200.0), (3.0, 20.0)].into_iter().enumerate()
        {
            field.add(zone, weight, value);
        }
        let value = field.solve(4, 0.7);
        for zone in 0..4 {
            let mut gained = field.weighted[zone] - field.weight[zone] * value[zone];
            if zone > 0 {
                gained += 0.7 * (value[zone - 1] - value[zone]);
            }
            if zone < 3 {
                gained += 0.7 * (value[zone + 1] - value[zone]);
            }
            assert!(gained.abs() < 1e-9, "zone {zone} gains {gained}");
        }
    }
}
