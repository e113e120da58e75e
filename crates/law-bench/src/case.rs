//! The kilns that the laws are compared on, each with the file a potter would write for it.

use control::{Bank, Kiln, Probe, SwitchKind};
use fastrand::Rng;
use insight::{Body, Chamber, Lining};
use kiln_sim::{BankFault, BankSpec, Fault, KilnSpec, Plant, ProbeSpec, Timed, Ware};
use pyrometry::amplifier::Sensor;
use pyrometry::calibration::Calibration;
use pyrometry::units::{Celsius, Millis, Watts};

/// How a bank is switched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Switching {
    pub(crate) kind: SwitchKind,
    pub(crate) cycle: Millis,
}

/// A relay with the usual shortest cycle.
pub(crate) const RELAY: Switching =
    Switching { kind: SwitchKind::Mechanical, cycle: Millis::from_seconds(10) };

/// A solid-state switch, which may turn every other second.
pub(crate) const SOLID_STATE: Switching =
    Switching { kind: SwitchKind::SolidState, cycle: Millis::from_seconds(2) };

/// One kiln to be fired.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub(crate) name: String,
    pub(crate) seed: u64,
    pub(crate) spec: KilnSpec,
    pub(crate) faults: Vec<Timed>,
    pub(crate) kiln: Kiln,
}

impl Case {
    /// The kiln itself, cold.
    pub(crate) fn plant(&self) -> Plant {
        let mut plant = Plant::new(&self.spec, self.seed).expect("a kiln that can be simulated");
        plant.schedule(&self.faults).expect("faults of parts that the kiln has");
        plant
    }

    fn named(self, name: &str) -> Self {
        Self { name: name.to_owned(), ..self }
    }

    /// With the last bank dead from some hour on.
    fn losing_a_bank_after(self, hours: u64) -> Self {
        let dead = Fault::Bank(self.spec.banks.len() - 1, BankFault::ElementsBroken { share: 1.0 });
        Self { faults: vec![Timed { onset: Millis::from_hours(hours), until: None, fault: dead }], ..self }
    }
}

/// The kilns that are always fired: the reference in its forms, and what can be wrong with it.
pub(crate) fn references() -> [Case; 6] {
    [
        reference(1, RELAY, RATED_W).named("one-bank"),
        reference(2, RELAY, RATED_W).named("two-banks"),
        reference(2, SOLID_STATE, RATED_W).named("solid-state"),
        reference(2, RELAY, STRONG_W).losing_a_bank_after(0).named("bank-dead"),
        reference(2, RELAY, STRONG_W).losing_a_bank_after(8).named("bank-dies"),
        reference(2, RELAY, WEAK_W).named("too-weak"),
    ]
}

pub(crate) const WALL_M: f64 = 0.076;
pub(crate) const LITRES: f64 = 150.0;
const RATED_W: f64 = 11_500.0;
const WEAK_W: f64 = 6_200.0; // enough to reach 1220 °C, not at 120 °C/h
const STRONG_W: f64 = 18_000.0; // of which half is enough for the schedule

/// The kiln of that name.
pub(crate) fn by_name(name: &str) -> Option<Case> {
    if let Some(seed) = name.strip_prefix("drawn-") {
        return seed.parse().ok().map(|seed| drawn(seed, RELAY));
    }
    references().into_iter().find(|case| case.name == name)
}

/// The reference kiln: 150 L, 11.5 kW in so many equal banks, 40 kg, a probe without noise.
pub(crate) fn usual(banks: usize, switching: Switching) -> Case {
    reference(banks, switching, RATED_W)
}

fn reference(banks: usize, switching: Switching, power_w: f64) -> Case {
    let mut spec = KilnSpec {
        ware: Ware { mass_kg: 40.0, area_m2: 1.6, core_lag_s: 240.0 },
        chamber_l: LITRES,
        ..KilnSpec::default()
    };
    #[allow(clippy::cast_precision_loss, reason = "at most eight banks")]
    let rated_w = power_w / banks as f64;
    spec.banks = vec![BankSpec { zone: 0, rated_w }; banks];
    spec.probes[0].noise_c = 0.0;
    told(7, spec, &Told { chamber_l: LITRES, wall_m: WALL_M, load_kg: 40.0 }, switching)
}

/// A kiln drawn from a seed: 5 to 80 kg where half to double was told, mains ±5 %, a probe of 5 to
/// 60 s and 0 to 1 °C of noise, walls 15 % off; strong enough for the schedule.
pub(crate) fn drawn(seed: u64, switching: Switching) -> Case {
    let mut chance = Rng::with_seed(seed);
    let mut between = |low: f64, high: f64| low + (high - low) * chance.f64();
    let load_share = between(0.0, 1.0);
    let mass_kg = 5.0 * libm::pow(16.0, load_share);
    let litres = (mass_kg * between(2.5, 5.0)).clamp(40.0, 250.0);
    let mut spec = KilnSpec {
        chamber_l: litres,
        ware: Ware { mass_kg, area_m2: mass_kg * between(0.03, 0.06), core_lag_s: between(90.0, 600.0) },
        mains_v: 230.0 * between(0.95, 1.05),
        ..KilnSpec::default()
    };
    for layer in &mut spec.lining {
        layer.thickness_m *= between(0.9, 1.15);
        layer.brick = layer.brick.conducting(between(0.87, 1.15));
    }
    spec.probes = vec![ProbeSpec {
        lag_s: 5.0 * libm::pow(12.0, between(0.0, 1.0)),
        element_view: between(0.0, 0.3),
        noise_c: libm::pow(between(0.0, 1.0), 3.0), // most are quiet
        ..ProbeSpec::default()
    }];
    let face_m2 = 6.0 * libm::cbrt(litres / 1000.0) * libm::cbrt(litres / 1000.0);
    let power_w = (face_m2 * 5_000.0 + mass_kg * 60.0) * between(1.0, 1.4);
    spec.banks = vec![BankSpec { zone: 0, rated_w: power_w / 2.0 }; 2];
    let load_kg = mass_kg * libm::pow(2.0, between(-1.0, 1.0));
    told(seed, spec, &Told { chamber_l: litres, wall_m: WALL_M, load_kg }, switching)
        .named(&format!("drawn-{seed}"))
}

/// What the potter tells of the kiln.
pub(crate) struct Told {
    pub(crate) chamber_l: f64,
    pub(crate) wall_m: f64,
    pub(crate) load_kg: f64,
}

pub(crate) fn told(seed: u64, spec: KilnSpec, told: &Told, switching: Switching) -> Case {
    let rated_w: f64 = spec.banks.iter().map(|bank| bank.rated_w).sum();
    let rated = watts(rated_w);
    let body = Body {
        chamber: Chamber::Volume { m3: told.chamber_l / 1000.0 },
        lining: Lining::SoftBrick,
        wall_m: told.wall_m,
    };
    let least = match switching.kind {
        SwitchKind::Mechanical => Millis::from_seconds(2),
        SwitchKind::SolidState => Millis::from_seconds(1),
    };
    let banks = spec.banks.iter().map(|bank| Bank {
        power: watts(bank.rated_w),
        current: None,
        switch: switching.kind,
        on_least: least,
        off_least: least,
        cycle_least: switching.cycle,
        probe: u8::try_from(bank.zone).expect("at most four zones"),
    });
    let probes = spec.probes.iter().map(|probe| Probe {
        sensor: Sensor {
            thermocouple: probe.thermocouple,
            amplifier: probe.amplifier,
            calibration: Calibration::NONE,
        },
    });
    let kiln = Kiln {
        probes: probes.collect(),
        banks: banks.collect(),
        switching: control::Closeness::Sparing,
        ceiling: celsius(1300.0),
        supply_limit: rated,
        firing_longest: Millis::from_hours(48),
        stay_longest: Millis::from_hours(4),
        open_below: celsius(90.0),
        model: insight::guess(&body, rated, told.load_kg).expect("every kiln compared has a model"),
    };
    Case { name: String::new(), seed, spec, faults: Vec::new(), kiln }
}

pub(crate) fn celsius(c: f64) -> Celsius {
    Celsius::new(c).expect("a temperature of the bench")
}

fn watts(w: f64) -> Watts {
    Watts::new(w).expect("a power of the bench")
}
