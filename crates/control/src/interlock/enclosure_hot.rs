//! SR-12: the box with the electronics too hot, by its amplifiers' cold junctions.

use pyrometry::units::Millis;

use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-12: the amplifier chips are made for up to 125 °C, relays and supplies beside them for 60 to
/// 85 °C (common practice, no source).
const NOTICE_C: f64 = 60.0;
const WITHHOLD_C: f64 = 70.0;
const TRIP_C: f64 = 80.0;
/// SR-12: a rise within one minute that is told: something burns, or a fan has stopped.
const RISE_C: f64 = 2.0;
/// Observer samples in a minute.
const MINUTE: usize = 6;

pub(crate) const ROW: Row = Row {
    requirement: "SR-12",
    interlock: Interlock::EnclosureHot,
    condition: "a cold junction at 60 °C (told), 70 °C (withholds), 80 °C (trips), or rising 2 °C in a minute (told)",
    worst: Severity::Trip,
    clears: "every cold junction below the bound",
    look_at: &[
        "the box's openings and fan, and how near it is to the kiln",
        "terminals of relays and contactor: discoloured, loose, warm",
        "a solid-state switch's heat sink",
        "the sun, or the kiln's vent blowing at it",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::FORBEARING,
    urgent: None,
    say: |evidence, f| {
        if evidence.lasted > Millis::ZERO {
            write!(f, "the box with the electronics warmed by {:.1} °C within a minute.", evidence.seen)
        } else {
            write!(
                f,
                "the box with the electronics is at {:.0} °C; {:.0} °C is its limit.",
                evidence.seen, evidence.bound
            )
        }
    },
};

/// The cold junctions of the latest minute, a sample in 10 s.
#[derive(Clone, Debug)]
pub(crate) struct EnclosureHot {
    minutes_c: [Ring<f64, { MINUTE + 1 }>; PROBES_MOST],
    rises: [Verdict; PROBES_MOST],
}

impl EnclosureHot {
    pub(crate) fn new() -> Self {
        Self { minutes_c: core::array::from_fn(|_| Ring::new()), rises: [Verdict::Clear; PROBES_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut worst = Verdict::Clear;
        let sampled = view.observer.fresh().is_some();
        let tracks = self.minutes_c.iter_mut().zip(&mut self.rises);
        for (probe, (minute_c, rise)) in view.seen.probes().zip(tracks) {
            let Some(cold) = view.usable(probe).and_then(|measured| measured.cold_junction) else { continue };
            if sampled {
                minute_c.push(cold.c());
                *rise = risen(probe, minute_c);
            }
            worst = worst.worse(level(probe, cold.c())).worse(*rise);
        }
        worst
    }
}

fn level(probe: u8, cold_c: f64) -> Verdict {
    let (severity, bound) = if !(cold_c < TRIP_C) {
        (Severity::Trip, TRIP_C)
    } else if !(cold_c < WITHHOLD_C) {
        (Severity::Withhold, WITHHOLD_C)
    } else if !(cold_c < NOTICE_C) {
        (Severity::Notice, NOTICE_C)
    } else {
        return Verdict::Clear;
    };
    Verdict::about(probe, severity, Evidence { seen: cold_c, bound, lasted: Millis::ZERO })
}

fn risen(probe: u8, minute_c: &Ring<f64, { MINUTE + 1 }>) -> Verdict {
    let Some((now_c, then_c)) = minute_c.ago(0).zip(minute_c.ago(MINUTE)) else { return Verdict::Clear };
    let risen_c = now_c - then_c;
    if risen_c < RISE_C {
        return Verdict::Clear;
    }
    let evidence = Evidence { seen: risen_c, bound: RISE_C, lasted: Millis::from_minutes(1) };
    Verdict::about(probe, Severity::Notice, evidence)
}
