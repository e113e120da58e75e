//! SR-04: the same word again and again, longer than noise or the kiln's own movement allows.
//!
//! A healthy reading may stand still: at a soak on a coarse chip, or before any heat on a quiet one.
//! So a sign is asked for that this reading ought to move. It *dithers*: its words used to go up and
//! down at random, so a run of one word cannot be chance. Or it *was moving* under the same power. Or
//! far more heat was given than the kiln can lose.
//!
//! Where a step's word is the median of several samples, it stands still more often than a single sample
//! would: so a step whose samples differ is no part of a run, whatever its median. Dithering is learned from
//! the medians themselves, whose noise is as white as a sample's, only narrower.

use libm::copysign;
use pyrometry::amplifier::{Said, Sensor};
use pyrometry::units::{Celsius, Millis, greater, lesser};

use super::movement::Movement;
use super::observer::Totals;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-04: identical samples on a fine-resolution chip that are told, and that trip.
const FINE_NOTICE: Millis = Millis::from_seconds(20);
const FINE_TRIP: Millis = Millis::from_seconds(30);
/// On one without noise to tell by, whose reading may stand still where the ripple of a switching
/// cycle of 20 s turns. Fitted on simulated kilns.
const FINE_QUIET_TRIP: Millis = Millis::from_seconds(90);
/// SR-04: on a coarse one, whose words repeat by themselves.
const COARSE_TRIP: Millis = Millis::from_seconds(120);
/// What moves a kiln of several zones may pass one of them by for a while; engineering judgement.
const COARSE_TRIP_OF_ZONES: Millis = Millis::from_minutes(5);
/// SR-04: change in steps that must be expected in the run.
const EXPECTED_STEPS: f64 = 4.0;
/// One word while the plan went this far, for this long, withholds: a sound reading follows its plan,
/// and what heat is already in the kiln moves it within the withhold. Engineering judgement.
const PLAN_MOVED_C: f64 = 3.0;
const PLAN_AFTER: Millis = Millis::from_minutes(3);
/// So does one word for this long while the plan is this far away and waits for the kiln.
const WAITED_C: f64 = 3.0;
const WAITED_AFTER: Millis = Millis::from_minutes(5);
/// Samples over which up-and-down is learned (a mean that forgets).
const LEARNED_OVER: f64 = 64.0;
/// A turn counts from this many steps on: noise narrower than that stands still in the middle of a
/// step and dances on its edge, so that neither tells anything.
const TURN_STEPS: f64 = 2.0;
/// So does one word of a fine chip for this long while heat may be given, whatever the plan does: on
/// simulated kilns a sound one stands for 3.6 min at most.
const FINE_STANDS: Millis = Millis::from_minutes(10);
/// Share of samples that turn back so far, from which on a reading dithers. White noise of many steps
/// does in two samples of three; where it is a quarter, no word comes more often than about every
/// other time, and 30 in a row come by chance less than once in 10⁸ samples.
const DITHERS: f64 = 0.25;
/// Millivolts to a degree, for the steps of a chip that gives emf: type K, roughly (IEC 60584-1).
const MV_PER_C: f64 = 0.04;

pub(crate) const ROW: Row = Row {
    requirement: "SR-04",
    interlock: Interlock::StuckReading,
    condition: "the junction's word identical, in every sample, for 20 s (notice) or 30 s (trip; 90 s without noise) on a fine chip, 120 s on a coarse one, where its noise or its earlier movement shows that it ought to change; 3 min while the plan moved 3 °C, or 5 min while it waits 3 °C away, or on a fine chip 10 min while heat may be given, withhold",
    worst: Severity::Trip,
    clears: "the word changes",
    look_at: &[
        "the amplifier: take its supply away and give it back",
        "the bus wires between computer and amplifier",
        "the filter setting of the amplifier",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the reading has been the very same number for {:.0} s; {:.0} s is the most its noise or movement allows.",
            evidence.seen, evidence.bound
        )
    },
};

/// What is known of one probe.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    word: Option<f64>,
    /// How long it has been this word.
    run: Millis,
    /// Direction of the latest change, and how often it turned back.
    rising: Option<f64>,
    turning: f64,
    /// The same as it was when this run began.
    turned_before: f64,
    /// When this run began.
    begun: Totals,
    setpoint: Option<Celsius>,
    movement: Option<Movement>,
}

/// What is known of each probe.
#[derive(Clone, Debug)]
pub(crate) struct Stuck {
    tracks: [Track; PROBES_MOST],
}

impl Stuck {
    pub(crate) fn new() -> Self {
        Self { tracks: [Track::default(); PROBES_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut worst = Verdict::Clear;
        let probes = view.seen.probes().zip(&view.seen.kiln.probes);
        for ((probe, fitted), track) in probes.zip(&mut self.tracks) {
            let sensor = &fitted.sensor;
            let Some(word) = word(view, probe, sensor) else {
                *track = Track { turning: track.turning, ..Track::default() };
                continue;
            };
            track.take(word, samples_of(view, probe), view);
            worst = worst.worse(track.verdict(probe, sensor, view));
        }
        worst
    }
}

/// Whether a reading is away from its plan, which waits for it.
fn is_waited_for(view: &View<'_>, probe: u8) -> bool {
    let reading = view.seen.measured(probe).ok().map(|measured| measured.junction);
    let away =
        view.seen.setpoint.zip(reading).map(|(setpoint, reading)| (setpoint - reading).magnitude().c());
    view.seen.phase.may_heat() && away.is_some_and(|c| c >= WAITED_C)
}

/// The junction's word alone, counted in the chip's steps: equal only if the word is.
fn word(view: &View<'_>, probe: u8, sensor: &Sensor) -> Option<f64> {
    let step_c = sensor.amplifier.junction_step().c();
    view.seen.measured(probe).ok()?;
    match view.seen.said(probe) {
        Said::Nothing => None,
        Said::Words { junction, .. } => Some(f64::from(junction)),
        Said::Reading { junction, .. } => Some(junction.c() / step_c),
        Said::Emf { emf, .. } => Some(emf.mv() / (step_c * MV_PER_C)),
    }
}

/// The samples behind one step's word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Samples {
    /// All the same, or there was but one.
    Alike,
    /// The chip gives more than one word.
    Apart,
}

fn samples_of(view: &View<'_>, probe: u8) -> Samples {
    match view.seen.spread(probe) {
        Some(spread) if spread.steps() > 0 => Samples::Apart,
        Some(_) | None => Samples::Alike,
    }
}

/// What a step of the word is worth where the junction is now: a straight-line chip's is worth twice
/// its name on a cold junction of platinum.
fn step_c(view: &View<'_>, probe: u8, sensor: &Sensor) -> f64 {
    match view.seen.measured(probe) {
        Ok(measured) => sensor.junction_step_at(measured.junction).c(),
        Err(_) => sensor.amplifier.junction_step().c(),
    }
}

impl Track {
    fn take(&mut self, word: f64, samples: Samples, view: &View<'_>) {
        let (span, observer) = (view.seen.since_last, view.observer);
        let change = self.word.map_or(0.0, |before| word - before);
        let first = self.word.replace(word).is_none();
        if first || change != 0.0 {
            let turned = self.rising.is_some_and(|rising| rising * change <= -TURN_STEPS);
            self.learn(if turned { 1.0 } else { 0.0 });
            self.rising = Some(copysign(1.0, change));
        } else {
            self.learn(0.0);
            if samples == Samples::Alike {
                if self.run == Millis::ZERO {
                    self.movement = Movement::lately(observer);
                }
                self.run += span;
                return;
            }
        }
        self.turned_before = self.turning;
        self.run = Millis::ZERO;
        (self.begun, self.movement) = (observer.totals(), None);
        self.setpoint = view.seen.setpoint;
    }

    fn learn(&mut self, turned: f64) {
        self.turning += (turned - self.turning) / LEARNED_OVER;
    }

    fn verdict(&self, probe: u8, sensor: &Sensor, view: &View<'_>) -> Verdict {
        // Nearly every sample ends here.
        if self.run < FINE_NOTICE {
            return Verdict::Clear;
        }
        let is_coarse = sensor.amplifier.is_coarse();
        let dithers = !is_coarse && self.turned_before >= DITHERS;
        let trip_after = match (is_coarse, dithers) {
            (true, _) if view.seen.kiln.probes.len() > 1 => COARSE_TRIP_OF_ZONES,
            (true, _) => COARSE_TRIP,
            (false, true) => FINE_TRIP,
            (false, false) => FINE_QUIET_TRIP,
        };
        let ought_to_move =
            dithers || self.expected_c(probe, view) >= EXPECTED_STEPS * step_c(view, probe, sensor);
        let (severity, bound) = if self.run >= trip_after && ought_to_move {
            (Severity::Trip, trip_after)
        } else if self.run >= PLAN_AFTER && self.planned_c(view).is_some_and(|c| !(c < PLAN_MOVED_C)) {
            (Severity::Withhold, PLAN_AFTER)
        } else if self.run >= WAITED_AFTER && is_waited_for(view, probe) {
            (Severity::Withhold, WAITED_AFTER)
        } else if !is_coarse && self.run >= FINE_STANDS && view.seen.phase.may_heat() {
            (Severity::Withhold, FINE_STANDS)
        } else if dithers {
            (Severity::Notice, FINE_NOTICE)
        } else {
            return Verdict::Clear;
        };
        let evidence = Evidence { seen: self.run.seconds(), bound: bound.seconds(), lasted: self.run };
        Verdict::about(probe, severity, evidence)
    }

    /// How far the plan has moved in this run, °C.
    fn planned_c(&self, view: &View<'_>) -> Option<f64> {
        self.setpoint.zip(view.seen.setpoint).map(|(then, now)| (now - then).magnitude().c())
    }

    /// How far its plan leads it: no further than the plan has gone in this run, and one that is ahead of its
    /// plan waits for it.
    fn led_c(&self, probe: u8, view: &View<'_>) -> Option<f64> {
        let (then_c, now_c) = (self.setpoint?.c(), view.seen.setpoint?.c());
        let reading_c = view.seen.measured(probe).ok()?.junction.c();
        let from_c = if now_c > then_c { greater(then_c, reading_c) } else { lesser(then_c, reading_c) };
        let is_led = (now_c > then_c) == (now_c > from_c);
        Some(if is_led { (now_c - from_c).abs() } else { 0.0 })
    }

    /// Change that movement or heat leads one to expect of this run, °C.
    fn expected_c(&self, probe: u8, view: &View<'_>) -> f64 {
        let now = view.observer.totals();
        let moved_c =
            self.movement.map_or(0.0, |before| before.goes_on_c(self.run, now.given_j - self.begun.given_j));
        let moved_c = self.led_c(probe, view).map_or(moved_c, |led_c| lesser(moved_c, led_c));
        greater(moved_c, view.observer.surely_risen_c(self.begun, now))
    }
}
