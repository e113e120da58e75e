//! Where the heat went: given by the elements, stored in the load, lost into and through the wall.
//!
//! Everything is kept as totals since the first sample, taken every 10 s, so that what happened in
//! any window is the difference of two samples and costs nothing to ask for. Heat counts as given
//! when its relay was told to be closed; whether it really came is what the totals are for.

use pyrometry::units::{Celsius, Millis};

use super::ring::Ring;
use super::seen::Seen;
use crate::kiln::Kiln;
use crate::thermal::{Wall, Ware};

/// Time between two samples.
pub(crate) const CADENCE: Millis = Millis::from_seconds(10);
/// Samples kept: ten minutes and both ends.
const KEPT: usize = 61;

/// Taken for the room where no amplifier tells its cold junction: engineering judgement.
const ROOM: Celsius = pyrometry::constant!(Celsius, 20.0);

/// A kiln found this much hotter than its amplifier has been fired lately, so its wall is hot.
const FOUND_HOT_C: f64 = 60.0; // engineering judgement: far above any box's warmth or a summer's day

/// Totals at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sample {
    /// When, counted from the first step.
    pub(crate) at: Millis,
    /// Mean of the good probes over the cadence, °C.
    pub(crate) chamber_c: f64,
    /// Heat given so far, J.
    pub(crate) given_j: f64,
    /// Heat that load and elements hold, from any zero, J. The ware's follows the chamber late.
    pub(crate) stored_j: f64,
    /// Heat lost into the lining and by leaks so far, J.
    pub(crate) lost_j: f64,
    /// The setpoint, °C, where there was a plan.
    pub(crate) setpoint_c: Option<f64>,
}

impl Sample {
    /// Its totals.
    pub(crate) const fn totals(&self) -> Totals {
        Totals { given_j: self.given_j, lost_j: self.lost_j }
    }
}

/// Heat given and lost at one instant, J.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Totals {
    /// Given so far.
    pub(crate) given_j: f64,
    /// Lost so far, by the model.
    pub(crate) lost_j: f64,
}

/// How far a model guessed from the kiln file may be out, either way (`Certainty::Guessed`).
const MODEL_OUT: f64 = 0.4;
/// A load may be this many times the model's (half to double).
const LOAD_MOST: f64 = 2.0;
/// Elements may take this much more heat first. Engineering judgement: full power raises elements of
/// usual load by 80 to 280 °C over a chamber in the red (Stefan–Boltzmann); from cold by more, but not in the first minute.
const ELEMENTS_FIRST_C: f64 = 150.0;

/// A kiln found hot hides how deep its heat has gone. Its wall is known once it has been followed
/// for this long: fitted on kilns found evenly hot right through, which need 40 min of it.
const WALL_KNOWN_AFTER: Millis = Millis::from_minutes(60);

/// The running totals.
#[derive(Clone, Debug)]
pub(crate) struct Observer {
    wall: Option<(Wall, f64)>,
    ware: Option<Ware>,
    taken_up_j: f64,
    /// When the wall's state is no longer a guess.
    wall_known_from: Millis,
    now: Millis,
    full_w: f64,
    store_j_per_k: f64,
    quick_j_per_k: f64,
    leak_w_per_k: f64,
    given_j: f64,
    lost_j: f64,
    span: Millis,
    sum_c: f64,
    count: f64,
    samples: Ring<Sample, KEPT>,
    fresh: Option<Sample>,
}

impl Observer {
    /// An observer of a kiln.
    pub(crate) fn new(kiln: &Kiln) -> Self {
        let model = kiln.model.parameters();
        Self {
            wall: None,
            ware: None,
            taken_up_j: 0.0,
            wall_known_from: Millis::ZERO,
            now: Millis::ZERO,
            full_w: kiln.carried().w() * model.power_ratio,
            store_j_per_k: model.ware_j_per_k + model.quick_j_per_k,
            quick_j_per_k: model.quick_j_per_k,
            leak_w_per_k: model.leak_w_per_k,
            given_j: 0.0,
            lost_j: 0.0,
            span: Millis::ZERO,
            sum_c: 0.0,
            count: 0.0,
            samples: Ring::new(),
            fresh: None,
        }
    }

    /// Takes in one step; `readings_c` are the usable readings.
    pub(crate) fn step(&mut self, seen: &Seen<'_>, readings_c: impl Iterator<Item = f64>) {
        self.fresh = None;
        let on_w: f64 = seen
            .kiln
            .banks
            .iter()
            .zip(seen.banks)
            .filter(|(_, on)| *on)
            .map(|(bank, _)| bank.power.w())
            .sum();
        self.given_j += on_w * seen.kiln.model.parameters().power_ratio * seen.since_last.seconds();
        for reading_c in readings_c {
            self.sum_c += reading_c;
            self.count += 1.0;
        }
        self.now += seen.since_last;
        self.span += seen.since_last;
        if self.span >= CADENCE && self.count > 0.0 {
            self.take(seen);
        }
    }

    fn take(&mut self, seen: &Seen<'_>) {
        let chamber_c = self.sum_c / self.count;
        let span = core::mem::take(&mut self.span);
        (self.sum_c, self.count) = (0.0, 0.0);
        let Some(chamber) = Celsius::new(chamber_c) else { return };
        let (wall, room_c) = self.wall.get_or_insert_with(|| {
            let (wall, room_c, found_hot) = found(seen, chamber);
            if found_hot {
                self.wall_known_from = self.now + WALL_KNOWN_AFTER;
            }
            (wall, room_c)
        });
        let flow_w = wall.step(chamber, span).w() + self.leak_w_per_k * (chamber_c - *room_c);
        self.lost_j += flow_w * span.seconds();
        let ware = self.ware.get_or_insert_with(|| Ware::at_rest_as_told(&seen.kiln.model, chamber));
        self.taken_up_j += ware.step(chamber_c, span) * span.seconds();
        let sample = Sample {
            at: self.now,
            chamber_c,
            given_j: self.given_j,
            stored_j: self.quick_j_per_k * chamber_c + self.taken_up_j,
            lost_j: self.lost_j,
            setpoint_c: seen.setpoint.map(Celsius::c),
        };
        self.samples.push(sample);
        self.fresh = Some(sample);
    }

    /// The sample taken in this very step.
    pub(crate) const fn fresh(&self) -> Option<Sample> {
        self.fresh
    }

    /// The sample taken `back` samples before the latest, at most ten minutes ago.
    pub(crate) fn ago(&self, back: usize) -> Option<Sample> {
        self.samples.ago(back)
    }

    /// Whether what the wall takes is known, and not guessed from a kiln found hot.
    pub(crate) fn knows_the_wall(&self) -> bool {
        self.now >= self.wall_known_from
    }

    /// Heat given and lost so far.
    pub(crate) const fn totals(&self) -> Totals {
        Totals { given_j: self.given_j, lost_j: self.lost_j }
    }

    /// How far the kiln has risen between two instants at the very least, °C, with all doubts about
    /// model and load against it; below zero where it may have cooled.
    pub(crate) fn surely_risen_c(&self, then: Totals, now: Totals) -> f64 {
        let given_j = (1.0 - MODEL_OUT) * (now.given_j - then.given_j);
        let lost_j = (1.0 + MODEL_OUT) * (now.lost_j - then.lost_j);
        let elements_j = self.quick_j_per_k * ELEMENTS_FIRST_C;
        (given_j - lost_j - elements_j) / (LOAD_MOST * self.store_j_per_k)
    }

    /// Heat capacity of load and elements together, J/K.
    pub(crate) const fn store_j_per_k(&self) -> f64 {
        self.store_j_per_k
    }

    /// Mean duty over the latest `back` sample intervals, by what the relays were told.
    pub(crate) fn duty_over(&self, back: usize) -> Option<f64> {
        let (now, then) = (self.ago(0)?, self.ago(back)?);
        Some((now.given_j - then.given_j) / (self.full_w * now.at.since(then.at).seconds()))
    }
}

/// The lining as first seen: at rest with a cold kiln, part-soaked with one found hot.
fn found(seen: &Seen<'_>, chamber: Celsius) -> (Wall, f64, bool) {
    let cold = seen
        .probes()
        .filter_map(|probe| seen.measured(probe).ok())
        .find_map(|measured| measured.cold_junction);
    let room = cold.unwrap_or(ROOM).colder(chamber);
    let excess_c = (chamber - room).c();
    let found_hot = excess_c > FOUND_HOT_C;
    let wall = if found_hot {
        Wall::found_hot(&seen.kiln.model, chamber)
    } else {
        Wall::at_rest(&seen.kiln.model, chamber)
    };
    (wall, room.c(), found_hot)
}
