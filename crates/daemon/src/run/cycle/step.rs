//! How much of a step was done.

use super::Cycle;
use crate::run::guard::Guard;

/// How much of a step was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Every stage that a beat proves ran.
    Whole,
    /// A stage did not.
    Broken,
}

impl<G: Guard> Cycle<G> {
    /// Whether every stage has run since this was asked last.
    pub(super) fn stages_done(&mut self) -> Step {
        let whole = self.stages.all_advanced_since(self.stages_before);
        self.stages_before = self.stages;
        if whole { Step::Whole } else { Step::Broken }
    }
}
