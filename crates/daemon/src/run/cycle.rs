//! One step of the control thread, from reading to beat.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError};

use control::{
    BANKS_MOST, Contact, Controller, Decision, Finding, Kiln, ORDERS_MOST, Observation, Order, Outcome,
    PROBES_MOST, Phase, Setup, Start,
};
use hal::Level;
use heapless::Vec;
use pyrometry::amplifier::Report;
use pyrometry::constant;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Amps, Millis};
use tokio::sync::watch;
use trace::Seen;
use warden::{Beat, Permission, Stages};

use super::ask::{Answer, Ask, Lighting, Lit};
use super::course::Course;
use super::firing::FiringSheet;
use super::guard::Guard;
use super::off::{SharedBoard, TimedBoard};
use super::snapshot::{LightUp, Snapshot};
use crate::clock::KilnClock;
use crate::rate::RateMeter;
use crate::store::{Health, Latched, Record, Recorded, Trouble};

/// What a cycle is made of.
#[derive(Debug)]
pub struct Parts<G> {
    /// The kiln.
    pub kiln: Kiln,
    /// Its board.
    pub board: SharedBoard,
    /// Whoever holds the contactor.
    pub guard: G,
    /// What the latch on disk said at the start.
    pub latched: Latched,
    /// What people ask.
    pub asks: Receiver<Ask>,
    /// The keeper's end.
    pub records: SyncSender<Record>,
    /// Whether the keeper keeps up.
    pub health: Health,
    /// The time of day at the kiln.
    pub clock: KilnClock,
}

/// Everything the control thread owns.
#[derive(Debug)]
pub struct Cycle<G> {
    parts: Parts<G>,
    controller: Controller,
    /// When the present controller saw its first step.
    began: Option<Millis>,
    last_at: Millis,
    firing: Option<Arc<FiringSheet>>,
    /// Whether the present firing's record is open.
    recording: bool,
    course: Course,
    rate: RateMeter,
    heat_work: HeatWork,
    latch: LatchWord,
    phase: Phase,
    segment: Option<u8>,
    stages: Stages,
    sequence: u32,
    snapshots: watch::Sender<Option<Arc<Snapshot>>>,
}

/// What the latch on disk says as far as it was handed over, and why it may be unreadable.
#[derive(Debug)]
struct LatchWord {
    /// The latch as the keeper has it.
    handed_over: Latched,
    /// Why it cannot be read, until a person has cleared it.
    unreadable: Option<Arc<str>>,
}

/// What was asked, with the ways for the answers.
#[derive(Default)]
struct Asked {
    orders: Vec<Order, ORDERS_MOST>,
    answers: Vec<Answer<Outcome>, ORDERS_MOST>,
    lit: Option<(Lit, Answer<Lit>)>,
}

/// What one step read.
struct Readings {
    reports: Vec<Report, PROBES_MOST>,
    lid: Contact,
    amps: Option<[Amps; BANKS_MOST]>,
}

impl<G: Guard> Cycle<G> {
    /// A kiln at rest, off, whatever was before (SR-40). Gives where its snapshots appear.
    pub fn new(parts: Parts<G>) -> (Self, watch::Receiver<Option<Arc<Snapshot>>>) {
        let (snapshots, seen) = watch::channel(None);
        let latch = LatchWord::of(&parts.latched);
        let controller = at_rest(&parts.kiln, latch.trip());
        let cycle = Self {
            parts,
            controller,
            began: None,
            last_at: Millis::ZERO,
            firing: None,
            recording: false,
            course: Course::default(),
            rate: RateMeter::default(),
            heat_work: HeatWork::NONE,
            latch,
            phase: Phase::Resting,
            segment: None,
            stages: Stages::default(),
            sequence: 0,
            snapshots,
        };
        (cycle, seen)
    }

    /// One step. `at` counts from the program's start.
    pub fn step(&mut self, at: Millis) {
        self.parts.clock.tick(at);
        let asked = self.asked(at);
        let span = at.since(self.last_at);
        self.last_at = at;
        let readings = self.read(span);
        let decision = self.decide(at, &readings, &asked.orders);
        self.drive(&decision);
        self.note_latch(&decision);
        self.hand_over(&readings, &asked.orders, &decision);
        let contactor = self.beat(at, &decision);
        let outcomes = decision.outcomes.clone();
        self.follow(span, &asked.orders, decision, readings, contactor);
        // Last, so that whoever is answered already sees what came of it.
        asked.answer(&outcomes);
    }

    /// Takes what was asked since the last step; lights what is to be lit.
    fn asked(&mut self, at: Millis) -> Asked {
        let mut asked = Asked::default();
        while !asked.orders.is_full() && asked.lit.is_none() {
            match self.parts.asks.try_recv() {
                Ok(Ask::Order(Order::ClearTrip, answer)) if self.latch.unreadable.is_some() => {
                    tracing::warn!("a person cleared the latch that could not be read");
                    // The next `note_latch` writes it anew.
                    self.latch.unreadable = None;
                    let _gone = answer.send(Outcome::Taken);
                }
                Ok(Ask::Order(order, answer)) => {
                    let _fits = asked.orders.push(order);
                    let _fits = asked.answers.push(answer);
                }
                Ok(Ask::LightUp(lighting, answer)) => {
                    asked.lit = Some((self.light(*lighting, at), answer));
                }
                Err(_) => break,
            }
        }
        asked
    }

    /// A fresh controller for a firing.
    fn light(&mut self, lighting: Lighting, at: Millis) -> Lit {
        if let LightUp::Refused(why) = self.light_up() {
            return Err(why);
        }
        let Lighting { sheet, setup, trace } = lighting;
        let kiln = Box::new(setup.kiln.clone());
        let begin = Record::Begin { firing: sheet.id, trace: Box::new(trace), kiln };
        if self.parts.records.try_send(begin).is_err() {
            return Err("The disk is too slow to begin a record of this firing.");
        }
        self.controller = Controller::new(setup);
        self.began = Some(at);
        self.firing = Some(Arc::new(sheet));
        self.recording = true;
        self.course = Course::default();
        self.heat_work = HeatWork::NONE;
        self.parts.guard.arm(at);
        Ok(())
    }

    fn light_up(&self) -> LightUp {
        if self.latch.unreadable.is_some() {
            return LightUp::Refused(
                "Whether a trip waits to be cleared cannot be read from the disk. Look the kiln over, then clear the trip.",
            );
        }
        if let Some(trouble) = self.parts.health.trouble() {
            return LightUp::Refused(trouble.words());
        }
        match self.phase {
            Phase::Resting | Phase::CoolEnoughToOpen => LightUp::Possible,
            Phase::Cooling if self.segment.is_none() => LightUp::Possible,
            Phase::Tripped => LightUp::Refused("A trip waits to be cleared."),
            Phase::SetForLater
            | Phase::Climbing
            | Phase::Soaking
            | Phase::SlowCooling
            | Phase::Staying
            | Phase::Cooling => LightUp::Refused("A firing is under way."),
        }
    }

    fn read(&mut self, span: Millis) -> Readings {
        let mut board = self.parts.board.hold();
        board.pass(span);
        let readings = Readings::take(&mut **board, &self.parts.kiln);
        self.stages.read = self.stages.read.wrapping_add(1);
        readings
    }

    fn decide(&mut self, at: Millis, readings: &Readings, orders: &[Order]) -> Decision {
        let began = *self.began.get_or_insert(at);
        let decision = self.controller.step(&Observation {
            at: at.since(began),
            probes: &readings.reports,
            lid: readings.lid,
            amps: readings.amps,
            orders,
            forecast: None,
        });
        self.stages.decided = self.stages.decided.wrapping_add(1);
        decision
    }

    /// Drives the banks. A pin that fails takes all heat, and the proof of this stage from the beat,
    /// so that the warden opens and stays open.
    fn drive(&mut self, decision: &Decision) {
        let mut board = self.parts.board.hold();
        for (bank, on) in (0..self.parts.kiln.banks.len()).zip(decision.banks) {
            let level = if on { Level::On } else { Level::Off };
            if board.set_bank(bank, level).is_err() {
                tracing::error!("the relay of bank {} cannot be driven", bank + 1);
                board.all_off();
                return;
            }
        }
        self.stages.acted = self.stages.acted.wrapping_add(1);
    }

    /// A latch that changed goes to the disk; one the keeper had no room for, with the next step.
    fn note_latch(&mut self, decision: &Decision) {
        if self.latch.is_as(decision.trip) {
            return;
        }
        if self.parts.records.try_send(Record::Latch(decision.trip)).is_ok() {
            self.latch.handed_over = decision.trip.map_or(Latched::Clear, Latched::Trip);
        } else {
            self.parts.health.report(Trouble::Latch);
        }
    }

    fn hand_over(&mut self, readings: &Readings, orders: &[Order], decision: &Decision) {
        let seen = Seen {
            at: decision.at,
            probes: readings.reports.clone(),
            lid: readings.lid,
            amps: readings.amps,
            orders: orders.iter().copied().collect(),
            forecast: None,
        };
        let record = Record::Step(Box::new(Recorded { seen, decision: decision.clone() }));
        match self.parts.records.try_send(record) {
            Ok(()) => {}
            Err(TrySendError::Full(_)) if self.recording => self.parts.health.line_lost(),
            Err(TrySendError::Full(_)) => self.parts.health.report(Trouble::Behind),
            Err(TrySendError::Disconnected(_)) => self.parts.health.report(Trouble::Trace),
        }
        // Handed over or told that it could not be: storage never stops a firing (SR-44).
        self.stages.recorded = self.stages.recorded.wrapping_add(1);
        let over = matches!(decision.phase, Phase::CoolEnoughToOpen | Phase::Resting);
        if self.recording && over && self.parts.records.try_send(Record::End).is_ok() {
            self.recording = false;
        }
    }

    fn beat(&mut self, at: Millis, decision: &Decision) -> Level {
        let permission = if decision.permission { Permission::Granted } else { Permission::Refused };
        self.sequence = self.sequence.wrapping_add(1);
        self.parts.guard.hear(Beat { sequence: self.sequence, permission, stages: self.stages }, at)
    }

    /// Follows the firing and shows the kiln to the rest of the daemon.
    fn follow(
        &mut self,
        span: Millis,
        orders: &[Order],
        decision: Decision,
        readings: Readings,
        contactor: Level,
    ) {
        let programme = self.firing.as_ref().map(|firing| &firing.schedule.programme);
        self.course.take(programme, self.parts.kiln.stay_longest, orders, &decision);
        self.rate.take(decision.at, decision.chamber);
        match decision.chamber {
            Some(chamber) => self.heat_work.add(chamber, span),
            None => self.heat_work.break_off(),
        }
        self.phase = decision.phase;
        self.segment = decision.segment;
        if decision.phase == Phase::Resting && !self.recording {
            self.firing = None;
        }
        self.snapshots.send_replace(Some(Arc::new(Snapshot {
            reports: readings.reports,
            contactor,
            rate: self.rate.c_per_h(),
            firing: self.firing.clone(),
            course: self.course,
            heat_work: self.heat_work,
            light_up: self.light_up(),
            latch_unreadable: self.latch.unreadable.clone(),
            trouble: self.parts.health.trouble(),
            decision,
        })));
    }
}

impl<G> Drop for Cycle<G> {
    fn drop(&mut self) {
        self.parts.board.hold().all_off();
    }
}

impl Readings {
    fn take(board: &mut dyn TimedBoard, kiln: &Kiln) -> Self {
        let lid = match board.lid_closed() {
            None => Contact::NotFitted,
            Some(Ok(true)) => Contact::Shut,
            Some(Ok(false)) => Contact::Open,
            Some(Err(_)) => Contact::Unreadable,
        };
        let mut amps = [constant!(Amps, 0.0); BANKS_MOST];
        let mut sensed = false;
        for (bank, place) in (0..kiln.banks.len()).zip(&mut amps) {
            if let Some(Ok(now)) = board.amps(bank) {
                (*place, sensed) = (now, true);
            }
        }
        Self {
            reports: (0..kiln.probes.len()).map(|probe| board.report(probe)).collect(),
            lid,
            amps: sensed.then_some(amps),
        }
    }
}

impl LatchWord {
    fn of(latched: &Latched) -> Self {
        let unreadable = match latched {
            Latched::Clear | Latched::Trip(_) => None,
            Latched::Unreadable(why) => Some(Arc::from(why.as_str())),
        };
        Self { handed_over: latched.clone(), unreadable }
    }

    fn trip(&self) -> Option<Finding> {
        match self.handed_over {
            Latched::Trip(finding) => Some(finding),
            Latched::Clear | Latched::Unreadable(_) => None,
        }
    }

    /// Whether nothing has to be written. An unreadable latch is only overwritten by a trip, until
    /// a person has cleared it.
    fn is_as(&self, trip: Option<Finding>) -> bool {
        match (&self.handed_over, trip) {
            (Latched::Trip(before), Some(now)) => {
                before.interlock == now.interlock && before.probe == now.probe
            }
            (Latched::Clear, None) => true,
            (Latched::Unreadable(_), None) => self.unreadable.is_some(),
            (Latched::Trip(_), None) | (Latched::Clear | Latched::Unreadable(_), Some(_)) => false,
        }
    }
}

fn at_rest(kiln: &Kiln, latched: Option<Finding>) -> Controller {
    Controller::new(Setup { kiln: kiln.clone(), firing: None, start: Start { latched } })
}

impl Asked {
    /// Whoever asked may be gone; what was done is in the record all the same.
    fn answer(self, outcomes: &[Outcome]) {
        for (answer, outcome) in self.answers.into_iter().zip(outcomes) {
            let _gone = answer.send(*outcome);
        }
        if let Some((lit, answer)) = self.lit {
            let _gone = answer.send(lit);
        }
    }
}
