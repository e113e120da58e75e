//! The kiln model before the first firing: from size, wall, power and load.
//!
//! Good enough to fire safely and well; it may be 40 % out, and says so by its certainty.

use control::{Certainty, KilnModel, ModelFault, Parameters};
use pyrometry::units::{Watts, lesser};

use crate::chamber::Chamber;

/// What the wall is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lining {
    /// Insulating firebrick.
    SoftBrick,
    /// Dense firebrick.
    HardBrick,
    /// Ceramic fibre.
    Fibre,
}

/// The kiln as a body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// The space inside.
    pub chamber: Chamber,
    /// What the wall is made of.
    pub lining: Lining,
    /// Thickness of the wall, in metres.
    pub wall_m: f64,
}

/// Fired clay, cordierite and mullite between room and top temperature, J/kgK (from memory;
/// handbooks give 800 to 1200 over that range).
const LOAD_J_PER_KGK: f64 = 1000.0;
/// Element wire for each watt, J/K: about 0.5 kg a kilowatt at usual surface loads, 0.7 kJ/kgK
/// when hot (from memory of wire makers' handbooks).
const ELEMENTS_J_PER_K_PER_W: f64 = 0.35;
/// What else answers at once, J/K: wire ends and a skin of brick (engineering judgement). In a test kiln
/// it isn't more than the elements hold themselves: told more, the controller would heat them in vain
/// hope of what they hold, and be far above its plan before it saw any.
const QUICK_BESIDES_J_PER_K: f64 = 500.0;
/// Gaps, spyholes and leads for each square metre of hot face, W/K (engineering judgement).
const LEAK_W_PER_M2K: f64 = 0.3;
/// `FeCrAl` wire has 1.04 times its cold resistance at 1000 to 1300 °C (wire makers' tables).
const HOT_RESISTANCE_RATIO: f64 = 1.04;

impl Lining {
    /// Density in kg/m³ and conductivity over that of 1260 °C class insulating firebrick.
    const fn density_and_conductivity_ratio(self) -> (f64, f64) {
        match self {
            // VDI Heat Atlas, D6: 490 kg/m³, the table that the ratio refers to.
            Self::SoftBrick => (490.0, 1.0),
            // 2100 kg/m³ and about 1.3 W/mK against 0.20 at 1000 °C (from memory of makers' data).
            Self::HardBrick => (2100.0, 6.5),
            // 128 kg/m³ blanket, about 0.25 W/mK against 0.20 at 1000 °C (from memory).
            Self::Fibre => (128.0, 1.25),
        }
    }
}

/// Guesses the thermal model of a kiln.
///
/// `rated` is the power of all banks together, `load_kg` everything that stands in the chamber.
/// Fails where a parameter comes out beyond what any kiln can have, and names it.
pub fn guess(body: &Body, rated: Watts, load_kg: f64) -> Result<KilnModel, ModelFault> {
    let (brick_kg_per_m3, conductivity_ratio) = body.lining.density_and_conductivity_ratio();
    let elements_j_per_k = rated.w() * ELEMENTS_J_PER_K_PER_W;
    KilnModel::new(Parameters {
        certainty: Certainty::Guessed,
        ware_j_per_k: load_kg * LOAD_J_PER_KGK,
        quick_j_per_k: elements_j_per_k + lesser(QUICK_BESIDES_J_PER_K, elements_j_per_k),
        wall_area_m2: body.chamber.conducting_m2(body.wall_m),
        wall_thickness_m: body.wall_m,
        brick_kg_per_m3,
        conductivity_ratio,
        leak_w_per_k: body.chamber.hot_face_m2() * LEAK_W_PER_M2K,
        power_ratio: 1.0 / HOT_RESISTANCE_RATIO,
    })
}

#[cfg(test)]
mod tests {
    use pyrometry::constant;

    use super::*;

    fn body(litres: f64, lining: Lining) -> Body {
        Body { chamber: Chamber::Volume { m3: litres / 1000.0 }, lining, wall_m: 0.114 }
    }

    /// From the smallest test kiln to the largest kiln a file may describe.
    #[test]
    fn every_kiln_a_file_can_describe_has_a_model() {
        for lining in [Lining::SoftBrick, Lining::HardBrick, Lining::Fibre] {
            for (litres, watts, load_kg) in
                [(0.5, 300.0, 0.2), (150.0, 9600.0, 40.0), (5000.0, 200_000.0, 1000.0)]
            {
                for wall_m in [0.02, 0.6] {
                    let body = Body { wall_m, ..body(litres, lining) };
                    let guessed = guess(&body, Watts::new(watts).unwrap(), load_kg);
                    assert!(guessed.is_ok(), "{lining:?} {litres} L {wall_m} m: {guessed:?}");
                }
            }
        }
    }

    #[test]
    fn a_test_kilns_quick_heat_is_not_more_than_twice_its_elements() {
        let of = |watts: Watts| {
            let model = guess(&body(0.5, Lining::Fibre), watts, 0.5).unwrap();
            model.parameters().quick_j_per_k
        };
        assert!((of(constant!(Watts, 60.0)) - 2.0 * 0.35 * 60.0).abs() < 1e-9);
        assert!((of(constant!(Watts, 9600.0)) - (500.0 + 0.35 * 9600.0)).abs() < 1e-9);
    }

    #[test]
    fn a_model_that_is_guessed_says_so() {
        let model = guess(&body(150.0, Lining::SoftBrick), constant!(Watts, 9600.0), 30.0).unwrap();
        assert_eq!(model.parameters().certainty, Certainty::Guessed);
        assert_eq!(model.parameters().ware_j_per_k, 30_000.0);
    }

    #[test]
    fn a_load_no_model_can_have_is_named() {
        let fault = guess(&body(150.0, Lining::Fibre), constant!(Watts, 9600.0), 1.0e4).unwrap_err();
        assert_eq!(fault.field, "ware_j_per_k");
    }
}
