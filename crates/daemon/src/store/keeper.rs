//! The keeper: the thread that writes trace, logbook and latch, so that the control thread never
//! waits for a disk (SR-36, SR-44).

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::sync::{Arc, PoisonError, RwLock};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use control::{Decision, Finding, Setup};
use pyrometry::units::Millis;
use trace::{Curve, Seen, TraceFile};

use super::health::{Health, Trouble};
use super::latch::Latch;
use super::logbook::Logbook;
use super::{Event, EventKind, Outcome, StoreError};
use crate::chronicle::Chronicle;
use crate::clock::{KilnClock, Wall};
use crate::learning::Lessons;
use crate::run::Unlit;

/// Records the keeper may be behind: at one step a second, 17 minutes of a disk that hangs.
const QUEUE: usize = 1024;
/// How often the trace is forced to the disk: what a power cut may cost (DESIGN: every ten seconds).
const SYNC_EVERY: Duration = Duration::from_secs(10);

/// What the control thread hands over.
#[derive(Debug)]
pub enum Record {
    /// A firing was lit; its steps follow.
    Begin {
        /// Its number.
        firing: i64,
        /// Its trace, with the head already written.
        trace: Box<TraceFile>,
        /// What its controller is made from.
        setup: Box<Setup>,
    },
    /// One step, of a firing or at rest.
    Step(Box<Recorded>),
    /// The latch changed.
    Latch(Option<Finding>),
    /// The firing fell due and was not lit: a sensor could not have guided it.
    NotLit(Finding),
    /// The firing is over and the kiln cool enough to open, or another is about to begin.
    End,
}

/// One step.
#[derive(Debug)]
pub struct Recorded {
    /// What the controller saw.
    pub seen: Seen,
    /// What it decided.
    pub decision: Decision,
    /// Steps of the same firing just before it for which there was no room.
    pub lost: u64,
    /// The computer's clock then.
    pub wall: Wall,
}

/// The curve of the firing under way, shared with the page.
pub type LiveCurve = Arc<RwLock<Option<(i64, Curve)>>>;

/// The control thread's and the page's ends of the keeper.
#[derive(Debug)]
pub struct Keeper {
    /// Where the control thread hands over. It must only ever `try_send`.
    pub records: SyncSender<Record>,
    /// The curve of the firing under way.
    pub curve: LiveCurve,
    /// What firings have taught, this start's among them.
    pub lessons: Lessons,
    /// The thread; it ends when every sender is gone.
    pub thread: JoinHandle<()>,
}

struct Firing {
    id: i64,
    trace: TraceFile,
    /// Why it did not reach the disk when it was last to.
    unsynced: Option<String>,
}

struct Work {
    logbook: Logbook,
    latch: Latch,
    health: Health,
    clock: KilnClock,
    curve: LiveCurve,
    firing: Option<Firing>,
    chronicle: Chronicle,
    lessons: Lessons,
    /// Where traces are kept.
    traces: PathBuf,
    lines_lost: u64,
    /// When the step before was, by the controller and by the computer's clock.
    before: Option<(Millis, Wall)>,
    /// Steps missing from the firing's trace that were not told yet, and before what time.
    missing: Option<(u64, f64)>,
    /// What the latch is to say, and whether it could not be written yet.
    latch_wanted: Option<Finding>,
    latch_is_owed: bool,
}

impl Keeper {
    /// Starts the thread.
    pub fn start(
        logbook: Logbook,
        mut latch: Latch,
        traces: PathBuf,
        health: Health,
        clock: KilnClock,
        lessons: Lessons,
    ) -> std::io::Result<Self> {
        let (records, receiver) = sync_channel(QUEUE);
        let curve = LiveCurve::default();
        latch.prepare();
        let mut work = Work {
            logbook,
            latch,
            health,
            clock,
            curve: Arc::clone(&curve),
            firing: None,
            chronicle: Chronicle::default(),
            lessons: lessons.clone(),
            traces,
            lines_lost: 0,
            before: None,
            missing: None,
            latch_wanted: None,
            latch_is_owed: false,
        };
        let thread = thread::Builder::new().name("keeper".to_owned()).spawn(move || work.run(&receiver))?;
        Ok(Self { records, curve, lessons, thread })
    }
}

impl Work {
    fn run(&mut self, records: &Receiver<Record>) {
        let mut synced = Instant::now();
        loop {
            let wait = SYNC_EVERY.saturating_sub(synced.elapsed());
            match records.recv_timeout(wait) {
                Ok(record) => self.keep(record),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            if synced.elapsed() >= SYNC_EVERY {
                self.sync();
                synced = Instant::now();
            }
        }
        self.end();
    }

    fn keep(&mut self, record: Record) {
        match record {
            Record::Begin { firing, trace, setup } => {
                self.end();
                self.chronicle = Chronicle::of(&setup.start);
                self.show(Some((firing, Curve::new(&setup.kiln))));
                self.firing = Some(Firing { id: firing, trace: *trace, unsynced: None });
            }
            Record::Step(step) => self.step(&step),
            Record::Latch(trip) => self.write_latch(trip),
            Record::NotLit(finding) => self.not_lit(finding),
            Record::End => self.end(),
        }
    }

    fn write_latch(&mut self, trip: Option<Finding>) {
        let written = self.latch.write(trip).map_err(|why| why.to_string());
        self.latch_wanted = trip;
        self.latch_is_owed = written.is_err();
        self.outcome(Trouble::Latch, written);
    }

    fn step(&mut self, step: &Recorded) {
        if let Some(firing) = &mut self.firing {
            firing.trace.lose(step.lost);
            firing.trace.date(step.wall.dated_ms());
            let unsynced = firing.unsynced.clone().map_or(Ok(()), Err);
            let lost = firing.trace.lost();
            let written = firing.trace.step(&step.seen.observation(), &step.decision);
            if written.is_ok() {
                self.miss(lost, step.decision.at.seconds());
            }
            self.outcome(Trouble::Trace, written.map_err(|why| why.to_string()).and(unsynced));
            let mut curve = self.curve.write().unwrap_or_else(PoisonError::into_inner);
            if let Some((_, curve)) = curve.as_mut() {
                curve.push(&step.decision);
            }
        }
        self.tell_step_of_the_clock(step);
        let before = self.chronicle.outcome();
        let happened = self.chronicle.take(&step.seen, &step.decision);
        for happened in happened {
            let event = Event {
                firing: self.firing.as_ref().map(|firing| firing.id),
                time: self.clock.now_written(),
                at_s: self.firing.is_some().then(|| step.decision.at.seconds()),
                kind: happened.kind,
                name: happened.name,
                words: happened.words,
            };
            let _told_by_health = self.note(&event);
        }
        if let Some(firing) = &self.firing
            && self.chronicle.outcome() != before
        {
            let decided = self.logbook.decide(firing.id, self.chronicle.outcome());
            self.outcome(Trouble::Logbook, decided.map_err(|why| why.to_string()));
        }
    }

    /// Somebody set the computer's clock: nothing in the firing follows it (SR-35), but times in the
    /// record do.
    fn tell_step_of_the_clock(&mut self, step: &Recorded) {
        let (at, wall) = (step.decision.at, step.wall);
        let before = self.before.replace((at, wall)).filter(|(then, _)| *then < at);
        let stepped = before.and_then(|(then, was)| self.clock.stepped(was, wall, at.since(then)));
        let Some(stepped) = stepped else { return };
        let way = if stepped.is_negative() { "back" } else { "forward" };
        let _told_by_health = self.note(&Event {
            firing: self.firing.as_ref().map(|firing| firing.id),
            time: self.clock.now_written(),
            at_s: self.firing.is_some().then(|| at.seconds()),
            kind: EventKind::Record,
            name: "clock-stepped".to_owned(),
            words: format!(
                "The computer's clock was set {way} by {} s. The firing keeps its own time and is as it was.",
                stepped.abs().as_secs()
            ),
        });
    }

    fn not_lit(&mut self, finding: Finding) {
        let Some(Firing { id, .. }) = self.firing else { return };
        let _told_by_health = self.note(&Event {
            firing: Some(id),
            time: self.clock.now_written(),
            at_s: None,
            kind: EventKind::Notice,
            name: Outcome::NotLit.name().to_owned(),
            words: format!("It fell due and was not lit. {}", Unlit::Sensor(finding)),
        });
        let decided = self.logbook.decide(id, Outcome::NotLit);
        self.outcome(Trouble::Logbook, decided.map_err(|why| why.to_string()));
        self.end();
    }

    fn note(&self, event: &Event) -> Result<(), StoreError> {
        tracing::info!(kind = event.kind.name(), name = event.name, "{}", event.words);
        let noted = self.logbook.note(event);
        self.outcome(Trouble::Logbook, noted.as_ref().copied().map_err(ToString::to_string));
        noted
    }

    fn sync(&mut self) {
        if self.latch_is_owed {
            self.write_latch(self.latch_wanted);
        }
        self.latch.prepare();
        match &mut self.firing {
            Some(firing) => {
                let synced = firing.trace.sync().map_err(|why| why.to_string());
                firing.unsynced = synced.clone().err();
                self.outcome(Trouble::Trace, synced);
            }
            // Nothing else would show that a trace could be begun again.
            None if self.health.has(Trouble::Trace) => {
                self.outcome(Trouble::Trace, try_out(&self.traces).map_err(|why| why.to_string()));
            }
            None => {}
        }
        self.try_logbook();
        let lost = self.health.lines_lost();
        if lost == self.lines_lost {
            self.health.mended(Trouble::Behind);
        }
        self.lines_lost = lost;
        self.tell_missing();
    }

    /// Looks whether a logbook that could not be written can be again.
    fn try_logbook(&self) {
        if self.health.has(Trouble::Logbook) {
            let _told_by_health = self.note(&Event {
                firing: self.firing.as_ref().map(|firing| firing.id),
                time: self.clock.now_written(),
                at_s: None,
                kind: EventKind::Record,
                name: "logbook-mended".to_owned(),
                words: "The logbook can be written again; what happened meanwhile is missing from it."
                    .to_owned(),
            });
        }
    }

    fn miss(&mut self, lost: u64, before_s: f64) {
        if lost > 0 {
            let untold = self.missing.map_or(0, |(steps, _)| steps);
            self.missing = Some((untold + lost, before_s));
        }
    }

    /// Notes what is missing from the trace, now or when the logbook can be written again.
    fn tell_missing(&mut self) {
        let (Some((steps, before_s)), Some(firing)) = (self.missing, &self.firing) else { return };
        let noted = self.note(&Event {
            firing: Some(firing.id),
            time: self.clock.now_written(),
            at_s: Some(before_s),
            kind: EventKind::Record,
            name: "steps-lost".to_owned(),
            words: format!(
                "{steps} steps before this are missing from the record: the disk was full or too slow. \
                 A replay cannot go past them."
            ),
        });
        if noted.is_ok() {
            self.missing = None;
        }
    }

    fn end(&mut self) {
        let closing = self.chronicle.closing(self.clock.now_written());
        self.miss(self.firing.as_ref().map_or(0, |firing| firing.trace.lost()), closing.duration_s);
        self.tell_missing();
        self.missing = None;
        let Some(Firing { id, trace, .. }) = self.firing.take() else { return };
        let closed = self.logbook.close(id, &closing).map_err(|why| why.to_string());
        self.outcome(Trouble::Logbook, closed);
        let finished = trace.finish().map_err(|why| why.to_string());
        if let Ok(path) = &finished {
            self.lessons.learn_aside(path.clone());
        }
        self.outcome(Trouble::Trace, finished.map(drop));
    }

    fn show(&self, curve: Option<(i64, Curve)>) {
        *self.curve.write().unwrap_or_else(PoisonError::into_inner) = curve;
    }

    /// Tells of a trouble when it begins, and when it is over.
    fn outcome(&self, trouble: Trouble, outcome: Result<(), String>) {
        match outcome {
            Ok(()) => self.health.mended(trouble),
            Err(why) => {
                if !self.health.has(trouble) {
                    tracing::error!(%why, "{}", trouble.words());
                }
                self.health.report(trouble);
            }
        }
    }
}

/// Writes something to a folder and takes it away again.
fn try_out(folder: &Path) -> io::Result<()> {
    let trial = folder.join("trial");
    let written = fs::write(&trial, [0; 4096]).and_then(|()| fs::File::open(&trial)?.sync_all());
    let removed = fs::remove_file(&trial);
    written.and(removed)
}
