//! Heat in the lining: a slab of cells, implicit in time.
//!
//! The forecast takes long steps, so the slab is solved implicitly (backward Euler, finite
//! volumes, the tridiagonal system by elimination); it is stable whatever the brick. Its solution
//! is affine in the hot face's temperature, and is kept as that, so that the chamber's balance can
//! be closed without iteration.

use control::KilnModel;

const CELLS: usize = 6;
const CELLS_F64: f64 = 6.0;

/// Conductivity of 1260 °C class insulating firebrick, W/mK: 0.14 at 400 °C to 0.22 at 1200 °C,
/// a straight line through the table (VDI Heat Atlas, D6).
const BRICK_W_PER_MK_AT_0C: f64 = 0.10;
const BRICK_W_PER_MK_PER_C: f64 = 1.0e-4;
/// Heat capacity of the same brick, J/kgK: the middle of 942 to 1033 (VDI Heat Atlas, D6).
const BRICK_J_PER_KGK: f64 = 990.0;
/// Film from casing to room, convection and radiation together, W/m²K (engineering judgement from
/// still-air handbook ranges).
const FILM_W_PER_M2K: f64 = 10.0;

/// The lining of a kiln.
#[derive(Clone)]
pub(crate) struct Slab {
    cells_c: [f64; CELLS],
    room_c: f64,
    conductivity_ratio: f64,
    /// Conductance through one whole cell at 1 W/mK, W/K.
    unit_w_per_k: f64,
    film_w_per_k: f64,
    cell_j_per_k: f64,
}

/// The slab after one step, for any temperature of its hot face.
pub(crate) struct Step {
    still_c: [f64; CELLS],
    per_face: [f64; CELLS],
    face_w_per_k: f64,
}

impl Step {
    /// Heat into the slab at a hot-face temperature, as `fixed_w + w_per_k · face_c`.
    pub(crate) fn uptake(&self) -> (f64, f64) {
        (-self.face_w_per_k * self.still_c[0], self.face_w_per_k * (1.0 - self.per_face[0]))
    }
}

impl Slab {
    /// A slab in a kiln that is found at a temperature: at rest with it when it is not above the
    /// room's, else falling evenly from it to a casing a little above the room's.
    pub(crate) fn found_at(model: &KilnModel, face_c: f64, room_c: f64) -> Self {
        const CASING_SHARE: f64 = 0.05; // 60 to 80 °C at 1200 °C; common practice, no source
        let parameters = model.parameters();
        let cell_m = parameters.wall_thickness_m / CELLS_F64;
        let casing_c = room_c + CASING_SHARE * (face_c - room_c);
        let mut middle = -0.5;
        let cells_c = [(); CELLS].map(|()| {
            middle += 1.0;
            face_c + (casing_c - face_c) * middle / CELLS_F64
        });
        Self {
            cells_c,
            room_c,
            conductivity_ratio: parameters.conductivity_ratio,
            unit_w_per_k: parameters.wall_area_m2 / cell_m,
            film_w_per_k: parameters.wall_area_m2 * FILM_W_PER_M2K,
            cell_j_per_k: parameters.wall_area_m2 * cell_m * parameters.brick_kg_per_m3 * BRICK_J_PER_KGK,
        }
    }

    /// Half a cell's conductance times two at a mean temperature, W/K.
    fn conductance(&self, mean_c: f64) -> f64 {
        (BRICK_W_PER_MK_AT_0C + BRICK_W_PER_MK_PER_C * mean_c) * self.conductivity_ratio * self.unit_w_per_k
    }

    /// Solves one step with conductivities of the present temperatures.
    pub(crate) fn step(&self, face_c: f64, step_s: f64) -> Step {
        let cells = &self.cells_c;
        let face_w_per_k = 2.0 * self.conductance(0.5 * (face_c + cells[0]));
        let last = 2.0 * self.conductance(cells[CELLS - 1]);
        let outer_w_per_k = last * self.film_w_per_k / (last + self.film_w_per_k);
        let storage_w_per_k = self.cell_j_per_k / step_s;
        // Elimination downwards, for two right-hand sides: what is there, and one degree of face.
        let mut above_share = [0.0; CELLS];
        let (mut still_c, mut per_face) = ([0.0; CELLS], [0.0; CELLS]);
        for cell in 0..CELLS {
            let inner = if cell == 0 {
                face_w_per_k
            } else {
                self.conductance(0.5 * (cells[cell - 1] + cells[cell]))
            };
            let outer = if cell + 1 == CELLS {
                outer_w_per_k
            } else {
                self.conductance(0.5 * (cells[cell] + cells[cell + 1]))
            };
            let mut pivot = storage_w_per_k + inner + outer;
            let mut still = storage_w_per_k * cells[cell];
            let mut face = 0.0;
            if cell == 0 {
                face += inner;
            } else {
                pivot -= inner * above_share[cell - 1];
                still += inner * still_c[cell - 1];
                face += inner * per_face[cell - 1];
            }
            if cell + 1 == CELLS {
                still += outer * self.room_c;
            }
            above_share[cell] = outer / pivot;
            still_c[cell] = still / pivot;
            per_face[cell] = face / pivot;
        }
        for cell in (0..CELLS - 1).rev() {
            still_c[cell] += above_share[cell] * still_c[cell + 1];
            per_face[cell] += above_share[cell] * per_face[cell + 1];
        }
        Step { still_c, per_face, face_w_per_k }
    }

    /// Takes a solved step, now that the hot face's temperature is known.
    pub(crate) fn take(&mut self, step: &Step, face_c: f64) {
        for (cell, (still, share)) in self.cells_c.iter_mut().zip(step.still_c.iter().zip(step.per_face)) {
            *cell = still + share * face_c;
        }
    }
}

#[cfg(test)]
mod tests {
    use control::{Certainty, Parameters};

    use super::*;

    fn slab(conductivity_ratio: f64, thickness_m: f64) -> Slab {
        let parameters = Parameters {
            certainty: Certainty::Guessed,
            ware_j_per_k: 0.0,
            quick_j_per_k: 1000.0,
            wall_area_m2: 1.0,
            wall_thickness_m: thickness_m,
            brick_kg_per_m3: 490.0,
            conductivity_ratio,
            leak_w_per_k: 0.0,
            power_ratio: 1.0,
        };
        Slab::found_at(&KilnModel::new(parameters).unwrap(), 20.0, 20.0)
    }

    fn flow_after(slab: &mut Slab, face_c: f64, step_s: f64, steps: usize) -> f64 {
        let mut flow_w = 0.0;
        for _ in 0..steps {
            let step = slab.step(face_c, step_s);
            let (fixed_w, w_per_k) = step.uptake();
            flow_w = fixed_w + w_per_k * face_c;
            slab.take(&step, face_c);
        }
        flow_w
    }

    /// Steady conduction through a slab with a film: Incropera & `DeWitt` 3.1, with the mean
    /// conductivity, exact for one that is linear in temperature.
    #[test]
    fn a_long_hold_settles_on_steady_conduction() {
        let mut casing_c = 100.0;
        for _ in 0..100 {
            casing_c = 20.0 + (0.10 + 0.5e-4 * (1200.0 + casing_c)) * (1200.0 - casing_c) / 0.114 / 10.0;
        }
        let steady_w = 10.0 * (casing_c - 20.0);
        let flow_w = flow_after(&mut slab(1.0, 0.114), 1200.0, 60.0, 10_000);
        assert!((flow_w / steady_w - 1.0).abs() < 0.01, "{flow_w} against {steady_w}");
    }

    /// A half-space whose face is stepped by ΔT takes 2·ΔT·A·√(kρc·t/π) (Carslaw & Jaeger 1959,
    /// 2.4). A small step keeps the conductivity nearly constant; 0.4 m is deep enough for 10 h,
    /// but its cells are coarse, hence 5 %.
    #[test]
    fn a_stepped_face_takes_the_heat_of_a_half_space() {
        let mut slab = slab(1.0, 0.4);
        let (step_s, steps) = (60.0, 600);
        let mut taken_j = 0.0;
        for _ in 0..steps {
            taken_j += flow_after(&mut slab, 25.0, step_s, 1) * step_s;
        }
        let effusivity = (0.10225_f64 * 490.0 * 990.0).sqrt();
        let expected_j = 2.0 * 5.0 * effusivity * (step_s * f64::from(steps) / std::f64::consts::PI).sqrt();
        assert!((taken_j / expected_j - 1.0).abs() < 0.05, "{taken_j} against {expected_j}");
    }

    #[test]
    fn thin_conducting_walls_stay_stable_in_long_steps() {
        let flow_w = flow_after(&mut slab(20.0, 0.02), 1200.0, 60.0, 1000);
        let again_w = flow_after(&mut slab(20.0, 0.02), 1200.0, 60.0, 1001);
        assert!((flow_w - again_w).abs() < 1e-6 && flow_w > 0.0);
    }
}
