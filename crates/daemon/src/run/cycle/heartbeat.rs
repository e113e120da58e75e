//! The heartbeat: an edge a step for an outside relay that only edges keep closed (SR-33).
//!
//! The loop makes each edge itself, last of all and only after a step that was whole. Never let
//! hardware make a pulse train of it: that would go on after the loop has died.

use control::Decision;
use hal::Level;

use super::{Cycle, Step};
use crate::run::guard::{Guard, Standing};

/// What the pin is at.
#[derive(Debug, Default)]
pub(super) struct Heartbeat {
    level: Level,
}

impl<G: Guard> Cycle<G> {
    /// An edge, where heat is permitted, every stage of this step ran, and the warden trusts the loop.
    pub(super) fn beat_outside(&mut self, decision: &Decision, step: Step) {
        if !(decision.permission && step == Step::Whole && self.warden == Standing::Trusts) {
            return;
        }
        let level = match self.heartbeat.level {
            Level::Off => Level::On,
            Level::On => Level::Off,
        };
        if self.parts.board.hold().set_heartbeat(level).is_ok() {
            self.heartbeat.level = level;
        } else {
            tracing::error!("the heartbeat's pin cannot be driven: an outside relay opens");
        }
    }
}
