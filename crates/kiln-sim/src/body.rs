//! The kiln's constants, and the rates of change that follow from them.
//!
//! A step is Heun's: the rates at its start and at its Euler end, averaged. It is of second order,
//! and stable up to twice the shortest time constant; the span used is at most one of those.

use crate::chamber::Field;
use crate::element::{Element, resistance_factor};
use crate::heat::{Heat, Ledger, NODES, ZoneHeat};
use crate::spec::{Enclosure, KilnSpec, ProbeSpec};
use crate::wall::Wall;
use crate::{BANKS_MOST, PROBES_MOST, STEFAN_BOLTZMANN, ZERO_C_IN_K, ZONES_MOST, black_w_per_m2};

const CONVECTION_W_PER_M2K: f64 = 6.0; // ware and hot face in still hot gas; Incropera, table 1.1: free convection in gases 2 to 25
const WALL_EMISSIVITY: f64 = 0.8; // firebrick hot; Incropera, table A.11 gives 0.75 at 1200 K
const WARE_EMISSIVITY: f64 = 0.9; // clay and glaze, from memory
const SHELL_EMISSIVITY: f64 = 0.8; // oxidised or painted sheet; Incropera, table A.11
const WARE_HEAT_CAPACITY: [f64; 2] = [850.0, 0.25]; // J/kgK and per °C: fired clay, 960 at 400 °C (Incropera, table A.3: burnt fireclay brick 960)
const WARE_SKIN: f64 = 0.4; // share of the ware's mass that follows its surface; engineering judgement
const GAS_BETWEEN_ZONES_W_PER_M2K: f64 = 20.0; // draught through the cross-section; engineering judgement
const GAS_OUT_OF_LID_W_PER_M2K: f64 = 20.0; // the same, out of an open lid
const JUNCTION_EMISSIVITY: f64 = 0.85; // oxidised nickel alloy, from memory
const JUNCTION_CONVECTION_W_PER_M2K: f64 = 35.0; // rod of about 3 mm in still gas, Nusselt number near 1.5; Incropera, §9.6.3
const JUNCTION_LAG_STATED_AT_C: f64 = 1000.0; // where `ProbeSpec::lag_s` holds
const STABLE_TO_C: f64 = 1400.0; // hotter than these elements and bricks last

/// What the electrics and openings do during one step.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Drive {
    /// Power of each bank if its elements had their cold resistance, W.
    pub(crate) cold_w: [f64; BANKS_MOST],
    /// How far each junction is out of the chamber, 0 to 1.
    pub(crate) withdrawn: [f64; PROBES_MOST],
    /// Area through which the top zone radiates out of an open lid, m².
    pub(crate) lid_m2: f64,
    /// Gas exchange beyond the specification's, W/K.
    pub(crate) more_leak_w_per_k: f64,
    /// Heat given off in the enclosure beyond its own, W.
    pub(crate) more_enclosure_w: f64,
}

#[derive(Clone)]
struct Junction {
    zone: usize,
    capacity_j_per_m2k: f64,
    element_view: f64,
}

#[derive(Clone)]
struct Zone {
    wall: Wall<NODES>,
    hot_m2: f64,
    outer_m2: f64,
}

#[derive(Clone)]
pub(crate) struct Body {
    zones: Vec<Zone>,
    elements: Vec<(usize, Element)>,
    junctions: Vec<Junction>,
    ware_kg: f64,
    ware_m2: f64,
    core_w_per_k: f64,
    leak_w_per_k: f64,
    gaps_m2: f64,
    radiant_between_m2: f64,
    gas_between_w_per_k: f64,
    lid_m2: f64,
    ambient_c: f64,
    ambient_black_w_per_m2: f64,
    enclosure: Enclosure,
    span_most_s: f64,
}

/// The fields of every zone, and what its surfaces emit, W/m².
struct Fields {
    irradiation: [f64; ZONES_MOST],
    gas: [f64; ZONES_MOST],
    elements: [f64; BANKS_MOST],
    ware: [f64; ZONES_MOST],
    face: [f64; ZONES_MOST],
}

impl Body {
    pub(crate) fn new(spec: &KilnSpec) -> Self {
        let zones = of_count(spec.zones);
        let side_m = libm::cbrt(spec.chamber_l / 1000.0);
        let ware_kg = spec.ware.mass_kg / zones;
        let core_j_per_k =
            ware_kg * (1.0 - WARE_SKIN) * (WARE_HEAT_CAPACITY[0] + 600.0 * WARE_HEAT_CAPACITY[1]);
        let mut body = Self {
            zones: (0..spec.zones).map(|zone| Zone::new(spec, zone, side_m)).collect(),
            elements: spec
                .banks
                .iter()
                .map(|bank| (bank.zone, Element::new(bank.rated_w, spec.rated_v, spec.wire)))
                .collect(),
            junctions: spec.probes.iter().map(Junction::new).collect(),
            ware_kg,
            ware_m2: spec.ware.area_m2 / zones,
            core_w_per_k: core_j_per_k / spec.ware.core_lag_s,
            leak_w_per_k: spec.leak_w_per_k / zones,
            gaps_m2: spec.gaps_m2 / zones,
            radiant_between_m2: spec.zone_opening * side_m * side_m,
            gas_between_w_per_k: GAS_BETWEEN_ZONES_W_PER_M2K * side_m * side_m,
            lid_m2: side_m * side_m,
            ambient_c: spec.ambient_c,
            ambient_black_w_per_m2: black_w_per_m2(spec.ambient_c),
            enclosure: spec.enclosure,
            span_most_s: 1.0,
        };
        body.span_most_s = body.quickest_s().min(1.0);
        body
    }

    /// The area of an open lid, m².
    pub(crate) fn lid_m2(&self) -> f64 {
        self.lid_m2
    }

    pub(crate) fn ambient_c(&self) -> f64 {
        self.ambient_c
    }

    pub(crate) fn element(&self, bank: usize) -> &Element {
        &self.elements[bank].1
    }

    /// Longest span that one step may take, s.
    pub(crate) fn span_most_s(&self) -> f64 {
        self.span_most_s
    }

    /// One step of Heun's.
    pub(crate) fn step(&self, heat: &mut Heat, drive: &Drive, span_s: f64) {
        let zones = self.zones.len();
        let start = self.rates(heat, drive);
        let mut end = heat.clone();
        end.advance(&start, span_s, zones);
        let there = self.rates(&end, drive);
        heat.advance(&start, span_s / 2.0, zones);
        heat.advance(&there, span_s / 2.0, zones);
    }

    /// Heat stored in elements, ware and lining above 0 °C, J.
    pub(crate) fn stored_j(&self, heat: &Heat) -> f64 {
        let ware = |t: f64| self.ware_kg * t * (WARE_HEAT_CAPACITY[0] + WARE_HEAT_CAPACITY[1] * t / 2.0);
        let elements: f64 = self.elements.iter().zip(&heat.elements).map(|((_, e), t)| e.stored_j(*t)).sum();
        let zones = self.zones.iter().zip(&heat.zones).map(|(zone, at)| {
            let ware = WARE_SKIN * ware(at.ware_surface) + (1.0 - WARE_SKIN) * ware(at.ware_core);
            ware + zone.wall.stored_j(&at.wall)
        });
        elements + zones.sum::<f64>()
    }

    fn rates(&self, heat: &Heat, drive: &Drive) -> Heat {
        let fields = self.fields(heat, drive);
        let mut rates = Heat::at(0.0);
        rates.ledger = self.openings(&fields, drive);
        for (bank, (zone, element)) in self.elements.iter().enumerate() {
            let at_c = heat.elements[bank];
            let power = drive.cold_w[bank] / resistance_factor(at_c);
            let gained = element.grey_m2 * (fields.irradiation[*zone] - fields.elements[bank])
                + element.convection_w_per_k * (fields.gas[*zone] - at_c);
            rates.elements[bank] = (power + gained) / element.capacity_j_per_k(at_c);
            rates.ledger.electrical += power;
        }
        for (index, zone) in self.zones.iter().enumerate() {
            let shell_w =
                zone.shell_w(heat.zones[index].wall[NODES - 1], self.ambient_c, self.ambient_black_w_per_m2);
            rates.ledger.shell += shell_w;
            rates.zones[index] = self.zone_rates(index, &heat.zones[index], &fields, shell_w);
        }
        self.probe_rates(heat, drive, &fields, &mut rates);
        rates
    }

    fn fields(&self, heat: &Heat, drive: &Drive) -> Fields {
        let mut radiant = Field::default();
        let mut gas = Field::default();
        let mut elements = [0.0; BANKS_MOST];
        let (mut ware, mut face) = ([0.0; ZONES_MOST], [0.0; ZONES_MOST]);
        for (bank, (zone, element)) in self.elements.iter().enumerate() {
            elements[bank] = black_w_per_m2(heat.elements[bank]);
            radiant.add(*zone, element.grey_m2, elements[bank]);
            gas.add(*zone, element.convection_w_per_k, heat.elements[bank]);
        }
        for (index, (zone, at)) in self.zones.iter().zip(&heat.zones).enumerate() {
            ware[index] = black_w_per_m2(at.ware_surface);
            face[index] = black_w_per_m2(at.wall[0]);
            radiant.add(index, WARE_EMISSIVITY * self.ware_m2, ware[index]);
            radiant.add(index, WALL_EMISSIVITY * zone.hot_m2, face[index]);
            radiant.add(index, self.opening_m2(index, drive), self.ambient_black_w_per_m2);
            gas.add(index, CONVECTION_W_PER_M2K * self.ware_m2, at.ware_surface);
            gas.add(index, CONVECTION_W_PER_M2K * zone.hot_m2, at.wall[0]);
            gas.add(index, self.exchange_w_per_k(index, drive), self.ambient_c);
        }
        let zones = self.zones.len();
        let irradiation = radiant.solve(zones, self.radiant_between_m2);
        Fields { irradiation, gas: gas.solve(zones, self.gas_between_w_per_k), elements, ware, face }
    }

    /// Area through which a zone radiates out; an open lid is the top zone's.
    fn opening_m2(&self, zone: usize, drive: &Drive) -> f64 {
        if zone == 0 { self.gaps_m2 + drive.lid_m2 } else { self.gaps_m2 }
    }

    /// Gas exchange of a zone with ambient, W/K.
    fn exchange_w_per_k(&self, zone: usize, drive: &Drive) -> f64 {
        let top = drive.more_leak_w_per_k + drive.lid_m2 * GAS_OUT_OF_LID_W_PER_M2K;
        if zone == 0 { self.leak_w_per_k + top } else { self.leak_w_per_k }
    }

    /// A ledger with what leaves through gaps and lid.
    fn openings(&self, fields: &Fields, drive: &Drive) -> Ledger {
        let mut openings = 0.0;
        for zone in 0..self.zones.len() {
            openings +=
                self.opening_m2(zone, drive) * (fields.irradiation[zone] - self.ambient_black_w_per_m2);
            openings += self.exchange_w_per_k(zone, drive) * (fields.gas[zone] - self.ambient_c);
        }
        Ledger { openings, ..Ledger::default() }
    }

    fn zone_rates(&self, index: usize, at: &ZoneHeat, fields: &Fields, shell_w: f64) -> ZoneHeat {
        let zone = &self.zones[index];
        let (irradiation, gas) = (fields.irradiation[index], fields.gas[index]);
        let into_wall =
            WALL_EMISSIVITY * (irradiation - fields.face[index]) + CONVECTION_W_PER_M2K * (gas - at.wall[0]);
        let into_ware = WARE_EMISSIVITY * (irradiation - fields.ware[index])
            + CONVECTION_W_PER_M2K * (gas - at.ware_surface);
        let into_core = self.core_w_per_k * (at.ware_surface - at.ware_core);
        let heat_capacity = |t: f64| self.ware_kg * (WARE_HEAT_CAPACITY[0] + WARE_HEAT_CAPACITY[1] * t);
        ZoneHeat {
            ware_surface: (self.ware_m2 * into_ware - into_core)
                / (WARE_SKIN * heat_capacity(at.ware_surface)),
            ware_core: into_core / ((1.0 - WARE_SKIN) * heat_capacity(at.ware_core)),
            wall: zone.wall.rates(&at.wall, zone.hot_m2 * into_wall, shell_w),
        }
    }

    fn probe_rates(&self, heat: &Heat, drive: &Drive, fields: &Fields, rates: &mut Heat) {
        for (index, junction) in self.junctions.iter().enumerate() {
            let (out, at_c) = (drive.withdrawn[index], heat.junctions[index]);
            let dark = self.dark_field(junction.zone, fields);
            let irradiation = dark + junction.element_view * (fields.irradiation[junction.zone] - dark);
            let irradiation = irradiation + out * (self.ambient_black_w_per_m2 - irradiation);
            let gas = fields.gas[junction.zone];
            let gas = gas + out * (self.ambient_c - gas);
            let gained = JUNCTION_EMISSIVITY * (irradiation - black_w_per_m2(at_c))
                + JUNCTION_CONVECTION_W_PER_M2K * (gas - at_c);
            rates.junctions[index] = gained / junction.capacity_j_per_m2k;
        }
        let top = heat.zones[0].wall[NODES - 1];
        let gained = self.enclosure.from_kiln_w_per_k * (top - heat.enclosure)
            + self.enclosure.to_ambient_w_per_k * (self.ambient_c - heat.enclosure)
            + self.enclosure.own_w
            + drive.more_enclosure_w;
        rates.enclosure = gained / self.enclosure.capacity_j_per_k;
    }

    /// What ware and wall alone would make of a zone's radiant field, W/m².
    fn dark_field(&self, zone: usize, fields: &Fields) -> f64 {
        let ware = WARE_EMISSIVITY * self.ware_m2;
        let wall = WALL_EMISSIVITY * self.zones[zone].hot_m2;
        (ware * fields.ware[zone] + wall * fields.face[zone]) / (ware + wall)
    }

    /// The shortest time constant at the hottest the plant must stay stable at, s.
    fn quickest_s(&self) -> f64 {
        let slope = radiant_slope(STABLE_TO_C);
        let mut quickest = f64::INFINITY;
        for (_, element) in &self.elements {
            let out = element.grey_m2 * slope + element.convection_w_per_k;
            quickest = quickest.min(element.capacity_j_per_k(STABLE_TO_C) / out);
        }
        for junction in &self.junctions {
            let out = JUNCTION_EMISSIVITY * slope + JUNCTION_CONVECTION_W_PER_M2K;
            quickest = quickest.min(junction.capacity_j_per_m2k / out);
        }
        let skin = WARE_SKIN * self.ware_kg * (WARE_HEAT_CAPACITY[0] + WARE_HEAT_CAPACITY[1] * STABLE_TO_C);
        let out = self.ware_m2 * (WARE_EMISSIVITY * slope + CONVECTION_W_PER_M2K) + self.core_w_per_k;
        quickest = quickest.min(skin / out);
        for zone in &self.zones {
            let out = zone.hot_m2 * (WALL_EMISSIVITY * slope + CONVECTION_W_PER_M2K);
            quickest = quickest.min(zone.wall.quickest_s(STABLE_TO_C, out));
        }
        quickest
    }
}

impl Zone {
    /// A slice of a cubic chamber: its share of the sides, and lid or floor where it has them.
    fn new(spec: &KilnSpec, zone: usize, side_m: f64) -> Self {
        let ends = f64::from(u8::from(zone == 0)) + f64::from(u8::from(zone + 1 == spec.zones));
        let faces = 4.0 / of_count(spec.zones) + ends;
        let area = |depth: f64| faces * (side_m + 2.0 * depth) * (side_m + 2.0 * depth);
        let thickness: f64 = spec.lining.iter().map(|layer| layer.thickness_m).sum();
        Self { wall: Wall::new(&spec.lining, area), hot_m2: area(0.0), outer_m2: area(thickness) }
    }

    fn shell_w(&self, outer_c: f64, ambient_c: f64, ambient_black_w_per_m2: f64) -> f64 {
        let convected = shell_convection_w_per_m2(outer_c - ambient_c);
        self.outer_m2 * (convected + SHELL_EMISSIVITY * (black_w_per_m2(outer_c) - ambient_black_w_per_m2))
    }
}

impl Junction {
    fn new(probe: &ProbeSpec) -> Self {
        let out =
            JUNCTION_EMISSIVITY * radiant_slope(JUNCTION_LAG_STATED_AT_C) + JUNCTION_CONVECTION_W_PER_M2K;
        Self { zone: probe.zone, capacity_j_per_m2k: probe.lag_s * out, element_view: probe.element_view }
    }
}

/// Free convection from the shell: a straight line in place of 1.31·ΔT^⅓ (Holman, table 7-2,
/// turbulent vertical plane in air), within 12 % of it from 15 to 250 K.
fn shell_convection_w_per_m2(excess_k: f64) -> f64 {
    (3.2 + 0.0225 * excess_k.abs()) * excess_k
}

/// How emissive power of a black surface grows with its temperature, W/m²K.
fn radiant_slope(at_c: f64) -> f64 {
    let kelvin = at_c + ZERO_C_IN_K;
    4.0 * STEFAN_BOLTZMANN * kelvin * kelvin * kelvin
}

/// A small count as a number.
fn of_count(count: usize) -> f64 {
    (0..count).map(|_| 1.0).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn convection_from_the_shell_follows_holmans_formula() {
        for excess_k in [15.0, 25.0, 50.0, 100.0, 150.0, 200.0, 250.0] {
            let holman = 1.31 * libm::cbrt(excess_k) * excess_k;
            let ratio = shell_convection_w_per_m2(excess_k) / holman;
            assert!((ratio - 1.0).abs() < 0.12, "{excess_k} K: {ratio}");
        }
    }
}
