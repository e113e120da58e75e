//! SR-24: full power, and the kiln, or one of its zones, does not climb any more.

use pyrometry::units::Millis;

use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};
use crate::phase::Phase;

/// SR-24: less than 2 °C in 15 min at a duty of at least 0.95.
const PROGRESS_C: f64 = 2.0;
const MINUTES: usize = 15;
const DUTY_LEAST: f64 = 0.95;
const MINUTE: Millis = Millis::from_minutes(1);
const LASTED: Millis = Millis::from_minutes(15);

pub(crate) const ROW: Row = Row {
    requirement: "SR-24",
    interlock: Interlock::KilnStalled,
    condition: "a zone climbing at a duty of at least 0.95, less than 2 °C gained in 15 min: told",
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

/// Every zone's latest minutes of the climb.
#[derive(Clone, Debug)]
pub(crate) struct Stalled {
    zones: [Zone; PROBES_MOST],
    into_minute: Millis,
    verdict: Verdict,
}

/// A zone's temperature each minute, with the heat asked for by then.
#[derive(Clone, Debug)]
struct Zone {
    minutes: Ring<Mark, { MINUTES + 1 }>,
    given_j: f64,
    sum_c: f64,
    count: f64,
}

#[derive(Clone, Copy, Debug)]
struct Mark {
    reading_c: f64,
    given_j: f64,
}

impl Stalled {
    pub(crate) fn new() -> Self {
        Self {
            zones: core::array::from_fn(|_| Zone::new()),
            into_minute: Millis::ZERO,
            verdict: Verdict::Clear,
        }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        if view.seen.phase != Phase::Climbing {
            *self = Self::new();
            return Verdict::Clear;
        }
        for (zone, number) in self.zones.iter_mut().zip(view.seen.probes()) {
            zone.see(view, number);
        }
        self.into_minute += view.seen.since_last;
        if self.into_minute >= MINUTE {
            self.into_minute = Millis::ZERO;
            self.verdict = Verdict::Clear;
            for (zone, number) in self.zones.iter_mut().zip(view.seen.probes()) {
                self.verdict = self.verdict.worse(zone.look(view, number));
            }
        }
        self.verdict
    }
}

impl Zone {
    const fn new() -> Self {
        Self { minutes: Ring::new(), given_j: 0.0, sum_c: 0.0, count: 0.0 }
    }

    fn see(&mut self, view: &View<'_>, number: u8) {
        let banks = view.seen.kiln.banks.iter().zip(view.seen.banks);
        let on_w: f64 =
            banks.filter(|(bank, on)| *on && bank.probe == number).map(|(bank, _)| bank.power.w()).sum();
        self.given_j += on_w * view.seen.since_last.seconds();
        if let Some(measured) = view.usable(number) {
            self.sum_c += measured.junction.c();
            self.count += 1.0;
        }
    }

    /// Ends a minute: its mean, and what the latest quarter of an hour comes to.
    fn look(&mut self, view: &View<'_>, number: u8) -> Verdict {
        if !(self.count > 0.0) {
            self.minutes = Ring::new(); // unread for a minute: others tell
            return Verdict::Clear;
        }
        self.minutes.push(Mark { reading_c: self.sum_c / self.count, given_j: self.given_j });
        (self.sum_c, self.count) = (0.0, 0.0);
        let Some((now, then)) = self.minutes.ago(0).zip(self.minutes.ago(MINUTES)) else {
            return Verdict::Clear;
        };
        let kiln = view.seen.kiln;
        let carried_share = kiln.carried().w() / kiln.rated().w();
        let full_j = kiln.of_zone(number).w() * carried_share * LASTED.seconds();
        let gained_c = now.reading_c - then.reading_c;
        if !(now.given_j - then.given_j >= DUTY_LEAST * full_j) || gained_c >= PROGRESS_C {
            return Verdict::Clear;
        }
        let evidence = Evidence { seen: gained_c, bound: PROGRESS_C, lasted: LASTED };
        if kiln.probes.len() > 1 {
            Verdict::about(number, Severity::Notice, evidence)
        } else {
            Verdict::overall(Severity::Notice, evidence)
        }
    }
}
