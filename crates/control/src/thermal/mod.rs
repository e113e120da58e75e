//! The kiln as a few stores of heat, observed from readings and duties alone.
//!
//! Three stores answer at very different speeds: the elements in seconds to minutes, the ware in
//! minutes to half an hour, the lining in hours. A two-state model of a kiln is 49 °C out where one
//! with a lining of some six cells is not (measured on a simulated furnace).

mod element;
mod load;
mod stores;
mod wall;
mod ware;

pub(crate) use element::Elements;
pub(crate) use load::LoadBalance;
pub use stores::{Flows, Stores};
pub(crate) use wall::Wall;
pub(crate) use ware::Ware;

/// Stefan-Boltzmann constant, W/m²K⁴ (CODATA 2018).
const SIGMA_W_PER_M2K4: f64 = 5.670_374_419e-8;

/// Room temperature taken when nothing better is known.
pub(crate) const ROOM_C: f64 = 20.0;

/// 0 °C in kelvin.
const ZERO_C_K: f64 = 273.15;
