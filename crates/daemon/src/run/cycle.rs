//! One step of the control thread, from reading to beat.

mod asked;
mod heartbeat;
mod latch_word;
mod lighting;
mod readings;
mod signals;
mod step;
mod trust;

use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError};
use std::time::Duration;

use control::{Controller, Decision, Expected, Finding, Kiln, Observation, Order, Phase, Setup, Start};
use hal::Level;
use pyrometry::units::Millis;
use tokio::sync::watch;
use trace::Seen;
use warden::{Beat, LimitNow, Permission, Stages};

use super::anew::Anew;
use super::ask::Ask;
use super::course::Course;
use super::firing::FiringSheet;
use super::guard::{Guard, Standing};
use super::kept_pins::KeptPins;
use super::off::SharedBoard;
use super::presence::Watch;
use super::shut_off::{Obeyed, ShutOff};
use super::snapshot::{NotLit, Snapshot};
use crate::clock::KilnClock;
use crate::files::kiln::SignalParts;
use crate::rate::RateMeter;
use crate::store::{Health, Latched, Record, Recorded, Trouble};
use heartbeat::Heartbeat;
use latch_word::LatchWord;
use readings::Readings;
pub(crate) use readings::contact;
use signals::Signals;
pub use signals::Silenced;
pub use step::Step;
use trust::Trust;

/// What a cycle is made of.
#[derive(Debug)]
pub struct Parts<G> {
    /// The kiln.
    pub kiln: Kiln,
    /// Its board.
    pub board: SharedBoard,
    /// Whoever holds the contactor.
    pub guard: G,
    /// What the start found energised.
    pub kept: KeptPins,
    /// What the latch on disk said at the start.
    pub latched: Latched,
    /// What people ask.
    pub asks: Receiver<Ask>,
    /// The shut-off's own way.
    pub shut_off: ShutOff,
    /// The keeper's end.
    pub records: SyncSender<Record>,
    /// Whether the keeper keeps up.
    pub health: Health,
    /// The time of day at the kiln.
    pub clock: KilnClock,
    /// How long a press of the button at the kiln counts; `None` where none is asked.
    pub press_counts: Option<Millis>,
    /// The outputs that heat nothing.
    pub signals: SignalParts,
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
    /// Steps of it for which the keeper had no room since the last one it took.
    lost: u64,
    course: Course,
    anew: Anew,
    rate: RateMeter,
    latch: LatchWord,
    shut_off: Obeyed,
    /// What would refuse a light-up, as the last step saw it.
    sensor: Option<Finding>,
    /// How long some sensor could not have.
    sensor_for: Millis,
    /// Whether a trip stood since the start, or a latch that may have been one.
    had_trip: bool,
    not_lit: Option<Arc<NotLit>>,
    presence: Watch,
    /// How the warden stood at the last beat.
    warden: Standing,
    /// How its limit probe found the kiln then.
    limit: Option<LimitNow>,
    /// Whether it has followed the beats since it was armed.
    trust: Trust,
    /// Whether the controller has yet to be told that the warden is lost.
    owes_shut_off: bool,
    /// What the keeper must hear before any further step.
    owes_not_lit: Option<Finding>,
    late_worst: Duration,
    phase: Phase,
    segment: Option<u8>,
    stages: Stages,
    /// What the loop had done by the end of the step before.
    stages_before: Stages,
    heartbeat: Heartbeat,
    signals: Signals,
    sequence: u32,
    snapshots: watch::Sender<Option<Arc<Snapshot>>>,
}

impl<G: Guard> Cycle<G> {
    /// A kiln at rest, off, whatever was before (SR-40). Gives where its snapshots appear.
    pub fn new(parts: Parts<G>) -> (Self, watch::Receiver<Option<Arc<Snapshot>>>) {
        let (snapshots, seen) = watch::channel(None);
        let latch = LatchWord::of(&parts.latched);
        let had_trip = parts.latched != Latched::Clear;
        let controller = at_rest(&parts.kiln, latch.trip());
        let presence = Watch::new(parts.press_counts);
        let signals = Signals::new(parts.signals);
        let cycle = Self {
            presence,
            parts,
            controller,
            began: None,
            last_at: Millis::ZERO,
            firing: None,
            recording: false,
            lost: 0,
            course: Course::default(),
            anew: Anew::default(),
            rate: RateMeter::default(),
            latch,
            shut_off: Obeyed::default(),
            sensor: None,
            sensor_for: Millis::ZERO,
            had_trip,
            not_lit: None,
            warden: Standing::Trusts,
            limit: None,
            trust: Trust::default(),
            owes_shut_off: false,
            owes_not_lit: None,
            late_worst: Duration::ZERO,
            phase: Phase::Resting,
            segment: None,
            stages: Stages::default(),
            stages_before: Stages::default(),
            heartbeat: Heartbeat::default(),
            signals,
            sequence: 0,
            snapshots,
        };
        (cycle, seen)
    }

    /// How late the latest step so far was done (SR-36).
    pub fn note_lateness(&mut self, worst: Duration) {
        self.late_worst = worst;
    }

    /// Asks every probe once more, for the readings of the step that comes.
    pub fn sample(&mut self) {
        self.parts.board.hold().sample();
    }

    /// One step. `at` counts from the program's start.
    pub fn step(&mut self, at: Millis) -> Step {
        self.parts.clock.tick(at);
        self.look_before_it_is_due(at);
        let asked = self.asked(at);
        let span = at.since(self.last_at);
        self.last_at = at;
        let readings = self.read(span);
        let forecast = self.anew.take();
        let decision = self.decide(at, &readings, &asked.orders, forecast);
        self.drive(&decision);
        self.note_latch(&decision);
        self.hand_over(&readings, &asked.orders, forecast, &decision);
        if let Some(firing) = &self.firing {
            self.anew.ask(&self.parts.kiln, &firing.schedule.programme, &asked.orders, &decision);
        }
        let contactor = self.beat(at, &decision);
        let step = self.stages_done();
        self.beat_outside(&decision, step);
        self.signal(at, &decision);
        let outcomes = decision.outcomes.clone();
        if let Some(presses) = asked.pressed {
            self.shut_off = Obeyed { presses, outcome: outcomes.first().copied() };
        }
        self.follow(span, &asked.orders, decision, readings, contactor);
        // Last, so that whoever is answered already sees what came of it.
        asked.answer(&outcomes);
        step
    }

    fn read(&mut self, span: Millis) -> Readings {
        let mut board = self.parts.board.hold();
        board.pass(span);
        let readings = Readings::take(&mut **board, &self.parts.kiln);
        self.presence.see(readings.button, self.last_at);
        let contactor = self.trust.contactor(readings.contactor, self.warden);
        let readings = Readings { contactor, ..readings };
        self.stages.read = self.stages.read.wrapping_add(1);
        readings
    }

    fn decide(
        &mut self,
        at: Millis,
        readings: &Readings,
        orders: &[Order],
        forecast: Option<Expected>,
    ) -> Decision {
        let began = *self.began.get_or_insert(at);
        let decision = self.controller.step(&Observation {
            at: at.since(began),
            probes: &readings.reports,
            lid: readings.lid,
            contactor: readings.contactor,
            amps: readings.amps,
            orders,
            forecast,
        });
        self.stages.decided = self.stages.decided.wrapping_add(1);
        decision
    }

    /// Drives the banks. A pin that fails takes all heat, and the proof of this stage from the beat,
    /// so that the warden opens and stays open. Without a warden there is no heat (SR-31).
    fn drive(&mut self, decision: &Decision) {
        let mut board = self.parts.board.hold();
        if self.warden_is_lost() {
            board.all_off();
            self.stages.acted = self.stages.acted.wrapping_add(1);
            return;
        }
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

    fn hand_over(
        &mut self,
        readings: &Readings,
        orders: &[Order],
        forecast: Option<Expected>,
        decision: &Decision,
    ) {
        let seen = Seen {
            at: decision.at,
            probes: readings.reports.clone(),
            lid: readings.lid,
            contactor: readings.contactor,
            amps: readings.amps,
            orders: orders.iter().copied().collect(),
            forecast,
        };
        let (wall, lost) = (self.parts.clock.wall(), self.lost);
        let record = Record::Step(Box::new(Recorded { seen, decision: decision.clone(), lost, wall }));
        match self.tell_not_lit().and_then(|()| self.parts.records.try_send(record)) {
            Ok(()) => self.lost = 0,
            Err(TrySendError::Full(_)) if self.recording => {
                self.lost += 1;
                self.parts.health.line_lost();
            }
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

    /// Before any step of the rest that follows: the firing's record must not get it.
    fn tell_not_lit(&mut self) -> Result<(), TrySendError<Record>> {
        if let Some(finding) = self.owes_not_lit {
            self.parts.records.try_send(Record::NotLit(finding))?;
            self.owes_not_lit = None;
        }
        Ok(())
    }

    fn beat(&mut self, at: Millis, decision: &Decision) -> Level {
        let permission = if decision.permission { Permission::Granted } else { Permission::Refused };
        self.sequence = self.sequence.wrapping_add(1);
        let beat = Beat { sequence: self.sequence, permission, stages: self.stages };
        let contactor = self.parts.guard.hear(beat, at);
        let had_one = !self.warden_is_lost();
        self.warden = self.parts.guard.standing();
        self.limit = self.parts.guard.limit();
        self.trust.follow(beat.permission, self.warden);
        if self.warden_is_lost() {
            // The heat now; the controller, and with it the trace, with the next step.
            self.owes_shut_off |= had_one;
            self.parts.board.hold().all_off();
        }
        contactor
    }

    /// Lost once is lost until the program is started anew.
    fn warden_is_lost(&self) -> bool {
        matches!(self.warden, Standing::Lost(_))
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
        if self.warden_is_lost() {
            self.course.forget_undo();
        }
        self.rate.take(decision.at, decision.chamber);
        self.phase = decision.phase;
        self.segment = decision.segment;
        self.sensor = decision.refuses_light_up;
        self.sensor_for = if self.sensor.is_some() { self.sensor_for + span } else { Millis::ZERO };
        if decision.phase == Phase::Resting && !self.recording {
            self.firing = None;
        }
        self.had_trip |= decision.trip.is_some();
        self.snapshots.send_replace(Some(Arc::new(Snapshot {
            reports: readings.reports,
            contactor,
            rate: self.rate.c_per_h(),
            firing: self.firing.clone(),
            course: self.course,
            heat_work: *self.controller.heat_work(),
            light_up: self.light_up(),
            sensor_for: self.sensor_for,
            had_trip: self.had_trip,
            presence: self.presence.now(self.last_at),
            not_lit: self.not_lit.clone(),
            warden: self.warden,
            limit: self.limit,
            kept: self.parts.kept.clone(),
            shut_off: self.shut_off,
            signals: self.signals.now,
            late_worst: self.late_worst,
            latch_unreadable: self.latch.unreadable.clone(),
            trouble: self.parts.health.trouble(),
            decision,
        })));
    }
}

impl<G> Drop for Cycle<G> {
    fn drop(&mut self) {
        self.parts.board.hold().all_off();
        self.quieten();
    }
}

fn at_rest(kiln: &Kiln, latched: Option<Finding>) -> Controller {
    Controller::new(Setup { kiln: kiln.clone(), firing: None, start: Start { latched, ..Start::default() } })
}
