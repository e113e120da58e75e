//! The interlocks from outside: each requirement fires, and its nearest legal neighbour does not.

mod conditions;
mod contactor;
mod currents;
mod felt;
mod framework;
mod gathered;
mod given;
mod heat;
mod jumps;
mod kilns;
mod lead;
mod movement;
mod observer;
mod off;
mod plain;
mod plan;
mod plant;
mod pulled_out;
mod reversed;
mod sensing;
mod stalled;
mod stuck;
mod zones;

use std::vec::Vec;

use pyrometry::amplifier::{ChipFaults, Measured, Report, Said, SensorFault};
use pyrometry::units::{Amps, Celsius, Joules, Millis};

use super::{Interlocks, Judgement, Seen};
use crate::BANKS_MOST;
use crate::decision::BankLevels;
use crate::expected::Expected;
use crate::finding::{Finding, Interlock};
use crate::kiln::Kiln;
use crate::observation::Contact;
use crate::phase::Phase;
use crate::testing::kiln_with_banks;

pub(super) const SECOND: Millis = Millis::from_seconds(1);

pub(super) fn celsius(c: f64) -> Celsius {
    Celsius::new(c).unwrap()
}

/// A kiln at the interlocks' door: what a test does not set is healthy and boring.
#[derive(Clone)]
pub(super) struct Rig {
    pub(super) interlocks: Interlocks,
    pub(super) kiln: Kiln,
    pub(super) phase: Phase,
    pub(super) span: Millis,
    pub(super) setpoint: Option<Celsius>,
    pub(super) plan_hottest: Option<Celsius>,
    pub(super) banks: BankLevels,
    pub(super) lid: Contact,
    pub(super) contactor: Contact,
    pub(super) permitted: bool,
    pub(super) cold_junction_c: f64,
    pub(super) elapsed: Millis,
    pub(super) alight: Millis,
    pub(super) forecast: Option<Expected>,
    pub(super) amps: [Option<Amps>; BANKS_MOST],
    pub(super) given: Joules,
    first: bool,
}

impl Rig {
    /// Climbing, with no bank on and no bound from a plan.
    pub(super) fn climbing() -> Self {
        let kiln = kiln_with_banks(2, 1.0);
        Self {
            interlocks: Interlocks::new(&kiln, None),
            kiln,
            phase: Phase::Climbing,
            span: SECOND,
            setpoint: None,
            plan_hottest: None,
            banks: [false; BANKS_MOST],
            lid: Contact::Shut,
            contactor: Contact::NotFitted,
            permitted: true,
            cold_junction_c: 25.0,
            elapsed: Millis::ZERO,
            alight: Millis::ZERO,
            forecast: None,
            amps: [None; BANKS_MOST],
            given: Joules::ZERO,
            first: true,
        }
    }

    pub(super) fn in_phase(phase: Phase) -> Self {
        Self { phase, ..Self::climbing() }
    }

    pub(super) fn banks_on(&mut self, on: usize) {
        self.banks = core::array::from_fn(|bank| bank < on);
    }

    pub(super) fn see(&mut self, result: Result<f64, SensorFault>) -> Judgement {
        let cold_junction = celsius(self.cold_junction_c);
        let measured = result.map(|c| Measured { junction: celsius(c), cold_junction: Some(cold_junction) });
        let said = match measured {
            Ok(Measured { junction, .. }) => Said::Reading { junction, cold_junction },
            Err(_) => Said::Nothing,
        };
        self.see_said(&[Report::single(said, ChipFaults::NONE)], &[measured])
    }

    pub(super) fn see_said(
        &mut self,
        reports: &[Report],
        measured: &[Result<Measured, SensorFault>],
    ) -> Judgement {
        let since_last = if core::mem::take(&mut self.first) { Millis::ZERO } else { self.span };
        self.interlocks.judge(&Seen {
            since_last,
            phase: self.phase,
            kiln: &self.kiln,
            reports,
            measured,
            setpoint: self.setpoint,
            plan_hottest: self.plan_hottest,
            banks: self.banks,
            lid: self.lid,
            contactor: self.contactor,
            permitted: self.permitted,
            elapsed: self.elapsed,
            alight: self.alight,
            forecast: self.forecast,
            amps: self.amps,
            given: self.given,
        })
    }

    pub(super) fn read(&mut self, c: f64) -> Judgement {
        self.see(Ok(c))
    }

    /// Reads a number of seconds, from a function of the second; gives the first trip and when.
    pub(super) fn read_for(&mut self, seconds: u32, reading: impl Fn(f64) -> f64) -> Option<(u32, Finding)> {
        (0..seconds)
            .find_map(|second| self.read(reading(f64::from(second))).trip.map(|finding| (second, finding)))
    }
}

/// Noise as of an amplifier, repeatable: uniform within ±1.
pub(super) fn noise(second: f64) -> f64 {
    let mixed = (second + 1.0) * 12.9898;
    2.0 * (libm::sin(mixed) * 43_758.547).rem_euclid(1.0) - 1.0
}

pub(super) fn names(notices: &[Finding]) -> Vec<Interlock> {
    notices.iter().map(|notice| notice.interlock).collect()
}

pub(super) fn trip_of(judgement: &Judgement) -> Option<Interlock> {
    judgement.trip.map(|trip| trip.interlock)
}

pub(super) fn withheld_by(judgement: &Judgement) -> Option<Interlock> {
    judgement.withheld.map(|withheld| withheld.interlock)
}
