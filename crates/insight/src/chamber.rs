//! The size of a chamber and of the surface that loses its heat.
//!
//! With `libm`'s mathematics: what comes of it is in the controller's model, hence in its decisions.

use std::f64::consts::PI;

/// The space inside a kiln, in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Chamber {
    /// Only its volume is known, in cubic metres; taken as a cube.
    Volume {
        /// The volume.
        m3: f64,
    },
    /// A box.
    Square {
        /// Width.
        width_m: f64,
        /// Depth.
        depth_m: f64,
        /// Height.
        height_m: f64,
    },
    /// A cylinder.
    Round {
        /// Diameter.
        diameter_m: f64,
        /// Height.
        height_m: f64,
    },
}

impl Chamber {
    /// Volume in cubic metres.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        match *self {
            Self::Volume { m3 } => m3,
            Self::Square { width_m, depth_m, height_m } => width_m * depth_m * height_m,
            Self::Round { diameter_m, height_m } => PI / 4.0 * diameter_m * diameter_m * height_m,
        }
    }

    /// Area of the hot face in square metres.
    #[must_use]
    pub fn hot_face_m2(&self) -> f64 {
        match *self {
            Self::Volume { m3 } => 6.0 * libm::cbrt(m3) * libm::cbrt(m3),
            Self::Square { width_m, depth_m, height_m } => {
                2.0 * (width_m * depth_m + depth_m * height_m + height_m * width_m)
            }
            Self::Round { diameter_m, height_m } => {
                PI / 2.0 * diameter_m * diameter_m + PI * diameter_m * height_m
            }
        }
    }

    /// Area of the flat wall of that thickness that conducts as much as this chamber's walls with
    /// their edges and corners, in square metres.
    ///
    /// A box: A + 0.54·L·(sum of edges) + 8·0.15·L² (conduction shape factors of edge and corner,
    /// Incropera & `DeWitt`, Fundamentals of Heat and Mass Transfer, table 4.1). A cylinder: its
    /// jacket as a radial wall, 2πhL / ln(1 + 2L/d) (the same, 3.3), floor and lid flat, and their
    /// rims as edges.
    #[must_use]
    pub fn conducting_m2(&self, wall_m: f64) -> f64 {
        const EDGE: f64 = 0.54;
        const CORNERS: f64 = 8.0 * 0.15;
        match *self {
            Self::Volume { m3 } => {
                self.hot_face_m2() + EDGE * wall_m * 12.0 * libm::cbrt(m3) + CORNERS * wall_m * wall_m
            }
            Self::Square { width_m, depth_m, height_m } => {
                let edges_m = 4.0 * (width_m + depth_m + height_m);
                self.hot_face_m2() + EDGE * wall_m * edges_m + CORNERS * wall_m * wall_m
            }
            Self::Round { diameter_m, height_m } => {
                let jacket_m2 = 2.0 * PI * height_m * wall_m / libm::log1p(2.0 * wall_m / diameter_m);
                let ends_m2 = PI / 2.0 * diameter_m * diameter_m;
                jacket_m2 + ends_m2 + EDGE * wall_m * 2.0 * PI * diameter_m
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Six walls of A/L = 2.5 m, twelve edges of 0.54 · 0.5 m and eight corners of 0.15 · 0.1 m
    /// (factors of Incropera & `DeWitt`, table 4.1, added up by hand).
    #[test]
    fn a_cubic_furnace_conducts_as_the_handbooks_shape_factor() {
        let chamber = Chamber::Square { width_m: 0.5, depth_m: 0.5, height_m: 0.5 };
        let shape_factor_m = chamber.conducting_m2(0.1) / 0.1;
        assert!((shape_factor_m - (15.0 + 3.24 + 0.12)).abs() < 1e-9, "{shape_factor_m}");
    }

    #[test]
    fn a_volume_alone_is_taken_as_a_cube_of_that_volume() {
        let cube = Chamber::Square { width_m: 0.5, depth_m: 0.5, height_m: 0.5 };
        let volume = Chamber::Volume { m3: 0.125 };
        assert!((cube.hot_face_m2() - volume.hot_face_m2()).abs() < 1e-12);
        assert!((cube.conducting_m2(0.1) - volume.conducting_m2(0.1)).abs() < 1e-12);
    }

    #[test]
    fn a_thin_wall_conducts_as_its_hot_face() {
        for chamber in [Chamber::Volume { m3: 0.15 }, Chamber::Round { diameter_m: 0.6, height_m: 0.5 }] {
            let thin = chamber.conducting_m2(1e-6);
            assert!((thin / chamber.hot_face_m2() - 1.0).abs() < 1e-4, "{chamber:?}: {thin}");
        }
    }
}
