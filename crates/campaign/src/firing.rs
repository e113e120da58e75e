//! One firing: the real controller step, the real warden's judgement, the simulated kiln.

use control::{BANKS_MOST, Contact, Controller, Decision, Order, Phase, Setup, Start};
use hal::{Board, Contactor, Level, Sensed};
use kiln_sim::{Fault, Plant, SimulatedBoard, SimulatedContactor, Timed};
use pyrometry::amplifier::Report;
use pyrometry::units::{Amps, Celsius, Millis};
use warden::{Beat, Permission, Stages, Warden};

use crate::check::{Checks, ContactorIs};
use crate::draw::Case;
use crate::ill::{Ill, Kind, When};
use crate::moment::{Moment, Truth};
use crate::outcome::{Outcome, Watch};

mod outage;

const STEP: Millis = Millis::from_seconds(1);
/// A tripped firing is watched for so long, and somebody tries to clear it half-way.
const AFTER_TRIP_S: u64 = 300;
/// Longer than the hour within which withholds are counted.
const COMES_AND_GOES_FOR_S: u64 = 2 * 3600;
/// Nobody lifts the lid of a hotter kiln. Common practice, no source.
const LID_LIFTED_BELOW_C: f64 = 400.0;
/// Longer than any firing the kiln files drawn here allow.
const LONGEST_S: u64 = 7 * 24 * 3600;

struct Firing<'a> {
    case: &'a Case,
    controller: Controller,
    board: SimulatedBoard,
    contactor: SimulatedContactor,
    warden: Warden,
    beats: u32,
    second: u64,
    /// When the present controller saw its first step.
    began: u64,
    /// When the power went, and until when.
    lost_at: u64,
    lost_until: Option<u64>,
    /// Everything that is to befall the plant, healthy doings included.
    timed: Vec<Timed>,
    onset: Vec<Option<u64>>,
    late_until: u64,
    orders_done: usize,
    phase: Phase,
    tripped_at: Option<u64>,
    cooling_s: u64,
}

/// Fires a case to its end; `tell` sees every step.
pub(crate) fn fire(case: &Case, mut tell: impl FnMut(&Moment<'_>)) -> Outcome {
    let mut firing = Firing::new(case);
    let welded =
        case.ills.iter().any(|ill| matches!(ill.kind, Kind::ContactorWelded | Kind::ContactorWeldedSensed));
    let contactor = if welded { ContactorIs::Welded } else { ContactorIs::Sound };
    // A kiln found hotter than its plan is held at no more than it was found; its probe's error counts.
    let found_c = case.spec.start_c + 5.0;
    let mut checks = Checks::new(case.hottest_c().max(found_c), contactor);
    let mut watch = Watch::new(case);
    loop {
        firing.befall();
        firing.lose_power();
        if firing.come_back() {
            checks.power_was_lost(firing.lost_at);
        }
        if !firing.is_late() && !firing.is_powerless() {
            firing.step(&mut checks, &mut watch, &mut tell);
        }
        let heard = firing.warden.contactor(firing.at());
        let level = if firing.is_powerless() { Level::Off } else { heard };
        firing.contactor.set(level).expect("a simulated coil can be driven");
        firing.board.advance(STEP);
        firing.second += 1;
        if firing.is_over(&watch) {
            return watch.finish(case, checks.into_broken(), firing.second);
        }
    }
}

impl<'a> Firing<'a> {
    fn new(case: &'a Case) -> Self {
        let plant = Plant::new(&case.spec, case.seed).expect("every kiln drawn can be simulated");
        let (board, contactor) = SimulatedBoard::new(plant);
        let firing = control::Firing {
            programme: case.programme.clone(),
            delay: Millis::ZERO,
            forecast: case.forecast,
            learned: case.learned,
        };
        let setup = Setup { kiln: case.kiln.clone(), firing: Some(firing), start: Start::default() };
        let mut warden = Warden::default();
        warden.arm(Millis::ZERO);
        let mut firing = Self {
            case,
            controller: Controller::new(setup),
            board,
            contactor,
            warden,
            beats: 0,
            second: 0,
            began: 0,
            lost_at: 0,
            lost_until: None,
            timed: case.doings.timed.clone(),
            onset: vec![None; case.ills.len()],
            late_until: 0,
            orders_done: 0,
            phase: Phase::SetForLater,
            tripped_at: None,
            cooling_s: 0,
        };
        firing.schedule();
        firing
    }

    fn at(&self) -> Millis {
        Millis::from_seconds(self.second)
    }

    fn schedule(&mut self) {
        self.board.plant_mut().schedule(&self.timed).expect("every fault drawn fits its kiln");
    }

    /// Lets set in what is due.
    fn befall(&mut self) {
        for (number, ill) in self.case.ills.iter().enumerate() {
            if self.onset[number].is_none() && self.is_due(ill) {
                self.onset[number] = Some(self.second);
                self.late_until = self.late_until.max(self.second + ill.late_s);
                self.timed.extend(windows(ill, self.second));
                self.schedule();
            }
        }
        for (at_s, lasting_s) in &self.case.doings.lid_lifted {
            let cool = self.truth().junction_c < LID_LIFTED_BELOW_C;
            if *at_s == self.second && cool {
                let until = Some(Millis::from_seconds(at_s + lasting_s));
                self.timed.push(Timed { onset: self.at(), until, fault: Fault::LidOpened });
                self.schedule();
            }
        }
    }

    fn is_due(&self, ill: &Ill) -> bool {
        let told_s = self.case.told.seconds();
        let past = |share: f64| self.at().seconds() >= share * told_s;
        match ill.when {
            When::FromTheStart => true,
            When::Heating { after_share } => past(after_share) && self.phase.may_heat(),
            When::Whenever { after_share } => past(after_share),
        }
    }

    fn is_late(&self) -> bool {
        self.second < self.late_until || self.case.doings.missed_steps.contains(&self.second)
    }

    fn step(&mut self, checks: &mut Checks, watch: &mut Watch, tell: &mut impl FnMut(&Moment<'_>)) {
        let at = self.at();
        let probes = 0..self.case.spec.probes.len();
        let reports: Vec<Report> = probes.map(|probe| self.board.report(probe)).collect();
        let lid = self.contact(Sensed::Lid);
        let orders = self.orders();
        let decision = self.decide(&reports, lid, &orders);
        let truth = self.truth();
        self.drive(&decision, at);
        self.phase = decision.phase;
        if decision.trip.is_some() {
            self.tripped_at.get_or_insert(self.second);
        }
        let over = decision.segment.is_none() && !decision.phase.may_heat() && decision.trip.is_none();
        self.cooling_s = if over { self.cooling_s + 1 } else { 0 };
        let (kiln, second) = (&self.case.kiln, self.second);
        let moment =
            Moment { second, kiln, reports: &reports, lid, orders: &orders, decision: &decision, truth };
        checks.look(&moment);
        watch.look(&moment, &self.onset);
        tell(&moment);
    }

    fn contact(&mut self, sensed: Sensed) -> Contact {
        match self.board.is_closed(sensed) {
            None => Contact::NotFitted,
            Some(Ok(true)) => Contact::Shut,
            Some(Ok(false)) => Contact::Open,
            Some(Err(_)) => Contact::Unreadable,
        }
    }

    fn decide(&mut self, reports: &[Report], lid: Contact, orders: &[Order]) -> Decision {
        let contactor = self.contact(Sensed::Contactor);
        let amps: [Option<Amps>; BANKS_MOST] =
            core::array::from_fn(|bank| self.board.amps(bank).and_then(Result::ok));
        self.controller.step(&control::Observation {
            at: Millis::from_seconds(self.second - self.began),
            probes: reports,
            lid,
            contactor,
            amps,
            orders,
            forecast: None,
        })
    }

    /// What people ask for now; half-way through the watch after a trip, to clear it.
    fn orders(&mut self) -> Vec<Order> {
        let due = self.case.doings.orders[self.orders_done..].iter();
        let mut orders: Vec<Order> =
            due.take_while(|(at_s, _)| *at_s <= self.second).map(|(_, order)| *order).take(4).collect();
        self.orders_done += orders.len();
        if self.tripped_at.is_some_and(|at_s| self.second == at_s + AFTER_TRIP_S / 2) {
            orders.push(Order::ClearTrip);
        }
        orders
    }

    fn all_off(&mut self) {
        self.board.all_off();
        self.contactor.set(Level::Off).expect("a simulated coil can be driven");
    }

    fn drive(&mut self, decision: &Decision, at: Millis) {
        for (bank, on) in (0..self.case.spec.banks.len()).zip(decision.banks) {
            // A dead pin is part of what is simulated; its bank stays as it is.
            let _driven = self.board.set_bank(bank, if on { Level::On } else { Level::Off });
        }
        self.beats = self.beats.wrapping_add(1);
        let permission = if decision.permission { Permission::Granted } else { Permission::Refused };
        let count = self.beats;
        let stages = Stages { read: count, decided: count, acted: count, recorded: count };
        self.warden.hear(Beat { sequence: count, permission, stages }, at);
    }

    fn truth(&self) -> Truth {
        let plant = self.board.plant();
        let truth = plant.truth();
        let hottest_c = |at: &dyn Fn(usize) -> Option<Celsius>| {
            (0..self.case.spec.zones).filter_map(at).map(Celsius::c).fold(f64::NAN, f64::max)
        };
        let banks = 0..self.case.spec.banks.len();
        Truth {
            junction_c: hottest_c(&|probe| truth.junction(probe)),
            ware_c: hottest_c(&|zone| truth.ware_surface(zone)),
            box_c: truth.enclosure().c(),
            drawn_w: banks.filter_map(|bank| plant.power(bank)).map(pyrometry::units::Watts::w).sum(),
        }
    }

    fn is_over(&self, watch: &Watch) -> bool {
        let told_after_trip = self.tripped_at.is_some_and(|at_s| self.second > at_s + AFTER_TRIP_S);
        let cool = matches!(self.phase, Phase::CoolEnoughToOpen | Phase::Resting);
        cool || told_after_trip
            || self.cooling_s > self.case.cooling_s
            || watch.refused_for_s() > AFTER_TRIP_S
            || self.second > LONGEST_S
    }
}

/// A fault as the plant takes it: for good, or coming and going for two hours.
fn windows(ill: &Ill, from_s: u64) -> Vec<Timed> {
    let Some((on_s, off_s)) = ill.comes_and_goes_s else {
        let onset = Millis::from_seconds(from_s);
        return ill.faults.iter().map(|fault| Timed { onset, until: None, fault: *fault }).collect();
    };
    let period_s = on_s + off_s;
    let starts = (0..COMES_AND_GOES_FOR_S / period_s).map(|number| from_s + number * period_s);
    starts
        .flat_map(|start_s| {
            let (onset, until) = (Millis::from_seconds(start_s), Some(Millis::from_seconds(start_s + on_s)));
            ill.faults.iter().map(move |fault| Timed { onset, until, fault: *fault })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Wanted;

    fn outcome(seed: u64, wanted: Wanted) -> crate::outcome::Outcome {
        fire(&Case::draw(seed, wanted), |_| {})
    }

    #[test]
    fn the_same_seed_gives_the_same_firing() {
        let [one, other] = [outcome(5, Wanted::Any), outcome(5, Wanted::Any)];
        assert_eq!(format!("{one:?}"), format!("{other:?}"));
    }

    #[test]
    fn a_broken_wire_is_found_at_its_third_sample_and_a_healthy_firing_finds_nothing() {
        let mut open = (1..20).map(|seed| outcome(seed, Wanted::Only(Kind::Open)));
        let open = open.find(|open| open.had_chance).expect("one with the chance to find it");
        assert_eq!(open.detection.map(|found| found.latency_s), Some(2), "{open:?}");
        let healthy = outcome(3, Wanted::Healthy);
        assert_eq!((healthy.false_trip, healthy.detection), (None, None), "{healthy:?}");
    }

    /// Whether it heats again after the power was away for so long, in the first seed with a chance to.
    fn heats_again_after(gap_s: u64) -> bool {
        let mut case = (1..200)
            .map(|seed| Case::draw(seed, Wanted::Healthy))
            .find(|case| case.doings.orders.is_empty() && case.told > Millis::from_hours(5))
            .expect("a long firing");
        case.doings.power_lost = Some((3600, gap_s));
        let mut heats = false;
        let mut none_within = true;
        let came_of_it = fire(&case, |moment| {
            none_within &= !(3600..3600 + gap_s).contains(&moment.second);
            heats |= moment.second >= 3600 + gap_s && moment.decision.phase.may_heat();
        });
        assert!(none_within && came_of_it.false_trip.is_none(), "{came_of_it:?}");
        heats
    }

    #[test]
    fn sr_40_a_firing_whose_power_goes_is_carried_on_after_a_minute_and_not_after_twenty() {
        assert!(heats_again_after(60));
        assert!(!heats_again_after(1200));
    }

    /// Its weld sets in while the power is away, and the firing is over without heat.
    #[test]
    fn a_contactor_that_never_closed_again_is_not_counted_as_missed() {
        let welds = outcome(61_002_542, Wanted::Any);
        assert!(welds.kinds.contains(&Kind::ContactorWeldedSensed) && !welds.missed, "{welds:?}");
    }

    #[test]
    fn a_wire_exchanged_at_both_ends_is_not_counted_as_missed() {
        let swapped = outcome(2, Wanted::Only(Kind::SwappedAtBothEnds));
        assert!(!swapped.missed && swapped.broken.is_empty(), "{swapped:?}");
    }
}
