//! Kilns for this crate's tests.

use heapless::Vec;
use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::constant;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millis, Watts};

use crate::kiln::{Bank, Kiln, Probe, SwitchKind};
use crate::model::{Certainty, KilnModel, Parameters};

/// Each bank's rating.
pub(crate) const BANK_W: f64 = 5_000.0;

/// A kiln of one zone with some banks, and a supply for a share of them.
pub(crate) fn kiln_with_banks(banks: usize, supply_share: f64) -> Kiln {
    let bank = Bank {
        power: constant!(Watts, BANK_W),
        current: None,
        switch: SwitchKind::Mechanical,
        on_least: Millis::from_seconds(2),
        off_least: Millis::from_seconds(2),
        cycle_least: Millis::from_seconds(20),
        probe: 0,
    };
    let sensor = Sensor {
        thermocouple: Thermocouple::K,
        amplifier: Amplifier::Max31856,
        calibration: Calibration::NONE,
    };
    let banks: Vec<Bank, { crate::BANKS_MOST }> = core::iter::repeat_n(bank, banks).collect();
    let total_w: f64 = banks.iter().map(|bank| bank.power.w()).sum();
    Kiln {
        probes: Vec::from_slice(&[Probe { sensor }]).unwrap(),
        banks,
        switching: crate::kiln::Closeness::Sparing,
        ceiling: constant!(Celsius, 1300.0),
        supply_limit: Watts::new(total_w * supply_share).unwrap(),
        firing_longest: Millis::from_hours(48),
        stay_longest: Millis::from_hours(4),
        open_below: constant!(Celsius, 100.0),
        model: KilnModel::new(Parameters {
            certainty: Certainty::Guessed,
            ware_j_per_k: 30_000.0,
            quick_j_per_k: 4_000.0,
            wall_area_m2: 1.6,
            wall_thickness_m: 0.114,
            brick_kg_per_m3: 490.0,
            conductivity_ratio: 1.0,
            leak_w_per_k: 0.5,
            power_ratio: 1.0,
        })
        .unwrap(),
    }
}
