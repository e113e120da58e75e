//! From a report to the true junction temperature, and back.
//!
//! A straight-line chip with slope s reports `T_chip = V/s + T_cj` for the emf V between junction
//! and cold junction. The truth is `E = s·(T_chip − T_cj) + E_ref(T_cj)`, `T = E_ref⁻¹(E)`.

use super::chip::{Amplifier, Linearity};
use super::{ChipFaults, Measured, Report, Said, Sensor, SensorFault};
use crate::constant;
use crate::thermocouple::Thermocouple;
use crate::units::{Celsius, CelsiusDelta, Millivolts, whole_steps};

/// What stands in for the cold junction that a MAX6675 does not report. Only the type's departure
/// from the chip's 41 µV/°C counts: from 5 to 50 °C the error is at most 0.4 °C.
const UNREPORTED_COLD_JUNCTION: Celsius = constant!(Celsius, 25.0);

/// A cold type B junction gives next to nothing (−2.6 µV at 21 °C, 0 at 42 °C), so an amplifier's
/// noise takes it below the type's minimum; that much is still a cold kiln, not a broken wire.
const TYPE_B_NOISE_MV: f64 = 0.02;

/// A junction and cold junction as the chip puts them, in degrees.
#[derive(Clone, Copy)]
struct Reading {
    junction: Celsius,
    cold_junction: Option<Celsius>,
}

impl Sensor {
    /// The true, corrected junction temperature that the report supports.
    ///
    /// Faults first, the least trustworthy of them naming the result: a chip that does not answer
    /// or lost its configuration, then open, then short, then out of range. Words that the chip's
    /// registers cannot hold, and exact zeros for junction and cold junction together of a straight-line
    /// chip, which has no registers to be read back (what a dead
    /// chip's line reads: SR-02, SR-03), are [`SensorFault::NoAnswer`]. A chip not made for
    /// the type ([`Amplifier::serves`]) gives [`SensorFault::OutOfRange`] always.
    pub fn measure(&self, report: &Report) -> Result<Measured, SensorFault> {
        heed(report.faults)?;
        let linearity = self.amplifier.linearity(self.thermocouple).ok_or(SensorFault::OutOfRange)?;
        match report.said {
            Said::Nothing => Err(SensorFault::NoAnswer),
            Said::Words { junction, cold_junction } => {
                self.behind(self.in_degrees(junction, cold_junction)?, linearity)
            }
            Said::Reading { junction, cold_junction } => {
                self.behind(Reading { junction, cold_junction: Some(cold_junction) }, linearity)
            }
            Said::Emf { emf, cold_junction } => {
                let junction = self.junction_of(emf.mv(), cold_junction)?;
                Ok(self.corrected(junction, Some(cold_junction)))
            }
        }
    }

    /// What one step of the junction's register is worth at a junction temperature.
    ///
    /// A chip that linearises is worth its own step everywhere. A straight-line chip's step is one of
    /// emf, s·step for its slope s, and worth s·step/S for the wire's Seebeck coefficient S there.
    /// Beyond the type's range the chip's own step.
    #[must_use]
    pub fn junction_step_at(&self, junction: Celsius) -> CelsiusDelta {
        let own = self.amplifier.junction_step();
        match (self.amplifier.linearity(self.thermocouple), self.thermocouple.seebeck_uv_per_c(junction)) {
            (Some(Linearity::StraightLine(slope)), Ok(seebeck_uv_per_c)) => {
                CelsiusDelta::new(own.c() * slope * 1000.0 / seebeck_uv_per_c).unwrap_or(own)
            }
            (Some(Linearity::StraightLine(_) | Linearity::Reference) | None, _) => own,
        }
    }

    /// What a healthy chip would report of a true junction and cold junction: for simulators.
    ///
    /// Quantised in the chip's steps and held at its ends; a linearising chip flags what lies
    /// beyond its range. A junction beyond the type's reference function counts as its end.
    /// The calibration has no part in it: it corrects what the wire and chip got wrong.
    #[must_use]
    pub fn would_say(&self, junction: Celsius, cold_junction: Celsius) -> Report {
        let Some(linearity) = self.amplifier.linearity(self.thermocouple) else {
            return Report::single(Said::Nothing, ChipFaults::NO_ANSWER);
        };
        let (shown_c, faults) = match linearity {
            Linearity::StraightLine(slope) => {
                let emf_mv = self.emf_mv(junction) - self.emf_mv(cold_junction);
                (emf_mv / slope + cold_junction.c(), ChipFaults::NONE)
            }
            Linearity::Reference => {
                let range = Amplifier::linearised_range(self.thermocouple);
                let shown = junction.hotter(*range.start()).colder(*range.end());
                let faults =
                    if range.contains(&junction) { ChipFaults::NONE } else { ChipFaults::OUT_OF_RANGE };
                (shown.c(), faults)
            }
        };
        let junction = steps(shown_c, self.amplifier.junction_step().c(), &self.amplifier.junction_words());
        let cold_junction = self
            .amplifier
            .cold_junction_step()
            .map_or(0, |step| steps(cold_junction.c(), step.c(), &self.amplifier.cold_junction_words()));
        Report::single(Said::Words { junction, cold_junction }, faults)
    }

    /// Words in the chip's steps to degrees.
    fn in_degrees(&self, junction: i32, cold_junction: i32) -> Result<Reading, SensorFault> {
        let chip = self.amplifier;
        let possible =
            chip.junction_words().contains(&junction) && chip.cold_junction_words().contains(&cold_junction);
        if !possible {
            return Err(SensorFault::NoAnswer);
        }
        let scaled =
            |word: i32, step: f64| Celsius::new(f64::from(word) * step).ok_or(SensorFault::OutOfRange);
        Ok(Reading {
            junction: scaled(junction, chip.junction_step().c())?,
            cold_junction: match chip.cold_junction_step() {
                Some(step) => Some(scaled(cold_junction, step.c())?),
                None => None,
            },
        })
    }

    /// The true temperature behind a reading in degrees.
    fn behind(&self, reading: Reading, linearity: Linearity) -> Result<Measured, SensorFault> {
        let Reading { junction, cold_junction } = reading;
        let all_zeros = junction.c() == 0.0 && cold_junction.is_none_or(|cold| cold.c() == 0.0);
        let junction = match linearity {
            Linearity::StraightLine(_) if all_zeros => return Err(SensorFault::NoAnswer),
            Linearity::StraightLine(slope) => {
                let cold = cold_junction.unwrap_or(UNREPORTED_COLD_JUNCTION);
                self.junction_of(slope * (junction - cold).c(), cold)?
            }
            Linearity::Reference if self.thermocouple.range().contains(&junction) => junction,
            Linearity::Reference => return Err(SensorFault::OutOfRange),
        };
        Ok(self.corrected(junction, cold_junction))
    }

    /// Cold-junction compensation: the junction of an emf measured against a cold junction.
    fn junction_of(&self, emf_mv: f64, cold_junction: Celsius) -> Result<Celsius, SensorFault> {
        let at_cold_junction = self.thermocouple.emf(cold_junction).map_err(|_| SensorFault::OutOfRange)?;
        let total_mv = emf_mv + at_cold_junction.mv();
        let total = Millivolts::new(total_mv).ok_or(SensorFault::OutOfRange)?;
        match self.thermocouple.junction(total) {
            Ok(junction) => Ok(junction),
            Err(_) if self.thermocouple == Thermocouple::B && (-TYPE_B_NOISE_MV..0.0).contains(&total_mv) => {
                Ok(*self.thermocouple.rising_range().start())
            }
            Err(_) => Err(SensorFault::OutOfRange),
        }
    }

    fn corrected(&self, junction: Celsius, cold_junction: Option<Celsius>) -> Measured {
        Measured { junction: self.calibration.corrected(junction), cold_junction }
    }

    /// The emf of a temperature brought into the type's range, which never fails there.
    fn emf_mv(&self, at: Celsius) -> f64 {
        let range = self.thermocouple.range();
        let held = at.hotter(*range.start()).colder(*range.end());
        self.thermocouple.emf(held).map_or(0.0, Millivolts::mv)
    }
}

fn heed(faults: ChipFaults) -> Result<(), SensorFault> {
    if faults.has(ChipFaults::NO_ANSWER.with(ChipFaults::CONFIGURATION_LOST)) {
        Err(SensorFault::NoAnswer)
    } else if faults.has(ChipFaults::OPEN) {
        Err(SensorFault::Open)
    } else if faults.has(ChipFaults::SHORT_TO_GROUND.with(ChipFaults::SHORT_TO_SUPPLY)) {
        Err(SensorFault::Short)
    } else if faults.is_none() {
        Ok(())
    } else {
        Err(SensorFault::OutOfRange)
    }
}

/// A temperature in whole steps, held at the ends of what the register can hold.
fn steps(t_c: f64, step_c: f64, words: &core::ops::RangeInclusive<i32>) -> i32 {
    whole_steps(t_c / step_c).clamp(*words.start(), *words.end())
}
