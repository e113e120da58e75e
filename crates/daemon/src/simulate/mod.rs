//! A whole firing on the simulated kiln, as fast as it goes.

mod report;

use std::path::Path;
use std::time::{Duration, Instant};

use control::{Controller, Observation, PROBES_MOST, Phase, Setup};
use hal::{Board, Level, Sensed};
use heapless::Vec;
use indicatif::{ProgressBar, ProgressStyle};
use kiln_sim::{SimulatedBoard, SimulatedContactor};
use pyrometry::amplifier::Report;
use pyrometry::heat_work::Running;
use pyrometry::units::{Celsius, Joules, Millis};
use trace::{TraceError, TraceFile};
use warden::{Beat, Permission, Stages};

use crate::files::kiln::KilnFile;
use crate::files::schedule::Schedule;
use crate::heads;
use crate::plant;
use crate::run::{Guard, OwnWarden, contact};
use crate::tally::Tally;

pub use report::FiringReport;

/// A step of the controller.
const STEP: Millis = Millis::from_seconds(1);
/// Steps between two looks at the progress bar.
const STEPS_A_LOOK: u32 = 4096;
/// A kiln that is not cool after this long will not be: the longest firing a kiln file can allow.
const LONGEST: Millis = Millis::from_hours(14 * 24);

/// What to simulate.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    /// The kiln.
    pub kiln: &'a KilnFile,
    /// The schedule.
    pub schedule: &'a Schedule,
    /// Where chance begins.
    pub seed: u64,
    /// Where to keep the trace, if anywhere.
    pub trace: Option<&'a Path>,
}

/// What came of it, in numbers. `report` puts it in words.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The sums.
    pub tally: Tally,
    /// What the elements drew.
    pub energy: Joules,
    /// How far the coldest ware was behind the true junction when the schedule's last climb ended.
    pub ware: Option<WareLag>,
    /// The cones as they should look when taken out.
    pub cones: Running,
    /// The phase it ended in.
    pub phase: Phase,
    /// How long the computer took.
    pub took: Duration,
}

/// The ware at the top of the firing.
#[derive(Clone, Copy, Debug)]
pub struct WareLag {
    /// Core of the ware when the junction was hottest.
    pub core: Celsius,
    /// The junction less that.
    pub behind_c: f64,
    /// The hottest the core became.
    pub hottest: Celsius,
}

/// A firing that could not be simulated.
#[derive(Debug, thiserror::Error)]
pub enum SimulateError {
    /// The kiln file describes no kiln that can be simulated.
    #[error("this kiln cannot be simulated: {0}")]
    Kiln(#[from] kiln_sim::SpecFault),
    /// Its trace could not be kept.
    #[error(transparent)]
    Trace(#[from] trace::TraceError),
}

/// Everything that moves while it runs.
struct Bench {
    controller: Controller,
    board: SimulatedBoard,
    guard: OwnWarden<SimulatedContactor>,
    reports: Vec<Report, PROBES_MOST>,
    probes: usize,
    banks: usize,
    zones: usize,
    steps: u32,
    tally: Tally,
    ware: Option<WareLag>,
    hottest: Celsius,
    open_below: Celsius,
}

/// Fires the schedule from light-up until cool enough to open, or until it tripped and is cool.
pub fn simulate(job: &Job<'_>) -> Result<Outcome, SimulateError> {
    let (kiln, programme) = (&job.kiln.kiln, &job.schedule.programme);
    let forecast = insight::forecast(kiln, programme, plant::ambient(job.kiln));
    let longest = insight::longest_forecast(kiln, programme, plant::ambient(job.kiln));
    let setup = heads::setup(kiln, programme, longest, None);
    let mut trace = match job.trace {
        Some(path) => Some(TraceFile::create(path, &heads::head(job.kiln, &job.schedule.title, &setup))?),
        None => None,
    };
    let bar = progress_bar(forecast.opens.unwrap_or(forecast.duration));
    let mut bench = Bench::new(job, setup)?;
    let began = Instant::now();
    let phase = bench.run(trace.as_mut(), &bar)?;
    let took = began.elapsed();
    bar.finish_and_clear();
    if let Some(trace) = trace {
        trace.sync()?;
    }
    let energy = bench.board.plant().energy().electrical;
    let cones = bench.controller.heat_work().running();
    Ok(Outcome { tally: bench.tally, energy, ware: bench.ware, cones, phase, took })
}

impl Bench {
    fn new(job: &Job<'_>, setup: Setup) -> Result<Self, SimulateError> {
        let (board, contactor) = plant::board(job.kiln, job.seed)?;
        let (probes, banks) = (setup.kiln.probes.len(), setup.kiln.banks.len());
        let mut guard = OwnWarden::new(contactor);
        guard.arm(Millis::ZERO);
        Ok(Self {
            controller: Controller::new(setup),
            board,
            guard,
            reports: Vec::new(),
            probes,
            banks,
            zones: probes,
            steps: 0,
            tally: Tally::default(),
            ware: None,
            hottest: Celsius::LEAST,
            open_below: job.kiln.kiln.open_below,
        })
    }

    fn run(&mut self, mut trace: Option<&mut TraceFile>, bar: &ProgressBar) -> Result<Phase, SimulateError> {
        loop {
            let at = Millis::from_seconds(u64::from(self.steps));
            self.steps += 1;
            let phase = self.step(at, trace.as_deref_mut())?;
            if self.steps.is_multiple_of(STEPS_A_LOOK) {
                bar.set_position(u64::from(self.steps));
            }
            if phase == Phase::CoolEnoughToOpen || at >= LONGEST || self.is_cold_after_trip(phase) {
                return Ok(phase);
            }
            self.board.advance(STEP);
        }
    }

    /// After a trip nobody clears here, it is over once the kiln could be opened.
    fn is_cold_after_trip(&self, phase: Phase) -> bool {
        phase == Phase::Tripped
            && self.board.plant().truth().junction(0).is_none_or(|junction| junction <= self.open_below)
    }

    fn step(&mut self, at: Millis, trace: Option<&mut TraceFile>) -> Result<Phase, TraceError> {
        self.reports.clear();
        for probe in 0..self.probes {
            let _fits = self.reports.push(self.board.report(probe));
        }
        let observation = Observation {
            at,
            probes: &self.reports,
            lid: contact(self.board.is_closed(Sensed::Lid)),
            contactor: contact(self.board.is_closed(Sensed::Contactor)),
            amps: [None; control::BANKS_MOST],
            orders: &[],
            forecast: None,
        };
        let decision = self.controller.step(&observation);
        for (bank, on) in (0..self.banks).zip(decision.banks) {
            // A dead pin is part of what is simulated; its bank stays as it is.
            let _driven = self.board.set_bank(bank, if on { Level::On } else { Level::Off });
        }
        let permission = if decision.permission { Permission::Granted } else { Permission::Refused };
        let count = self.steps;
        let stages = Stages { read: count, decided: count, acted: count, recorded: count };
        self.guard.hear(Beat { sequence: count, permission, stages }, at);
        let truth = self.board.plant().truth();
        let junction = truth.junction(0);
        self.tally.take(&decision, junction);
        if let Some(trace) = trace {
            trace.step(&observation, &decision)?;
        }
        self.follow_ware(junction);
        Ok(decision.phase)
    }

    fn follow_ware(&mut self, junction: Option<Celsius>) {
        let truth = self.board.plant().truth();
        let cores = (0..self.zones).filter_map(|zone| truth.ware_core(zone));
        let (Some(junction), Some(core)) = (junction, cores.reduce(Celsius::colder)) else { return };
        let hottest = self.ware.map_or(core, |ware| ware.hottest.hotter(core));
        if junction > self.hottest {
            self.hottest = junction;
            self.ware = Some(WareLag { core, behind_c: (junction - core).c(), hottest });
        } else if let Some(ware) = &mut self.ware {
            ware.hottest = hottest;
        }
    }
}

/// A bar on a terminal, nothing elsewhere; one unit is a second in the kiln.
fn progress_bar(expected: Millis) -> ProgressBar {
    let bar = ProgressBar::new(expected.ms() / 1000);
    let style = ProgressStyle::with_template("  firing {wide_bar} {percent:>3} %");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar
}
