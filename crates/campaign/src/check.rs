//! What must hold in every step of every firing, whatever goes wrong in the kiln.
//!
//! The checks know the controller's reports and decisions, the kiln file and the truth; nothing of
//! how the controller comes to its decisions.

use control::{BANKS_MOST, Contact, Decision, Finding, Order, Outcome, Phase};
use pyrometry::units::Celsius;

use crate::moment::Moment;

/// The true chamber may be this much hotter than the kiln's ceiling, with any fault that is claimed
/// to be detected (`docs/safety-evidence.md`).
pub(crate) const TRUE_EXCESS_MOST_C: f64 = 10.0;
/// Setpoints are compared with the programme to rounding.
const ROUNDING_C: f64 = 1.0e-6;

/// Something that must not be, with the second in which it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Broken {
    pub(crate) second: u64,
    pub(crate) what: &'static str,
}

/// How the safety contactor is made in this firing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ContactorIs {
    Sound,
    Welded,
}

/// The state that the checks carry from step to step.
pub(crate) struct Checks {
    /// The hottest that a plan may ask for.
    plan_most_c: f64,
    contactor: ContactorIs,
    banks: [(bool, Option<u64>); BANKS_MOST],
    tripped: Option<Finding>,
    /// A trip was there, cleared or not: this controller must never heat again.
    was_tripped: bool,
    /// Seconds since permission was last given.
    unpermitted_s: u32,
    broken: Vec<Broken>,
}

impl Checks {
    pub(crate) fn new(plan_most_c: f64, contactor: ContactorIs) -> Self {
        Self {
            plan_most_c,
            contactor,
            banks: [(false, None); BANKS_MOST],
            tripped: None,
            was_tripped: false,
            unpermitted_s: 0,
            broken: Vec::new(),
        }
    }

    pub(crate) fn into_broken(self) -> Vec<Broken> {
        self.broken
    }

    /// The power came back to a program that knows nothing of its relays; they were off from then on.
    pub(crate) fn power_was_lost(&mut self, at_s: u64) {
        self.banks = [(false, Some(at_s)); BANKS_MOST];
    }

    pub(crate) fn look(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        self.withholding(moment);
        self.permission(moment);
        self.supply(moment);
        self.minimum_times(moment);
        self.latch(moment);
        self.numbers(moment);
        for (state, on) in self.banks.iter_mut().zip(decision.banks) {
            if state.0 != on {
                *state = (on, Some(moment.second));
            }
        }
    }

    fn must(&mut self, holds: Holds, second: u64, what: &'static str) {
        // Each once a firing: a rule that is broken is mostly broken in many steps.
        if holds == Holds::No && self.broken.iter().all(|known| known.what != what) {
            self.broken.push(Broken { second, what });
        }
    }

    /// Heat is withheld in the very step that gives reason to.
    fn withholding(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let off = Holds::when(!decision.banks.contains(&true));
        if decision.withheld.is_some() || decision.trip.is_some() {
            self.must(off, moment.second, "a bank is on in a step that withholds or is tripped");
            let nothing = decision.duty.iter().all(|duty| duty.ratio() == 0.0);
            self.must(Holds::when(nothing), moment.second, "duty is asked for while heat is withheld");
        }
        for (probe, report) in moment.kiln.probes.iter().zip(moment.reports) {
            match probe.sensor.measure(report) {
                Err(_) => self.must(off, moment.second, "a bank is on with a reading that is none"),
                Ok(measured) if measured.junction > moment.kiln.ceiling => {
                    self.must(off, moment.second, "a bank is on with a reading above the ceiling");
                }
                Ok(_) => {}
            }
        }
        if matches!(moment.lid, Contact::Open | Contact::Unreadable) {
            self.must(off, moment.second, "a bank is on with the lid open or unknown");
        }
    }

    fn permission(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let may = decision.phase.may_heat();
        if !may {
            let off = !decision.banks.contains(&true);
            self.must(Holds::when(off), moment.second, "a bank is on in a phase without heat");
            self.must(Holds::when(!decision.permission), moment.second, "permission in a phase without heat");
        }
        if self.contactor == ContactorIs::Sound && self.unpermitted_s >= 2 {
            let dead = moment.truth.drawn_w == 0.0;
            self.must(Holds::when(dead), moment.second, "current flows a second after permission was taken");
        }
        self.unpermitted_s = if decision.permission { 0 } else { self.unpermitted_s + 1 };
    }

    fn supply(&mut self, moment: &Moment<'_>) {
        let banks = moment.kiln.banks.iter().zip(moment.decision.banks);
        let drawn_w: f64 = banks.filter(|(_, on)| *on).map(|(bank, _)| bank.power.w()).sum();
        let within = drawn_w <= moment.kiln.supply_limit.w() * (1.0 + f64::EPSILON);
        self.must(Holds::when(within), moment.second, "SR-27: the banks draw more than the supply carries");
    }

    /// SR-28: kept except where heat is taken away.
    fn minimum_times(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let taken_away = decision.withheld.is_some() || decision.trip.is_some() || !decision.phase.may_heat();
        let banks = moment.kiln.banks.iter().zip(decision.banks).zip(self.banks);
        let mut short_on = false;
        let mut short_off = false;
        for ((bank, on), (was_on, since)) in banks {
            let Some(since) = since else { continue };
            let lasted_ms = (moment.second - since) * 1000;
            short_on |= was_on && !on && !taken_away && lasted_ms < bank.on_least.ms();
            short_off |= !was_on && on && lasted_ms < bank.off_least.ms();
        }
        self.must(
            Holds::when(!short_on),
            moment.second,
            "SR-28: a bank was on for less than its shortest time",
        );
        self.must(
            Holds::when(!short_off),
            moment.second,
            "SR-28: a bank was off for less than its shortest time",
        );
    }

    fn latch(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let cleared = cleared(moment.orders, decision);
        if let Some(before) = self.tripped {
            let same = decision.trip.is_some_and(|now| now.interlock == before.interlock);
            self.must(Holds::when(same || cleared), moment.second, "a trip ended and nobody cleared it");
        }
        if decision.trip.is_some() && !cleared {
            self.must(
                Holds::when(decision.phase == Phase::Tripped),
                moment.second,
                "tripped in another phase",
            );
        }
        if self.was_tripped {
            let cold = !decision.phase.may_heat() && !decision.permission;
            self.must(Holds::when(cold), moment.second, "heat after a trip, by the same controller");
        }
        self.was_tripped |= decision.trip.is_some();
        self.tripped = if cleared { None } else { decision.trip };
    }

    fn numbers(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let temperatures =
            decision.junctions.iter().flatten().chain(&decision.chamber).chain(&decision.setpoint);
        let finite = temperatures.map(|at| at.c()).all(f64::is_finite)
            && decision.duty.iter().all(|duty| (0.0..=1.0).contains(&duty.ratio()))
            && decision.lag.is_none_or(|lag| lag.c().is_finite())
            && decision.cone.is_none_or(f64::is_finite);
        self.must(Holds::when(finite), moment.second, "a number of the decision is not finite");
        let answered = decision.outcomes.len() == moment.orders.len();
        self.must(Holds::when(answered), moment.second, "an order without an answer");
        if decision.phase.may_heat() {
            let most_c = self.plan_most_c + ROUNDING_C;
            let planned = decision.setpoint.map(Celsius::c).is_none_or(|setpoint_c| setpoint_c <= most_c);
            self.must(Holds::when(planned), moment.second, "the setpoint is above the programme's hottest");
        }
    }
}

fn cleared(orders: &[Order], decision: &Decision) -> bool {
    orders
        .iter()
        .zip(&decision.outcomes)
        .any(|(order, outcome)| *order == Order::ClearTrip && *outcome == Outcome::Taken)
}

/// Whether a rule holds in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Holds {
    Yes,
    No,
}

impl Holds {
    fn when(so: bool) -> Self {
        if so { Self::Yes } else { Self::No }
    }
}

#[cfg(test)]
mod tests {
    use control::{Evidence, Interlock, Severity};
    use pyrometry::units::Millis;

    use super::*;
    use crate::draw::{Case, Wanted};
    use crate::firing::fire;
    use crate::moment::Truth;

    const TRUTH: Truth = Truth { junction_c: 200.0, ware_c: 200.0, box_c: 25.0, drawn_w: 0.0 };
    const TRIP: Finding = Finding {
        interlock: Interlock::AbovePlan,
        severity: Severity::Trip,
        part: None,
        evidence: Evidence { seen: 31.0, bound: 30.0, lasted: Millis::ZERO },
    };

    /// A healthy firing's first decision with a bank on, changed and shown to new checks, twice.
    fn broken(change: impl Fn(&mut Decision)) -> Vec<&'static str> {
        broken_with(Contact::NotFitted, TRUTH, change)
    }

    fn broken_with(lid: Contact, truth: Truth, change: impl Fn(&mut Decision)) -> Vec<&'static str> {
        let case = Case::draw(3, Wanted::Healthy);
        let mut found = None;
        let _ = fire(&case, |moment| {
            if found.is_none() && moment.decision.banks.contains(&true) {
                found = Some((moment.decision.clone(), moment.reports.to_vec()));
            }
        });
        let (mut decision, reports) = found.expect("a healthy firing heats");
        change(&mut decision);
        let mut checks = Checks::new(case.hottest_c(), ContactorIs::Sound);
        for second in 0..4 {
            let (kiln, reports, decision) = (&case.kiln, &reports[..], &decision);
            checks.look(&Moment { second, kiln, reports, lid, orders: &[], decision, truth });
        }
        checks.into_broken().into_iter().map(|broken| broken.what).collect()
    }

    #[test]
    fn a_healthy_step_breaks_nothing() {
        assert_eq!(broken(|_| {}), Vec::<&str>::new());
    }

    #[test]
    fn heat_in_a_step_that_withholds_or_is_tripped_is_seen() {
        let withheld = broken(|decision| decision.withheld = Some(TRIP));
        assert!(withheld.contains(&"a bank is on in a step that withholds or is tripped"), "{withheld:?}");
        let tripped = broken(|decision| decision.trip = Some(TRIP));
        assert!(tripped.contains(&"tripped in another phase"), "{tripped:?}");
        assert!(tripped.contains(&"heat after a trip, by the same controller"), "{tripped:?}");
    }

    #[test]
    fn heat_with_the_lid_open_is_seen_and_with_it_shut_is_not() {
        let open = broken_with(Contact::Open, TRUTH, |_| {});
        assert_eq!(open, ["a bank is on with the lid open or unknown"]);
        assert!(broken_with(Contact::Shut, TRUTH, |_| {}).is_empty());
    }

    #[test]
    fn heat_or_permission_in_a_phase_without_heat_is_seen() {
        let cooling = broken(|decision| decision.phase = Phase::Cooling);
        assert_eq!(cooling, ["a bank is on in a phase without heat", "permission in a phase without heat"]);
    }

    #[test]
    fn current_without_permission_is_seen() {
        let truth = Truth { drawn_w: 2000.0, ..TRUTH };
        let flows = broken_with(Contact::NotFitted, truth, |decision| decision.permission = false);
        assert_eq!(flows, ["current flows a second after permission was taken"]);
    }

    #[test]
    fn a_setpoint_beyond_the_programme_is_seen() {
        let beyond = broken(|decision| decision.setpoint = Celsius::new(1500.0));
        assert_eq!(beyond, ["the setpoint is above the programme's hottest"]);
    }
}
