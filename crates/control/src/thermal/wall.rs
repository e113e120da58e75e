//! Heat flowing into the lining, observed from the temperature of the chamber before it.
//!
//! The lining is a slab cut into cells (finite volume), thin at the hot face, where a firing's minutes
//! are felt, thick behind it. Radiation and convection bring heat to the hot face, a film takes it from
//! the cold one. Implicit in time: stable however thin the wall and however well it conducts.

use libm::sqrt;
use pyrometry::units::{Celsius, Millis, Watts, greater, lesser};

use super::{ROOM_C, SIGMA_W_PER_M2K4, ZERO_C_K};
use crate::model::KilnModel;

/// Cells through the lining, each 1.35 times as thick as the one before: the first is a thirtieth.
const CELLS: usize = 8;
const THICKER: f64 = 1.35;
/// The sum of their thicknesses in those of the first: (1.35⁸ − 1) / 0.35.
const IN_ALL: f64 = 28.66;

/// Conductivity of 1260 °C class insulating firebrick, W/mK: 0.14 at 400 °C to 0.22 at 1200 °C,
/// a straight line through the table (VDI Heat Atlas, D6, insulating firebrick).
const BRICK_W_PER_MK_AT_0C: f64 = 0.10;
const BRICK_W_PER_MK_PER_C: f64 = 1.0e-4;

/// Heat capacity of the same brick, J/kgK, with °C and °C²: 942 at 400 °C to 1029 at 1200 °C (VDI Heat
/// Atlas, D6).
const BRICK_J_PER_KGK: [f64; 3] = [845.0, 0.285, -1.10e-4];

/// Emissivity of hot firebrick (Incropera, table A.11: 0.75 at 1200 K).
const EMISSIVITY: f64 = 0.8;

/// Convection to the hot face, W/m²K (free convection, handbook range 5 to 25).
const CONVECTION_W_PER_M2K: f64 = 6.0;

/// Film from casing to room, convection and radiation together, W/m²K. Engineering judgement from
/// still-air handbook ranges (convection 3 to 6, radiation at 60 °C about 6).
const FILM_W_PER_M2K: f64 = 10.0;

/// Longest step: what enters in it is told by its end.
const STEP_LONGEST_S: f64 = 10.0;

/// The lining's temperatures, hot face first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wall {
    cells_c: [f64; CELLS],
    room_c: f64,
    area_m2: f64,
    /// Thickness of the first cell.
    first_m: f64,
    brick_kg_per_m3: f64,
    conductivity_ratio: f64,
}

impl Wall {
    /// A lining that has stood at one temperature for long: the room's, or the kiln's if colder.
    pub(crate) fn at_rest(model: &KilnModel, standing_at: Celsius) -> Self {
        let parameters = model.parameters();
        Self {
            cells_c: [standing_at.c(); CELLS],
            room_c: lesser(standing_at.c(), ROOM_C),
            area_m2: parameters.wall_area_m2,
            first_m: parameters.wall_thickness_m / IN_ALL,
            brick_kg_per_m3: parameters.brick_kg_per_m3,
            conductivity_ratio: parameters.conductivity_ratio,
        }
    }

    /// The lining of a kiln found hot: a straight fall from the hot face, half as steep as one down
    /// to the room.
    ///
    /// Nobody knows whether it was just heated through or has stood since yesterday. Taking it for
    /// colder than it is feeds forward kilowatts too much and overshoots; too hot, and the kiln
    /// lags until the integral has learned. The half leans to the safe side.
    pub(crate) fn found_hot(model: &KilnModel, hot_face: Celsius) -> Self {
        let mut wall = Self::at_rest(model, hot_face);
        let casing_c = 0.5 * (hot_face.c() + wall.room_c);
        let (mut depth, mut thickness) = (0.0, 1.0);
        for cell_c in &mut wall.cells_c {
            *cell_c = hot_face.c() + (casing_c - hot_face.c()) * (depth + 0.5 * thickness) / IN_ALL;
            depth += thickness;
            thickness *= THICKER;
        }
        wall
    }

    /// Lets time pass with the chamber at a temperature; gives the mean heat flowing in, negative
    /// when the lining gives heat back.
    pub(crate) fn step(&mut self, chamber: Celsius, span: Millis) -> Watts {
        let whole_s = span.seconds();
        let mut left_s = whole_s;
        let mut taken_j = 0.0;
        while left_s > 0.0 {
            let step_s = lesser(left_s, STEP_LONGEST_S);
            taken_j += self.advance(chamber.c(), step_s) * step_s;
            left_s -= step_s;
        }
        let flow_w = if whole_s > 0.0 { taken_j / whole_s } else { 0.0 };
        Watts::new(flow_w).unwrap_or(Watts::ZERO)
    }

    /// Heat that would flow in at this instant with the chamber at a temperature.
    pub(crate) fn takes_w(&self, chamber_c: f64) -> f64 {
        let [first_c, ..] = self.cells_c;
        self.entry_w_per_k(chamber_c, first_c) * (chamber_c - first_c)
    }

    /// Solves one implicit step from the hot face down (tridiagonal elimination; Press et al., Numerical
    /// Recipes, 2.4), with conductivities of its start; gives the heat entering at its end.
    fn advance(&mut self, chamber_c: f64, step_s: f64) -> f64 {
        let [first_c, ..] = self.cells_c;
        let entry_w_per_k = self.entry_w_per_k(chamber_c, first_c);
        let mut inner_w_per_k = entry_w_per_k;
        let mut thickness_m = self.first_m;
        // A cell's temperature is its own part and a share of the next one's; the chamber's is its own.
        let (mut above, mut eliminated) = ((chamber_c, 0.0), [(0.0, 0.0); CELLS]);
        let nexts = self.cells_c.iter().skip(1).map(Some).chain([None]);
        for ((cell_c, next_c), slot) in self.cells_c.iter().zip(nexts).zip(&mut eliminated) {
            let outer_w_per_k = match next_c {
                Some(next_c) => {
                    self.conducts_w_per_k(0.5 * (cell_c + next_c), 0.5 * (1.0 + THICKER) * thickness_m)
                }
                None => in_series(
                    self.conducts_w_per_k(*cell_c, 0.5 * thickness_m),
                    FILM_W_PER_M2K * self.area_m2,
                ),
            };
            let storage_w_per_k = self.holds_j_per_k(*cell_c, thickness_m) / step_s;
            let (above_c, above_share) = above;
            let pivot = storage_w_per_k + inner_w_per_k * (1.0 - above_share) + outer_w_per_k;
            above = ((storage_w_per_k * cell_c + inner_w_per_k * above_c) / pivot, outer_w_per_k / pivot);
            *slot = above;
            inner_w_per_k = outer_w_per_k;
            thickness_m *= THICKER;
        }
        let mut next_c = self.room_c;
        for (cell_c, (own_c, share)) in self.cells_c.iter_mut().rev().zip(eliminated.iter().rev()) {
            *cell_c = own_c + share * next_c;
            next_c = *cell_c;
        }
        entry_w_per_k * (chamber_c - next_c)
    }

    /// From the chamber to the middle of the first cell: radiation and convection, then half the cell.
    fn entry_w_per_k(&self, chamber_c: f64, first_c: f64) -> f64 {
        let chamber_k = chamber_c + ZERO_C_K;
        let radiation_w_per_m2k = 4.0 * EMISSIVITY * SIGMA_W_PER_M2K4 * chamber_k * chamber_k * chamber_k;
        in_series(
            (radiation_w_per_m2k + CONVECTION_W_PER_M2K) * self.area_m2,
            self.conducts_w_per_k(0.5 * (chamber_c + first_c), 0.5 * self.first_m),
        )
    }

    /// Conductance over a distance at a mean temperature.
    fn conducts_w_per_k(&self, mean_c: f64, distance_m: f64) -> f64 {
        self.brick_w_per_mk(mean_c) * self.area_m2 / distance_m
    }

    fn brick_w_per_mk(&self, at_c: f64) -> f64 {
        (BRICK_W_PER_MK_AT_0C + BRICK_W_PER_MK_PER_C * at_c) * self.conductivity_ratio
    }

    fn holds_j_per_k(&self, at_c: f64, thickness_m: f64) -> f64 {
        self.area_m2 * thickness_m * self.brick_kg_per_m3 * brick_j_per_kgk(at_c)
    }

    /// Heat that the lining's skin takes up for one degree of rise lasting `span`, J/K: the
    /// half-space result q = A·√(4kρc·t/π) (Carslaw & Jaeger 1959, 2.4).
    pub(crate) fn skin_j_per_k(&self, at: Celsius, span: Millis) -> f64 {
        let effusivity_squared = self.brick_w_per_mk(at.c()) * self.brick_kg_per_m3 * brick_j_per_kgk(at.c());
        let per_m2 = sqrt(greater(0.0, 4.0 / core::f64::consts::PI * effusivity_squared * span.seconds()));
        self.area_m2 * per_m2
    }
}

fn brick_j_per_kgk(at_c: f64) -> f64 {
    let [constant, linear, quadratic] = BRICK_J_PER_KGK;
    constant + at_c * (linear + at_c * quadratic)
}

fn in_series(one_w_per_k: f64, other_w_per_k: f64) -> f64 {
    one_w_per_k * other_w_per_k / (one_w_per_k + other_w_per_k)
}

#[cfg(test)]
mod tests {
    use pyrometry::constant;

    use super::*;
    use crate::model::{Certainty, Parameters};

    fn wall_standing_at(c: f64) -> Wall {
        let model = KilnModel::new(Parameters {
            certainty: Certainty::Guessed,
            ware_j_per_k: 30_000.0,
            quick_j_per_k: 4_000.0,
            wall_area_m2: 1.5,
            wall_thickness_m: 0.114,
            brick_kg_per_m3: 490.0,
            conductivity_ratio: 1.0,
            leak_w_per_k: 0.5,
            power_ratio: 1.0,
        })
        .unwrap();
        Wall::at_rest(&model, Celsius::new(c).unwrap())
    }

    #[test]
    fn a_wall_at_the_rooms_temperature_takes_no_heat() {
        let mut wall = wall_standing_at(20.0);
        let uptake = wall.step(constant!(Celsius, 20.0), Millis::from_seconds(10));
        assert!(uptake.w().abs() < 1e-9);
    }

    /// Steady conduction: q = A·∫k dT / (L + k-independent film in series), Incropera, Fundamentals of Heat and Mass Transfer, 3.1
    /// with k linear in T, so its mean is that of the mean temperature.
    #[test]
    fn a_long_soak_settles_on_the_steady_conduction_of_a_slab_with_a_film() {
        let mut wall = wall_standing_at(20.0);
        let mut flow_w = 0.0;
        for _ in 0..100_000 {
            flow_w = wall.step(constant!(Celsius, 1200.0), Millis::from_seconds(5)).w();
        }
        let mut casing_c = 100.0;
        for _ in 0..100 {
            let mean_k = 0.10 + 1.0e-4 * 0.5 * (1200.0 + casing_c);
            casing_c = 20.0 + mean_k * (1200.0 - casing_c) / 0.114 / 10.0;
        }
        let steady_w = 1.5 * 10.0 * (casing_c - 20.0);
        assert!((flow_w / steady_w - 1.0).abs() < 0.01, "{flow_w} against {steady_w}");
    }

    #[test]
    fn a_kiln_found_hot_has_a_wall_that_falls_from_face_to_casing() {
        let cold = wall_standing_at(20.0);
        let model_like = Wall::found_hot(
            &KilnModel::new(Parameters {
                certainty: Certainty::Guessed,
                ware_j_per_k: 0.0,
                quick_j_per_k: 4_000.0,
                wall_area_m2: 1.5,
                wall_thickness_m: 0.114,
                brick_kg_per_m3: 490.0,
                conductivity_ratio: 1.0,
                leak_w_per_k: 0.0,
                power_ratio: 1.0,
            })
            .unwrap(),
            constant!(Celsius, 900.0),
        );
        assert!(model_like.cells_c.windows(2).all(|pair| pair[0] > pair[1]));
        assert!(cold.cells_c.iter().all(|c| (c - 20.0).abs() < f64::EPSILON));
    }
}
