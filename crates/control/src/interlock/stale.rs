//! SR-03, its ages: no good sample for too long, whatever the reason, a late step included.

use pyrometry::units::Millis;

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// A last good sample older than this withholds heat. SR-03: at full power and 9.6 kW a kiln gains
/// less than 6 °C in it (1.25 °C/s, the fastest healthy change measured on simulated furnaces).
const WITHHOLD_AFTER: Millis = Millis::from_seconds(5);
/// And older than this trips. SR-03, engineering judgement.
const TRIP_AFTER: Millis = Millis::from_seconds(15);

pub(crate) const ROW: Row = Row {
    requirement: "SR-03",
    interlock: Interlock::StaleReading,
    condition: "the last good sample is older than 5 s (withhold) or 15 s (trip), or the step came that late",
    worst: Severity::Trip,
    clears: "a good sample, in a step that came in time",
    look_at: &[
        "other findings about this probe",
        "whether the computer was stopped, overloaded or out of memory",
        "the amplifier and its wiring",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(f, "the last good sample was {:.0} s old; {:.0} s is allowed.", evidence.seen, evidence.bound)
    },
};

/// How old each probe's last good sample is.
#[derive(Clone, Debug)]
pub(crate) struct Stale {
    ages: [Millis; PROBES_MOST],
}

impl Stale {
    pub(crate) fn new() -> Self {
        Self { ages: [Millis::ZERO; PROBES_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut worst = Verdict::Clear;
        for (probe, age) in view.seen.probes().zip(&mut self.ages) {
            // Judged at its worst: just before this step's sample came.
            *age += view.seen.since_last;
            let lasted = *age;
            if view.usable(probe).is_some() {
                *age = Millis::ZERO;
            }
            let (severity, bound) = if lasted > TRIP_AFTER {
                (Severity::Trip, TRIP_AFTER)
            } else if lasted > WITHHOLD_AFTER {
                (Severity::Withhold, WITHHOLD_AFTER)
            } else {
                continue;
            };
            let evidence = Evidence { seen: lasted.seconds(), bound: bound.seconds(), lasted };
            worst = worst.worse(Verdict::about(probe, severity, evidence));
        }
        worst
    }
}
