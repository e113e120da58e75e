//! A small simulated kiln on a bench: its relays on the board's pins, its thermocouple on a chip.

use std::io::{Error, ErrorKind, Result};
use std::time::Duration;

use hal::Level;
use kiln_sim::{KilnSpec, Plant, ProbeSpec, Switches};
use pyrometry::amplifier::{Amplifier, Said, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millis};

use crate::chip::{Chip, Clocking, Kind, Terminals, emf_between};
use crate::ill::Ill;
use crate::spidev::{Answer, Call, EIO, Spidev};

/// The probe that stands in for the junction's noise: it says what a fine chip would, noise and all.
const NOISY: Amplifier = Amplifier::Max31856;

/// Kiln, chip and bus.
pub struct Bench {
    plant: Plant,
    wire: Thermocouple,
    chip: Box<dyn Chip + Send>,
    spidev: Spidev,
    ill: Ill,
}

impl Bench {
    /// A cold kiln, everything off, the chip just supplied.
    pub fn new(kind: Kind, wire: Thermocouple) -> Result<Self> {
        let plant = Plant::new(&small(wire), 1)
            .map_err(|why| Error::new(ErrorKind::InvalidInput, format!("the kiln: {why:?}")))?;
        Ok(Self { plant, wire, chip: kind.chip(), spidev: Spidev::default(), ill: Ill::Nothing })
    }

    /// What is wrong from now on.
    pub fn suffer(&mut self, ill: Ill) {
        if self.ill == Ill::NoSupply && ill != Ill::NoSupply {
            self.chip.wake();
        }
        self.ill = ill;
    }

    /// Lets time pass with bank and contactor so.
    pub fn pass(&mut self, span: Duration, bank: bool, contactor: bool) {
        let level = |on| if on { Level::On } else { Level::Off };
        let mut switches = Switches { contactor: level(contactor), ..Switches::default() };
        switches.banks[0] = level(bank);
        self.plant.step(Millis::new(u64::try_from(span.as_millis()).unwrap_or(u64::MAX)), &switches);
        if self.ill != Ill::NoSupply {
            let terminals = self.terminals();
            self.chip.pass(span, &terminals);
        }
    }

    /// Answers a call at the bus device.
    pub fn call(&mut self, call: &Call<'_>) -> Answer {
        match self.ill {
            Ill::TransfersFail => Answer::Failed(EIO),
            Ill::LineLow | Ill::NoSupply => self.spidev.call(&mut Stuck(0x00), call),
            Ill::LineHigh => self.spidev.call(&mut Stuck(0xFF), call),
            Ill::Nothing | Ill::OpenCircuit => self.spidev.call(&mut *self.chip, call),
        }
    }

    /// The junction as it really is.
    #[must_use]
    pub fn junction(&self) -> Celsius {
        self.plant.truth().junction(0).unwrap_or(Celsius::LEAST)
    }

    fn terminals(&mut self) -> Terminals {
        let at_rest = self.plant.truth().enclosure();
        if self.ill == Ill::OpenCircuit {
            return Terminals::Open { cold_junction: at_rest };
        }
        let sensor = Sensor { thermocouple: self.wire, amplifier: NOISY, calibration: Calibration::NONE };
        let report = self.plant.report(0);
        let measured = match report.said {
            Said::Nothing => None,
            Said::Words { .. } | Said::Reading { .. } | Said::Emf { .. } => sensor.measure(&report).ok(),
        };
        let closed = measured.and_then(|measured| {
            let cold_junction = measured.cold_junction.unwrap_or(at_rest);
            let emf = emf_between(self.wire, measured.junction, cold_junction)?;
            Some(Terminals::Closed { emf, cold_junction })
        });
        closed.unwrap_or(Terminals::Open { cold_junction: at_rest })
    }
}

/// Where the line from the chip stands still, what it says; what is sent gets nowhere.
struct Stuck(u8);

impl Chip for Stuck {
    fn exchange(&mut self, _clocking: Clocking, sent: &[u8]) -> Vec<u8> {
        vec![self.0; sent.len()]
    }
    fn pass(&mut self, _span: Duration, _terminals: &Terminals) {}
    fn wake(&mut self) {}
}

/// The test kiln with a probe of this wire.
fn small(wire: Thermocouple) -> KilnSpec {
    let probe = ProbeSpec { thermocouple: wire, amplifier: NOISY, ..ProbeSpec::default() };
    KilnSpec { probes: vec![probe], ..KilnSpec::test_kiln() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MESSAGE_1: u32 = 0x4020_6B00;

    /// One transfer of so many zeros, as after two rounds with the kernel.
    fn read(bench: &mut Bench, len: u32) -> Vec<u8> {
        let mut input = [0; 32];
        (input[..8]).copy_from_slice(&1u64.to_ne_bytes());
        (input[8..16]).copy_from_slice(&1u64.to_ne_bytes());
        (input[16..20]).copy_from_slice(&len.to_ne_bytes());
        let len = usize::try_from(len).expect("small");
        let input = [&input[..], &vec![0; len]].concat();
        match bench.call(&Call { number: MESSAGE_1, argument: 1, input: &input, output_len: len }) {
            Answer::Done { output, .. } => output,
            other @ (Answer::Again { .. } | Answer::Failed(_)) => panic!("{other:?}"),
        }
    }

    fn junction_c(bench: &mut Bench) -> f64 {
        let frame = read(bench, 4);
        f64::from(i16::from_be_bytes([frame[0], frame[1]]) >> 2) / 4.0
    }

    fn pass(bench: &mut Bench, seconds: u32, bank: bool, contactor: bool) {
        for _ in 0..seconds * 10 {
            bench.pass(Duration::from_millis(100), bank, contactor);
        }
    }

    #[test]
    fn it_warms_only_with_bank_and_contactor_closed() {
        for (bank, contactor, warms) in [(true, true, true), (true, false, false), (false, true, false)] {
            let mut bench = Bench::new(Kind::Max31855, Thermocouple::K).expect("a bench");
            pass(&mut bench, 120, bank, contactor);
            let shown_c = junction_c(&mut bench);
            assert_eq!(shown_c > 25.0, warms, "{shown_c}");
            assert!((shown_c - bench.junction().c()).abs() < 1.5, "{shown_c} of {}", bench.junction().c());
        }
    }

    #[test]
    fn each_ill_shows_on_the_bus_and_passes() {
        let mut bench = Bench::new(Kind::Max31855, Thermocouple::K).expect("a bench");
        for (ill, frame) in
            [(Ill::LineLow, [0x00; 4]), (Ill::LineHigh, [0xFF; 4]), (Ill::NoSupply, [0x00; 4])]
        {
            bench.suffer(ill);
            pass(&mut bench, 1, false, false);
            assert_eq!(read(&mut bench, 4), frame, "{ill:?}");
        }
        bench.suffer(Ill::OpenCircuit);
        pass(&mut bench, 1, false, false);
        assert_eq!(read(&mut bench, 4)[3] & 1, 1);
        bench.suffer(Ill::TransfersFail);
        let call = Call { number: MESSAGE_1, argument: 1, input: &[], output_len: 0 };
        assert_eq!(bench.call(&call), Answer::Failed(EIO));
        bench.suffer(Ill::Nothing);
        pass(&mut bench, 1, false, false);
        assert!((junction_c(&mut bench) - 20.0).abs() < 1.5);
    }
}
