//! Heat flowing into the lining, observed from the temperature of its hot face.
//!
//! The lining is a slab cut into cells of equal thickness (finite volume, explicit in time). Its
//! hot face follows the reading; its cold face gives heat to the room through a film.

use libm::sqrt;
use pyrometry::units::{Celsius, Millis, Watts, greater, lesser};

use super::ROOM_C;
use crate::model::KilnModel;

/// Cells through the lining: enough for the flux driven by a reading.
const CELLS: usize = 6;
const CELLS_F64: f64 = 6.0;
/// Middles of the cells as shares of the thickness.
const CELL_MIDDLES: [f64; CELLS] = [1.0 / 12.0, 3.0 / 12.0, 5.0 / 12.0, 7.0 / 12.0, 9.0 / 12.0, 11.0 / 12.0];

/// From the face to the first cell's middle.
const HALF_A_CELL: f64 = 0.5;

/// Conductivity of 1260 °C class insulating firebrick, W/mK: 0.14 at 400 °C to 0.22 at 1200 °C,
/// a straight line through the table (VDI Heat Atlas, D6, insulating firebrick).
const BRICK_W_PER_MK_AT_0C: f64 = 0.10;
const BRICK_W_PER_MK_PER_C: f64 = 1.0e-4;

/// Heat capacity of the same brick, J/kgK: the middle of 942 to 1033 (VDI Heat Atlas, D6).
const BRICK_J_PER_KGK: f64 = 990.0;

/// Film from casing to room, convection and radiation together, W/m²K. Engineering judgement from
/// still-air handbook ranges (convection 3 to 6, radiation at 60 °C about 6).
const FILM_W_PER_M2K: f64 = 10.0;

/// Longest explicit step; the thinnest allowed cell (20 mm / 6) with the densest conduction is
/// stable to several times this.
const STEP_LONGEST_S: f64 = 5.0;

/// The lining's temperatures, hot face first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wall {
    cells_c: [f64; CELLS],
    room_c: f64,
    /// Conductance through one whole cell at 1 W/mK, W/K.
    unit_w_per_k: f64,
    /// Heat capacity of one cell, J/K.
    cell_j_per_k: f64,
    conductivity_ratio: f64,
    film_w_per_k: f64,
}

impl Wall {
    /// A lining that has stood at one temperature for long: the room's, or the kiln's if colder.
    pub(crate) fn at_rest(model: &KilnModel, standing_at: Celsius) -> Self {
        let parameters = model.parameters();
        let cell_thickness_m = parameters.wall_thickness_m / CELLS_F64;
        let cell_m3 = parameters.wall_area_m2 * cell_thickness_m;
        let room_c = lesser(standing_at.c(), ROOM_C);
        Self {
            cells_c: [standing_at.c(); CELLS],
            room_c,
            unit_w_per_k: parameters.wall_area_m2 / cell_thickness_m,
            cell_j_per_k: cell_m3 * parameters.brick_kg_per_m3 * BRICK_J_PER_KGK,
            conductivity_ratio: parameters.conductivity_ratio,
            film_w_per_k: parameters.wall_area_m2 * FILM_W_PER_M2K,
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
        for (cell_c, middle) in wall.cells_c.iter_mut().zip(CELL_MIDDLES) {
            *cell_c = hot_face.c() + (casing_c - hot_face.c()) * middle;
        }
        wall
    }

    /// Lets time pass with the hot face at a temperature; gives the mean heat flowing in, negative
    /// when the lining gives heat back.
    pub(crate) fn step(&mut self, hot_face: Celsius, span: Millis) -> Watts {
        let whole_s = span.seconds();
        let mut left_s = whole_s;
        let mut taken_j = 0.0;
        while left_s > 0.0 {
            let step_s = lesser(left_s, STEP_LONGEST_S);
            taken_j += self.advance(hot_face.c(), step_s) * step_s;
            left_s -= step_s;
        }
        let flow_w = if whole_s > 0.0 { taken_j / whole_s } else { 0.0 };
        Watts::new(flow_w).unwrap_or(Watts::ZERO)
    }

    /// Heat that would flow in at this instant with the hot face at a temperature.
    pub(crate) fn takes_w(&self, hot_face_c: f64) -> f64 {
        let [first_c, ..] = self.cells_c;
        brick_w_per_mk(hot_face_c, first_c) * self.conductivity_ratio * self.unit_w_per_k / HALF_A_CELL
            * (hot_face_c - first_c)
    }

    fn advance(&mut self, hot_face_c: f64, step_s: f64) -> f64 {
        let mut warmer_c = hot_face_c;
        let mut distance = HALF_A_CELL;
        let mut entering_w = 0.0;
        let mut inflow_w = 0.0;
        let gain = step_s / self.cell_j_per_k;
        let mut change_pending: Option<&mut f64> = None;
        for cell_c in &mut self.cells_c {
            let present_c = *cell_c;
            let flow_w = brick_w_per_mk(warmer_c, present_c) * self.conductivity_ratio * self.unit_w_per_k
                / distance
                * (warmer_c - present_c);
            match change_pending.take() {
                Some(previous_c) => *previous_c += (inflow_w - flow_w) * gain,
                None => entering_w = flow_w,
            }
            inflow_w = flow_w;
            warmer_c = present_c;
            distance = 1.0;
            change_pending = Some(cell_c);
        }
        if let Some(last_c) = change_pending {
            // The last half cell and the film in series.
            let outer = (BRICK_W_PER_MK_AT_0C + BRICK_W_PER_MK_PER_C * *last_c) * self.conductivity_ratio;
            let half_cell_w_per_k = 2.0 * outer * self.unit_w_per_k;
            let through_w_per_k =
                half_cell_w_per_k * self.film_w_per_k / (half_cell_w_per_k + self.film_w_per_k);
            *last_c += (inflow_w - through_w_per_k * (*last_c - self.room_c)) * gain;
        }
        entering_w
    }

    /// Heat that the lining's skin takes up for one degree of rise lasting `span`, J/K: the
    /// half-space result q = A·√(4kρc·t/π) (Carslaw & Jaeger 1959, 2.4).
    pub(crate) fn skin_j_per_k(&self, at: Celsius, span: Millis) -> f64 {
        let conductivity = (BRICK_W_PER_MK_AT_0C + BRICK_W_PER_MK_PER_C * at.c()) * self.conductivity_ratio;
        let effusivity_squared = conductivity * self.unit_w_per_k * self.cell_j_per_k; // A²·kρc
        sqrt(greater(0.0, 4.0 / core::f64::consts::PI * effusivity_squared * span.seconds()))
    }
}

/// Conductivity of the brick between two temperatures, W/mK.
fn brick_w_per_mk(warmer_c: f64, colder_c: f64) -> f64 {
    BRICK_W_PER_MK_AT_0C + BRICK_W_PER_MK_PER_C * 0.5 * (warmer_c + colder_c)
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
