//! The warden: keeps the safety contactor closed only while proof of good control arrives.
//!
//! Here live the judgement, beats and time in, the contactor's level out, and the messages between
//! the warden's process and the daemon's as bytes. What does *not* live here: any schedule, any reason for
//! heat, any temperature but that of a limit probe of the warden's own, and the process itself (crate
//! `warden-process`). The warden trusts nobody; it asks only whether the control loop is alive, whole, in
//! order, and permits heat, and whether its limit probe, where it has one, reads below its ceiling.
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
mod frame;
mod judge;
mod limit;
mod seal;
mod word;

pub use beat::{Beat, Permission, Stages};
pub use frame::{FRAME_BYTES, Frame};
pub use judge::{Distrust, SILENCE_LONGEST, Warden};
pub use limit::{BLIND_LONGEST, COOLED_BY, LimitFinding, LimitNow};
pub use seal::Garbled;
pub use word::{WORD_BYTES, Word};
