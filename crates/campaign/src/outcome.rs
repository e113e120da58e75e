//! What came of one firing.

use control::{Interlock, Phase};

use crate::check::{Broken, TRUE_EXCESS_MOST_C};
use crate::draw::Case;
use crate::ill::{Claim, Exposure, Kind, claim, exposed};
use crate::moment::Moment;

/// Above the setpoint by so much, the true junction ought to have been noticed: SR-21's 30 °C and
/// what a slow probe and its error hide.
const ABOVE_PLAN_C: f64 = 40.0;
/// Above SR-12's 80 °C by the cold junction's own error.
const HOT_BOX_C: f64 = 82.0;
const ASKED_DUTY_LEAST: f64 = 0.3; // SR-23

/// How a fault was found out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Detection {
    pub(crate) latency_s: u64,
    pub(crate) by: Interlock,
}

/// Everything the tables are made of.
#[derive(Clone, Debug)]
pub(crate) struct Outcome {
    pub(crate) seed: u64,
    pub(crate) kinds: Vec<Kind>,
    pub(crate) steps: u64,
    /// A trip with nothing wrong, or before anything was.
    pub(crate) false_trip: Option<(u64, Interlock)>,
    /// Each interlock that told or withheld while nothing was wrong.
    pub(crate) told: Vec<Interlock>,
    pub(crate) withheld: Vec<Interlock>,
    pub(crate) detection: Option<Detection>,
    /// The fault set in, and the firing went on long enough for it to show.
    pub(crate) had_chance: bool,
    /// A fault that must trip had the chance and did not.
    pub(crate) missed: bool,
    /// The true chamber over the kiln's ceiling and over what was planned, at worst.
    pub(crate) over_ceiling_c: f64,
    pub(crate) over_plan_c: f64,
    pub(crate) broken: Vec<Broken>,
}

/// Watches a firing for its outcome.
pub(crate) struct Watch {
    plan_most_c: f64,
    hottest_c: f64,
    first_onset: Option<u64>,
    exposures: Vec<Exposure>,
    detection: Option<Detection>,
    false_trip: Option<(u64, Interlock)>,
    told: [bool; Interlock::ALL.len()],
    withheld: [bool; Interlock::ALL.len()],
    refused_for_s: u64,
}

impl Watch {
    pub(crate) fn new(case: &Case) -> Self {
        Self {
            plan_most_c: case.hottest_c().max(case.spec.start_c),
            hottest_c: f64::MIN,
            first_onset: None,
            exposures: vec![Exposure::default(); case.ills.len()],
            detection: None,
            false_trip: None,
            told: [false; Interlock::ALL.len()],
            withheld: [false; Interlock::ALL.len()],
            refused_for_s: 0,
        }
    }

    /// How long light-up has been refused for a fault, where no heat is permitted.
    pub(crate) fn refused_for_s(&self) -> u64 {
        self.refused_for_s
    }

    pub(crate) fn look(&mut self, moment: &Moment<'_>, onset: &[Option<u64>]) {
        self.hottest_c = self.hottest_c.max(moment.truth.chamber_c());
        self.first_onset = onset.iter().flatten().copied().min();
        for (exposure, onset) in self.exposures.iter_mut().zip(onset) {
            if onset.is_some() {
                exposure.look(moment);
            }
        }
        match self.first_onset {
            None => self.look_healthy(moment),
            Some(onset_s) => self.look_ill(moment, onset_s),
        }
    }

    fn look_healthy(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        if let Some(trip) = decision.trip {
            self.false_trip.get_or_insert((moment.second, trip.interlock));
        }
        for notice in &decision.notices {
            mark(&mut self.told, notice.interlock);
        }
        if let Some(withheld) = decision.withheld {
            mark(&mut self.withheld, withheld.interlock);
        }
    }

    fn look_ill(&mut self, moment: &Moment<'_>, onset_s: u64) {
        let decision = moment.decision;
        let refused =
            decision.refuses_light_up.filter(|_| !decision.phase.may_heat() && decision.trip.is_none());
        self.refused_for_s = if refused.is_some() { self.refused_for_s + 1 } else { 0 };
        if self.false_trip.is_none()
            && self.detection.is_none()
            && let Some(finding) = decision.trip.or(refused)
        {
            self.detection = Some(Detection { latency_s: moment.second - onset_s, by: finding.interlock });
        }
    }

    pub(crate) fn finish(self, case: &Case, mut broken: Vec<Broken>, steps: u64) -> Outcome {
        let kinds: Vec<Kind> = case.ills.iter().map(|ill| ill.kind).collect();
        let chances = kinds.iter().zip(&self.exposures);
        let had_chance = chances.clone().any(|(kind, exposure)| exposed(*kind, exposure, &case.spec));
        let must = chances
            .clone()
            .any(|(kind, exposure)| claim(*kind) == Claim::MustTrip && exposed(*kind, exposure, &case.spec));
        let over_ceiling_c = self.hottest_c - case.kiln.ceiling.c();
        let seen = kinds.iter().all(|kind| !matches!(claim(*kind), Claim::Unseen(_)));
        if seen && over_ceiling_c > TRUE_EXCESS_MOST_C {
            broken.push(Broken {
                second: steps,
                what: "the true chamber was more than 10 °C above the ceiling",
            });
        }
        Outcome {
            seed: case.seed,
            steps,
            false_trip: self.false_trip,
            told: marked(&self.told),
            withheld: marked(&self.withheld),
            detection: self.detection,
            had_chance,
            missed: must && self.detection.is_none() && self.false_trip.is_none(),
            over_ceiling_c,
            over_plan_c: self.hottest_c - self.plan_most_c,
            broken,
            kinds,
        }
    }
}

impl Exposure {
    fn look(&mut self, moment: &Moment<'_>) {
        let (decision, truth) = (moment.decision, moment.truth);
        if self.any_s == 0 {
            self.from_box_c = (truth.junction_c - truth.box_c).abs();
        }
        self.any_s += 1;
        self.permitted |= decision.permission;
        self.refused_s += u32::from(self.permitted && !decision.permission);
        self.hot_box_s += u32::from(truth.box_c > HOT_BOX_C);
        if !decision.phase.may_heat() {
            self.above_plan_s = 0;
            return;
        }
        self.heating_s += 1;
        let mut banks = decision.banks.iter().take(moment.kiln.banks.len());
        self.bank_off_s += u32::from(banks.any(|on| !on));
        let asked = decision.duty.iter().any(|duty| duty.ratio() >= ASKED_DUTY_LEAST);
        self.asked_s += u32::from(asked && decision.phase != Phase::SlowCooling);
        let above = decision.setpoint.is_some_and(|plan| truth.junction_c > plan.c() + ABOVE_PLAN_C);
        self.above_plan_s = if above { self.above_plan_s + 1 } else { 0 };
    }
}

fn mark(marks: &mut [bool; Interlock::ALL.len()], interlock: Interlock) {
    for (mark, known) in marks.iter_mut().zip(Interlock::ALL) {
        *mark |= known == interlock;
    }
}

fn marked(marks: &[bool; Interlock::ALL.len()]) -> Vec<Interlock> {
    marks.iter().zip(Interlock::ALL).filter(|(mark, _)| **mark).map(|(_, interlock)| interlock).collect()
}
