//! SR-09: the tip has left the kiln, or is on its way out.

use pyrometry::units::Millis;

use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};
use crate::observation::Contact;

/// SR-09: a fall of 10 °C in 10 s trips, and half of it withholds; the lid shut, no kiln does it.
const SAMPLES: usize = 10;
const FALL_C: f64 = 10.0;
const WITHHOLDS_C: f64 = 5.0;
const HALF: usize = SAMPLES / 2;

pub(crate) const ROW: Row = Row {
    requirement: "SR-09",
    interlock: Interlock::ThermocouplePulledOut,
    condition: "the reading falls 1 °C/s with the lid not known to be open: for 5 s withholds, for 10 s trips",
    worst: Severity::Trip,
    clears: "ten seconds of a slower fall",
    look_at: &[
        "whether the thermocouple still sits in the kiln as deep as it did",
        "whether the lid or a large spyhole was opened",
        "its terminals",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the reading fell {:.1} °C in {:.0} s; with the lid shut a kiln cools by {:.0} °C at most.",
            evidence.seen,
            evidence.lasted.seconds(),
            evidence.bound
        )
    },
};

/// The latest samples of each probe.
#[derive(Clone, Debug)]
pub(crate) struct PulledOut {
    readings_c: [Ring<f64, { SAMPLES + 1 }>; PROBES_MOST],
}

impl PulledOut {
    pub(crate) fn new() -> Self {
        Self { readings_c: core::array::from_fn(|_| Ring::new()) }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut worst = Verdict::Clear;
        for (probe, readings_c) in view.seen.probes().zip(&mut self.readings_c) {
            match view.usable(probe) {
                // An open lid explains a fall, and samples apart in time no longer count seconds.
                Some(measured)
                    if view.seen.lid != Contact::Open && view.seen.since_last <= SECOND_AT_MOST =>
                {
                    readings_c.push(measured.junction.c());
                }
                Some(_) | None => readings_c.clear(),
            }
            worst = worst.worse(verdict(probe, readings_c));
        }
        worst
    }
}

/// A step of a second that came a little late is still one.
const SECOND_AT_MOST: Millis = Millis::new(1_500);

fn verdict(probe: u8, readings_c: &Ring<f64, { SAMPLES + 1 }>) -> Verdict {
    let fallen_c = |back: usize| readings_c.ago(back).zip(readings_c.ago(0)).map(|(then, now)| then - now);
    let raise = |severity, seen, bound, seconds| {
        let evidence = Evidence { seen, bound, lasted: Millis::from_seconds(seconds) };
        Verdict::about(probe, severity, evidence)
    };
    match (fallen_c(SAMPLES), fallen_c(HALF)) {
        (Some(fallen), _) if !(fallen < FALL_C) => raise(Severity::Trip, fallen, FALL_C, 10),
        (_, Some(fallen)) if !(fallen < WITHHOLDS_C) => raise(Severity::Withhold, fallen, WITHHOLDS_C, 5),
        (_, _) => Verdict::Clear,
    }
}
