//! The way of a shut-off: a slot of its own, which is never full and never refused.
//!
//! Other asks wait in a queue that anybody can fill; a shut-off is a count that anybody can raise.
//! However many press at once, one order in the next step answers them all, and the answer goes
//! out with that step's snapshot. Neither side takes a lock or waits for the other.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use control::Outcome;
use tokio::sync::watch;

use super::snapshot::Snapshot;

/// The button. Clones are the same button.
#[derive(Clone, Debug, Default)]
pub struct ShutOff(Arc<AtomicU64>);

/// How far presses were obeyed, and what became of the last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Obeyed {
    /// Presses since the program began that a step has obeyed.
    pub presses: u64,
    /// What became of them in the last such step.
    pub outcome: Option<Outcome>,
}

impl ShutOff {
    /// Presses it; gives which press it was, counted from one.
    #[must_use]
    pub fn press(&self) -> u64 {
        self.0.fetch_add(1, Ordering::AcqRel) + 1
    }

    /// How often it was pressed since the program began.
    #[must_use]
    pub fn presses(&self) -> u64 {
        self.0.load(Ordering::Acquire)
    }
}

/// Waits for the step that obeys a press; `None` when the control thread has ended.
pub async fn obeyed(mut snapshots: watch::Receiver<Option<Arc<Snapshot>>>, press: u64) -> Option<Outcome> {
    let has = |snapshot: &Option<Arc<Snapshot>>| {
        snapshot.as_ref().is_some_and(|snapshot| snapshot.shut_off.presses >= press)
    };
    let snapshot = snapshots.wait_for(has).await.ok()?.clone();
    snapshot.and_then(|snapshot| snapshot.shut_off.outcome)
}
