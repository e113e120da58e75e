//! The plant's state, and arithmetic on it.

use crate::{BANKS_MOST, PROBES_MOST, ZONES_MOST};

/// Nodes of the lining. Six are needed to describe a firing; ten keep the hot face within 1 %.
pub(crate) const NODES: usize = 10;

/// One zone's temperatures in °C, or their rates in °C/s.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ZoneHeat {
    pub(crate) ware_surface: f64,
    pub(crate) ware_core: f64,
    /// From hot face to outer face.
    pub(crate) wall: [f64; NODES],
}

/// Energy that crossed the kiln's bounds in J, or the powers in W.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Ledger {
    pub(crate) electrical: f64,
    pub(crate) shell: f64,
    pub(crate) openings: f64,
}

/// The whole state in °C and J, or its rate of change per second.
#[derive(Clone, Debug)]
pub(crate) struct Heat {
    pub(crate) elements: [f64; BANKS_MOST],
    pub(crate) zones: [ZoneHeat; ZONES_MOST],
    pub(crate) junctions: [f64; PROBES_MOST],
    pub(crate) enclosure: f64,
    pub(crate) ledger: Ledger,
}

impl Heat {
    /// Everything at one temperature.
    pub(crate) fn at(temperature_c: f64) -> Self {
        let zone =
            ZoneHeat { ware_surface: temperature_c, ware_core: temperature_c, wall: [temperature_c; NODES] };
        Self {
            elements: [temperature_c; BANKS_MOST],
            zones: [zone; ZONES_MOST],
            junctions: [temperature_c; PROBES_MOST],
            enclosure: temperature_c,
            ledger: Ledger::default(),
        }
    }

    /// Adds `rates` for `span_s`, in the first `zones`; what no zone uses stays as it is.
    pub(crate) fn advance(&mut self, rates: &Self, span_s: f64, zones: usize) {
        for (value, rate) in self.elements.iter_mut().zip(&rates.elements) {
            *value += span_s * rate;
        }
        for (zone, rate) in self.zones.iter_mut().zip(&rates.zones).take(zones) {
            zone.ware_surface += span_s * rate.ware_surface;
            zone.ware_core += span_s * rate.ware_core;
            for (value, rate) in zone.wall.iter_mut().zip(&rate.wall) {
                *value += span_s * rate;
            }
        }
        for (value, rate) in self.junctions.iter_mut().zip(&rates.junctions) {
            *value += span_s * rate;
        }
        self.enclosure += span_s * rates.enclosure;
        self.ledger.electrical += span_s * rates.ledger.electrical;
        self.ledger.shell += span_s * rates.ledger.shell;
        self.ledger.openings += span_s * rates.ledger.openings;
    }
}
