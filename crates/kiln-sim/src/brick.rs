//! Refractories: density, conductivity and heat capacity over temperature.

/// A refractory whose conductivity and heat capacity are quadratics in °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brick {
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Conductivity in W/mK: constant, per °C, per °C².
    pub conductivity: [f64; 3],
    /// Heat capacity in J/kgK: constant, per °C, per °C².
    pub heat_capacity: [f64; 3],
}

/// A layer of the lining.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// What it is made of.
    pub brick: Brick,
    /// Its thickness, m.
    pub thickness_m: f64,
}

impl Brick {
    /// Insulating firebrick, 1260 °C class. VDI Heat Atlas (2nd edition, 2010) table of
    /// refractories, L1260, 400 to 1200 °C; fitted within 2 % of every cell.
    pub const INSULATING_FIREBRICK_1260: Self = Self {
        density_kg_per_m3: 490.0,
        conductivity: [0.10, 1.0e-4, 0.0],
        heat_capacity: [845.0, 0.285, -1.10e-4],
    };
    /// Insulating firebrick, 1400 °C class. Same table, L1400; fitted within 2 %.
    pub const INSULATING_FIREBRICK_1400: Self = Self {
        density_kg_per_m3: 790.0,
        conductivity: [0.215, 1.5e-4, -2.5e-8],
        heat_capacity: [853.0, 0.300, -1.15e-4],
    };
    /// Ceramic-fibre blanket of 128 kg/m³, 0.06 W/mK at 200 °C to 0.27 at 1000 °C: values of the
    /// order makers print, from memory.
    pub const FIBRE_BLANKET: Self = Self {
        density_kg_per_m3: 128.0,
        conductivity: [0.04, 6.0e-5, 1.7e-7],
        heat_capacity: [800.0, 0.40, -1.3e-4],
    };

    /// The same brick with its conductivity scaled: batches differ, and age changes it.
    #[must_use]
    pub fn conducting(self, ratio: f64) -> Self {
        Self { conductivity: self.conductivity.map(|term| term * ratio), ..self }
    }

    /// Conductivity at a temperature, W/mK.
    #[must_use]
    pub fn conductivity_w_per_mk(&self, temperature_c: f64) -> f64 {
        quadratic(self.conductivity, temperature_c)
    }

    /// Heat capacity at a temperature, J/kgK.
    #[must_use]
    pub fn heat_capacity_j_per_kgk(&self, temperature_c: f64) -> f64 {
        quadratic(self.heat_capacity, temperature_c)
    }
}

pub(crate) fn quadratic(terms: [f64; 3], at: f64) -> f64 {
    terms[0] + at * (terms[1] + at * terms[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// VDI Heat Atlas, 2nd edition, 2010, refractories at 400, 600, 800, 1000 and 1200 °C.
    const AT_C: [f64; 5] = [400.0, 600.0, 800.0, 1000.0, 1200.0];
    const L1260: ([f64; 5], [f64; 5]) =
        ([0.14, 0.16, 0.18, 0.20, 0.22], [942.0, 979.0, 1002.0, 1017.0, 1033.0]);
    const L1400: ([f64; 5], [f64; 5]) =
        ([0.27, 0.30, 0.32, 0.34, 0.36], [954.0, 994.0, 1018.0, 1034.0, 1050.0]);

    fn fits(brick: &Brick, table: ([f64; 5], [f64; 5])) {
        for ((at, k), c) in AT_C.into_iter().zip(table.0).zip(table.1) {
            assert!((brick.conductivity_w_per_mk(at) / k - 1.0).abs() < 0.02, "conductivity at {at} °C");
            assert!((brick.heat_capacity_j_per_kgk(at) / c - 1.0).abs() < 0.01, "heat capacity at {at} °C");
        }
    }

    #[test]
    fn insulating_firebricks_follow_the_vdi_heat_atlas() {
        fits(&Brick::INSULATING_FIREBRICK_1260, L1260);
        fits(&Brick::INSULATING_FIREBRICK_1400, L1400);
    }
}
