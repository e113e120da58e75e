//! Random kilns, and the file a potter would write for each.

use control::{Bank, Kiln, Probe, Programme, SwitchKind};
use insight::{Body, Chamber, Lining};
use kiln_sim::{BankSpec, Brick, CurrentSensing, Enclosure, Input, KilnSpec, Layer, ProbeSpec, Ware, Wire};
use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Amps, Celsius, Millis, Watts};

use crate::chance::Chance;

/// A kiln with what its owner knows of it.
pub(crate) struct Drawn {
    pub(crate) spec: KilnSpec,
    /// The hottest its power is meant for.
    pub(crate) made_for_c: f64,
    told: Body,
    told_kg: f64,
    /// Share of all banks' power that the supply carries.
    supply_share: f64,
    switch: SwitchKind,
    /// Whether the kiln file tells the supply's tension, and with it the banks' currents.
    tension_told: bool,
}

const USUAL_TENSION_V: f64 = 230.0;

/// Walls as built against walls as told; batches of brick differ as much in what they conduct.
const WALL_RATIO: (f64, f64) = (0.85, 1.15);
/// The load as it is against the load as told.
const LOAD_RATIO: (f64, f64) = (0.5, 2.0);
/// The hottest to be fired with a MAX6675.
const MAX6675_MOST_C: f64 = 980.0;
/// A shed for coarse chips.
const FROST_FREE_C: f64 = 5.0;
/// A shelf and a pot.
const KILOGRAMS_LEAST: f64 = 4.0;

pub(crate) fn draw(chance: &mut Chance) -> Drawn {
    let chamber_l = chance.scale(8.0, 800.0);
    let made_for_c = chance.between(950.0, 1300.0);
    let ambient_c = chance.between(-5.0, 38.0);
    let probe = probe(chance, made_for_c);
    let (brick, lining, told_m) = wall(chance);
    let thickness_m = told_m * chance.between(WALL_RATIO.0, WALL_RATIO.1);
    let brick = brick.conducting(chance.between(WALL_RATIO.0, WALL_RATIO.1));
    let told_kg = (chamber_l * chance.scale(0.05, 0.4)).max(KILOGRAMS_LEAST);
    let mass_kg = told_kg * chance.scale(LOAD_RATIO.0, LOAD_RATIO.1);
    let told = Body { chamber: Chamber::Volume { m3: chamber_l / 1000.0 }, lining, wall_m: told_m };
    let supply_share = if chance.happens(0.15) { 0.7 } else { 1.0 };
    let needed_w = needed_w(&told, made_for_c, ambient_c, told_kg, brick, chance);
    let banks = banks(chance, needed_w / supply_share);
    let zones = zones(chance, banks, probe);
    let supply_share = if zones.banks.len() > 1 { supply_share } else { 1.0 };
    let spec = KilnSpec {
        zones: zones.probes.len(),
        zone_opening: chance.between(0.1, 0.5),
        chamber_l,
        lining: vec![Layer { brick, thickness_m }],
        ware: Ware {
            mass_kg,
            area_m2: mass_kg * chance.between(0.03, 0.06),
            core_lag_s: chance.scale(60.0, 900.0),
        },
        banks: zones.banks,
        wire: Wire {
            diameter_mm: chance.between(1.2, 3.5),
            surface_load_w_per_cm2: chance.between(0.8, 2.2),
        },
        mains_v: USUAL_TENSION_V * chance.between(0.9, 1.1),
        mains_wander: chance.between(0.0, 0.01),
        probes: zones.probes,
        current_sensing: if chance.happens(0.3) {
            CurrentSensing::EachBank
        } else {
            CurrentSensing::NotFitted
        },
        lid_contact: chance.one_of(&[Input::Fitted, Input::NotFitted]),
        mirror_contact: if chance.happens(0.3) { Input::Fitted } else { Input::NotFitted },
        leak_w_per_k: told.chamber.hot_face_m2() * chance.between(0.05, 0.5),
        gaps_m2: told.chamber.hot_face_m2() * chance.between(0.0, 4.0e-4),
        ambient_c,
        start_c: if chance.happens(0.1) { chance.between(ambient_c, 400.0) } else { ambient_c },
        enclosure: enclosure(chance),
        ..KilnSpec::default()
    };
    let switch = chance.one_of(&[SwitchKind::Mechanical, SwitchKind::Mechanical, SwitchKind::SolidState]);
    let tension_told = chance.happens(0.5);
    Drawn { spec, made_for_c, told, told_kg, supply_share, switch, tension_told }
}

fn wall(chance: &mut Chance) -> (Brick, Lining, f64) {
    match chance.count(0, 6) {
        0 => (Brick::FIBRE_BLANKET, Lining::Fibre, chance.between(0.075, 0.15)),
        // Owners call both classes soft brick; the hotter one conducts more than half as much again.
        1 => (Brick::INSULATING_FIREBRICK_1400, Lining::SoftBrick, chance.between(0.1, 0.15)),
        _ => (Brick::INSULATING_FIREBRICK_1260, Lining::SoftBrick, chance.between(0.064, 0.13)),
    }
}

/// Power with which schedules are in reach at 10 % less mains, double the load and the worst wall:
/// the loss at the top, and something for climbing.
fn needed_w(body: &Body, top_c: f64, ambient_c: f64, load_kg: f64, brick: Brick, chance: &mut Chance) -> f64 {
    let area_m2 = body.chamber.conducting_m2(body.wall_m);
    let across_c = top_c - ambient_c;
    let conductivity = brick.conductivity_w_per_mk(0.5 * (top_c + ambient_c));
    let lost_w =
        across_c * (conductivity * area_m2 / (body.wall_m * 0.85) + 0.5 * body.chamber.hot_face_m2());
    let wall_j_per_k = 0.5 * area_m2 * body.wall_m * brick.density_kg_per_m3 * 1000.0;
    let climbing_w = (2.0 * load_kg * 1000.0 + wall_j_per_k) * chance.between(50.0, 130.0) / 3600.0;
    (lost_w + climbing_w) / (0.9 * 0.9) * chance.between(1.05, 1.3)
}

fn banks(chance: &mut Chance, total_w: f64) -> Vec<BankSpec> {
    let count = chance.count(1, 3);
    let shares: Vec<f64> = (0..count).map(|_| chance.between(0.75, 1.25)).collect();
    let sum: f64 = shares.iter().sum();
    shares
        .into_iter()
        .map(|share| BankSpec { zone: 0, rated_w: (total_w * share / sum).min(60_000.0) })
        .collect()
}

/// The parts of each zone.
struct Zones {
    banks: Vec<BankSpec>,
    probes: Vec<ProbeSpec>,
}

/// Mostly one zone; one kiln in six has two to four, each with some of the power and a probe of its own.
fn zones(chance: &mut Chance, banks: Vec<BankSpec>, probe: ProbeSpec) -> Zones {
    if !chance.happens(1.0 / 6.0) {
        return Zones { banks, probes: vec![probe] };
    }
    let zones = usize::try_from(chance.count(2, 4)).unwrap_or(2);
    let total_w: f64 = banks.iter().map(|bank| bank.rated_w).sum();
    let shares: Vec<f64> = (0..zones).map(|_| chance.between(0.8, 1.2)).collect();
    let sum: f64 = shares.iter().sum();
    let banks = shares.into_iter().enumerate();
    let banks = banks
        .map(|(zone, share)| BankSpec { zone, rated_w: (total_w * share / sum).min(60_000.0) })
        .collect();
    let probes = (0..zones).map(|zone| ProbeSpec {
        zone,
        lag_s: probe.lag_s * chance.between(0.7, 1.4),
        noise_c: chance.scale(0.005, 0.4),
        error_c: chance.between(-3.0, 3.0),
        ..probe
    });
    Zones { banks, probes: probes.collect() }
}

fn probe(chance: &mut Chance, made_for_c: f64) -> ProbeSpec {
    let (thermocouple, amplifier) = loop {
        let thermocouple = chance.one_of(&[
            Thermocouple::K,
            Thermocouple::K,
            Thermocouple::K,
            Thermocouple::N,
            Thermocouple::S,
            Thermocouple::R,
        ]);
        let amplifier = chance.one_of(&[
            Amplifier::Max31856,
            Amplifier::Max31856,
            Amplifier::Max31855,
            Amplifier::Mcp9600,
            Amplifier::Max6675,
        ]);
        // The MAX6675 ends at 1023.75 °C (datasheet 19-2235), where a straight line reads 990 °C true.
        if amplifier.serves(thermocouple) && (amplifier != Amplifier::Max6675 || made_for_c < MAX6675_MOST_C)
        {
            break (thermocouple, amplifier);
        }
    };
    ProbeSpec {
        zone: 0,
        thermocouple,
        amplifier,
        lag_s: chance.scale(2.0, 40.0),
        element_view: chance.between(0.0, 0.35),
        noise_c: chance.scale(0.005, 0.4),
        error_c: chance.between(-3.0, 3.0), // within class 1 (IEC 60584-1) at stoneware temperatures
    }
}

/// Near and below 0 °C a MAX6675 says nothing but zeros, and a MAX31855 does at 0 °C: both are taken
/// for a dead bus and refused, as they must be. So the shed of a kiln that has one is free of frost.
pub(crate) fn keep_from_frost(spec: &mut KilnSpec) {
    if spec.probes.iter().any(|probe| !told_from_dead(probe, spec.ambient_c)) {
        spec.ambient_c = FROST_FREE_C;
        spec.start_c = spec.start_c.max(FROST_FREE_C);
    }
}

fn told_from_dead(probe: &ProbeSpec, ambient_c: f64) -> bool {
    match probe.amplifier {
        Amplifier::Max31856 | Amplifier::Mcp9600 => true,
        Amplifier::Max31855 | Amplifier::Max6675 => ambient_c > FROST_FREE_C,
    }
}

fn enclosure(chance: &mut Chance) -> Enclosure {
    let to_ambient_w_per_k = chance.between(1.5, 4.0);
    Enclosure {
        capacity_j_per_k: chance.scale(1000.0, 8000.0),
        to_ambient_w_per_k,
        from_kiln_w_per_k: to_ambient_w_per_k * chance.between(0.01, 0.08),
        own_w: chance.between(2.0, 10.0),
        head_share: chance.between(0.2, 0.5),
    }
}

impl Drawn {
    /// The kiln file, with a ceiling a little above what is to be fired.
    pub(crate) fn file(&self, chance: &mut Chance, programme: &Programme) -> Kiln {
        let rated_w: f64 = self.spec.banks.iter().map(|bank| bank.rated_w).sum();
        let largest_w = self.spec.banks.iter().map(|bank| bank.rated_w).fold(0.0, f64::max);
        let rated = Watts::new(rated_w).unwrap_or(Watts::ZERO);
        let hottest_c = programme.hottest().map_or(self.made_for_c, Celsius::c);
        let ceiling_c = hottest_c.max(self.spec.start_c) + chance.between(12.0, 80.0);
        let supply_w = largest_w.max(rated_w * self.supply_share);
        Kiln {
            probes: self.spec.probes.iter().map(known).collect(),
            banks: self.spec.banks.iter().map(|bank| self.bank(bank)).collect(),
            switching: control::Closeness::Sparing,
            ceiling: Celsius::new(ceiling_c).unwrap_or(Celsius::GREATEST),
            supply_limit: Watts::new(supply_w).unwrap_or(rated),
            firing_longest: Millis::from_hours(96),
            stay_longest: Millis::from_hours(4),
            open_below: Celsius::new(self.spec.ambient_c.max(10.0) + 70.0).unwrap_or(Celsius::LEAST),
            model: insight::guess(&self.told, rated, self.told_kg).expect("every kiln drawn has a model"),
        }
    }

    fn bank(&self, bank: &BankSpec) -> Bank {
        let (least, cycle_least) = match self.switch {
            SwitchKind::Mechanical => (Millis::from_seconds(2), Millis::from_seconds(10)),
            SwitchKind::SolidState => (Millis::from_seconds(1), Millis::from_seconds(4)),
        };
        Bank {
            power: Watts::new(bank.rated_w).unwrap_or(Watts::ZERO),
            current: self.tension_told.then(|| Amps::new(bank.rated_w / USUAL_TENSION_V)).flatten(),
            switch: self.switch,
            on_least: least,
            off_least: least,
            cycle_least,
            probe: u8::try_from(bank.zone).expect("at most four zones"),
        }
    }
}

fn known(probe: &ProbeSpec) -> Probe {
    let sensor = Sensor {
        thermocouple: probe.thermocouple,
        amplifier: probe.amplifier,
        calibration: Calibration::NONE,
    };
    Probe { sensor }
}
