//! Kilns and switch positions the tests share.

use hal::Level;
use kiln_sim::{BankSpec, Fault, KilnSpec, Plant, ProbeSpec, Switches, Timed};
use pyrometry::units::Millis;

pub(crate) const SECOND: Millis = Millis::from_seconds(1);

/// Every bank and the contactor.
pub(crate) fn all_on() -> Switches {
    Switches { banks: [Level::On; 8], contactor: Level::On, ..Switches::default() }
}

/// The default kiln with nothing random in it.
pub(crate) fn quiet() -> KilnSpec {
    KilnSpec {
        mains_wander: 0.0,
        probes: vec![ProbeSpec { noise_c: 0.0, ..ProbeSpec::default() }],
        ..KilnSpec::default()
    }
}

/// The same, with one bank and one probe in each of several zones.
pub(crate) fn zoned(zones: usize) -> KilnSpec {
    KilnSpec {
        zones,
        banks: (0..zones)
            .map(|zone| BankSpec {
                zone,
                rated_w: 11_500.0 / f64::from(u8::try_from(zones).unwrap_or(u8::MAX)),
            })
            .collect(),
        probes: (0..zones).map(|zone| ProbeSpec { zone, noise_c: 0.0, ..ProbeSpec::default() }).collect(),
        ..quiet()
    }
}

/// A kiln whose fault is there from the start.
pub(crate) fn suffering(spec: &KilnSpec, fault: Fault) -> Plant {
    let mut plant = Plant::new(spec, 1).expect("a checked kiln");
    plant.schedule(&[Timed { onset: Millis::ZERO, until: None, fault }]).expect("a possible fault");
    plant
}

pub(crate) fn run(plant: &mut Plant, seconds: u32, switches: &Switches) {
    for _ in 0..seconds {
        plant.step(SECOND, switches);
    }
}
