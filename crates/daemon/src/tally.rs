//! The sums of a firing: how well the plan was kept, what tripped, what it cost the relays.

use control::{BANKS_MOST, Decision, Interlock, Phase};
use pyrometry::units::{Celsius, Millis};

/// Tracking counts after the first hour: before that every kiln lags behind its thermocouple.
const TRACKED_FROM: Millis = Millis::from_hours(1);

/// Sums of one firing, step by step. Allocates nothing.
#[derive(Clone, Debug)]
pub struct Tally {
    last_at: Option<Millis>,
    heated: Millis,
    lasted: Millis,
    waited: Millis,
    squares_c2: f64,
    tracked: u64,
    worst_c: f64,
    overshoot_c: f64,
    moved_last: Option<Phase>,
    peak: Option<Celsius>,
    cone: Option<f64>,
    banks: [bool; BANKS_MOST],
    operations: [u64; BANKS_MOST],
    tripped: [Option<Millis>; Interlock::ALL.len()],
    tripped_now: Option<Interlock>,
}

impl Default for Tally {
    fn default() -> Self {
        Self {
            last_at: None,
            heated: Millis::ZERO,
            lasted: Millis::ZERO,
            waited: Millis::ZERO,
            squares_c2: 0.0,
            tracked: 0,
            worst_c: 0.0,
            overshoot_c: 0.0,
            moved_last: None,
            peak: None,
            cone: None,
            banks: [false; BANKS_MOST],
            operations: [0; BANKS_MOST],
            tripped: [None; Interlock::ALL.len()],
            tripped_now: None,
        }
    }
}

impl Tally {
    /// Takes one step. `truth` is the temperature to judge it by: the true junction where it is
    /// known, the reading where it isn't.
    pub fn take(&mut self, decision: &Decision, truth: Option<Celsius>) {
        let span = decision.at.since(self.last_at.unwrap_or(decision.at));
        self.last_at = Some(decision.at);
        self.lasted = decision.at;
        if decision.waiting {
            self.waited += span;
        }
        if decision.phase.may_heat() || decision.segment.is_some() {
            self.heated = decision.at;
        }
        self.cone = decision.cone.or(self.cone);
        self.switched(decision);
        self.tripping(decision);
        let Some(truth) = truth else { return };
        self.peak = Some(self.peak.map_or(truth, |peak| peak.hotter(truth)));
        if let Some(setpoint) = decision.setpoint {
            self.compare(decision, (truth - setpoint).c());
        }
    }

    fn compare(&mut self, decision: &Decision, above_c: f64) {
        if decision.phase == Phase::Climbing && decision.at >= TRACKED_FROM && !decision.waiting {
            self.squares_c2 += above_c * above_c;
            self.tracked += 1;
            self.worst_c = self.worst_c.max(above_c.abs());
        }
        // A soak that follows a cooling begins above itself; only a climb can overshoot.
        if decision.phase == Phase::Soaking && self.moved_last == Some(Phase::Climbing) {
            self.overshoot_c = self.overshoot_c.max(above_c);
        }
        if decision.phase != Phase::Soaking {
            self.moved_last = Some(decision.phase);
        }
    }

    fn switched(&mut self, decision: &Decision) {
        for ((before, now), count) in self.banks.iter().zip(decision.banks).zip(&mut self.operations) {
            *count += u64::from(now && !before);
        }
        self.banks = decision.banks;
    }

    fn tripping(&mut self, decision: &Decision) {
        let now = decision.trip.map(|trip| trip.interlock);
        if let Some(interlock) = now.filter(|_| now != self.tripped_now) {
            for (place, known) in self.tripped.iter_mut().zip(Interlock::ALL) {
                if known == interlock && place.is_none() {
                    *place = Some(decision.at);
                }
            }
        }
        self.tripped_now = now;
    }

    /// From the first step to the last.
    #[must_use]
    pub const fn lasted(&self) -> Millis {
        self.lasted
    }

    /// From the first step until the schedule was over.
    #[must_use]
    pub const fn schedule_lasted(&self) -> Millis {
        self.heated
    }

    /// How long the schedule's clock waited for the kiln.
    #[must_use]
    pub const fn waited(&self) -> Millis {
        self.waited
    }

    /// The hottest.
    #[must_use]
    pub const fn peak(&self) -> Option<Celsius> {
        self.peak
    }

    /// The cone reached, as its continuous ordinal.
    #[must_use]
    pub const fn cone(&self) -> Option<f64> {
        self.cone
    }

    /// Root mean square distance from the plan in climbs after the first hour; `None` without any.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "exact to 2⁵³ steps")]
    pub fn tracking_rms_c(&self) -> Option<f64> {
        (self.tracked > 0).then(|| (self.squares_c2 / self.tracked as f64).sqrt())
    }

    /// The greatest distance from the plan in climbs after the first hour.
    #[must_use]
    pub const fn tracking_worst_c(&self) -> f64 {
        self.worst_c
    }

    /// The most above the setpoint in any soak that a climb led to.
    #[must_use]
    pub const fn overshoot_c(&self) -> f64 {
        self.overshoot_c
    }

    /// Closings of each bank's relay, as commanded.
    #[must_use]
    pub const fn operations(&self) -> &[u64; BANKS_MOST] {
        &self.operations
    }

    /// Every trip and when it first came.
    pub fn trips(&self) -> impl Iterator<Item = (Interlock, Millis)> + '_ {
        Interlock::ALL.into_iter().zip(self.tripped).filter_map(|(interlock, at)| Some((interlock, at?)))
    }
}
