//! Whether what happens is being kept, as the keeper and the control thread both see it.

use std::sync::Arc;
use std::sync::atomic::{AtomicU8, AtomicU64, Ordering};

/// What keeps a record from being kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// The keeper is behind: lines of the trace were lost.
    Behind,
    /// The trace cannot be written.
    Trace,
    /// The logbook cannot be written.
    Logbook,
    /// The latch cannot be written.
    Latch,
}

/// Shared word on the store's health. Reading and writing never wait.
#[derive(Clone, Debug, Default)]
pub struct Health(Arc<State>);

#[derive(Debug, Default)]
struct State {
    troubles: AtomicU8,
    lines_lost: AtomicU64,
}

impl Trouble {
    const ALL: [Self; 4] = [Self::Behind, Self::Trace, Self::Logbook, Self::Latch];

    const fn bit(self) -> u8 {
        match self {
            Self::Behind => 1,
            Self::Trace => 2,
            Self::Logbook => 4,
            Self::Latch => 8,
        }
    }

    /// For a potter.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Behind => "The disk is too slow: part of this firing's record was lost.",
            Self::Trace => "This firing's record cannot be written: is the disk full, read-only or gone?",
            Self::Logbook => "The logbook cannot be written: is the disk full, read-only or gone?",
            Self::Latch => "A trip could not be noted on the disk, so a restart would forget it.",
        }
    }
}

impl Health {
    /// Something could not be kept.
    pub fn report(&self, trouble: Trouble) {
        self.0.troubles.fetch_or(trouble.bit(), Ordering::Relaxed);
    }

    /// It can be kept again.
    pub fn mended(&self, trouble: Trouble) {
        self.0.troubles.fetch_and(!trouble.bit(), Ordering::Relaxed);
    }

    /// A line of the trace was lost.
    pub fn line_lost(&self) {
        self.0.lines_lost.fetch_add(1, Ordering::Relaxed);
        self.report(Trouble::Behind);
    }

    /// How many lines were lost since the program began.
    #[must_use]
    pub fn lines_lost(&self) -> u64 {
        self.0.lines_lost.load(Ordering::Relaxed)
    }

    /// Whether this is wrong now, whatever else is.
    #[must_use]
    pub fn has(&self, trouble: Trouble) -> bool {
        self.0.troubles.load(Ordering::Relaxed) & trouble.bit() != 0
    }

    /// What is wrong now, worst first; `None` when all is well.
    #[must_use]
    pub fn trouble(&self) -> Option<Trouble> {
        let troubles = self.0.troubles.load(Ordering::Relaxed);
        Trouble::ALL.into_iter().rev().find(|trouble| troubles & trouble.bit() != 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mended_trouble_leaves_the_others_standing() {
        let health = Health::default();
        assert_eq!(health.trouble(), None);
        health.line_lost();
        health.report(Trouble::Trace);
        assert_eq!(health.trouble(), Some(Trouble::Trace));
        assert!(health.has(Trouble::Behind) && !health.has(Trouble::Latch), "each is told for itself");
        health.mended(Trouble::Trace);
        assert_eq!(health.trouble(), Some(Trouble::Behind));
        assert_eq!(health.lines_lost(), 1);
        health.mended(Trouble::Behind);
        assert_eq!(health.trouble(), None);
    }
}
