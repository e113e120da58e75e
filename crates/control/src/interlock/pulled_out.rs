//! SR-09: the tip has left the kiln, or is on its way out.

use libm::sqrt;
use pyrometry::units::Millis;

use super::jagged::Jagged;
use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};
use crate::observation::Contact;

/// SR-09: a fall of 1 °C/s over 10 s trips, over 5 s withholds; the lid shut, no kiln does it.
const FALL_C_PER_S: f64 = 1.0;
/// Elements that were switched off after longer than a usual cycle go on giving for a while less and less, and a probe that sees
/// them falls with them: healthy light kilns by 1.1 °C/s for 10 s (fit, random firings). Until then only
/// a fall that no element explains counts.
const GLOWS_AFTER: Millis = Millis::from_seconds(60);
const GLOWS_FOR: Millis = Millis::from_seconds(40);
const FALL_FROM_GLOW_C_PER_S: f64 = 2.0;
/// Jitter tilts the line through a few readings; so many of their standard deviations count as none. The
/// readings' own, medians or not: what the samples behind a median do beyond it tilts nothing.
const TILT_MOST: f64 = 3.0;
const TRIPS_OVER: usize = 10;
const WITHHOLDS_OVER: usize = 5;
/// Samples kept: both ends of the longer span.
const KEPT: usize = TRIPS_OVER + 1;

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

/// The latest samples of each probe, and how long elements have yet to glow.
#[derive(Clone, Debug)]
pub(crate) struct PulledOut {
    readings_c: [Ring<f64, KEPT>; PROBES_MOST],
    glows: Millis,
    /// How long some bank has been on without a break.
    heated: Millis,
    /// Heat that this row itself took away is no excuse for a fall.
    stood: bool,
}

impl PulledOut {
    pub(crate) fn new() -> Self {
        Self {
            readings_c: core::array::from_fn(|_| Ring::new()),
            glows: Millis::ZERO,
            heated: Millis::ZERO,
            stood: false,
        }
    }

    /// Call it after `jagged` has seen the step.
    pub(crate) fn judge(&mut self, view: &View<'_>, jagged: &Jagged) -> Verdict {
        let bound_c_per_s = self.bound_c_per_s(view);
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
            let tilt_c = TILT_MOST * jagged.deviation_c(probe);
            worst = worst.worse(verdict(probe, readings_c, bound_c_per_s, tilt_c));
        }
        self.stood = worst != Verdict::Clear;
        worst
    }

    fn bound_c_per_s(&mut self, view: &View<'_>) -> f64 {
        let heats = view.seen.banks.contains(&true);
        // Elements that are switched on again take as long to give as they took to dim.
        let switched_off = self.heated >= GLOWS_AFTER && !heats && !self.stood;
        self.glows = if switched_off { GLOWS_FOR } else { self.glows.since(view.seen.since_last) };
        self.heated = if heats { self.heated + view.seen.since_last } else { Millis::ZERO };
        if self.glows > Millis::ZERO { FALL_FROM_GLOW_C_PER_S } else { FALL_C_PER_S }
    }
}

/// A step of a second that came a little late is still one.
const SECOND_AT_MOST: Millis = Millis::new(1_500);

fn verdict(probe: u8, readings_c: &Ring<f64, KEPT>, bound_c_per_s: f64, tilt_c: f64) -> Verdict {
    let falls = |over: usize, severity, seconds: u64| {
        let slope = Slope::of_latest(readings_c, over)?;
        let lasted = Millis::from_seconds(seconds);
        let bound_c_per_s = bound_c_per_s + tilt_c / sqrt(slope.squares_s2);
        if slope.falls_c_per_s < bound_c_per_s {
            return None;
        }
        let evidence = Evidence {
            seen: slope.falls_c_per_s * lasted.seconds(),
            bound: bound_c_per_s * lasted.seconds(),
            lasted,
        };
        Some(Verdict::about(probe, severity, evidence))
    };
    let trips = falls(TRIPS_OVER, Severity::Trip, 10);
    trips.or_else(|| falls(WITHHOLDS_OVER, Severity::Withhold, 5)).unwrap_or(Verdict::Clear)
}

/// A straight line through the latest samples: noise moves it less than it moves the two ends.
struct Slope {
    falls_c_per_s: f64,
    /// Sum of the squares of the samples' distances in time from their middle: the variance of the
    /// slope is that of a sample divided by it (ordinary least squares).
    squares_s2: f64,
}

impl Slope {
    fn of_latest(readings_c: &Ring<f64, KEPT>, over: usize) -> Option<Self> {
        let _there_are_enough = readings_c.ago(over)?;
        let (mut sum, mut squares_s2, mut ago_s) = (0.0, 0.0, 0.0);
        let middle_s = 0.5 * (0..over).fold(0.0, |seconds, _| seconds + 1.0);
        for back in 0..=over {
            let lever_s = ago_s - middle_s;
            sum += lever_s * readings_c.ago(back)?;
            squares_s2 += lever_s * lever_s;
            ago_s += 1.0;
        }
        Some(Self { falls_c_per_s: sum / squares_s2, squares_s2 })
    }
}
