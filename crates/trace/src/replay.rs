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

/// Where steps are missing from a trace, and what that costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hole {
    /// The line after it.
    pub line: u64,
    /// Steps that are missing, here and in later holes.
    pub lost: u64,
    /// Steps after it. A controller that has not seen everything decides otherwise with good reason,
    /// so none of them is replayed or compared.
    pub after: u64,
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
    /// The first hole, where replay stopped.
    pub hole: Option<Hole>,
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
        if let Some(Hole { line, lost, after }) = self.hole {
            write!(f, "; before line {line} the trace has a hole, {lost} steps are lost")?;
            write!(f, ", so the {after} steps after it could not be compared")?;
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

/// Replays a trace through any stepper, and shows every recomputed decision to `watch`; after a
/// hole, the recorded ones.
pub fn replay_with(
    mut reader: TraceReader<'_>,
    this_build: &str,
    mut step: impl FnMut(&Observation<'_>) -> Decision,
    mut watch: impl FnMut(&Decision),
) -> Result<ReplayReport, TraceError> {
    let build = reader.head().software.build.clone();
    let (mut steps, mut lasted, mut hole) = (0, Millis::ZERO, None);
    let mut comparison =
        if build == this_build { Comparison::InputsAlone } else { Comparison::OtherBuild { build } };
    while let Some(line) = reader.next_step()? {
        if line.lost > 0 || hole.is_some() {
            let hole = hole.get_or_insert(Hole { line: reader.line(), lost: 0, after: 0 });
            hole.lost += line.lost;
            hole.after += 1;
            line.decided.iter().for_each(&mut watch);
            continue;
        }
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
    Ok(ReplayReport { steps, lasted, comparison, hole, ending: reader.ending().unwrap_or(Ending::Whole) })
}
