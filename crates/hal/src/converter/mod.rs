//! An analogue-to-digital converter, and the banks' currents that clamps on it measure.
//!
//! ```text
//! clamp ─ volts about half the reference ─► converter ─ a burst of samples ─► RMS ─► amperes
//! ```
//! Here lives what is made of samples; what a current means is judged in `control`.

#[cfg(feature = "linux")]
mod currents;
pub mod mcp3008;
pub mod rms;

#[cfg(feature = "linux")]
pub use currents::{Clamp, Currents, SAMPLES_A_BURST};
pub use mcp3008::Mcp3008;
