//! The keeper writes what it is handed, on a real disk.

use std::path::Path;
use std::sync::Arc;

use control::{Contact, Controller, Evidence, Finding, Interlock, Severity};
use daemon::clock::{ComputerClock, KilnClock};
use daemon::files::Source;
use daemon::files::schedule;
use daemon::heads;
use daemon::kilns;
use daemon::learning::Lessons;
use daemon::store::{
    DataFolder, Event, Health, Keeper, Latch, Logbook, NewFiring, Outcome, Record, Recorded,
};
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::units::{Celsius, Millis};
use told_clock::ToldClock;
use trace::{Seen, TraceFile, TraceReader};

#[path = "common/told_clock.rs"]
mod told_clock;

/// A keeper with a firing begun, and the controller whose steps it is given.
struct Desk {
    folder: tempfile::TempDir,
    logbook: Logbook,
    keeper: Keeper,
    controller: Controller,
    second: u64,
}

impl Desk {
    fn new() -> Self {
        Self::by(KilnClock::simulated())
    }

    /// With a clock of its own.
    fn by(clock: KilnClock) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let data = DataFolder::open(folder.path()).expect("a data folder");
        let latch = Latch::at(data.latch());
        let logbook = Logbook::open(&DataFolder::logbook(folder.path())).expect("a logbook");
        let keeper = Keeper::start(
            logbook.clone(),
            latch,
            DataFolder::traces(folder.path()),
            Health::default(),
            clock,
            Lessons::in_folder(folder.path()),
        )
        .expect("a thread");
        let file = kilns::simulated().expect("the simulated kiln");
        let text = "title = \"Test\"\nscale = \"C\"\n[[segment]]\nrate = 100\nto = 900\n";
        let schedule = schedule::check(Source::new("test.toml", text), None).expect("a schedule").value;
        let setup = heads::setup(
            &file.kiln,
            &schedule.programme,
            control::Expected::lasting(Millis::from_hours(9)),
            None,
        );
        let id = logbook
            .begin(&NewFiring {
                title: "Test".to_owned(),
                schedule: "test.toml".to_owned(),
                schedule_text: text.to_owned(),
                aim: None,
                simulated: true,
                started: "2026-11-25T10:00:00Z".to_owned(),
                carries_on: None,
                parts: None,
                proving: None,
            })
            .expect("noted");
        let path = DataFolder::trace(folder.path(), id);
        let trace = TraceFile::create(&path, &heads::head(&file, "Test", &setup)).expect("a trace");
        let controller = Controller::new(setup.clone());
        let desk = Self { folder, logbook, keeper, controller, second: 0 };
        desk.hand(Record::Begin { firing: id, trace: Box::new(trace), setup: Box::new(setup) });
        desk
    }

    fn hand(&self, record: Record) {
        self.keeper.records.send(record).expect("the keeper runs");
    }

    fn step(&mut self) {
        let recorded = self.decided(0);
        self.hand(Record::Step(Box::new(recorded)));
    }

    /// A second is seen and decided; so many before it are said to be lost.
    fn decided(&mut self, lost: u64) -> Recorded {
        let degrees = |celsius| Celsius::new(celsius).expect("a temperature");
        let said = Said::Reading { junction: degrees(21.0), cold_junction: degrees(22.0) };
        let seen = Seen {
            at: Millis::from_seconds(self.second),
            probes: [Report::single(said, ChipFaults::NONE)].into_iter().collect(),
            lid: Contact::NotFitted,
            contactor: Contact::NotFitted,
            amps: [None; control::BANKS_MOST],
            orders: [].into_iter().collect(),
            forecast: None,
        };
        self.second += 1;
        let decision = self.controller.step(&seen.observation());
        Recorded { seen, decision, lost, wall: KilnClock::simulated().wall() }
    }

    /// Ends the keeper; gives how the firing came out, what was noted, and where all is.
    fn end(self) -> (Outcome, Vec<Event>, tempfile::TempDir) {
        drop(self.keeper.records);
        self.keeper.thread.join().expect("it ends");
        let row = self.logbook.firing(1).expect("readable").expect("noted");
        (row.outcome, self.logbook.events(1).expect("readable"), self.folder)
    }
}

fn steps_kept(folder: &Path) -> usize {
    TraceReader::open(&DataFolder::trace_found(folder, 1)).expect("a trace").filter_map(Result::ok).count()
}

#[test]
fn a_firing_that_was_not_lit_is_closed_with_its_reason_and_gets_no_step_of_the_rest_after_it() {
    let mut desk = Desk::new();
    (0..5).for_each(|_| desk.step());
    desk.hand(Record::NotLit(Finding {
        interlock: Interlock::BrokenThermocouple,
        severity: Severity::Withhold,
        part: Some(control::Part::Probe(0)),
        evidence: Evidence { seen: 2.0, bound: 3.0, lasted: Millis::from_seconds(2) },
    }));
    (0..5).for_each(|_| desk.step());
    let (outcome, events, folder) = desk.end();
    assert_eq!(outcome, Outcome::NotLit);
    let told = events.iter().find(|event| event.name == "not-lit").expect("noted");
    assert!(told.words.starts_with("It fell due and was not lit. Probe 1: "), "{}", told.words);
    assert_eq!(steps_kept(folder.path()), 5);
}

#[test]
fn sr_44_lost_steps_are_marked_in_the_trace_noted_in_the_logbook_and_told_by_a_replay() {
    let mut desk = Desk::new();
    (0..30).for_each(|_| desk.step());
    (0..12).for_each(|_| drop(desk.decided(0)));
    let next = desk.decided(12);
    desk.hand(Record::Step(Box::new(next)));
    (0..7).for_each(|_| desk.step());
    let (_, events, folder) = desk.end();
    let told: Vec<&Event> = events.iter().filter(|event| event.name == "steps-lost").collect();
    assert_eq!((told.len(), told[0].at_s), (1, Some(42.0)));
    assert!(told[0].words.starts_with("12 steps before this are missing"), "{}", told[0].words);
    let trace = TraceReader::open(&DataFolder::trace_found(folder.path(), 1)).expect("a trace");
    let report = trace::replay(trace, heads::BUILD).expect("readable");
    assert_eq!(report.hole, Some(trace::Hole { line: 32, lost: 12, after: 8 }));
    assert_eq!(report.comparison, trace::Comparison::Same, "{report}");
}

#[test]
fn a_firing_without_losses_is_noted_without_any() {
    let mut desk = Desk::new();
    (0..30).for_each(|_| desk.step());
    let (_, events, folder) = desk.end();
    assert!(!events.iter().any(|event| event.name == "steps-lost"));
    assert_eq!(steps_kept(folder.path()), 30);
}

#[test]
fn sr_35_a_clock_that_is_set_is_noted_and_one_that_is_corrected_by_a_second_is_not() {
    let computer = Arc::new(ToldClock::new());
    let clock = KilnClock::real(Arc::clone(&computer) as Arc<dyn ComputerClock>);
    let mut desk = Desk::by(clock.clone());
    let mut seconds = |moves_s: i64| {
        for _ in 0..5 {
            computer.moved(1);
            let wall = clock.wall();
            let step = Recorded { wall, ..desk.decided(0) };
            desk.hand(Record::Step(Box::new(step)));
        }
        computer.moved(moves_s);
    };
    [0, 1, -1, 86_400, -7200, 0].into_iter().for_each(&mut seconds);
    let (_, events, folder) = desk.end();
    let told = events.iter().filter(|event| event.name == "clock-stepped");
    let told: Vec<(Option<f64>, &str)> = told.map(|event| (event.at_s, event.words.as_str())).collect();
    let rest = "The firing keeps its own time and is as it was.";
    assert_eq!(
        told,
        [
            (Some(20.0), format!("The computer's clock was set forward by 86400 s. {rest}").as_str()),
            (Some(25.0), format!("The computer's clock was set back by 7200 s. {rest}").as_str()),
        ]
    );
    let trace = TraceReader::open(&DataFolder::trace_found(folder.path(), 1)).expect("a trace");
    let dated = trace.map(|step| step.expect("whole").clock_ms);
    assert_eq!(dated.flatten().count(), 30, "every line has its time of day");
}
