//! SR-21: hotter than the schedule asks for.

use pyrometry::units::{Celsius, Millis};

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-21: far above any healthy overshoot (2 °C) and any zone's unevenness in the dark red.
const WITHHOLD_ABOVE_C: f64 = 25.0;
/// For this long, so that the start of a segment is not taken for it. SR-21.
const WITHHOLD_AFTER: Millis = Millis::from_seconds(60);
/// SR-21: 5 °C more, long after heat was withheld, means that heat comes from elsewhere. What cold
/// elements of a small kiln hold carries a healthy reading up to 47 °C above in its first minutes (fit,
/// `docs/safety-evidence.md`), and is spent after four. Below 300 °C a kiln falls too slowly for that to
/// be told in less than ten.
const TRIP_ABOVE_C: f64 = WITHHOLD_ABOVE_C + 5.0;
const TRIP_AFTER: Millis = Millis::from_minutes(4);
const SLOW_BELOW_C: f64 = 300.0;
const TRIP_AFTER_SLOW: Millis = Millis::from_minutes(10);
/// Above dark red heat elements give half of what they hold in less than 20 s (Stefan–Boltzmann); a
/// reading above its plan that still gains 3 °C in 30 s after a minute with all off is heated.
const SPENT_ABOVE_C: f64 = 500.0;
const SPENT_AFTER: Millis = Millis::from_seconds(60);
const RISING_C: f64 = 3.0;
const RISING_SAMPLES: usize = 3;
/// SR-21: beyond what elements hold.
const FAR_ABOVE_C: f64 = 50.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-21",
    interlock: Interlock::AbovePlan,
    condition: "the hottest junction more than 25 °C above the setpoint for 60 s withholds; 30 °C above after 4 min (10 min below 300 °C), or 50 °C after those 60 s, trips; so does, above 500 °C and at all above the setpoint, a rise of 3 °C in 30 s after a minute with all off",
    worst: Severity::Trip,
    clears: "within 25 °C of the setpoint, or no setpoint",
    look_at: &[
        "whether a relay has welded: do the elements glow with their relay off?",
        "whether something burns in the kiln (wax, organic matter)",
        "the witness cones, before believing the reading",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        let (above_c, seconds) = (evidence.seen, evidence.lasted.seconds());
        if evidence.bound > 0.0 {
            let bound_c = evidence.bound;
            return write!(
                f,
                "the kiln is {above_c:.0} °C above the setpoint, for {seconds:.0} s; {bound_c:.0} °C is allowed."
            );
        }
        write!(
            f,
            "the kiln goes on rising with everything off for {seconds:.0} s, and is {above_c:.0} °C above the setpoint."
        )
    },
};

/// How long it has been above.
#[derive(Clone, Debug)]
pub(crate) struct AbovePlan {
    above_for: Option<Millis>,
    off_for: Millis,
}

impl AbovePlan {
    pub(crate) fn new() -> Self {
        Self { above_for: None, off_for: Millis::ZERO }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let off = !view.seen.banks.contains(&true);
        self.off_for = if off { self.off_for + view.seen.since_last } else { Millis::ZERO };
        // Where no heat is permitted the kiln falls as it will; `heating-while-off` watches it.
        let bound = view.seen.setpoint.filter(|_| view.seen.phase.may_heat());
        let Some(setpoint) = bound else {
            self.above_for = None;
            return Verdict::Clear;
        };
        let usable = view.seen.probes().filter_map(|probe| view.usable(probe));
        let Some(hottest) = usable.map(|measured| measured.junction).reduce(Celsius::hotter) else {
            return Verdict::Clear; // without a reading, the sensing rows withhold; the time is kept
        };
        let above_c = (hottest - setpoint).c();
        if self.rises_without_heat(view) && !(above_c <= 0.0) {
            let evidence = Evidence { seen: above_c, bound: 0.0, lasted: self.off_for };
            return Verdict::overall(Severity::Trip, evidence);
        }
        if above_c <= WITHHOLD_ABOVE_C {
            self.above_for = None;
            return Verdict::Clear;
        }
        let lasted = self.above_for.map_or(Millis::ZERO, |so_far| so_far + view.seen.since_last);
        self.above_for = Some(lasted);
        if lasted < WITHHOLD_AFTER {
            return Verdict::Clear;
        }
        let (severity, bound) = if !(above_c <= FAR_ABOVE_C) {
            (Severity::Trip, FAR_ABOVE_C)
        } else if !(above_c <= TRIP_ABOVE_C) && lasted >= trip_after(hottest) {
            (Severity::Trip, TRIP_ABOVE_C)
        } else {
            (Severity::Withhold, WITHHOLD_ABOVE_C)
        };
        Verdict::overall(severity, Evidence { seen: above_c, bound, lasted })
    }

    /// Whether the kiln goes on rising so hot that its elements, told to be off, ought to have given
    /// away what they held.
    fn rises_without_heat(&self, view: &View<'_>) -> bool {
        let (Some(now), Some(then)) = (view.observer.ago(0), view.observer.ago(RISING_SAMPLES)) else {
            return false;
        };
        let spent = now.chamber_c >= SPENT_ABOVE_C && self.off_for >= SPENT_AFTER;
        spent && !(now.chamber_c - then.chamber_c < RISING_C)
    }
}

fn trip_after(hottest: Celsius) -> Millis {
    if hottest.c() < SLOW_BELOW_C { TRIP_AFTER_SLOW } else { TRIP_AFTER }
}
