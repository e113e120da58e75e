//! The firing controller as a value with one door: [`Controller::step`].
//!
//! Here live the programme (a compiled schedule), the setpoint and its clock, the regulator, the
//! switching of banks, the interlocks, and the phases that tie them together. What does *not*
//! live here: any clock, I/O, thread, allocation or randomness; any file format (nothing here is
//! `Serialize`); any hardware. The daemon, the simulator, the replayer, the forecast and
//! co-simulation all call the same step, so what one of them shows is what the others do.
//!
//! Terms: a *bank* is the elements switched together; a *probe* is a thermocouple with its
//! amplifier; *duty* is the share of full power; a *finding* is what an interlock has to say.
//!
//! Sign conventions: rates and lags are positive when hotter; `lag` is setpoint minus reading.
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
        clippy::wildcard_enum_match_arm,
        clippy::disallowed_methods
    )
)]

#[cfg(test)]
extern crate std;

mod carried;
mod cone_end;
mod contactor;
mod controller;
mod course;
mod decision;
mod estimate;
mod expected;
mod fall;
mod finding;
mod interlock;
mod kiln;
mod model;
mod observation;
mod order;
mod phase;
mod plan;
mod programme;
mod regulation;
mod regulator;
mod shaper;
mod stage;
mod switching;
#[cfg(test)]
mod testing;
mod thermal;
mod together;
mod transition;
mod wear;
mod zones;

pub use carried::{Carried, Left};
pub use cone_end::heat_work_unloaded;
pub use controller::{Controller, Firing, Setup, Start};
pub use decision::{BankLevels, ClimbEnd, Decision};
pub use expected::Expected;
pub use finding::{Evidence, Finding, Interlock, Part, Severity};
pub use interlock::{Patience, Row, WithoutHeat};
pub use kiln::{Bank, Closeness, Kiln, Probe, SwitchKind};
pub use model::{Certainty, KilnModel, ModelFault, Parameters};
pub use observation::{Contact, Observation};
pub use order::{Order, Outcome, Refusal};
pub use phase::Phase;
pub use plan::WAITS_BEYOND;
pub use programme::{FASTEST, Pace, Programme, ProgrammeFault, Segment, Target};
pub use stage::{UNDO_WITHIN, UNDO_WITHIN_C};
pub use thermal::{Flows, Stores};

/// Zones a kiln may have, each with its probe.
pub const PROBES_MOST: usize = 4;
/// Banks a kiln may have.
pub const BANKS_MOST: usize = 8;
/// Segments a schedule may have.
pub const SEGMENTS_MOST: usize = 64;
/// Orders one step takes; more wait for the next step.
pub const ORDERS_MOST: usize = 8;
/// Notices one decision can carry: one for every interlock.
pub const NOTICES_MOST: usize = 25;
