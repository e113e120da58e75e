//! The banks' currents, all in one burst a step.
//!
//! The inputs are asked in turn, so that each clamp sees the whole burst and every bank is measured in
//! every step: a value that is held over steps would be compared with a relay that has moved since.

use std::time::{Duration, Instant};
use std::vec::Vec;

use embedded_hal::spi::SpiDevice;
use pyrometry::units::Amps;

use super::mcp3008::{Mcp3008, WORDS};
use super::rms::{CYCLES_LEAST, rms_words};
use crate::PinFault;

/// Samples of a burst, over all clamps: 50 a clamp at least, with eight. Enough also for the longest
/// burst that is judged, in which the window still tells twice the mains from an alias of it.
pub const SAMPLES_A_BURST: usize = 400;
/// Wait between two samples. With the transfer of 3 bytes at 500 kHz, 48 µs, a burst lasts 100 ms, five or
/// six cycles, if the kernel added nothing; what it adds only lengthens the burst.
pub(crate) const WAIT_NS: u32 = 200_000;
/// Three cycles of 50 Hz.
const BURST_SHORTEST: Duration = Duration::from_millis(60);
/// Beyond it 50 samples a clamp are too few (see [`SAMPLES_A_BURST`]), and a step would wait too long.
const BURST_LONGEST: Duration = Duration::from_millis(300);
const _: () = assert!(CYCLES_LEAST * 20.0 <= 60.0, "three cycles of 50 Hz last 60 ms");

/// A clamp on one input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clamp {
    /// The bank whose current it measures, from 0.
    pub bank: usize,
    /// The converter's input.
    pub channel: u8,
    /// Amperes in the wire for each volt of the clamp, both as RMS.
    pub a_per_v: f64,
    /// What is added to the product, in amperes; a result below zero is zero.
    pub offset_a: f64,
}

/// All clamps of a kiln on one converter.
#[derive(Debug)]
pub struct Currents<S> {
    converter: Mcp3008<S>,
    word_v: f64,
    clamps: Vec<Clamp>,
    /// One list a clamp, kept so that a step allocates nothing.
    samples: Vec<Vec<u16>>,
    latest: Vec<Result<Amps, PinFault>>,
}

impl<S: SpiDevice> Currents<S> {
    /// Clamps on a converter whose reference has so many volts.
    pub fn new(converter: Mcp3008<S>, reference_v: f64, clamps: Vec<Clamp>) -> Self {
        let most = SAMPLES_A_BURST / clamps.len().max(1);
        let samples = clamps.iter().map(|_| Vec::with_capacity(most)).collect();
        let latest = clamps.iter().map(|_| Err(PinFault)).collect();
        Self { converter, word_v: reference_v / f64::from(WORDS), clamps, samples, latest }
    }

    /// Measures every clamp anew.
    pub fn measure(&mut self) {
        let began = Instant::now();
        let burst = self.burst();
        self.judge(burst, began.elapsed());
    }

    /// What a bank drew when it was measured last; `None` where it has no clamp.
    #[must_use]
    pub fn of(&self, bank: usize) -> Option<Result<Amps, PinFault>> {
        let mut measured = self.clamps.iter().zip(&self.latest);
        measured.find(|(clamp, _)| clamp.bank == bank).map(|(_, amps)| *amps)
    }

    fn burst(&mut self) -> Result<(), PinFault> {
        self.samples.iter_mut().for_each(Vec::clear);
        if self.clamps.is_empty() {
            return Ok(());
        }
        for _round in 0..SAMPLES_A_BURST / self.clamps.len() {
            for (clamp, samples) in self.clamps.iter().zip(&mut self.samples) {
                samples.push(self.converter.sample(clamp.channel, WAIT_NS)?);
            }
        }
        Ok(())
    }

    /// A burst that the computer hurried through or dragged out says nothing.
    fn judge(&mut self, burst: Result<(), PinFault>, lasted: Duration) {
        let in_time = (BURST_SHORTEST..=BURST_LONGEST).contains(&lasted);
        let burst = if in_time { burst } else { Err(PinFault) };
        for ((clamp, samples), latest) in self.clamps.iter().zip(&self.samples).zip(&mut self.latest) {
            *latest = burst.and_then(|()| amps(clamp, rms_words(samples)? * self.word_v));
        }
    }
}

fn amps(clamp: &Clamp, volts: f64) -> Result<Amps, PinFault> {
    let measured_a = volts * clamp.a_per_v + clamp.offset_a;
    // More than the unit holds, or no number, is no current.
    Amps::new(if measured_a < 0.0 { 0.0 } else { measured_a }).ok_or(PinFault)
}

#[cfg(test)]
mod tests {
    use core::f64::consts::{PI, SQRT_2};

    use embedded_hal::spi::{ErrorKind, ErrorType, Operation};

    use super::*;

    /// A converter whose inputs carry sines of 50 Hz about the middle: input 0 of 1 V, each of the others
    /// half of the one before. Time passes only by what is asked of it.
    struct Sines {
        now_s: f64,
        reads: u16,
        fails_after: u16,
    }

    impl Sines {
        const SOUND: Self = Self { now_s: 0.0, reads: 0, fails_after: u16::MAX };
    }

    impl ErrorType for Sines {
        type Error = ErrorKind;
    }

    impl SpiDevice for Sines {
        fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), ErrorKind> {
            self.reads += 1;
            if self.reads > self.fails_after {
                return Err(ErrorKind::Other);
            }
            for operation in operations {
                match operation {
                    Operation::TransferInPlace(frame) => {
                        self.now_s += 48e-6;
                        let channel = f64::from(frame[1] >> 4 & 0b111);
                        let peak_v = SQRT_2 * libm::pow(2.0, -channel);
                        let volts = 1.65 + peak_v * libm::sin(2.0 * PI * 50.0 * self.now_s + channel);
                        #[allow(clippy::cast_possible_truncation, reason = "0 to 1023")]
                        #[allow(clippy::cast_sign_loss, reason = "0 to 1023")]
                        let word = (volts / 3.3 * 1024.0) as u16;
                        let [high, low] = word.to_be_bytes();
                        // Before the null bit the line floats.
                        frame.copy_from_slice(&[0xFF, 0b1111_1000 | high, low]);
                    }
                    Operation::DelayNs(wait_ns) => self.now_s += f64::from(*wait_ns) * 1e-9,
                    Operation::Read(_) | Operation::Write(_) | Operation::Transfer(..) => {
                        panic!("{operation:?}");
                    }
                }
            }
            Ok(())
        }
    }

    fn clamp(bank: usize, channel: u8) -> Clamp {
        Clamp { bank, channel, a_per_v: 20.0, offset_a: 0.0 }
    }

    fn amps_of(currents: &Currents<Sines>, bank: usize) -> f64 {
        currents.of(bank).expect("a clamp").expect("measured").a()
    }

    #[test]
    fn every_clamp_is_measured_in_the_same_burst_by_its_own_calibration() {
        let offset = Clamp { offset_a: -0.5, ..clamp(2, 1) };
        let mut currents = Currents::new(Mcp3008::new(Sines::SOUND), 3.3, std::vec![clamp(0, 0), offset]);
        let burst = currents.burst();
        currents.judge(burst, Duration::from_millis(100));
        assert!((amps_of(&currents, 0) - 20.0).abs() < 0.2, "{:?}", currents.latest);
        assert!((amps_of(&currents, 2) - 9.5).abs() < 0.1, "{:?}", currents.latest);
        assert_eq!(currents.of(1), None);
    }

    #[test]
    fn eight_clamps_share_a_burst_and_none_is_a_burst_of_nothing() {
        let all: Vec<Clamp> = (0..8).map(|input| clamp(usize::from(input), input)).collect();
        let mut currents = Currents::new(Mcp3008::new(Sines::SOUND), 3.3, all);
        let burst = currents.burst();
        currents.judge(burst, Duration::from_millis(100));
        for (bank, expected_a) in [20.0, 10.0, 5.0, 2.5, 1.25].into_iter().enumerate() {
            // One word is 3.2 mV, or 64 mA here.
            assert!((amps_of(&currents, bank) - expected_a).abs() < 0.01 * expected_a + 0.032, "{bank}");
        }
        assert_eq!(currents.converter.release().reads, 400);
        let mut none = Currents::new(Mcp3008::new(Sines::SOUND), 3.3, Vec::new());
        none.measure();
        assert_eq!((none.of(0), none.converter.release().reads), (None, 0));
    }

    #[test]
    fn a_burst_out_of_time_or_torn_measures_nothing() {
        for (lasted_ms, counts) in [(59, false), (60, true), (300, true), (301, false)] {
            let mut currents = Currents::new(Mcp3008::new(Sines::SOUND), 3.3, std::vec![clamp(0, 0)]);
            let burst = currents.burst();
            currents.judge(burst, Duration::from_millis(lasted_ms));
            assert_eq!(currents.of(0).expect("a clamp").is_ok(), counts, "{lasted_ms} ms");
        }
        let torn = Sines { fails_after: 390, ..Sines::SOUND };
        let mut currents = Currents::new(Mcp3008::new(torn), 3.3, std::vec![clamp(0, 0)]);
        let burst = currents.burst();
        currents.judge(burst, Duration::from_millis(100));
        assert_eq!(currents.of(0), Some(Err(PinFault)));
    }

    #[test]
    fn an_offset_never_makes_a_current_negative_and_nonsense_is_no_current() {
        assert_eq!(amps(&Clamp { offset_a: -1.0, ..clamp(0, 0) }, 0.01), Ok(Amps::ZERO));
        assert_eq!(amps(&clamp(0, 0), f64::NAN), Err(PinFault));
        assert_eq!(amps(&clamp(0, 0), 1e9), Err(PinFault));
    }
}
