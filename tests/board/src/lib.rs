//! What answers the real drivers on an emulated board: an amplifier chip and the kiln behind it.
//!
//! The emulated board has pins, but nothing on its buses. Here a program becomes the character device
//! of a bus (`/dev/spidev0.0`, by the kernel's `cuse`), so that Saggar's own drivers, its SPI library
//! and the kernel's system calls run as on a kiln. Behind it stands a chip as its data sheet has it,
//! and behind that the simulated kiln, whose relays are read where the board's kernel shows its pins.
//!
//! Nothing here shares code with the drivers in `hal`; the thermocouples' reference functions are
//! crate `pyrometry`'s, which its own tests hold to the published tables.
//!
//! ```text
//!  saggar ── spidev calls ── kernel ── cuse ── [`spidev`] ── [`chip`] ── [`kiln`]
//!     └───── pins ── kernel ──────── debugfs ─────────────── [`pins`] ────┘
//! ```

pub mod chip;
pub mod cuse;
pub mod held;
pub mod ill;
pub mod kiln;
pub mod pins;
pub mod spidev;
