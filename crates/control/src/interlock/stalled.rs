//! SR-24: full power, and the kiln does not climb any more.

use pyrometry::units::Millis;

use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};
use crate::phase::Phase;

/// SR-24: less than 2 °C in 15 min at a duty of at least 0.95.
const PROGRESS_C: f64 = 2.0;
const MINUTES: usize = 15;
const DUTY_LEAST: f64 = 0.95;
/// Observer samples in a minute.
const MINUTE: u8 = 6;

pub(crate) const ROW: Row = Row {
    requirement: "SR-24",
    interlock: Interlock::KilnStalled,
    condition: "climbing at a duty of at least 0.95, less than 2 °C gained in 15 min: told",
    worst: Severity::Notice,
    clears: "2 °C gained in 15 min, or less power asked for",
    look_at: &[
        "elements and mains: a dead bank, a worn element, low tension",
        "the lid, spyholes and plugs",
        "the schedule: is it hotter than this kiln can go? Shut off, or go to the next segment",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| write!(f, "at full power the kiln gained {:.1} °C in the last 15 min.", evidence.seen),
};

/// The chamber each minute of the climb, with the heat given by then.
#[derive(Clone, Debug)]
pub(crate) struct Stalled {
    minutes: Ring<Mark, { MINUTES + 1 }>,
    samples: u8,
    verdict: Verdict,
}

#[derive(Clone, Copy, Debug)]
struct Mark {
    at: Millis,
    chamber_c: f64,
    given_j: f64,
}

impl Stalled {
    pub(crate) const fn new() -> Self {
        Self { minutes: Ring::new(), samples: 0, verdict: Verdict::Clear }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        if view.seen.phase != Phase::Climbing {
            *self = Self::new();
            return Verdict::Clear;
        }
        let Some(now) = view.observer.fresh() else { return self.verdict };
        if self.samples == 0 {
            self.minutes.push(Mark { at: now.at, chamber_c: now.chamber_c, given_j: now.given_j });
            self.verdict = self.look(view);
        }
        self.samples = (self.samples + 1) % MINUTE;
        self.verdict
    }

    fn look(&self, view: &View<'_>) -> Verdict {
        let Some((now, then)) = self.minutes.ago(0).zip(self.minutes.ago(MINUTES)) else {
            return Verdict::Clear;
        };
        let lasted = now.at.since(then.at);
        let duty = (now.given_j - then.given_j) / (view.observer.full_w() * lasted.seconds());
        let gained_c = now.chamber_c - then.chamber_c;
        if !(duty >= DUTY_LEAST) || gained_c >= PROGRESS_C {
            return Verdict::Clear;
        }
        Verdict::overall(Severity::Notice, Evidence { seen: gained_c, bound: PROGRESS_C, lasted })
    }
}
