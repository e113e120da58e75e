//! A firing by the real controller.

use control::{
    BANKS_MOST, Closeness, Contact, Controller, Firing, KilnModel, Observation, Phase, Setup, Start,
};
use hal::Level;
use insight::Stretches;
use kiln_sim::{Plant, Switches};
use pyrometry::amplifier::Report;
use pyrometry::units::{Celsius, Duty, Millis, Watts};

use crate::case::{Case, celsius};
use crate::schedule::{Part, Second, mid_fire};
use crate::track::{Sample, Track};

/// How a firing is begun.
#[derive(Clone, Copy, Default)]
pub(crate) struct Begun {
    /// How its relays are used.
    pub(crate) switching: Closeness,
    /// What a firing before has taught.
    pub(crate) learned: Option<KilnModel>,
}

/// A second firing, regulated by the model fitted to a first one.
pub(crate) fn fire_again(case: &Case, switching: Closeness) -> Track {
    let mut stretches = Stretches::default();
    fire(case, Begun { switching, learned: None }, |plant, _| {
        let junctions_c = junctions_c(plant); // ten seconds' mean has little noise
        stretches.take(celsius(mean(&junctions_c)), on(plant), Millis::from_seconds(1));
    });
    let learned = insight::fit(&case.kiln, stretches.samples()).ok().map(|fit| fit.model);
    fire(case, Begun { switching, learned }, |_, _| {})
}

/// Fires a kiln; `watch` sees the plant after every second.
pub(crate) fn fire(case: &Case, begun: Begun, mut watch: impl FnMut(&Plant, Second)) -> Track {
    let mut controller = lit(case, begun);
    let mut plant = case.plant();
    let mut switches = Switches::default();
    let mut track = Track::default();
    for second in 0_u64.. {
        plant.step(Millis::from_seconds(1), &switches);
        let reports: Vec<Report> = (0..case.spec.probes.len()).map(|probe| plant.report(probe)).collect();
        let decision = controller.step(&Observation {
            at: Millis::from_seconds(second),
            probes: &reports,
            lid: Contact::NotFitted,
            contactor: Contact::NotFitted,
            amps: [None; BANKS_MOST],
            orders: &[],
            forecast: None,
        });
        for (level, on) in switches.banks.iter_mut().zip(decision.banks) {
            *level = if on { Level::On } else { Level::Off };
        }
        switches.contactor = if decision.permission { Level::On } else { Level::Off };
        track.withheld_s += u64::from(decision.withheld.is_some());
        if let Some(trip) = decision.trip {
            track.ended = Some(format!("{:?} after {:.1} h", trip.interlock, hours(second)));
        }
        let part = match decision.phase {
            Phase::Climbing => Part::Climb,
            Phase::Soaking => Part::Soak,
            Phase::SlowCooling => Part::Cooling,
            Phase::Resting
            | Phase::SetForLater
            | Phase::Staying
            | Phase::Cooling
            | Phase::CoolEnoughToOpen
            | Phase::Tripped => break,
        };
        let planned = Second { setpoint_c: decision.setpoint.map_or(f64::NAN, Celsius::c), part };
        track.samples.push(sampled(&plant, planned));
        watch(&plant, planned);
    }
    track.operations = busiest(&plant);
    track
}

fn lit(case: &Case, begun: Begun) -> Controller {
    let kiln = control::Kiln { switching: begun.switching, ..case.kiln.clone() };
    let programme = mid_fire();
    let forecast = insight::longest_forecast(&kiln, &programme, celsius(case.spec.start_c));
    let firing = Firing { programme, delay: Millis::ZERO, forecast, learned: begun.learned };
    Controller::new(Setup { kiln, firing: Some(firing), start: Start::default() })
}

/// A second of a firing as it really was.
pub(crate) fn sampled(plant: &Plant, planned: Second) -> Sample {
    let powers_w = (0..plant.spec().banks.len()).filter_map(|bank| plant.power(bank)).map(Watts::w);
    let junctions_c = junctions_c(plant);
    Sample {
        planned,
        true_c: mean(&junctions_c),
        apart_c: junctions_c.iter().copied().fold(f64::MIN, f64::max)
            - junctions_c.iter().copied().fold(f64::MAX, f64::min),
        power_w: powers_w.sum(),
    }
}

fn junctions_c(plant: &Plant) -> Vec<f64> {
    let probes = 0..plant.spec().probes.len();
    probes.filter_map(|probe| plant.truth().junction(probe)).map(Celsius::c).collect()
}

fn mean(of_c: &[f64]) -> f64 {
    let (sum_c, count) = of_c.iter().fold((0.0, 0.0), |(sum_c, count), c| (sum_c + c, count + 1.0));
    sum_c / count
}

/// Share of the rated power whose banks are on.
fn on(plant: &Plant) -> Duty {
    let (mut on_w, mut all_w) = (0.0, 0.0);
    for (number, bank) in plant.spec().banks.iter().enumerate() {
        all_w += bank.rated_w;
        if plant.power(number).is_some_and(|power| power.w() > 0.0) {
            on_w += bank.rated_w;
        }
    }
    Duty::limited(on_w / all_w)
}

/// Closings of the busiest relay.
pub(crate) fn busiest(plant: &Plant) -> u64 {
    (0..plant.spec().banks.len()).filter_map(|bank| plant.relay_operations(bank)).max().unwrap_or(0)
}

fn hours(second: u64) -> f64 {
    Millis::from_seconds(second).hours()
}
