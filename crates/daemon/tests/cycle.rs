//! The control thread's cycle on a board that does what a test says.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};

use control::{Kiln, Order, Outcome, Phase};
use daemon::clock::KilnClock;
use daemon::files::Source;
use daemon::files::schedule;
use daemon::run::{
    Ask, Cycle, FiringSheet, LightUp, Lighting, OwnWarden, Parts, SharedBoard, ShutOff, Snapshot, TimedBoard,
    Unlit, switch_off_on_panic,
};
use daemon::store::{Health, Latched, Record, Trouble};
use daemon::{heads, kilns};
use hal::{Board, Contactor, Level, PinFault};
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::units::{Amps, Celsius, Millis};
use tokio::sync::{oneshot, watch};
use trace::TraceFile;

/// What the test sets and sees of the board.
#[derive(Default)]
struct Wires {
    open: AtomicBool,
    pins_dead: AtomicBool,
    reads: Mutex<u32>,
    banks: Mutex<[bool; 8]>,
    contactor: AtomicBool,
}

struct Bench(Arc<Wires>);
struct Coil(Arc<Wires>);

impl Board for Bench {
    fn report(&mut self, _probe: usize) -> Report {
        if self.0.open.load(Ordering::Relaxed) {
            return Report { said: Said::Nothing, faults: ChipFaults::OPEN };
        }
        let mut reads = self.0.reads.lock().expect("whole");
        *reads += 1;
        let wobble_c = f64::from(*reads * 7919 % 13) * 0.02;
        let degrees = |celsius| Celsius::new(celsius).expect("a temperature");
        let said = Said::Reading { junction: degrees(21.0 + wobble_c), cold_junction: degrees(22.0) };
        Report { said, faults: ChipFaults::NONE }
    }

    fn set_bank(&mut self, bank: usize, level: Level) -> Result<(), PinFault> {
        if self.0.pins_dead.load(Ordering::Relaxed) {
            return Err(PinFault);
        }
        self.0.banks.lock().expect("whole")[bank] = level == Level::On;
        Ok(())
    }

    fn lid_closed(&mut self) -> Option<Result<bool, PinFault>> {
        None
    }

    fn amps(&mut self, _bank: usize) -> Option<Result<Amps, PinFault>> {
        None
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

struct Stand {
    wires: Arc<Wires>,
    cycle: Cycle<OwnWarden<Coil>>,
    snapshots: watch::Receiver<Option<Arc<Snapshot>>>,
    asks: SyncSender<Ask>,
    shut_off: ShutOff,
    records: Receiver<Record>,
    kiln: Kiln,
    second: u64,
    folder: tempfile::TempDir,
}

impl Stand {
    fn new(latched: Latched, queue: usize) -> Self {
        let wires = Arc::new(Wires::default());
        let (asks, asked) = sync_channel(8);
        let shut_off = ShutOff::default();
        let (to_keeper, records) = sync_channel(queue);
        let kiln = kilns::simulated().expect("the simulated kiln").kiln;
        let (cycle, snapshots) = Cycle::new(Parts {
            kiln: kiln.clone(),
            board: SharedBoard::new(Box::new(Bench(Arc::clone(&wires)))),
            guard: OwnWarden::new(Coil(Arc::clone(&wires))),
            latched,
            asks: asked,
            shut_off: shut_off.clone(),
            records: to_keeper,
            health: Health::default(),
            clock: KilnClock::simulated(),
        });
        let folder = tempfile::tempdir().expect("a folder");
        Self { wires, cycle, snapshots, asks, shut_off, records, kiln, second: 0, folder }
    }

    fn step(&mut self) -> Arc<Snapshot> {
        self.cycle.step(Millis::from_seconds(self.second));
        self.second += 1;
        self.snapshots.borrow().clone().expect("a snapshot")
    }

    fn light(&mut self) -> Result<(), Unlit> {
        self.light_after(Millis::ZERO)
    }

    fn light_after(&mut self, delay: Millis) -> Result<(), Unlit> {
        let text = "title = \"Test\"\nscale = \"C\"\n[[segment]]\nrate = 600\nto = 900\nsoak = \"1 h\"\n";
        let file = daemon::kilns::simulated().expect("the simulated kiln");
        let schedule = schedule::check(Source::new("test.toml", text), None).expect("a schedule").value;
        let forecast = insight::forecast(&self.kiln, &schedule.programme, Celsius::new(21.0).expect("room"));
        let mut setup = heads::setup(&self.kiln, &schedule.programme, forecast.duration);
        if let Some(firing) = &mut setup.firing {
            firing.delay = delay;
        }
        let path = self.folder.path().join(format!("trace-{}.jsonl", self.second));
        let trace = TraceFile::create(&path, &heads::head(&file, "Test", &setup)).expect("a trace");
        let sheet = FiringSheet {
            id: 1,
            file: "test.toml".to_owned(),
            schedule: Arc::new(schedule),
            forecast: Arc::new(forecast),
            delay,
            started: String::new(),
        };
        let (answer, mut answered) = oneshot::channel();
        let lighting = Box::new(Lighting { sheet, setup, trace });
        self.asks.try_send(Ask::LightUp(lighting, answer)).expect("room");
        self.step();
        answered.try_recv().expect("answered in the same step")
    }

    fn order(&mut self, order: Order) -> Outcome {
        let (answer, mut answered) = oneshot::channel();
        self.asks.try_send(Ask::Order(order, answer)).expect("room");
        self.step();
        answered.try_recv().expect("answered in the same step")
    }

    fn shut_off(&mut self) -> Option<Outcome> {
        let press = self.shut_off.press();
        let obeyed = self.step().shut_off;
        assert!(obeyed.presses >= press, "obeyed in the same step");
        obeyed.outcome
    }

    fn heats(&self) -> bool {
        self.wires.contactor.load(Ordering::Relaxed)
            && self.wires.banks.lock().expect("whole").contains(&true)
    }

    fn until_it_heats(&mut self) {
        for _ in 0..60 {
            self.step();
            if self.heats() {
                return;
            }
        }
        panic!("it does not heat");
    }
}

#[test]
fn sr_44_a_full_trace_queue_is_told_and_stops_no_firing() {
    let mut stand = Stand::new(Latched::Clear, 8);
    stand.light().expect("lit");
    let mut told = None;
    for _ in 0..40 {
        told = stand.step().trouble;
    }
    assert_eq!(told, Some(Trouble::Behind));
    assert!(stand.step().decision.phase == Phase::Climbing);
    stand.until_it_heats();
    let why = match stand.step().light_up {
        LightUp::Refused(why) => why.to_string(),
        LightUp::Possible => panic!("a light-up is possible"),
    };
    assert!(why.contains("disk"), "{why}");
}

#[test]
fn sr_31_a_cycle_that_ends_leaves_everything_off() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    let wires = Arc::clone(&stand.wires);
    drop(stand);
    assert!(!wires.contactor.load(Ordering::Relaxed));
    assert_eq!(*wires.banks.lock().expect("whole"), [false; 8]);
}

#[test]
fn a_panic_anywhere_switches_the_relays_off() {
    let wires = Arc::new(Wires::default());
    let board = SharedBoard::new(Box::new(Bench(Arc::clone(&wires))));
    switch_off_on_panic(&board);
    board.hold().set_bank(1, Level::On).expect("driven");
    assert!(wires.banks.lock().expect("whole").contains(&true));
    let panicked = std::thread::spawn(|| panic!("as a test of the hook")).join();
    assert!(panicked.is_err());
    assert!(!wires.banks.lock().expect("whole").contains(&true));
}

#[test]
fn sr_30_a_relay_pin_that_fails_opens_the_contactor_until_armed_anew() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    stand.wires.pins_dead.store(true, Ordering::Relaxed);
    stand.step();
    assert!(!stand.wires.contactor.load(Ordering::Relaxed), "in the same step");
    stand.wires.pins_dead.store(false, Ordering::Relaxed);
    for _ in 0..5 {
        stand.step();
        assert!(!stand.heats(), "it stays open");
    }
}

#[test]
fn a_trip_is_off_in_its_step_and_handed_to_the_latch_even_after_the_queue_was_full() {
    let mut stand = Stand::new(Latched::Clear, 8);
    stand.light().expect("lit");
    stand.until_it_heats();
    while stand.step().trouble.is_none() {}
    stand.wires.open.store(true, Ordering::Relaxed);
    let mut snapshot = stand.step();
    assert!(!stand.wires.banks.lock().expect("whole").contains(&true), "withheld at the first sample");
    for _ in 0..5 {
        snapshot = stand.step();
    }
    assert_eq!(snapshot.decision.phase, Phase::Tripped);
    assert!(!stand.wires.contactor.load(Ordering::Relaxed));
    let latched = |records: &Receiver<Record>| {
        records.try_iter().any(|record| matches!(record, Record::Latch(Some(_))))
    };
    assert!(!latched(&stand.records), "there was no room for it");
    stand.step();
    assert!(latched(&stand.records), "handed over as soon as there is");
    assert!(stand.light().is_err(), "a trip waits to be cleared");
}

#[test]
fn an_order_is_answered_in_the_step_that_takes_it() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    assert!(matches!(stand.order(Order::Stay), Outcome::Refused(_)));
    stand.light().expect("lit");
    assert_eq!(stand.order(Order::Stay), Outcome::Taken);
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    assert!(!stand.heats());
}

#[test]
fn sr_36_a_shut_off_is_obeyed_in_the_next_step_however_many_orders_wait() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    let mut waiting = Vec::new();
    loop {
        let (answer, answered) = oneshot::channel();
        // What would undo the shut-off, were it taken after it.
        if stand.asks.try_send(Ask::Order(Order::CarryOn, answer)).is_err() {
            break;
        }
        waiting.push(answered);
    }
    let presses: Vec<u64> = (0..99).map(|_| stand.shut_off.press()).collect();
    let snapshot = stand.step();
    assert_eq!(snapshot.shut_off.outcome, Some(Outcome::Taken));
    assert!(presses.iter().all(|press| *press <= snapshot.shut_off.presses), "one step answers them all");
    assert!(!stand.heats());
    for mut answered in waiting {
        assert!(matches!(answered.try_recv(), Ok(Outcome::Refused(_))), "what waited is refused");
    }
    let after = stand.step();
    assert_eq!((after.decision.phase, after.shut_off), (Phase::Cooling, snapshot.shut_off));
    assert!(!stand.heats());
}

#[test]
fn a_light_up_that_waits_while_somebody_shuts_off_is_refused() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    let press = stand.shut_off.press();
    let why = stand.light().expect_err("not lit").to_string();
    assert!(why.contains("shut off"), "{why}");
    assert_eq!(stand.step().shut_off.presses, press);
    stand.light().expect("lit in its own step");
}

#[test]
fn sr_41_an_unreadable_latch_keeps_every_firing_from_being_lit() {
    let mut stand = Stand::new(Latched::Unreadable("torn".to_owned()), 4096);
    stand.step();
    assert!(stand.light().is_err());
    assert_eq!(stand.order(Order::ClearTrip), Outcome::Taken);
    assert!(stand.records.try_iter().any(|record| matches!(record, Record::Latch(None))));
    stand.light().expect("lit once it was cleared");
}

#[test]
fn sr_01_a_thermocouple_broken_at_rest_refuses_light_up_in_the_findings_words_until_it_is_whole() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    for _ in 0..5 {
        assert_eq!(stand.step().light_up, LightUp::Possible, "a sound sensor at rest");
    }
    stand.wires.open.store(true, Ordering::Relaxed);
    let snapshot = stand.step();
    let seen = snapshot.decision.refuses_light_up.expect("found at once");
    let LightUp::Refused(why) = snapshot.light_up else { panic!("a light-up is possible") };
    assert!(why.to_string().starts_with(&seen.seen().to_string()), "{why}");
    assert!(why.to_string().contains("Look at: "), "{why}");
    let asked = stand.light();
    assert!(
        matches!(asked, Err(Unlit::Sensor(_))),
        "{asked:?}: the control thread itself refuses, whatever was shown before"
    );
    assert_eq!(stand.step().decision.phase, Phase::Resting);
    stand.wires.open.store(false, Ordering::Relaxed);
    for _ in 0..30 {
        stand.step();
    }
    stand.light().expect("lit once the sensor is whole again");
}

/// Lights two minutes ahead and comes to just before it is due, with the thermocouple broken.
fn nearly_due(queue: usize) -> Stand {
    let mut stand = Stand::new(Latched::Clear, queue);
    stand.step();
    stand.light_after(Millis::from_minutes(2)).expect("set for later");
    stand.wires.open.store(true, Ordering::Relaxed);
    while stand.step().decision.at < Millis::from_seconds(119) {}
    stand
}

#[test]
fn sr_01_a_firing_set_for_later_is_not_lit_when_its_thermocouple_is_broken_as_it_falls_due() {
    let mut stand = nearly_due(4096);
    let snapshot = stand.step();
    assert_eq!(snapshot.decision.phase, Phase::Resting);
    assert!(!stand.heats() && snapshot.firing.is_none());
    assert_eq!(snapshot.not_lit.as_ref().map(|not_lit| not_lit.title.as_str()), Some("Test"));
    let told = daemon::attention::all(&snapshot, &["middle".to_owned()]);
    assert!(told.iter().any(|attention| attention.name == "not-lit"), "{told:?}");
    let records: Vec<Record> = stand.records.try_iter().collect();
    let [.., Record::Step(_), Record::NotLit(_), Record::Step(rest)] = &records[..] else {
        panic!("the firing's record ends before the rest's first step: {:?}", records.last());
    };
    assert_eq!(rest.decision.phase, Phase::Resting);
    stand.wires.open.store(false, Ordering::Relaxed);
    for _ in 0..200 {
        assert_eq!(stand.step().decision.phase, Phase::Resting, "it is not lit later either");
    }
    stand.light().expect("a person may light again");
    assert_eq!(stand.step().not_lit, None);
}

#[test]
fn sr_01_a_firing_set_for_later_is_lit_when_the_thermocouple_is_whole_again_in_time() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    stand.light_after(Millis::from_minutes(2)).expect("set for later");
    stand.wires.open.store(true, Ordering::Relaxed);
    stand.step();
    stand.wires.open.store(false, Ordering::Relaxed);
    while stand.step().decision.at < Millis::from_minutes(2) {}
    assert_eq!(stand.step().decision.phase, Phase::Climbing);
    stand.until_it_heats();
}

#[test]
fn a_firing_not_lit_is_told_before_any_further_step_even_after_the_queue_was_full() {
    let mut stand = nearly_due(8);
    stand.step();
    assert!(!stand.records.try_iter().any(|record| matches!(record, Record::NotLit(_))), "no room");
    stand.step();
    let records: Vec<Record> = stand.records.try_iter().collect();
    assert!(matches!(records[..], [Record::NotLit(_), Record::Step(_)]), "{records:?}");
}
