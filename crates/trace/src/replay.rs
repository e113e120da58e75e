//! Replay: the recorded inputs through the controller again.

use std::fmt;

use control::{Controller, Decision, Observation};
use pyrometry::units::Millis;

use crate::difference::{Difference, first_difference};
use crate::error::TraceError;
use crate::reader::{Ending, TraceReader};
use crate::span;

/// How the recomputed decisions compare with the recorded ones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Comparison {
    /// Every one is the same, to the bit.
    Same,
    /// They part at some step.
    Differ(Difference),
    /// The trace was recorded by another build, so only expectations can be judged.
    OtherBuild {
        /// Which.
        build: String,
    },
    /// The trace holds inputs alone.
    InputsAlone,
}

/// What a replay found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReplayReport {
    /// How many steps were replayed.
    pub steps: u64,
    /// The time of the last one.
    pub lasted: Millis,
    /// How the decisions compare.
    pub comparison: Comparison,
    /// How the trace ended.
    pub ending: Ending,
}

impl ReplayReport {
    /// Whether no decision is known to differ.
    #[must_use]
    pub const fn agrees(&self) -> bool {
        !matches!(self.comparison, Comparison::Differ(_))
    }
}

impl fmt::Display for ReplayReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} steps over {}: ", self.steps, span::in_words(self.lasted))?;
        match &self.comparison {
            Comparison::Same => f.write_str("every decision the same, to the bit")?,
            Comparison::Differ(difference) => difference.fmt(f)?,
            Comparison::OtherBuild { build } => {
                write!(f, "recorded by build {build}, so decisions are not compared")?;
            }
            Comparison::InputsAlone => f.write_str("inputs alone, no decisions to compare")?,
        }
        match self.ending {
            Ending::Whole => Ok(()),
            Ending::Torn { line } => write!(f, " (line {line}, the last, is torn and was left out)"),
        }
    }
}

/// Replays a trace through the real controller.
///
/// Decisions are compared when the head names `this_build`; two builds of one id decide alike.
pub fn replay(reader: TraceReader<'_>, this_build: &str) -> Result<ReplayReport, TraceError> {
    let mut controller = Controller::new(reader.head().setup.clone());
    replay_with(reader, this_build, |observation| controller.step(observation), |_| {})
}

/// Replays a trace through any stepper, and shows every recomputed decision to `watch`.
pub fn replay_with(
    mut reader: TraceReader<'_>,
    this_build: &str,
    mut step: impl FnMut(&Observation<'_>) -> Decision,
    mut watch: impl FnMut(&Decision),
) -> Result<ReplayReport, TraceError> {
    let build = reader.head().software.build.clone();
    let (mut steps, mut lasted) = (0, Millis::ZERO);
    let mut comparison =
        if build == this_build { Comparison::InputsAlone } else { Comparison::OtherBuild { build } };
    while let Some(line) = reader.next_step()? {
        let decision = step(&line.seen.observation());
        watch(&decision);
        steps += 1;
        lasted = line.seen.at;
        let Some(recorded) = line.decided else { continue };
        if let Comparison::Same | Comparison::InputsAlone = comparison {
            let difference = first_difference(&recorded, &decision, reader.line(), line.seen.at);
            comparison = difference.map_or(Comparison::Same, Comparison::Differ);
        }
    }
    Ok(ReplayReport { steps, lasted, comparison, ending: reader.ending().unwrap_or(Ending::Whole) })
}
