//! The thermal model's parameters: what the controller knows of the kiln's behaviour.

/// How the parameters were come by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Certainty {
    /// Guessed from the kiln file; may be 40 % out.
    Guessed,
    /// Fitted to a firing's trace.
    Fitted,
}

/// The parameters, unchecked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameters {
    /// How they were come by.
    pub certainty: Certainty,
    /// Heat capacity that follows the chamber: ware and furniture, J/K.
    pub ware_j_per_k: f64,
    /// Heat capacity of elements and whatever else answers at once, J/K.
    pub quick_j_per_k: f64,
    /// Hot-face area of the lining, m².
    pub wall_area_m2: f64,
    /// Thickness of the lining, m.
    pub wall_thickness_m: f64,
    /// Density of the brick, kg/m³.
    pub brick_kg_per_m3: f64,
    /// Multiplies the tabled conductivity of the brick.
    pub conductivity_ratio: f64,
    /// Loss that goes with the chamber's excess over ambient: gaps, vents, leads; W/K.
    pub leak_w_per_k: f64,
    /// Real power over rated power, all banks alike.
    pub power_ratio: f64,
}

/// A parameter outside what any kiln can have, by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ModelFault {
    /// The field.
    pub field: &'static str,
}

/// Checked parameters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KilnModel {
    parameters: Parameters,
}

impl KilnModel {
    /// Checks the parameters.
    pub fn new(parameters: Parameters) -> Result<Self, ModelFault> {
        let bounds = [
            ("ware_j_per_k", parameters.ware_j_per_k, 0.0, 1.0e6),
            ("quick_j_per_k", parameters.quick_j_per_k, 10.0, 1.0e5),
            ("wall_area_m2", parameters.wall_area_m2, 0.01, 50.0),
            ("wall_thickness_m", parameters.wall_thickness_m, 0.02, 0.6),
            ("brick_kg_per_m3", parameters.brick_kg_per_m3, 50.0, 3500.0),
            ("conductivity_ratio", parameters.conductivity_ratio, 0.1, 20.0),
            ("leak_w_per_k", parameters.leak_w_per_k, 0.0, 50.0),
            ("power_ratio", parameters.power_ratio, 0.2, 2.0),
        ];
        for (field, value, low, high) in bounds {
            if !(value >= low && value <= high) {
                return Err(ModelFault { field });
            }
        }
        Ok(Self { parameters })
    }

    /// The parameters.
    #[must_use]
    pub const fn parameters(&self) -> &Parameters {
        &self.parameters
    }
}
