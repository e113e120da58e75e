//! Heat conduction through a layered lining, in one dimension from hot face to outer face.
//!
//! `N` nodes lie on the faces, on the layers' boundaries and between; each holds the half
//! intervals beside it. They stand closest at the hot face, where temperature changes fastest.
//! Conductivity between two nodes is taken at their mean temperature, which is exact in the
//! steady state where conductivity is linear (Carslaw and Jaeger 1959, §1.6: Kirchhoff's
//! transform). The area may grow with depth, as it does around a chamber.

use crate::brick::Layer;

const SPREAD: f64 = 1.15; // each interval of the first layer over the one before it: halves the hot face's, leaves a 1 s step stable at 1400 °C

/// A lining of `N` nodes. Coefficients are in J/K and W/K with powers of °C.
#[derive(Clone, Debug)]
pub(crate) struct Wall<const N: usize> {
    capacity: [[f64; N]; 3],
    conductance: [[f64; N]; 3],
}

impl<const N: usize> Wall<N> {
    /// Divides the layers (hot face first) into nodes; `area_m2` gives the area at a depth in m.
    pub(crate) fn new(layers: &[Layer], area_m2: impl Fn(f64) -> f64) -> Self {
        let mut wall = Self { capacity: [[0.0; N]; 3], conductance: [[0.0; N]; 3] };
        let mut node = 0;
        let mut depth = 0.0;
        for (index, layer) in layers.iter().enumerate() {
            for width in intervals::<N>(index, layers.len(), layer.thickness_m) {
                wall.fill(node, layer, width, &area_m2, depth);
                node += 1;
                depth += width;
            }
        }
        wall
    }

    fn fill(&mut self, node: usize, layer: &Layer, width: f64, area_m2: impl Fn(f64) -> f64, depth: f64) {
        let area = area_m2(depth + width / 2.0);
        let half_kg = layer.brick.density_kg_per_m3 * area * width / 2.0;
        for power in 0..3 {
            let half = half_kg * layer.brick.heat_capacity[power];
            self.capacity[power][node] += half;
            self.capacity[power][node + 1] += half;
            self.conductance[power][node] = layer.brick.conductivity[power] * area / width;
        }
    }

    /// Rates of temperature change in °C/s, with `hot_w` entering the hot face and `outer_w`
    /// leaving the outer one.
    pub(crate) fn rates(&self, at_c: &[f64; N], hot_w: f64, outer_w: f64) -> [f64; N] {
        let mut through = [0.0; N];
        for i in 0..N - 1 {
            let mean = 0.5 * (at_c[i] + at_c[i + 1]);
            let [k0, k1, k2] = [self.conductance[0][i], self.conductance[1][i], self.conductance[2][i]];
            through[i] = (k0 + mean * (k1 + mean * k2)) * (at_c[i] - at_c[i + 1]);
        }
        through[N - 1] = outer_w;
        let mut rates = [0.0; N];
        let mut entering = hot_w;
        for i in 0..N {
            let [c0, c1, c2] = [self.capacity[0][i], self.capacity[1][i], self.capacity[2][i]];
            rates[i] = (entering - through[i]) / (c0 + at_c[i] * (c1 + at_c[i] * c2));
            entering = through[i];
        }
        rates
    }

    /// Heat stored above 0 °C, J.
    pub(crate) fn stored_j(&self, at_c: &[f64; N]) -> f64 {
        (0..N)
            .map(|i| {
                let t = at_c[i];
                t * (self.capacity[0][i] + t * (self.capacity[1][i] / 2.0 + t * self.capacity[2][i] / 3.0))
            })
            .sum()
    }

    /// The shortest time constant of any node at a temperature, s, when the faces also give
    /// `face_w_per_k` away.
    pub(crate) fn quickest_s(&self, at_c: f64, face_w_per_k: f64) -> f64 {
        let of = |terms: &[[f64; N]; 3], i: usize| terms[0][i] + at_c * (terms[1][i] + at_c * terms[2][i]);
        let mut quickest = f64::INFINITY;
        for i in 0..N {
            let before = if i == 0 { face_w_per_k } else { of(&self.conductance, i - 1) };
            let after = if i == N - 1 { 0.0 } else { of(&self.conductance, i) };
            quickest = quickest.min(of(&self.capacity, i) / (before + after));
        }
        quickest
    }
}

/// The widths of one layer's intervals: the layers behind the first take a sixth of all
/// intervals each, evenly; the first takes the rest, growing with depth.
fn intervals<const N: usize>(index: usize, layers: usize, thickness_m: f64) -> Vec<f64> {
    let behind = (N - 1).div_ceil(6);
    let (count, spread) = if index == 0 { (N - 1 - behind * (layers - 1), SPREAD) } else { (behind, 1.0) };
    let shares = core::iter::successors(Some(1.0), |share| Some(share * spread)).take(count);
    let sum: f64 = shares.clone().sum();
    shares.map(|share| thickness_m * share / sum).collect()
}

#[cfg(test)]
mod reference;
