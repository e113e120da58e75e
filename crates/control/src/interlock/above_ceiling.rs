//! SR-20: hotter than the kiln may be, or than anything the programme asks for.

use pyrometry::units::{Celsius, CelsiusDelta, Millis};

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// Above the programme's own maximum by this much: SR-20, more than any healthy overshoot.
const ABOVE_PROGRAMME: CelsiusDelta = pyrometry::constant!(CelsiusDelta, 10.0);
/// Samples in a row that trip: SR-20, so that noise at the limit does not.
const SAMPLES: u32 = 3;
/// A single sample this far beyond trips at once: SR-20, more than any noise.
const FAR_BEYOND_C: f64 = 15.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-20",
    interlock: Interlock::AboveCeiling,
    condition: "a junction above the kiln's ceiling, or above the programme's maximum + 10 °C: withheld at once, 3 samples or one 15 °C beyond trip",
    worst: Severity::Trip,
    clears: "every junction at or below the limit",
    look_at: &[
        "whether a relay or contactor has welded: are the elements still hot with everything off?",
        "the witness cones, before believing the reading",
        "the thermocouple's position and type",
        "the ceiling in the kiln file",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| write!(f, "{:.1} °C, above the limit of {:.1} °C.", evidence.seen, evidence.bound),
};

/// Samples above the limit in a row, for each probe.
#[derive(Clone, Debug)]
pub(crate) struct AboveCeiling {
    above: [u32; PROBES_MOST],
}

impl AboveCeiling {
    pub(crate) fn new() -> Self {
        Self { above: [0; PROBES_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let limit = limit(view);
        let mut worst = Verdict::Clear;
        for (probe, above) in view.seen.probes().zip(&mut self.above) {
            // A sample that is missing or was discarded is withheld by its own row; it neither
            // counts nor ends the count.
            let Some(measured) = view.usable(probe) else { continue };
            let seen_c = measured.junction.c();
            if seen_c <= limit.c() {
                *above = 0;
                continue;
            }
            *above = above.saturating_add(1);
            let trips = *above >= SAMPLES || !(seen_c <= limit.c() + FAR_BEYOND_C);
            let severity = if trips { Severity::Trip } else { Severity::Withhold };
            let lasted = Millis::from_seconds(u64::from(*above));
            let evidence = Evidence { seen: seen_c, bound: limit.c(), lasted };
            worst = worst.worse(Verdict::about(probe, severity, evidence));
        }
        worst
    }
}

fn limit(view: &View<'_>) -> Celsius {
    let ceiling = view.seen.kiln.ceiling;
    view.seen.plan_hottest.map_or(ceiling, |hottest| ceiling.colder(hottest + ABOVE_PROGRAMME))
}
