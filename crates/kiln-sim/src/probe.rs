//! A probe: what its amplifier says of a junction, with noise, and with whatever is wrong.

use fastrand::Rng;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millis};

use crate::conditions::{ChipCondition, Circuit, ProbeCondition};
use crate::noise::normal;
use crate::spec::ProbeSpec;
use crate::wiring::Along;

const COLD_JUNCTION_NOISE_C: f64 = 0.02; // about one step of a fine chip's cold junction (2⁻⁶ °C)
const WOKEN: Thermocouple = Thermocouple::K; // default after a reset (MAX31856 datasheet 19-7534, CR1 = 03h; MCP9600 DS20005426, sensor configuration 00h)

/// What surrounds a probe at the instant it is asked.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Around {
    pub(crate) now: Millis,
    pub(crate) junction_c: f64,
    pub(crate) head_c: f64,
    pub(crate) cold_junction_c: f64,
    pub(crate) drawing: Drawing,
}

/// Whether any element draws current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Drawing {
    Nothing,
    Current,
}

#[derive(Clone)]
pub(crate) struct Probe {
    spec: ProbeSpec,
    said_last: Report,
    random: Rng,
}

impl Probe {
    pub(crate) fn new(spec: ProbeSpec, random: Rng) -> Self {
        Self { spec, said_last: of_faults(ChipFaults::NO_ANSWER), random }
    }

    /// One answer of the amplifier.
    pub(crate) fn report(&mut self, around: &Around, condition: &ProbeCondition) -> Report {
        let report = match condition.chip {
            ChipCondition::Stuck => self.said_last,
            ChipCondition::Dead => return of_faults(ChipFaults::NO_ANSWER),
            ChipCondition::Sound => self.answer(around, condition, self.spec.thermocouple),
            ChipCondition::Reset => {
                let blind = self.answer(around, condition, WOKEN);
                Report::single(blind.said, blind.faults.with(ChipFaults::CONFIGURATION_LOST))
            }
        };
        self.said_last = report;
        report
    }

    fn answer(&mut self, around: &Around, condition: &ProbeCondition, set_to: Thermocouple) -> Report {
        if let Some(report) = self.of_circuit(around, condition.circuit, set_to) {
            return report;
        }
        let cold_junction_taken_c = around.cold_junction_c + condition.cold_junction_off_c;
        let along = Along {
            junction_c: around.junction_c,
            head_c: around.head_c,
            cold_junction_c: around.cold_junction_c,
            cold_junction_taken_c,
        };
        let Some(apparent_c) = condition.wiring.apparent_c(&along, self.spec.thermocouple, set_to) else {
            return of_faults(ChipFaults::OUT_OF_RANGE);
        };
        let wrong_c = self.spec.error_c + condition.drift.at(around.now) + condition.jump_c;
        let read_c = apparent_c + wrong_c + self.noise_c(around, condition);
        let cold_c = cold_junction_taken_c + COLD_JUNCTION_NOISE_C * normal(&mut self.random);
        self.say(read_c, cold_c, set_to)
    }

    fn noise_c(&mut self, around: &Around, condition: &ProbeCondition) -> f64 {
        let switching = match around.drawing {
            Drawing::Current => condition.switching_noise_c,
            Drawing::Nothing => 0.0,
        };
        (self.spec.noise_c + condition.noise.at(around.now) + switching) * normal(&mut self.random)
    }

    /// What the chip makes of a broken or shorted input; `None` when there is none.
    fn of_circuit(&mut self, around: &Around, circuit: Circuit, set_to: Thermocouple) -> Option<Report> {
        let flagged = looks_for_shorts(self.spec.amplifier);
        match circuit {
            Circuit::Sound => None,
            Circuit::Open => Some(of_faults(ChipFaults::OPEN)),
            Circuit::Grounded if flagged => Some(of_faults(ChipFaults::SHORT_TO_GROUND)),
            Circuit::Supplied if flagged => Some(of_faults(ChipFaults::SHORT_TO_SUPPLY)),
            Circuit::Grounded => Some(self.say(around.cold_junction_c, around.cold_junction_c, set_to)),
            Circuit::Supplied => Some(of_faults(ChipFaults::OUT_OF_RANGE)),
        }
    }

    fn say(&self, junction_c: f64, cold_junction_c: f64, set_to: Thermocouple) -> Report {
        let sensor =
            Sensor { thermocouple: set_to, amplifier: self.spec.amplifier, calibration: Calibration::NONE };
        match (Celsius::new(junction_c), Celsius::new(cold_junction_c)) {
            (Some(junction), Some(cold_junction)) => sensor.would_say(junction, cold_junction),
            (None, _) | (_, None) => of_faults(ChipFaults::OUT_OF_RANGE),
        }
    }
}

/// Whether the chip tells a wire on ground or supply (datasheets 19-5793: D1, D2; 19-7534: SR bit 1;
/// the other two do not).
fn looks_for_shorts(amplifier: Amplifier) -> bool {
    match amplifier {
        Amplifier::Max31855 | Amplifier::Max31856 => true,
        Amplifier::Max6675 | Amplifier::Mcp9600 => false,
    }
}

fn of_faults(faults: ChipFaults) -> Report {
    Report::single(Said::Nothing, faults)
}
