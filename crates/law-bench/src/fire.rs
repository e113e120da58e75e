//! A firing by the real controller.

use control::{Contact, Controller, Firing, KilnModel, Observation, Phase, Setup, Start};
use hal::Level;
use kiln_sim::{Plant, Switches};
use pyrometry::amplifier::Report;
use pyrometry::units::{Celsius, Millis};

use crate::case::{Case, celsius};
use crate::schedule::{Part, mid_fire};
use crate::track::{Sample, Track};

/// Fires a kiln with what is known of it: the file's guess, or a model fitted to a firing before.
pub(crate) fn fire(case: &Case, model: KilnModel) -> Track {
    let kiln = control::Kiln { model, ..case.kiln.clone() };
    let programme = mid_fire();
    let forecast = insight::longest_forecast(&kiln, &programme, celsius(case.spec.start_c));
    let firing = Firing { programme, delay: Millis::ZERO, forecast, learned: None };
    let mut controller = Controller::new(Setup { kiln, firing: Some(firing), start: Start::default() });
    let mut plant = Plant::new(&case.spec, case.seed).expect("a kiln that can be simulated");
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
            amps: [None; control::BANKS_MOST],
            orders: &[],
            forecast: None,
        });
        for (level, on) in switches.banks.iter_mut().zip(decision.banks) {
            *level = if on { Level::On } else { Level::Off };
        }
        switches.contactor = if decision.permission { Level::On } else { Level::Off };
        if let Some(finding) = decision.trip.or(decision.withheld) {
            track.ended = Some(format!("after {second} s: {finding:?}"));
        }
        let part = match decision.phase {
            Phase::Climbing => Part::Climb,
            Phase::Soaking => Part::Soak,
            Phase::SlowCooling => Part::Cooling,
            Phase::SetForLater => continue,
            _ => break,
        };
        track.samples.push(Sample {
            setpoint_c: decision.setpoint.map_or(f64::NAN, Celsius::c),
            true_c: plant.truth().junction(0).map_or(f64::NAN, Celsius::c),
            part,
        });
    }
    track.operations = busiest(&plant, case);
    track
}

/// Closings of the busiest relay.
pub(crate) fn busiest(plant: &Plant, case: &Case) -> u64 {
    (0..case.spec.banks.len()).filter_map(|bank| plant.relay_operations(bank)).max().unwrap_or(0)
}
