//! SR-29: the safety contactor does as it is told, as far as its mirror contact shows.
//!
//! What it was told is what the step before decided: the warden hears it at that step's end, and the
//! mirror contact is read at the beginning of the next.

use pyrometry::units::Millis;

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};
use crate::observation::Contact;

/// The warden opens with the next beat, or after 2.5 s of silence (SR-30); a contactor of these sizes
/// lets go within 0.1 s (from memory of makers' data). The first sample after both.
const OPENS_WITHIN: Millis = Millis::from_seconds(3);
/// The warden closes with the next beat; the sample after that must show it. Banks wait meanwhile.
const CLOSES_WITHIN: Millis = Millis::from_seconds(2);
/// A contactor that does not carry is not mended by waiting; so long, a coil's supply may dip or a
/// contact bounce. Engineering judgement: no load cools 1 °C in it.
const OPEN_LONGEST: Millis = Millis::from_seconds(10);

/// What was seen, as evidence has it.
const CLOSED: f64 = 1.0;
const OPEN: f64 = 0.0;
const UNKNOWN: f64 = -1.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-29",
    interlock: Interlock::ContactorNotFollowing,
    condition: "the safety contactor closed 3 s after heat was taken away, or before any was permitted: trips; open 2 s after heat was permitted, or opening by itself: withholds, and trips after 10 s; unreadable: withholds",
    worst: Severity::Trip,
    clears: "the contactor's mirror contact follows what the contactor is told",
    look_at: &[
        "if the contactor is closed: pull the breaker, and have it replaced by somebody licensed; its contacts may be welded",
        "if it is open: its coil, the coil's supply and fuse, and whatever stands in series with it, such as the high-limit",
        "the mirror contact: its wires, and its level in the kiln file",
        "whether the warden opened it: the page and the log say so",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        let lasted_s = evidence.lasted.seconds();
        if evidence.seen >= CLOSED {
            write!(
                f,
                "The safety contactor has been closed for {lasted_s:.0} s although nothing permits heat. \
                 Pull the breaker: with its contacts welded nothing here can take the power away."
            )
        } else if evidence.seen >= OPEN {
            write!(f, "The safety contactor is open although heat is permitted, for {lasted_s:.0} s.")
        } else {
            f.write_str("Whether the safety contactor is closed cannot be read.")
        }
    },
};

/// How long the contactor has not done as it was told.
#[derive(Clone, Debug)]
pub(crate) struct NotFollowing {
    permitted: bool,
    /// Whether it has been seen closed since heat was permitted.
    carried: bool,
    astray: Millis,
}

impl NotFollowing {
    pub(crate) const fn new() -> Self {
        Self { permitted: false, carried: false, astray: Millis::ZERO }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let permitted = view.seen.permitted;
        if permitted != self.permitted {
            *self = Self { permitted, ..Self::new() };
        }
        match (view.seen.contactor, permitted) {
            (Contact::NotFitted, _) | (Contact::Open, false) => self.follows(),
            (Contact::Shut, true) => {
                self.carried = true;
                self.follows()
            }
            (Contact::Unreadable, _) => {
                self.astray += view.seen.since_last;
                self.found(Severity::Withhold, UNKNOWN, Millis::ZERO)
            }
            (Contact::Shut, false) => {
                self.astray += view.seen.since_last;
                if self.astray < OPENS_WITHIN {
                    return Verdict::Clear;
                }
                self.found(Severity::Trip, CLOSED, OPENS_WITHIN)
            }
            (Contact::Open, true) => {
                self.astray += view.seen.since_last;
                if self.astray >= OPEN_LONGEST {
                    return self.found(Severity::Trip, OPEN, OPEN_LONGEST);
                }
                if self.carried || self.astray >= CLOSES_WITHIN {
                    return self.found(Severity::Withhold, OPEN, CLOSES_WITHIN);
                }
                Verdict::Clear
            }
        }
    }

    const fn follows(&mut self) -> Verdict {
        self.astray = Millis::ZERO;
        Verdict::Clear
    }

    fn found(&self, severity: Severity, seen: f64, bound: Millis) -> Verdict {
        Verdict::overall(severity, Evidence { seen, bound: bound.seconds(), lasted: self.astray })
    }
}
