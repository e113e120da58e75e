//! SR-08: the two wires touch somewhere in the lead, so the reading is that of the touching place.
//!
//! No chip sees it: the circuit is closed and the emf is small. Heat that even the most doubtful
//! model turns into a rise tells, while the reading stays with the amplifier's own temperature. Dead
//! elements in a cold kiln look the same, and the message says both; of the two this is the one that
//! overheats a kiln.

use super::observer::Totals;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};
use pyrometry::units::Millis;

/// SR-08: a rise of less than this, where the model expects at least that.
const RISE_LEAST_C: f64 = 5.0;
const EXPECTED_C: f64 = 30.0;
/// A lead and its terminals are no further from the amplifier's temperature. Engineering judgement.
const NEAR_COLD_JUNCTION_C: f64 = 15.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-08",
    interlock: Interlock::ShortedLead,
    condition: "since light-up a reading within 15 °C of its cold junction rose less than 5 °C, where the heat given makes 30 °C even by the most doubtful model",
    worst: Severity::Trip,
    clears: "the reading leaves the cold junction's, or light-up anew",
    look_at: &[
        "the two wires of thermocouple or extension lead: do they touch anywhere before the tip?",
        "whether the tip is in the kiln at all",
        "the breaker and the contactor: did the elements get warm?",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the reading stays at the amplifier's own temperature: {:+.1} °C since light-up, where the heat asked for makes {:.0} °C at the least. Either the lead is shorted or nothing heats.",
            evidence.seen, evidence.bound
        )
    },
};

/// What each probe read when heating began, and the heat given by then.
#[derive(Clone, Debug)]
pub(crate) struct ShortedLead {
    lit: Option<(Totals, Millis)>,
    lit_at_c: [Option<f64>; PROBES_MOST],
}

impl ShortedLead {
    pub(crate) const fn new() -> Self {
        Self { lit: None, lit_at_c: [None; PROBES_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        if !view.seen.phase.may_heat() {
            *self = Self::new();
            return Verdict::Clear;
        }
        let now = view.observer.totals();
        let (then, so_far) = self.lit.unwrap_or((now, Millis::ZERO));
        let lasted = so_far + view.seen.since_last;
        self.lit = Some((then, lasted));
        let expected_c = view.observer.surely_risen_c(then, now);
        let mut worst = Verdict::Clear;
        for (probe, lit_at_c) in view.seen.probes().zip(&mut self.lit_at_c) {
            let Some(measured) = view.usable(probe) else { continue };
            let reading_c = measured.junction.c();
            let risen_c = reading_c - *lit_at_c.get_or_insert(reading_c);
            let near = measured
                .cold_junction
                .is_some_and(|cold| (reading_c - cold.c()).abs() <= NEAR_COLD_JUNCTION_C);
            if near && !(expected_c < EXPECTED_C) && !(risen_c >= RISE_LEAST_C) {
                let evidence = Evidence { seen: risen_c, bound: EXPECTED_C, lasted };
                worst = worst.worse(Verdict::about(probe, Severity::Trip, evidence));
            }
        }
        worst
    }
}
