//! A board that does what a test says, and a cycle on it.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use control::{Carried, Kiln, Order, Outcome};
use daemon::clock::KilnClock;
use daemon::files::Source;
use daemon::files::kiln::SignalParts;
use daemon::files::schedule;
use daemon::run::{
    Ask, ControlThread, Cycle, FiringSheet, KeptPins, Lighting, OwnWarden, Pace, Parts, PresenceAsked,
    SharedBoard, ShutOff, Silenced, Snapshot, Step, TimedBoard, Unlit,
};
use daemon::service::Watchdog;
use daemon::store::{Health, Latched, Record};
use daemon::{heads, kilns};
use hal::{Board, Contactor, Level, PinFault, Sensed, Signal};
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::units::{Amps, Celsius, Millis};
use tokio::sync::{oneshot, watch};
use trace::TraceFile;

/// What the test sets and sees of the board.
#[derive(Default)]
pub(crate) struct Wires {
    pub(crate) open: AtomicBool,
    pub(crate) pins_dead: AtomicBool,
    /// How long one reading takes, ms.
    pub(crate) reading_takes: AtomicU64,
    pub(crate) senses_current: AtomicBool,
    /// How often the probes were asked between steps.
    pub(crate) samples: AtomicU64,
    heartbeat: AtomicBool,
    /// Edges of the heartbeat.
    pub(crate) edges: AtomicU64,
    /// Contacts that are fitted, what the button says, and whether the contactor has welded.
    pub(crate) welded: AtomicBool,
    pub(crate) mirror_fitted: AtomicBool,
    pub(crate) button_fitted: AtomicBool,
    pub(crate) button: AtomicBool,
    reads: Mutex<u32>,
    pub(crate) banks: Mutex<[bool; 8]>,
    pub(crate) contactor: AtomicBool,
    pub(crate) signal_pins_dead: AtomicBool,
    /// The outputs that heat nothing and are on, as they came on.
    signals_on: Mutex<Vec<Signal>>,
    /// What the readings are raised by, °C.
    pub(crate) warmer_c: AtomicU64,
}

impl Wires {
    pub(crate) fn is_on(&self, signal: Signal) -> bool {
        self.signals_on.lock().expect("whole").contains(&signal)
    }
}

pub(crate) struct Bench(pub(crate) Arc<Wires>);
struct Coil(Arc<Wires>);

impl Board for Bench {
    fn sample(&mut self) {
        self.0.samples.fetch_add(1, Ordering::Relaxed);
    }

    fn report(&mut self, _probe: usize) -> Report {
        if self.0.open.load(Ordering::Relaxed) {
            return Report::single(Said::Nothing, ChipFaults::OPEN);
        }
        std::thread::sleep(Duration::from_millis(self.0.reading_takes.load(Ordering::Relaxed)));
        let mut reads = self.0.reads.lock().expect("whole");
        *reads += 1;
        let wobble_c = f64::from(*reads * 7919 % 13) * 0.02;
        let degrees = |celsius| Celsius::new(celsius).expect("a temperature");
        #[allow(clippy::cast_precision_loss, reason = "some hundred degrees")]
        let warmer_c = self.0.warmer_c.load(Ordering::Relaxed) as f64;
        let junction = degrees(21.0 + warmer_c + wobble_c);
        let said = Said::Reading { junction, cold_junction: degrees(22.0) };
        Report::single(said, ChipFaults::NONE)
    }

    fn set_bank(&mut self, bank: usize, level: Level) -> Result<(), PinFault> {
        if self.0.pins_dead.load(Ordering::Relaxed) {
            return Err(PinFault);
        }
        self.0.banks.lock().expect("whole")[bank] = level == Level::On;
        Ok(())
    }

    fn is_closed(&mut self, sensed: Sensed) -> Option<Result<bool, PinFault>> {
        let (fitted, closed) = match sensed {
            Sensed::Lid => return None,
            Sensed::Contactor if self.0.welded.load(Ordering::Relaxed) => return Some(Ok(true)),
            Sensed::Contactor => (&self.0.mirror_fitted, &self.0.contactor),
            Sensed::PresenceButton => (&self.0.button_fitted, &self.0.button),
        };
        fitted.load(Ordering::Relaxed).then(|| Ok(closed.load(Ordering::Relaxed)))
    }

    fn amps(&mut self, bank: usize) -> Option<Result<Amps, PinFault>> {
        if !self.0.senses_current.load(Ordering::Relaxed) {
            return None;
        }
        Some(if bank == 0 { Err(PinFault) } else { Ok(Amps::new(14.7).expect("a current")) })
    }

    fn set_heartbeat(&mut self, level: Level) -> Result<(), PinFault> {
        let is_on = level == Level::On;
        if self.0.heartbeat.swap(is_on, Ordering::Relaxed) != is_on {
            self.0.edges.fetch_add(1, Ordering::Relaxed);
        }
        Ok(())
    }

    fn set_signal(&mut self, signal: Signal, level: Level) -> Result<(), PinFault> {
        if self.0.signal_pins_dead.load(Ordering::Relaxed) {
            return Err(PinFault);
        }
        let mut on = self.0.signals_on.lock().expect("whole");
        on.retain(|known| *known != signal);
        if level == Level::On {
            on.push(signal);
        }
        Ok(())
    }

    fn all_off(&mut self) {
        *self.0.banks.lock().expect("whole") = [false; 8];
    }
}

impl TimedBoard for Bench {
    fn pass(&mut self, _span: Millis) {}
}

impl Contactor for Coil {
    fn set(&mut self, level: Level) -> Result<(), PinFault> {
        self.0.contactor.store(level == Level::On, Ordering::Relaxed);
        Ok(())
    }
}

pub(crate) struct Stand {
    pub(crate) wires: Arc<Wires>,
    cycle: Cycle<OwnWarden<Coil>>,
    pub(crate) snapshots: watch::Receiver<Option<Arc<Snapshot>>>,
    pub(crate) asks: SyncSender<Ask>,
    pub(crate) shut_off: ShutOff,
    pub(crate) records: Receiver<Record>,
    kiln: Kiln,
    second: u64,
    folder: tempfile::TempDir,
    /// What is lit.
    pub(crate) schedule: &'static str,
}

const ONE_CLIMB: &str =
    "title = \"Test\"\nscale = \"C\"\n[[segment]]\nrate = 600\nto = 900\nsoak = \"1 h\"\n";

impl Stand {
    pub(crate) fn new(latched: Latched, queue: usize) -> Self {
        Self::with(KilnClock::simulated(), None, SignalParts::default(), latched, queue)
    }

    /// By a clock of its own.
    pub(crate) fn by(clock: KilnClock, latched: Latched, queue: usize) -> Self {
        Self::with(clock, None, SignalParts::default(), latched, queue)
    }

    pub(crate) fn counting_presses_for(press_counts: Option<Millis>, latched: Latched, queue: usize) -> Self {
        Self::with(KilnClock::simulated(), press_counts, SignalParts::default(), latched, queue)
    }

    /// With outputs that heat nothing.
    pub(crate) fn signalling(signals: SignalParts, latched: Latched) -> Self {
        Self::with(KilnClock::simulated(), None, signals, latched, 4096)
    }

    fn with(
        clock: KilnClock,
        press_counts: Option<Millis>,
        signals: SignalParts,
        latched: Latched,
        queue: usize,
    ) -> Self {
        let wires = Arc::new(Wires::default());
        let (asks, asked) = sync_channel(8);
        let shut_off = ShutOff::default();
        let (to_keeper, records) = sync_channel(queue);
        let kiln = kilns::simulated().expect("the simulated kiln").kiln;
        let (cycle, snapshots) = Cycle::new(Parts {
            kiln: kiln.clone(),
            board: SharedBoard::new(Box::new(Bench(Arc::clone(&wires)))),
            guard: OwnWarden::new(Coil(Arc::clone(&wires))),
            kept: KeptPins::default(),
            latched,
            asks: asked,
            shut_off: shut_off.clone(),
            records: to_keeper,
            health: Health::default(),
            clock,
            press_counts,
            signals,
        });
        let folder = tempfile::tempdir().expect("a folder");
        Self {
            wires,
            cycle,
            snapshots,
            asks,
            shut_off,
            records,
            kiln,
            second: 0,
            folder,
            schedule: ONE_CLIMB,
        }
    }

    /// How much of a step was done.
    pub(crate) fn done(&mut self) -> Step {
        let done = self.cycle.step(Millis::from_seconds(self.second));
        self.second += 1;
        done
    }

    pub(crate) fn step(&mut self) -> Arc<Snapshot> {
        self.done();
        self.snapshots.borrow().clone().expect("a snapshot")
    }

    pub(crate) fn light(&mut self) -> Result<(), Unlit> {
        self.light_after(Millis::ZERO)
    }

    pub(crate) fn light_after(&mut self, delay: Millis) -> Result<(), Unlit> {
        self.light_from(delay, None, self.shut_off.presses())
    }

    /// Lights when nobody who does knows of later presses of the shut-off.
    pub(crate) fn light_knowing_of(&mut self, presses: u64) -> Result<(), Unlit> {
        self.light_from(Millis::ZERO, None, presses)
    }

    /// Lights what carries another firing on.
    pub(crate) fn light_carrying_on(&mut self, carried: &Carried) -> Result<(), Unlit> {
        self.light_from(Millis::ZERO, Some(carried), 0)
    }

    fn light_from(
        &mut self,
        delay: Millis,
        carried: Option<&Carried>,
        presses_known: u64,
    ) -> Result<(), Unlit> {
        let file = daemon::kilns::simulated().expect("the simulated kiln");
        let schedule =
            schedule::check(Source::new("test.toml", self.schedule), None).expect("a schedule").value;
        let forecast = insight::forecast(&self.kiln, &schedule.programme, Celsius::new(21.0).expect("room"));
        let mut setup = heads::setup(
            &self.kiln,
            &schedule.programme,
            control::Expected::lasting(forecast.duration),
            None,
        );
        if let Some(firing) = &mut setup.firing {
            firing.delay = delay;
        }
        setup.start.carried = carried.copied();
        let path = self.folder.path().join(format!("trace-{}.jsonl", self.second));
        let trace = TraceFile::create(&path, &heads::head(&file, "Test", &setup)).expect("a trace");
        let sheet = FiringSheet {
            id: 1,
            file: "test.toml".to_owned(),
            schedule: Arc::new(schedule),
            forecast: Arc::new(forecast),
            delay,
            started: String::new(),
            proving: None,
        };
        let (answer, mut answered) = oneshot::channel();
        let presence = PresenceAsked::AsTheKilnFileSays;
        let lighting = Box::new(Lighting { sheet, setup, trace, presence, presses_known });
        self.asks.try_send(Ask::LightUp(lighting, answer)).expect("room");
        self.step();
        answered.try_recv().expect("answered in the same step")
    }

    pub(crate) fn order(&mut self, order: Order) -> Outcome {
        let (answer, mut answered) = oneshot::channel();
        self.asks.try_send(Ask::Order(order, answer)).expect("room");
        self.step();
        answered.try_recv().expect("answered in the same step")
    }

    pub(crate) fn silence(&mut self) -> Silenced {
        let (answer, mut answered) = oneshot::channel();
        self.asks.try_send(Ask::Silence(answer)).expect("room");
        self.step();
        answered.try_recv().expect("answered in the same step")
    }

    pub(crate) fn shut_off(&mut self) -> Option<Outcome> {
        let press = self.shut_off.press();
        let obeyed = self.step().shut_off;
        assert!(obeyed.presses >= press, "obeyed in the same step");
        obeyed.outcome
    }

    pub(crate) fn heats(&self) -> bool {
        self.wires.contactor.load(Ordering::Relaxed)
            && self.wires.banks.lock().expect("whole").contains(&true)
    }

    /// Lets a control thread of its own step it, at a simulated kiln's speed, for so many steps.
    pub(crate) fn run_by_itself(self, speed: f64, steps: u64) -> Arc<Snapshot> {
        let enough = Millis::from_seconds(self.second + steps);
        self.run_until(Pace::Simulated { speed }, |last| last.decision.at >= enough)
    }

    /// Lets a control thread of its own step it at a pace until something is so.
    pub(crate) fn run_until(self, pace: Pace, is_enough: impl Fn(&Snapshot) -> bool) -> Arc<Snapshot> {
        let Self { cycle, snapshots, records, .. } = self;
        let thread = ControlThread::start(cycle, pace, Watchdog::default()).expect("a thread");
        let late = Instant::now() + Duration::from_mins(1);
        let last = loop {
            let last = snapshots.borrow().clone().expect("a snapshot");
            if is_enough(&last) {
                break last;
            }
            assert!(Instant::now() < late, "it stands still");
            std::thread::sleep(Duration::from_millis(1));
        };
        thread.end();
        drop(records);
        last
    }

    pub(crate) fn until_it_heats(&mut self) {
        for _ in 0..60 {
            self.step();
            if self.heats() {
                return;
            }
        }
        panic!("it does not heat");
    }
}
