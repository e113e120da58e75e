//! What three rows share: a complaint of the chip withholds at once and trips when it repeats.

use pyrometry::amplifier::SensorFault;
use pyrometry::units::Millis;

use super::recent::{Recent, Sample};
use super::row::Verdict;
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Severity};

/// How many complaints trip. All figures: engineering judgement, `docs/safety.md`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Repeats {
    /// One after another.
    pub(crate) in_a_row: u32,
    /// Among the latest ten samples, which is ten seconds.
    pub(crate) in_ten: u32,
}

/// Complaints of each probe.
#[derive(Clone, Debug)]
pub(crate) struct Flagged {
    concerns: fn(SensorFault) -> Sample,
    repeats: Repeats,
    probes: [Recent; PROBES_MOST],
}

impl Flagged {
    /// No complaint yet; `concerns` says which faults count.
    pub(crate) fn new(concerns: fn(SensorFault) -> Sample, repeats: Repeats) -> Self {
        Self { concerns, repeats, probes: [Recent::default(); PROBES_MOST] }
    }

    /// One verdict from all probes.
    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let repeats = self.repeats;
        let mut worst = Verdict::Clear;
        for (probe, recent) in view.seen.probes().zip(&mut self.probes) {
            let sample = view.seen.measured(probe).map_or_else(self.concerns, |_| Sample::Good);
            recent.note(sample);
            let severity = if recent.in_a_row() >= repeats.in_a_row || recent.among(10) >= repeats.in_ten {
                Severity::Trip
            } else if sample == Sample::Bad {
                Severity::Withhold
            } else {
                continue;
            };
            let evidence = Evidence {
                seen: f64::from(recent.among(10)),
                bound: f64::from(repeats.in_a_row),
                lasted: Millis::from_seconds(u64::from(recent.in_a_row())),
            };
            worst = worst.worse(Verdict::about(probe, severity, evidence));
        }
        worst
    }
}
