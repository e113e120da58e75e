//! The warden: keeps the safety contactor closed only while proof of good control arrives.
//!
//! Here lives the judgement alone: beats and time in, the contactor's level out. What does *not*
//! live here: any temperature, any schedule, any reason for heat. The warden trusts nobody; it
//! asks only whether the control loop is alive, whole, in order, and permits heat.
//!
//! A *beat* is the message the control thread sends after every step. *Arming* is the deliberate
//! act (light-up, clear-trip) that lets a warden which has opened close again.
//!
//! No other crate of Saggar closes the contactor.
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

mod beat;
mod judge;

pub use beat::{Beat, Permission, Stages};
pub use judge::{Distrust, SILENCE_LONGEST, Warden};
