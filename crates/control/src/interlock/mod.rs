//! The interlocks: rows that look at every step and can only take heat away.
//!
//! They see observations and commands, never the controller's reasoning; what they need of the
//! plan and the model is handed to them as data. One row a file. Each gives a verdict every step;
//! the verdicts of a step make a [`Sheet`], on which a missing one is a trip in itself. Here, apart
//! from any row, is what becomes of verdicts: the worst wins, a withhold too long trips, trips
//! latch, and where no heat is permitted the sensing rows refuse light-up instead of tripping.
//!
//! To add a row: a file with its `Row` and `judge`, its name in [`Interlock`], its line in
//! [`sheet::line_of`] and [`row`], and a call in [`Checks::judge`]. A forgotten call is a trip.
#![allow(
    clippy::neg_cmp_op_on_partial_ord,
    reason = "a bound is written as `not proven safe`, so that a NaN breaks it"
)]

mod above_ceiling;
mod above_plan;
mod bank_not_felt;
mod broken;
mod current_while_off;
mod enclosure_hot;
mod felt;
mod flagged;
mod heating_while_off;
mod jagged;
mod jumping;
mod lid_open;
mod more_energy;
mod movement;
mod not_answering;
mod not_following;
mod not_heating;
mod observer;
mod patience;
mod pulled_out;
mod recent;
mod reversed;
mod ring;
mod row;
mod seen;
mod sheet;
mod shorted;
mod shorted_lead;
mod stale;
mod stalled;
mod stuck;
#[cfg(test)]
mod tests;
mod too_long;
mod weak_current;
mod zones_apart;

use heapless::Vec;
use pyrometry::units::Millis;

pub use row::{Patience, Row, WithoutHeat};
pub(crate) use seen::Seen;

use crate::decision::BankLevels;
use crate::finding::{Evidence, Finding, Interlock, Severity};
use crate::kiln::Kiln;
use crate::{NOTICES_MOST, PROBES_MOST};
use observer::Observer;
use patience::Withheld;
use seen::View;
use sheet::{LINES, Sheet, line_of};

/// The row of `check-missing`, which the sheet itself judges.
const CHECK_MISSING: Row = Row {
    requirement: "principle 4",
    interlock: Interlock::CheckMissing,
    condition: "an interlock gave no verdict in a step",
    worst: Severity::Trip,
    clears: "every interlock gives its verdict",
    look_at: &["this is a fault of the program: keep the trace and report it"],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence: &Evidence, f| {
        write!(f, "Only {:.0} of {:.0} interlocks gave a verdict.", evidence.seen, evidence.bound)
    },
};

/// The row of an interlock.
pub(crate) const fn row(interlock: Interlock) -> &'static Row {
    match interlock {
        Interlock::BrokenThermocouple => &broken::ROW,
        Interlock::ShortedThermocouple => &shorted::ROW,
        Interlock::AmplifierNotAnswering => &not_answering::ROW,
        Interlock::StaleReading => &stale::ROW,
        Interlock::StuckReading => &stuck::ROW,
        Interlock::JumpingReading => &jumping::ROW,
        Interlock::ReversedThermocouple => &reversed::ROW,
        Interlock::AboveCeiling => &above_ceiling::ROW,
        Interlock::AbovePlan => &above_plan::ROW,
        Interlock::HeatingWhileOff => &heating_while_off::ROW,
        Interlock::NotHeating => &not_heating::ROW,
        Interlock::FiringTooLong => &too_long::ROW,
        Interlock::JaggedReading => &jagged::ROW,
        Interlock::ShortedLead => &shorted_lead::ROW,
        Interlock::ThermocouplePulledOut => &pulled_out::ROW,
        Interlock::EnclosureHot => &enclosure_hot::ROW,
        Interlock::KilnStalled => &stalled::ROW,
        Interlock::LidOpen => &lid_open::ROW,
        Interlock::CurrentWhileOff => &current_while_off::ROW,
        Interlock::WeakCurrent => &weak_current::ROW,
        Interlock::BankNotFelt => &bank_not_felt::ROW,
        Interlock::MoreEnergyThanForecast => &more_energy::ROW,
        Interlock::ContactorNotFollowing => &not_following::ROW,
        Interlock::ZonesApart => &zones_apart::ROW,
        Interlock::CheckMissing => &CHECK_MISSING,
    }
}

/// What the interlocks make of one step.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Judgement {
    /// The latched trip.
    pub(crate) trip: Option<Finding>,
    /// The first row that withholds heat in this step, where heat is permitted.
    pub(crate) withheld: Option<Finding>,
    /// Why light-up is refused: a sensing row's finding where no heat is permitted.
    pub(crate) refuses_light_up: Option<Finding>,
    /// What a person should know.
    pub(crate) notices: Vec<Finding, NOTICES_MOST>,
    /// Whose sample of this step the control may use; `false` for one that faulted or was discarded.
    pub(crate) usable: [bool; PROBES_MOST],
}

/// Every row with its own state.
#[derive(Clone, Debug)]
struct Checks {
    broken: flagged::Flagged,
    shorted: flagged::Flagged,
    not_answering: flagged::Flagged,
    stale: stale::Stale,
    stuck: stuck::Stuck,
    jumping: jumping::Jumping,
    reversed: reversed::Reversed,
    above_ceiling: above_ceiling::AboveCeiling,
    above_plan: above_plan::AbovePlan,
    heating_while_off: heating_while_off::HeatingWhileOff,
    not_heating: not_heating::NotHeating,
    jagged: jagged::Jagged,
    shorted_lead: shorted_lead::ShortedLead,
    pulled_out: pulled_out::PulledOut,
    enclosure_hot: enclosure_hot::EnclosureHot,
    stalled: stalled::Stalled,
    current_while_off: current_while_off::CurrentWhileOff,
    weak_current: weak_current::WeakCurrent,
    bank_not_felt: bank_not_felt::BankNotFelt,
    not_following: not_following::NotFollowing,
    zones_apart: zones_apart::ZonesApart,
}

impl Checks {
    fn new() -> Self {
        Self {
            broken: broken::check(),
            shorted: shorted::check(),
            not_answering: not_answering::check(),
            stale: stale::Stale::new(),
            stuck: stuck::Stuck::new(),
            jumping: jumping::Jumping::new(),
            reversed: reversed::Reversed::new(),
            above_ceiling: above_ceiling::AboveCeiling::new(),
            above_plan: above_plan::AbovePlan::new(),
            heating_while_off: heating_while_off::HeatingWhileOff::new(),
            not_heating: not_heating::NotHeating::new(),
            jagged: jagged::Jagged::new(),
            shorted_lead: shorted_lead::ShortedLead::new(),
            pulled_out: pulled_out::PulledOut::new(),
            enclosure_hot: enclosure_hot::EnclosureHot::new(),
            stalled: stalled::Stalled::new(),
            current_while_off: current_while_off::CurrentWhileOff::new(),
            weak_current: weak_current::WeakCurrent::new(),
            bank_not_felt: bank_not_felt::BankNotFelt::default(),
            not_following: not_following::NotFollowing::new(),
            zones_apart: zones_apart::ZonesApart::default(),
        }
    }

    fn judge(&mut self, view: &View<'_>, sheet: &mut Sheet) {
        sheet.enter(Interlock::BrokenThermocouple, self.broken.judge(view));
        sheet.enter(Interlock::ShortedThermocouple, self.shorted.judge(view));
        sheet.enter(Interlock::AmplifierNotAnswering, self.not_answering.judge(view));
        sheet.enter(Interlock::StaleReading, self.stale.judge(view));
        sheet.enter(Interlock::StuckReading, self.stuck.judge(view));
        sheet.enter(Interlock::ReversedThermocouple, self.reversed.judge(view));
        sheet.enter(Interlock::AboveCeiling, self.above_ceiling.judge(view));
        sheet.enter(Interlock::AbovePlan, self.above_plan.judge(view));
        sheet.enter(Interlock::HeatingWhileOff, self.heating_while_off.judge(view));
        sheet.enter(Interlock::NotHeating, self.not_heating.judge(view));
        sheet.enter(Interlock::FiringTooLong, too_long::judge(view));
        sheet.enter(Interlock::JaggedReading, self.jagged.judge(view));
        sheet.enter(Interlock::ShortedLead, self.shorted_lead.judge(view));
        sheet.enter(Interlock::ThermocouplePulledOut, self.pulled_out.judge(view, &self.jagged));
        sheet.enter(Interlock::EnclosureHot, self.enclosure_hot.judge(view));
        sheet.enter(Interlock::KilnStalled, self.stalled.judge(view));
        sheet.enter(Interlock::LidOpen, lid_open::judge(view));
        sheet.enter(Interlock::CurrentWhileOff, self.current_while_off.judge(view));
        sheet.enter(Interlock::WeakCurrent, self.weak_current.judge(view));
        sheet.enter(Interlock::BankNotFelt, self.bank_not_felt.judge(view));
        sheet.enter(Interlock::MoreEnergyThanForecast, more_energy::judge(view));
        sheet.enter(Interlock::ContactorNotFollowing, self.not_following.judge(view));
        sheet.enter(Interlock::ZonesApart, self.zones_apart.judge(view));
    }
}

/// All interlocks of one controller.
#[derive(Clone, Debug)]
pub(crate) struct Interlocks {
    checks: Checks,
    observer: Observer,
    withheld: [Withheld; LINES],
    latched: Option<Finding>,
    /// How badly each row stands since the latest step; before the first nothing is known, so all
    /// count as tripped.
    standing: [Option<Severity>; LINES],
}

impl Interlocks {
    /// Interlocks that have seen nothing yet; a trip that nobody cleared stays latched.
    pub(crate) fn new(kiln: &Kiln, latched: Option<Finding>) -> Self {
        Self {
            checks: Checks::new(),
            observer: Observer::new(kiln),
            withheld: core::array::from_fn(|_| Withheld::new()),
            latched,
            standing: [Some(Severity::Trip); LINES],
        }
    }

    /// Looks at one step. Call it exactly once a step, in every phase.
    pub(crate) fn judge(&mut self, seen: &Seen<'_>) -> Judgement {
        let (jumping, discarded) = self.checks.jumping.judge(seen);
        let view = View { seen, discarded, observer: &self.observer };
        let mut usable = [false; PROBES_MOST];
        let mut readings_c = [None; PROBES_MOST];
        for (probe, (usable, reading_c)) in seen.probes().zip(usable.iter_mut().zip(&mut readings_c)) {
            *reading_c = view.usable(probe).map(|measured| measured.junction.c());
            *usable = reading_c.is_some();
        }
        self.observer.step(seen, readings_c.into_iter().flatten());

        let mut sheet = Sheet::new();
        sheet.enter(Interlock::JumpingReading, jumping);
        self.checks.judge(&View { seen, discarded, observer: &self.observer }, &mut sheet);
        self.settle(seen, &sheet, usable)
    }

    /// A person's clear-trip: refused while the cause is still there.
    pub(crate) fn clear(&mut self) -> Result<(), ()> {
        let Some(latched) = self.latched else { return Ok(()) };
        let cause = self.standing.get(line_of(latched.interlock)).copied().flatten();
        if cause >= Some(Severity::Withhold) || self.standing.contains(&Some(Severity::Trip)) {
            return Err(());
        }
        self.latched = None;
        self.withheld = core::array::from_fn(|_| Withheld::new());
        Ok(())
    }

    /// Whether a row had anything to say in the latest step.
    pub(crate) fn stands(&self, interlock: Interlock) -> bool {
        self.standing.get(line_of(interlock)).is_some_and(Option::is_some)
    }

    /// Banks whose heat does not reach their zone's thermocouple, as far as that is known.
    pub(crate) fn not_felt(&self) -> BankLevels {
        self.checks.bank_not_felt.banks()
    }

    /// What becomes of a step's findings.
    fn settle(&mut self, seen: &Seen<'_>, sheet: &Sheet, usable: [bool; PROBES_MOST]) -> Judgement {
        let mut judgement = Judgement {
            trip: self.latched,
            withheld: None,
            refuses_light_up: None,
            notices: Vec::new(),
            usable,
        };
        self.standing = [None; LINES];
        for finding in sheet.findings() {
            if let Some(standing) = self.standing.get_mut(line_of(finding.interlock)) {
                *standing = Some(finding.severity);
            }
            self.settle_one(seen, finding, &mut judgement);
        }
        for (withheld, standing) in self.withheld.iter_mut().zip(self.standing) {
            if standing != Some(Severity::Withhold) || !seen.phase.may_heat() {
                withheld.let_go(seen.since_last);
            }
        }
        self.latched = judgement.trip;
        judgement
    }

    fn settle_one(&mut self, seen: &Seen<'_>, finding: Finding, judgement: &mut Judgement) {
        let row = finding.interlock.row();
        match (finding.severity, seen.phase.may_heat(), row.without_heat) {
            (Severity::Notice, _, _) | (Severity::Withhold, false, WithoutHeat::Trips) => {
                note(judgement, finding);
            }
            (Severity::Withhold | Severity::Trip, false, WithoutHeat::RefusesLightUp) => {
                judgement.refuses_light_up = judgement.refuses_light_up.or(Some(finding));
                note(judgement, finding);
            }
            (Severity::Withhold, true, _) => match self.hold(finding, row.patience, seen.since_last) {
                Some(exhausted) => latch(judgement, exhausted),
                None => judgement.withheld = judgement.withheld.or(Some(finding)),
            },
            (Severity::Trip, _, _) => latch(judgement, finding),
        }
    }

    /// Counts a withhold; gives the trip it has become once it lasted too long.
    fn hold(&mut self, finding: Finding, patience: Patience, span: Millis) -> Option<Finding> {
        let chamber_c = self.observer.fresh().map(|sample| sample.chamber_c);
        let withheld = self.withheld.get_mut(line_of(finding.interlock))?;
        withheld.held(span, chamber_c);
        let lasted = withheld.exhausts(patience)?;
        let evidence = Evidence { lasted, ..finding.evidence };
        Some(Finding { severity: Severity::Trip, evidence, ..finding })
    }
}

/// The first trip is the one a person clears; what trips after it is told beside it.
fn latch(judgement: &mut Judgement, finding: Finding) {
    match judgement.trip {
        None => judgement.trip = Some(finding),
        Some(first) if first.interlock == finding.interlock && first.part == finding.part => {}
        Some(_) => note(judgement, finding),
    }
}

/// Tells a finding as a notice, whatever it would be worth where heat is permitted.
fn note(judgement: &mut Judgement, finding: Finding) {
    // There is a line for every interlock, so the list cannot be too short.
    let _ = judgement.notices.push(Finding { severity: Severity::Notice, ..finding });
}

const _: () = assert!(LINES <= NOTICES_MOST, "a notice for every interlock");
