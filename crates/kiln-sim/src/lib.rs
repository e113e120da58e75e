//! A simulated electric kiln: its heat, its electrics, its thermocouples, and what breaks in them.
//!
//! Here live the plant (elements, chamber, ware, lining, probes, relays, mains), the faults that
//! can befall each part, and the [`hal::Board`] and [`hal::Contactor`] made of them. What does
//! *not* live here: any control, any schedule, any judgement of a reading, any clock. Time moves
//! only when [`Plant::step`] is called, and the same specification, seed and switch positions give
//! the same firing bit for bit, on any architecture.
//!
//! ```text
//!            mains ── contactor ── relay ── element ─┐
//!                                                    │ radiation and gas
//!   ambient ── outer face ─ brick nodes ─ hot face ──┼── ware surface ── ware core
//!                 │                                  │
//!             enclosure ── cold junction        junction (lags)
//!                                  └──── amplifier ────┘──> Report
//! ```
//!
//! Temperatures inside are degrees Celsius in plain `f64`: every state is bounded by physics, and
//! what leaves the crate is a checked unit. Zones count from the top.

mod board;
mod body;
mod brick;
mod chamber;
mod conditions;
mod element;
mod fault;
mod heat;
mod noise;
mod plant;
mod probe;
mod relay;
mod spec;
mod truth;
mod wall;
mod wiring;

pub use board::{SimulatedBoard, SimulatedButton, SimulatedContactor};
pub use brick::{Brick, Layer};
pub use fault::{BankFault, Fault, FaultRefused, ProbeFault, Timed};
pub use plant::{Lid, Plant, Switches};
pub use spec::{BankSpec, CurrentSensing, Enclosure, Input, KilnSpec, ProbeSpec, SpecFault, Ware, Wire};
pub use truth::{Energy, Truth};

/// Zones a kiln may have.
pub const ZONES_MOST: usize = 4;
/// Banks a kiln may have.
pub const BANKS_MOST: usize = 8;
/// Probes a kiln may have.
pub const PROBES_MOST: usize = 4;

const ZERO_C_IN_K: f64 = 273.15; // SI Brochure, 9th edition, 2.3.1
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8; // W/m²K⁴, CODATA 2018, exact

/// Emissive power of a black surface, W/m².
fn black_w_per_m2(temperature_c: f64) -> f64 {
    let kelvin = temperature_c + ZERO_C_IN_K;
    let squared = kelvin * kelvin;
    STEFAN_BOLTZMANN * squared * squared
}
