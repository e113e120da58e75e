//! SR-07: the two wires exchanged, so the reading falls as the kiln warms.
//!
//! Exchanged at the amplifier or in the head, a thermocouple reads about 2·CJ − T (CJ the cold
//! junction, T the kiln): as it should with everything cold, below it as soon as the kiln warms.

use pyrometry::amplifier::Measured;
use pyrometry::units::{Celsius, Millis, between, greater};

use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-07: a fall of 3 °C in 3 min (18 samples of 10 s) at a mean duty above 0.3.
const FALL_C: f64 = 3.0;
const WINDOW: usize = 18;
const DUTY_LEAST: f64 = 0.3;
/// SR-07: later falls belong to other rows.
const COUNTED_FOR: Millis = Millis::from_minutes(30);
/// A reading that rose by this since light-up has shown that it is connected rightly.
const PROVEN_BY_C: f64 = 10.0;
/// A light-up is cold when the reading is within this of the cold junction. Engineering judgement:
/// more than any box's warmth, less than a kiln that was fired within the day.
const COLD_WITHIN_C: f64 = 60.0;
/// SR-07: colder than the cold junction by this, beyond the box's warmth.
const COLDER_C: f64 = 10.0;
/// The most that an enclosure may be warmer than the kiln beside it. Engineering judgement: above
/// 40 °C of excess the enclosure would be too hot in summer.
const WARMTH_MOST_C: f64 = 25.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-07",
    interlock: Interlock::ReversedThermocouple,
    condition: "within 30 min of a cold light-up a reading that never rose falls 3 °C in 3 min at a mean duty above 0.3 while the setpoint does not fall; or it is more than 10 °C colder than the cold junction, the box's own warmth allowed for",
    worst: Severity::Trip,
    clears: "neither is so",
    look_at: &[
        "polarity at the amplifier: for most colour codes the reading must rise when the tip is warmed by hand",
        "polarity in the thermocouple's head and along the extension lead",
        "whether the elements heat at all",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the reading goes the wrong way, by {:.1} °C; {:.1} °C is the most that a rightly connected thermocouple does.",
            evidence.seen, evidence.bound
        )
    },
};

/// What is known of each probe, and since when the kiln has been heated.
#[derive(Clone, Debug)]
pub(crate) struct Reversed {
    lit_for: Option<Millis>,
    tracks: [Track; PROBES_MOST],
}

#[derive(Clone, Debug)]
struct Track {
    readings_c: Ring<f64, { WINDOW + 1 }>,
    lit_cold: Option<ColdLightUp>,
    /// Polarity shown to be right, or a light-up at which it cannot be shown.
    proven: bool,
}

/// What was found at light-up.
#[derive(Clone, Copy, Debug)]
struct ColdLightUp {
    reading: Celsius,
    cold_junction: Celsius,
}

impl ColdLightUp {
    /// How much warmer the box was than the kiln.
    fn warmth_c(self) -> f64 {
        (self.cold_junction - self.reading).c()
    }
}

impl Reversed {
    pub(crate) fn new() -> Self {
        Self {
            lit_for: None,
            tracks: core::array::from_fn(|_| Track { readings_c: Ring::new(), lit_cold: None, proven: true }),
        }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let lit_before = self.lit_for.is_some();
        self.lit_for = if view.seen.phase.may_heat() {
            Some(self.lit_for.map_or(Millis::ZERO, |so_far| so_far + view.seen.since_last))
        } else {
            None
        };
        let falls_count =
            self.lit_for.is_some_and(|lit_for| lit_for <= COUNTED_FOR) && heated_without_falling(view);
        let mut worst = Verdict::Clear;
        for (probe, track) in view.seen.probes().zip(&mut self.tracks) {
            let Some(measured) = view.usable(probe) else { continue };
            if self.lit_for.is_some() && !lit_before {
                track.light_up(&measured);
            }
            if view.observer.fresh().is_some() {
                track.readings_c.push(measured.junction.c());
            }
            track.prove(&measured);
            let fallen = if falls_count { track.fallen(&measured) } else { None };
            if let Some(evidence) = fallen.or_else(|| track.colder(&measured)) {
                worst = worst.worse(Verdict::about(probe, Severity::Trip, evidence));
            }
        }
        worst
    }
}

/// Whether the last three minutes had heat enough and a setpoint that did not fall.
fn heated_without_falling(view: &View<'_>) -> bool {
    let observer = view.observer;
    let enough = observer.duty_over(WINDOW).is_some_and(|duty| duty > DUTY_LEAST);
    let setpoint_then_c = observer.ago(WINDOW).and_then(|sample| sample.setpoint_c);
    let falling = setpoint_then_c.zip(view.seen.setpoint).is_none_or(|(then_c, now)| now.c() < then_c);
    enough && !falling
}

impl Track {
    fn light_up(&mut self, measured: &Measured) {
        self.readings_c.clear();
        self.proven = false;
        self.lit_cold = measured
            .cold_junction
            .map(|cold_junction| ColdLightUp { reading: measured.junction, cold_junction })
            .filter(|lit| lit.warmth_c().abs() <= COLD_WITHIN_C);
    }

    fn prove(&mut self, measured: &Measured) {
        self.proven |= self.lit_cold.is_none_or(|lit| (measured.junction - lit.reading).c() >= PROVEN_BY_C);
    }

    fn fallen(&self, measured: &Measured) -> Option<Evidence> {
        if self.proven {
            return None;
        }
        let then_c = self.readings_c.ago(WINDOW)?;
        let fallen_c = then_c - measured.junction.c();
        (!(fallen_c < FALL_C)).then_some(Evidence {
            seen: fallen_c,
            bound: FALL_C,
            lasted: Millis::from_minutes(3),
        })
    }

    fn colder(&self, measured: &Measured) -> Option<Evidence> {
        let cold_junction: Celsius = measured.cold_junction?;
        let colder_c = (cold_junction - measured.junction).c();
        let warmth_c = self.lit_cold.map_or(WARMTH_MOST_C, |lit| {
            between(lit.warmth_c(), 0.0, WARMTH_MOST_C)
                + greater(0.0, (cold_junction - lit.cold_junction).c())
        });
        let bound_c = COLDER_C + warmth_c;
        (!(colder_c <= bound_c)).then_some(Evidence { seen: colder_c, bound: bound_c, lasted: Millis::ZERO })
    }
}
