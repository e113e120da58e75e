//! MAX31856, all sixteen registers (datasheet 19-7534 rev 0; page and table numbers are its own).
//!
//! Not modelled: the voltage modes of CR1 (no conversion then), the fault and data-ready pins. That the
//! address goes from the last register to the first, and that an open circuit leaves the last conversion
//! standing, is from memory and engineering judgement.

use std::time::Duration;

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millivolts};

use super::{AT_REST, Chip, Clocking, Terminals};

const REGISTERS: usize = 16;
/// After a power-up (table 6): not converting, open-circuit test off, 60 Hz, type K.
const POWERED_UP: [u8; REGISTERS] =
    [0x00, 0x03, 0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00];
/// An address with this bit is written (page 17).
const WRITE: u8 = 0x80;
/// At most 5 MHz (page 3).
const HERTZ_MOST: u32 = 5_000_000;

const CR0: usize = 0x00;
const CR1: usize = 0x01;
const COLD_HIGH: usize = 0x03;
const COLD_LOW: usize = 0x04;
const HOT_HIGH: usize = 0x05;
const HOT_LOW: usize = 0x07;
const COLD_OFFSET: usize = 0x09;
const COLD: usize = 0x0A;
const HOT: usize = 0x0C;
const STATUS: usize = 0x0F;

/// CR0 (page 19).
const CONVERTING: u8 = 1 << 7;
const ONCE: u8 = 1 << 6;
const OPEN_TEST: u8 = 0b11 << 4;
const COLD_FROM_OUTSIDE: u8 = 1 << 3;
const LATCHING: u8 = 1 << 2;
const CLEAR: u8 = 1 << 1;
const HERTZ_50: u8 = 1 << 0;

/// Status (page 25).
const COLD_BEYOND_RANGE: u8 = 1 << 7;
const HOT_BEYOND_RANGE: u8 = 1 << 6;
const COLD_ABOVE: u8 = 1 << 5;
const COLD_BELOW: u8 = 1 << 4;
const HOT_ABOVE: u8 = 1 << 3;
const HOT_BELOW: u8 = 1 << 2;
const OPEN: u8 = 1 << 0;

/// CR1, bits 3:0 (page 20); the codes after these are voltage modes.
const LETTERS: [Thermocouple; 8] = [
    Thermocouple::B,
    Thermocouple::E,
    Thermocouple::J,
    Thermocouple::K,
    Thermocouple::N,
    Thermocouple::R,
    Thermocouple::S,
    Thermocouple::T,
];

/// The chip.
#[derive(Clone, Debug)]
pub struct Max31856 {
    registers: [u8; REGISTERS],
    /// Since the conversion in progress began; `None` while nothing converts.
    converting_for: Option<Duration>,
}

impl Default for Max31856 {
    fn default() -> Self {
        Self { registers: POWERED_UP, converting_for: None }
    }
}

impl Max31856 {
    fn write(&mut self, address: usize, value: u8) {
        match address {
            CR0 => self.write_cr0(value),
            // Results of measurement; the cold junction's are the bus's only where the chip's own is off.
            COLD..HOT if self.registers[CR0] & COLD_FROM_OUTSIDE == 0 => {}
            HOT..=STATUS => {}
            _ => self.registers[address] = value,
        }
    }

    fn write_cr0(&mut self, value: u8) {
        let before = self.registers[CR0];
        // The mains filter may only change while nothing converts (page 19): otherwise it doesn't here.
        let hum = if before & CONVERTING == 0 { value } else { before } & HERTZ_50;
        if value & CLEAR != 0 && value & LATCHING != 0 {
            self.registers[STATUS] = 0;
        }
        self.registers[CR0] = value & !(CLEAR | HERTZ_50) | hum;
        self.converting_for = match self.converting_for {
            _ if value & (CONVERTING | ONCE) == 0 => None,
            Some(span) if before & CONVERTING != 0 => Some(span),
            Some(_) | None => Some(Duration::ZERO),
        };
    }

    /// 98 ms at 50 Hz and 82 ms at 60 Hz at the usual, with 20 and 17 ms for each further sample (page 3).
    fn conversion(&self) -> Duration {
        let (first_ms, further_ms) = if self.registers[CR0] & HERTZ_50 == 0 { (82, 17) } else { (98, 20) };
        let samples = 1u64 << (self.registers[CR1] >> 4 & 0b111).min(4);
        Duration::from_millis(first_ms + (samples - 1) * further_ms)
    }

    fn convert(&mut self, terminals: &Terminals) {
        let (Terminals::Closed { cold_junction, .. } | Terminals::Open { cold_junction }) = *terminals;
        let mut status = 0;
        if self.registers[CR0] & COLD_FROM_OUTSIDE == 0 {
            status |= self.measure_cold(cold_junction.c());
        }
        match *terminals {
            Terminals::Open { .. } => {
                status |= if self.registers[CR0] & OPEN_TEST == 0 { 0 } else { OPEN };
            }
            Terminals::Closed { emf, .. } => status |= self.measure_hot(emf),
        }
        if self.registers[CR0] & LATCHING != 0 {
            status |= self.registers[STATUS];
        }
        self.registers[STATUS] = status;
        self.registers[CR0] &= !ONCE;
    }

    /// The cold junction's word: 14 bits of 2⁻⁶ °C at the upper end (table 2), with the offset of 2⁻⁴ °C.
    fn measure_cold(&mut self, at_c: f64) -> u8 {
        let offset_c = f64::from(self.registers[COLD_OFFSET].cast_signed()) / 16.0;
        let cold_c = (at_c + offset_c).clamp(-128.0, 127.98);
        let word = whole(cold_c * 64.0) << 2;
        self.registers[COLD..COLD + 2].copy_from_slice(&word.to_be_bytes()[2..]);
        let threshold_c = |register: u8| f64::from(register.cast_signed());
        let mut status = 0;
        if !(-55.0..=125.0).contains(&at_c) {
            status |= COLD_BEYOND_RANGE;
        }
        if cold_c > threshold_c(self.registers[COLD_HIGH]) {
            status |= COLD_ABOVE;
        }
        if cold_c < threshold_c(self.registers[COLD_LOW]) {
            status |= COLD_BELOW;
        }
        status
    }

    /// The junction's word: 19 bits of 2⁻⁷ °C at the upper end (table 3), linearised as the type that CR1
    /// names. Beyond that type's range it stays at the range's end.
    fn measure_hot(&mut self, emf: Millivolts) -> u8 {
        let Some(letter) = LETTERS.get(usize::from(self.registers[CR1] & 0b1111)) else { return 0 };
        let cold = i32::from(i16::from_be_bytes([self.registers[COLD], self.registers[COLD + 1]]) >> 2);
        let (junction_c, beyond) = linearised(*letter, emf, f64::from(cold) / 64.0);
        let word = whole(junction_c * 128.0) << 5;
        self.registers[HOT..STATUS].copy_from_slice(&word.to_be_bytes()[1..]);
        let threshold_c =
            |at: usize| f64::from(i16::from_be_bytes([self.registers[at], self.registers[at + 1]])) / 16.0;
        let mut status = if beyond { HOT_BEYOND_RANGE } else { 0 };
        if junction_c > threshold_c(HOT_HIGH) {
            status |= HOT_ABOVE;
        }
        if junction_c < threshold_c(HOT_LOW) {
            status |= HOT_BELOW;
        }
        status
    }
}

impl Chip for Max31856 {
    fn exchange(&mut self, clocking: Clocking, sent: &[u8]) -> Vec<u8> {
        let mut back = vec![AT_REST; sent.len()];
        let suits = matches!(clocking.mode, 1 | 3) && clocking.hertz <= HERTZ_MOST;
        let ([address, values @ ..], true) = (sent, suits) else { return back };
        for (step, value) in values.iter().enumerate() {
            let place = (usize::from(address & !WRITE) + step) % REGISTERS;
            if address & WRITE == 0 {
                back[step + 1] = self.registers[place];
            } else {
                self.write(place, *value);
            }
        }
        back
    }

    fn pass(&mut self, span: Duration, terminals: &Terminals) {
        let Some(before) = self.converting_for else { return };
        let after = before + span;
        self.converting_for = Some(after);
        if after >= self.conversion() {
            self.convert(terminals);
            let on = self.registers[CR0] & CONVERTING != 0;
            self.converting_for = on.then_some(Duration::ZERO);
        }
    }

    fn wake(&mut self) {
        *self = Self::default();
    }
}

/// The junction of an emf as a type's reference function has it, and whether it lies beyond that type.
fn linearised(letter: Thermocouple, emf: Millivolts, cold_c: f64) -> (f64, bool) {
    let range = letter.rising_range();
    let (lowest, highest) = (*range.start(), *range.end());
    let Some(cold_mv) = Celsius::new(cold_c).and_then(|cold| letter.emf(cold).ok()).map(Millivolts::mv)
    else {
        return (lowest.c(), true);
    };
    let total_mv = emf.mv() + cold_mv;
    if let Some(Ok(junction)) = Millivolts::new(total_mv).map(|total| letter.junction(total)) {
        return (junction.c(), false);
    }
    let above = letter.emf(highest).is_ok_and(|end| total_mv > end.mv());
    (if above { highest.c() } else { lowest.c() }, true)
}

/// A word: rounded to the nearest whole step.
#[allow(clippy::cast_possible_truncation, reason = "every caller's value is within 19 bits")]
fn whole(steps: f64) -> i32 {
    steps.round() as i32
}

#[cfg(test)]
#[path = "max31856_tests.rs"]
mod tests;
