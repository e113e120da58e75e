//! What a schedule will do in this kiln: how long, how hot, how much energy, and where the kiln
//! cannot keep up.

mod carried;
mod run;

#[cfg(test)]
pub(crate) mod tests;

use control::{Certainty, Decision, Expected, Kiln, KilnModel, Parameters, Phase, Programme};
use pyrometry::units::{Celsius, Duty, Joules, Millis};

pub use carried::{forecast_carried, longest_carried};
use run::Run;

/// How a segment's target is met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Arrival {
    /// As the schedule says.
    AsWritten,
    /// The kiln cannot follow: the schedule waits this long for it.
    Late(Millis),
    /// Never: the kiln stalls at this temperature.
    Never(Celsius),
    /// Its cone is not down when the time to wait for it, at this temperature, is over.
    ConeNotDown(Celsius),
}

/// What one segment will do. Times count from light-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SegmentForecast {
    /// When it begins.
    pub begins: Millis,
    /// When its target is met, or given up.
    pub arrives: Millis,
    /// When it ends, soak included.
    pub ends: Millis,
    /// Whether the kiln keeps up.
    pub arrival: Arrival,
    /// The cone when it begins, on the scale of `pyrometry::cone::Cone::ordinal`; `None` below 022.
    pub cone_begins: Option<f64>,
    /// The cone when its target is met, or given up.
    pub cone_arrives: Option<f64>,
    /// The cone when it ends, soak included.
    pub cone_ends: Option<f64>,
}

/// One point of the curves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Time from light-up.
    pub at: Millis,
    /// The schedule's setpoint; `None` while nothing is asked of the kiln.
    pub planned: Option<Celsius>,
    /// The kiln.
    pub expected: Celsius,
    /// Share of full power.
    pub duty: Duty,
}

/// What a schedule will do in a kiln.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    /// From light-up to the last segment's end.
    pub duration: Millis,
    /// When the elements give heat for the last time.
    pub end_of_heating: Millis,
    /// When the kiln is cool enough to open; `None` when not within a week of the schedule's end.
    pub opens: Option<Millis>,
    /// The hottest it gets.
    pub hottest: Celsius,
    /// The cone as unloaded, on the scale of `pyrometry::cone::Cone::ordinal`; `None` below 022.
    pub cone: Option<f64>,
    /// What it draws.
    pub energy: Joules,
    /// Each segment, in order.
    pub segments: Vec<SegmentForecast>,
    /// The curves, one point a minute, down to cool enough to open.
    pub points: Vec<Point>,
}

impl Forecast {
    /// Where the kiln stalls, if it does: the first such segment from the one given on, both counted
    /// from zero, and the temperature. Whatever the forecast says of later is void.
    #[must_use]
    pub fn stall(&self, from: u8) -> Option<(usize, Celsius)> {
        let mut segments = self.segments.iter().enumerate().skip(usize::from(from));
        segments.find_map(|(number, segment)| match segment.arrival {
            Arrival::Never(at) => Some((number, at)),
            Arrival::AsWritten | Arrival::Late(_) | Arrival::ConeNotDown(_) => None,
        })
    }
}

/// Forecasts a programme in a kiln found at a temperature.
///
/// The kiln model is simulated forward under ideal control, so what it shows is what the kiln's
/// power and heat allow; the schedule's clock waits for the kiln beyond 8 °C as the controller's
/// does, and a climb to a cone ends where the controller would end it, cooling counted in.
#[must_use]
pub fn forecast(kiln: &Kiln, programme: &Programme, start: Celsius) -> Forecast {
    let mut run = Run::begin(kiln, start);
    let segments = (0_u8..).zip(programme.segments());
    let segments = segments.map(|(number, segment)| run.segment(programme, number, segment)).collect();
    let duration = run.now();
    let opens = run.cool_until(kiln.open_below);
    run.finish(duration, opens, segments)
}

/// A load may be this many times the guess: half to double is what healthy kilns are spread over.
/// Engineering judgement.
const HEAVIEST_RATIO: f64 = 2.0;

/// Real power of a healthy kiln against its rating at the least: mains 10 % low (EN 50160).
const WEAKEST_RATIO: f64 = 0.81;
/// What a wall conducts against the guess at the most: thickness and brick 15 % off each, alike.
const LEAKIEST_RATIO: f64 = 1.3;

/// What a programme takes, from light-up to its last segment's end, in a kiln whose load may
/// be twice what was guessed, its mains low and its wall thin: what a firing is held to, so that none of
/// them is a fault.
///
/// Where the kiln keeps up with its schedule they change nothing of the time; where such a kiln would
/// never get there they do not count.
#[must_use]
pub fn longest_forecast(kiln: &Kiln, programme: &Programme, start: Celsius) -> Expected {
    longest_of(kiln, |kiln| forecast(kiln, programme, start))
}

/// The most that a forecast tells of a kiln, or of it with the heaviest load, the lowest mains and the
/// thinnest wall it may have.
fn longest_of(kiln: &Kiln, forecast: impl Fn(&Kiln) -> Forecast) -> Expected {
    let told = forecast(kiln);
    let mut longest = Expected { lasts: told.duration, energy: Some(told.energy) };
    let guessed = kiln.model.parameters();
    if guessed.certainty == Certainty::Fitted {
        return longest;
    }
    let heavy = Parameters { ware_j_per_k: guessed.ware_j_per_k * HEAVIEST_RATIO, ..*guessed };
    let weak = Parameters {
        power_ratio: guessed.power_ratio * WEAKEST_RATIO,
        conductivity_ratio: guessed.conductivity_ratio * LEAKIEST_RATIO,
        ..heavy
    };
    // Beyond what any kiln can be, the kiln as told is the most there is.
    for model in [heavy, weak].into_iter().filter_map(|parameters| KilnModel::new(parameters).ok()) {
        let there = forecast(&Kiln { model, ..kiln.clone() });
        if there.stall(0).is_none() {
            // Counted as the controller will: by the time banks are on, at the power of the kiln as told.
            let as_told = guessed.power_ratio / model.parameters().power_ratio;
            let energy = Joules::new(there.energy.j() * as_told).unwrap_or(Joules::GREATEST);
            longest = longest.or_longer(there.duration, energy);
        }
    }
    longest
}

/// The same for what is left of a programme after a step, from the kiln as it is: what a firing is held
/// to once a person has changed its course. `None` where no segment runs or nothing was read.
#[must_use]
pub fn longest_left(kiln: &Kiln, programme: &Programme, decision: &Decision) -> Option<Expected> {
    let (number, from) = (decision.segment?, decision.chamber?);
    let segment = programme.segments().get(usize::from(number))?;
    let (soak, next) = match decision.phase {
        Phase::Soaking => (segment.soak(), number.saturating_add(1)),
        Phase::Resting
        | Phase::SetForLater
        | Phase::Climbing
        | Phase::SlowCooling
        | Phase::Staying
        | Phase::Cooling
        | Phase::CoolEnoughToOpen
        | Phase::Tripped => (Millis::ZERO, number),
    };
    let rest = programme.rest(next);
    let rest = rest.map_or(Expected::lasting(Millis::ZERO), |rest| longest_forecast(kiln, &rest, from));
    // What is left of a soak takes at most full power.
    let energy = rest.energy.unwrap_or(Joules::ZERO) + kiln.carried() * soak;
    Some(Expected { lasts: soak + rest.lasts, energy: Some(energy) })
}
