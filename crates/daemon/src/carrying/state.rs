//! Where a firing stood, computed again from its trace.
//!
//! The trace is replayed through the real controller, and every decision must come out as it was
//! recorded, to the bit: only then is the controller at its end what it was when the power went.

use std::path::Path;

use control::{Carried, Controller, Phase};
use pyrometry::units::Millis;
use trace::{Comparison, Head, TraceReader};

use super::why::NotCarriedOn;
use crate::clock::Wall;
use crate::files::kiln::KilnFile;
use crate::files::schedule::{self, Schedule};
use crate::files::{Checked, Source};
use crate::heads;
use crate::lighting::Parts;
use crate::store::{DataFolder, FiringRow, LastStep};

/// What a firing was when the power went.
#[derive(Debug)]
pub(super) struct State {
    controller: Box<Controller>,
    /// The schedule, as it was lit.
    pub(super) schedule: Checked<Schedule>,
}

impl State {
    /// Reads and replays what was kept of a firing. Takes a while: hours of steps are computed again.
    pub(super) fn read(kiln: &KilnFile, folder: &Path, row: &FiringRow) -> Result<Self, NotCarriedOn> {
        let unreadable = |why: &dyn std::fmt::Display| NotCarriedOn::Unreadable(why.to_string());
        let path = DataFolder::trace_found(folder, row.id);
        let reader = TraceReader::open(&path).map_err(|why| unreadable(&why))?;
        let head = reader.head().clone();
        if head.software.build != heads::BUILD {
            return Err(NotCarriedOn::OtherBuild);
        }
        if !is_of(kiln, &head) || !is_fired_with(kiln, row) {
            return Err(NotCarriedOn::KilnFileChanged);
        }
        let source = Source::new(&row.firing.schedule, &row.firing.schedule_text);
        let schedule = schedule::check(source, Some(kiln))
            .map_err(|_| unreadable(&"the schedule in the logbook has errors"))?;
        let fired = head.setup.firing.as_ref().map(|firing| &firing.programme);
        if fired != Some(&schedule.value.programme) {
            return Err(unreadable(&"the schedule in the logbook is not the one in the trace"));
        }
        let mut controller = Box::new(Controller::new(head.setup));
        let step = |observation: &control::Observation<'_>| controller.step(observation);
        let replayed =
            trace::replay_with(reader, heads::BUILD, step, |_| {}).map_err(|why| unreadable(&why))?;
        match (&replayed.comparison, replayed.hole) {
            (Comparison::Same, None) => Ok(Self { controller, schedule }),
            (_, _) => Err(unreadable(&format_args!("the trace does not replay: {replayed}"))),
        }
    }

    /// What another controller needs to carry it on.
    pub(super) fn carried(&self, gap: Millis) -> Result<Carried, NotCarriedOn> {
        // Its phase was asked before: what can be missing is the temperature.
        self.controller.to_carry(gap).ok_or(NotCarriedOn::WasUnread)
    }
}

/// Whether a trace is of the kiln in a file.
fn is_of(kiln: &KilnFile, head: &Head) -> bool {
    let now = heads::head_at(kiln, &head.title, &head.setup, head.started.clone());
    now == *head && head.setup.kiln == kiln.kiln
}

/// Whether a firing was lit with the parts in a file, wired as they are there.
fn is_fired_with(kiln: &KilnFile, row: &FiringRow) -> bool {
    let parts = row.firing.parts.as_deref().and_then(|text| serde_json::from_str::<Parts>(text).ok());
    parts.is_some_and(|parts| parts == Parts::of(kiln))
}

/// Whether a firing that stood like this may be carried on by the program alone.
pub(super) fn may_go_on(last: Option<LastStep>) -> Result<(), NotCarriedOn> {
    match last.map(|last| last.phase) {
        None => Err(NotCarriedOn::Unreadable("its trace holds no step".to_owned())),
        Some(Phase::SetForLater) => Err(NotCarriedOn::SetForLater),
        Some(Phase::Staying) => Err(NotCarriedOn::Staying),
        Some(Phase::Climbing | Phase::Soaking | Phase::SlowCooling | Phase::Cooling) => Ok(()),
        Some(Phase::Resting | Phase::CoolEnoughToOpen | Phase::Tripped) => Err(NotCarriedOn::NothingRuns),
    }
}

/// How long the power was gone, where both ends of that time are known.
pub(super) fn gap(last: Option<LastStep>, now: Wall, at_most: Millis) -> Result<Millis, NotCarriedOn> {
    let ends = last.and_then(|last| last.dated_ms).zip(now.dated_ms());
    let gap = ends.and_then(|(last, now)| now.checked_sub(last)).ok_or(NotCarriedOn::GapUnknown)?;
    let gap = Millis::new(gap);
    if gap > at_most { Err(NotCarriedOn::GapTooLong { gap, at_most }) } else { Ok(gap) }
}

#[cfg(test)]
mod tests {
    use control::PROBES_MOST;
    use jiff::{SignedDuration, Timestamp};

    use super::*;

    fn last(phase: Phase, dated_ms: Option<u64>) -> LastStep {
        LastStep { at: Millis::ZERO, phase, dated_ms, junctions: [None; PROBES_MOST] }
    }

    fn wall(ms: i64, is_true: bool) -> Wall {
        Wall { now: Timestamp::UNIX_EPOCH + SignedDuration::from_millis(ms), is_true }
    }

    #[test]
    fn sr_40_a_gap_as_long_as_allowed_is_carried_over_and_one_a_moment_longer_is_not() {
        let at_most = Millis::from_minutes(15);
        let climbed = Some(last(Phase::Climbing, Some(1_000)));
        assert_eq!(gap(climbed, wall(901_000, true), at_most).ok(), Some(at_most));
        let longer = gap(climbed, wall(901_001, true), at_most);
        assert!(matches!(longer, Err(NotCarriedOn::GapTooLong { .. })), "{longer:?}");
    }

    #[test]
    fn sr_40_a_gap_is_not_known_where_either_clock_was_not_true_or_time_ran_backwards() {
        let at_most = Millis::from_minutes(15);
        let dated = Some(last(Phase::Climbing, Some(5_000)));
        for (last, now) in [
            (dated, wall(6_000, false)),
            (dated, wall(4_999, true)),
            (Some(last(Phase::Climbing, None)), wall(6_000, true)),
            (None, wall(6_000, true)),
        ] {
            let unknown = gap(last, now, at_most);
            assert!(matches!(unknown, Err(NotCarriedOn::GapUnknown)), "{last:?} {now:?}: {unknown:?}");
        }
        assert_eq!(gap(dated, wall(6_000, true), at_most).ok(), Some(Millis::from_seconds(1)));
    }

    #[test]
    fn sr_40_only_a_schedule_that_ran_by_itself_goes_on_by_itself() {
        for phase in Phase::ALL {
            let runs =
                matches!(phase, Phase::Climbing | Phase::Soaking | Phase::SlowCooling | Phase::Cooling);
            assert_eq!(may_go_on(Some(last(phase, None))).is_ok(), runs, "{phase:?}");
        }
        assert!(may_go_on(None).is_err());
    }
}
