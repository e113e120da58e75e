//! The lining's conduction against published solutions.

use super::Wall;
use crate::brick::{Brick, Layer};
use crate::heat::NODES;

/// What is prescribed at the hot face.
#[derive(Clone, Copy)]
enum Face {
    /// Held at a temperature, °C.
    Held(f64),
    /// Convection from a gas, °C and W/m²K.
    Convection(f64, f64),
}

fn constant(conductivity: f64, density: f64, heat_capacity: f64) -> Brick {
    Brick {
        density_kg_per_m3: density,
        conductivity: [conductivity, 0.0, 0.0],
        heat_capacity: [heat_capacity, 0.0, 0.0],
    }
}

/// The temperatures of a slab of 1 m² after a time, from `start_c` throughout, its outer face
/// adiabatic, and the heat that entered, J. Heun's steps, as in the plant.
fn heated<const N: usize>(
    layer: Layer,
    start_c: f64,
    face: Face,
    span_s: f64,
    steps: u32,
) -> ([f64; N], f64) {
    let wall: Wall<N> = Wall::new(&[layer], |_| 1.0);
    let rates = |at: &[f64; N]| match face {
        Face::Held(_) => {
            let mut rates = wall.rates(at, 0.0, 0.0);
            rates[0] = 0.0;
            rates
        }
        Face::Convection(gas_c, h) => wall.rates(at, h * (gas_c - at[0]), 0.0),
    };
    let mut at = [start_c; N];
    if let Face::Held(face_c) = face {
        at[0] = face_c;
    }
    let before = wall.stored_j(&[start_c; N]);
    let step = span_s / f64::from(steps);
    for _ in 0..steps {
        let first = rates(&at);
        let mut there = at;
        there.iter_mut().zip(first).for_each(|(t, rate)| *t += step * rate);
        let second = rates(&there);
        at.iter_mut().zip(first).zip(second).for_each(|((t, a), b)| *t += step * 0.5 * (a + b));
    }
    (at, wall.stored_j(&at) - before)
}

/// The depths of a slab's nodes, m.
fn depths<const N: usize>(thickness_m: f64) -> [f64; N] {
    let mut depths = [0.0; N];
    for (node, width) in super::intervals::<N>(0, 1, thickness_m).into_iter().enumerate() {
        depths[node + 1] = depths[node] + width;
    }
    depths
}

fn worst<const N: usize>(at: &[f64; N], thickness_m: f64, exact: impl Fn(f64) -> f64) -> f64 {
    depths::<N>(thickness_m).into_iter().zip(at).map(|(x, t)| (t - exact(x)).abs()).fold(0.0, f64::max)
}

const FIREBRICK: (f64, f64, f64) = (0.17, 490.0, 1000.0); // about the lining's at 700 °C
const THICKNESS_M: f64 = 0.076;

fn firebrick() -> Layer {
    Layer { brick: constant(FIREBRICK.0, FIREBRICK.1, FIREBRICK.2), thickness_m: THICKNESS_M }
}

fn diffusivity() -> f64 {
    FIREBRICK.0 / (FIREBRICK.1 * FIREBRICK.2)
}

/// Semi-infinite solid, surface suddenly held: Carslaw and Jaeger, Conduction of Heat in Solids,
/// 2nd edition 1959, §2.4; Incropera, 6th edition, equation 5.57. Ten minutes: the outer face has
/// not felt it (erfc 3.7 is 1e-7).
#[test]
fn a_suddenly_heated_face_sends_heat_in_as_into_a_semi_infinite_solid() {
    let span_s = 600.0;
    let exact = |x: f64| 1000.0 * libm::erfc(x / (2.0 * libm::sqrt(diffusivity() * span_s)));
    let (at, _) = heated::<NODES>(firebrick(), 0.0, Face::Held(1000.0), span_s, 600);
    let coarse = worst(&at, THICKNESS_M, exact);
    println!("held face: {coarse:.2} °C of 1000");
    assert!(coarse < 3.5, "the plant's ten nodes err by {coarse:.2} °C of 1000");
    let (at, _) = heated::<40>(firebrick(), 0.0, Face::Held(1000.0), span_s, 12_000);
    let fine = worst(&at, THICKNESS_M, exact);
    assert!(fine < coarse / 4.0, "forty nodes err by {fine:.2} °C");
}

/// Semi-infinite solid with convection: Carslaw and Jaeger 1959, §2.7, equation 1; Incropera, 6th
/// edition, equation 5.60. The convection is that of a draught, so that the surface lags the gas.
#[test]
fn a_face_warmed_by_convection_follows_the_semi_infinite_solution() {
    let (h, span_s) = (50.0, 300.0);
    let root = libm::sqrt(diffusivity() * span_s);
    let exact = |x: f64| {
        let reduced = h * root / FIREBRICK.0;
        let grown = libm::exp(h * x / FIREBRICK.0 + reduced * reduced);
        1000.0 * (libm::erfc(x / (2.0 * root)) - grown * libm::erfc(x / (2.0 * root) + reduced))
    };
    let (at, _) = heated::<NODES>(firebrick(), 0.0, Face::Convection(1000.0, h), span_s, 300);
    let error = worst(&at, THICKNESS_M, exact);
    println!("convection: {error:.2} °C of 1000");
    assert!(error < 4.5, "{error:.2} °C of 1000");
}

/// Slab with one face held and the other adiabatic: Carslaw and Jaeger 1959, §3.3, equation 8.
#[test]
fn a_slab_heated_through_follows_the_fourier_series() {
    let span_s = 7200.0;
    let exact = |x: f64| {
        let series: f64 = (0..20u32)
            .map(|n| {
                let odd = f64::from(2 * n + 1) * core::f64::consts::FRAC_PI_2;
                let decay = odd * odd * diffusivity() * span_s / (THICKNESS_M * THICKNESS_M);
                2.0 / odd * libm::sin(odd * x / THICKNESS_M) * libm::exp(-decay)
            })
            .sum();
        1000.0 * (1.0 - series)
    };
    let (at, _) = heated::<NODES>(firebrick(), 0.0, Face::Held(1000.0), span_s, 7200);
    let error = worst(&at, THICKNESS_M, exact);
    println!("slab: {error:.2} °C of 1000");
    assert!(error < 1.0, "{error:.2} °C of 1000");
}

/// Water main under frozen ground, the worked example of Incropera, 6th edition, example 5.6: soil
/// of 20 °C, surface held at −15 °C for 60 days, k 0.52 W/mK, ρ 2050 kg/m³, c 1840 J/kgK; freezing
/// reaches 0.68 m.
#[test]
fn incroperas_water_main_must_lie_two_thirds_of_a_metre_deep() {
    let soil = Layer { brick: constant(0.52, 2050.0, 1840.0), thickness_m: 4.0 };
    let (at, _) = heated::<24>(soil, 20.0, Face::Held(-15.0), 60.0 * 86_400.0, 60 * 24 * 4);
    let depths = depths::<24>(4.0);
    let frozen = at.iter().rposition(|t| *t <= 0.0).expect("the surface is frozen");
    let share = -at[frozen] / (at[frozen + 1] - at[frozen]);
    let depth = depths[frozen] + share * (depths[frozen + 1] - depths[frozen]);
    println!("water main: {depth:.3} m against 0.68");
    assert!((depth - 0.68).abs() < 0.01, "{depth:.3} m");
}

/// Furnace wall in the steady state, the worked example of Incropera, 6th edition, example 1.1:
/// 0.15 m of fireclay brick, k 1.7 W/mK, 1400 and 1150 K at its faces: 2833 W/m².
#[test]
fn incroperas_furnace_wall_loses_2833_watts_a_square_metre() {
    let layer = Layer { brick: constant(1.7, 2000.0, 960.0), thickness_m: 0.15 };
    let wall: Wall<NODES> = Wall::new(&[layer], |_| 1.0);
    let [hot, outer] = [1400.0 - 273.15, 1150.0 - 273.15];
    let at = depths::<NODES>(0.15).map(|x| hot + (outer - hot) * x / 0.15);
    let half_j_per_k = 2000.0 * 960.0 * depths::<NODES>(0.15)[1] / 2.0;
    let flux = -wall.rates(&at, 0.0, 0.0)[0] * half_j_per_k;
    assert!((flux - 2833.0).abs() < 0.5, "{flux:.1} W/m²");
}

/// Conductivity that grows with temperature, in the steady state: Kirchhoff's transform makes the
/// flux that of the mean conductivity (Carslaw and Jaeger 1959, §1.6).
#[test]
fn a_wall_whose_conductivity_grows_with_temperature_passes_the_flux_of_its_mean() {
    let layer = Layer { brick: Brick::INSULATING_FIREBRICK_1260, thickness_m: THICKNESS_M };
    let mean = layer.brick.conductivity_w_per_mk(0.5 * (1250.0 + 100.0));
    let flux = mean * (1250.0 - 100.0) / THICKNESS_M;
    let potential = |t: f64| 0.10 * t + 0.5e-4 * t * t;
    let at = depths::<NODES>(THICKNESS_M).map(|x| {
        let here = potential(1250.0) + (potential(100.0) - potential(1250.0)) * x / THICKNESS_M;
        (-0.10 + libm::sqrt(0.01 + 2.0e-4 * here)) / 1.0e-4
    });
    let wall: Wall<NODES> = Wall::new(&[layer], |_| 1.0);
    let stillness = wall.rates(&at, flux, flux).into_iter().fold(0.0, |a: f64, b| a.max(b.abs()));
    assert!(stillness < 1.0e-9, "{stillness} °C/s at {flux:.0} W/m²");
}

/// What the slab gained is what went in (first law), layers and growing area included.
#[test]
fn heat_entering_a_layered_lining_is_all_found_in_it() {
    let layers = [
        Layer { brick: Brick::INSULATING_FIREBRICK_1260, thickness_m: 0.076 },
        Layer { brick: Brick::FIBRE_BLANKET, thickness_m: 0.025 },
    ];
    let wall: Wall<NODES> = Wall::new(&layers, |depth| 6.0 * (0.5 + 2.0 * depth) * (0.5 + 2.0 * depth));
    let mut at = [20.0; NODES];
    let before = wall.stored_j(&at);
    for _ in 0..72_000 {
        let rates = wall.rates(&at, 3000.0, 0.0);
        at.iter_mut().zip(rates).for_each(|(t, rate)| *t += 0.1 * rate);
    }
    let gained = wall.stored_j(&at) - before;
    assert!((gained / (3000.0 * 7200.0) - 1.0).abs() < 1.0e-4, "{gained} J");
}
