//! The control thread: once a second it reads, decides, acts, hands over the record, and beats.
//!
//! ```text
//! board ─ reports ─> controller ─ levels ─> board
//!                        │ └─ permission ─> beat ─> warden ─> contactor
//!   asks ─> (orders)     ├─ step ─> keeper (disk)
//!                        └─ snapshot ─> page
//! ```
//! It never waits: asks come in and records go out over bounded channels without blocking, a
//! shut-off has a way of its own that cannot be full, and a snapshot replaces the one before. It owns the board; nobody else drives a bank.

mod anew;
mod ask;
mod course;
mod cycle;
mod firing;
mod guard;
mod kept_pins;
mod off;
mod pace;
mod presence;
mod priority;
mod shut_off;
mod snapshot;
mod thread;
mod unlit;
mod warden_process;

pub(crate) use anew::is_asked_for;
pub use ask::{Answer, Ask, Lighting, Lit};
pub use course::Course;
pub(crate) use cycle::contact;
pub use cycle::{Cycle, Parts, Silenced, Step};
pub use firing::FiringSheet;
pub use guard::{Guard, Lost, OwnWarden, Standing};
pub use kept_pins::KeptPins;
pub use off::{SharedBoard, TimedBoard, switch_off_on_panic};
pub use pace::Pace;
pub use presence::{PRESS_COUNTS, Presence, PresenceAsked};
pub use shut_off::{Obeyed, ShutOff, obeyed};
pub use snapshot::{Driven, LightUp, NotLit, SignalsNow, Snapshot};
pub use thread::{ControlThread, Stop};
pub use unlit::Unlit;
pub use warden_process::{WardenError, WardenProcess};
