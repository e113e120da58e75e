//! Whoever holds the contactor: a small door, so that the warden can live in a process of its own.

use hal::{Contactor, Level};
use pyrometry::units::Millis;
use warden::{Beat, Distrust, LimitNow, Warden};

/// Hears beats and holds the contactor. Times are monotonic, counted from the program's start.
pub trait Guard {
    /// A deliberate arming: at a light-up, or after a cleared trip.
    fn arm(&mut self, at: Millis);
    /// Hears a beat; gives what the contactor is now, as far as it can be known.
    fn hear(&mut self, beat: Beat, at: Millis) -> Level;
    /// How the warden stands to the control loop, and whether there is one.
    fn standing(&self) -> Standing;
    /// How its limit probe finds the kiln; `None` where it has none.
    fn limit(&self) -> Option<LimitNow>;
}

/// How the warden stands to the control loop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It follows the beats.
    Trusts,
    /// It keeps the contactor open until a new arming.
    Distrusts(Distrust),
    /// It is gone, for as long as this program runs.
    Lost(Lost),
}

/// How a warden was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lost {
    /// Its process has ended.
    Ended,
    /// It does not answer.
    Silent,
    /// What it says makes no sense.
    Garbled,
}

/// A warden inside this process. It guards against a loop that misses its stages; against the
/// death of the process only one outside of it can.
#[derive(Debug)]
pub struct OwnWarden<C: Contactor> {
    warden: Warden,
    contactor: C,
}

impl<C: Contactor> OwnWarden<C> {
    /// Takes the contactor, and opens it.
    pub fn new(mut contactor: C) -> Self {
        open(&mut contactor);
        Self { warden: Warden::default(), contactor }
    }
}

impl<C: Contactor> Guard for OwnWarden<C> {
    fn arm(&mut self, at: Millis) {
        self.warden.arm(at);
    }

    fn hear(&mut self, beat: Beat, at: Millis) -> Level {
        self.warden.hear(beat, at);
        let level = self.warden.contactor(at);
        if self.contactor.set(level).is_err() {
            tracing::error!("the contactor's pin cannot be driven");
            return Level::Off;
        }
        level
    }

    fn standing(&self) -> Standing {
        self.warden.distrust().map_or(Standing::Trusts, Standing::Distrusts)
    }

    /// A probe of its own belongs to a process of its own.
    fn limit(&self) -> Option<LimitNow> {
        None
    }
}

impl<C: Contactor> Drop for OwnWarden<C> {
    fn drop(&mut self) {
        open(&mut self.contactor);
    }
}

fn open(contactor: &mut impl Contactor) {
    if contactor.set(Level::Off).is_err() {
        tracing::error!("the contactor's pin cannot be driven");
    }
}
