//! Temperature measurement for kilns, with no allocation and no standard library.
//!
//! Here live the units every other crate speaks in, the thermocouple reference functions, the
//! arithmetic of amplifier chips, calibration and uncertainty, and cones with their heat-work.
//! What does *not* live here: any bus or pin (crate `hal`), any judgement of whether a reading
//! may be trusted over time (the interlocks of crate `control`), any clock.
//!
//! Terms: the *junction* is the thermocouple's hot end in the kiln; the *cold junction* is where
//! its wires meet the amplifier; *emf* is the voltage between the two, in millivolts.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::indexing_slicing,
        clippy::as_conversions,
        clippy::wildcard_enum_match_arm
    )
)]

#[cfg(test)]
extern crate std;

pub mod amplifier;
pub mod calibration;
pub mod cone;
pub mod heat_work;
pub mod thermocouple;
pub mod uncertainty;
pub mod units;
