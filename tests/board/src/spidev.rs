//! What the kernel's spidev driver does with its calls, done to a chip of ours.
//!
//! The numbers and the layout are the kernel's (`linux/spi/spidev.h`, `asm-generic/ioctl.h`). A caller's
//! memory is out of reach here, so a call is answered in rounds: what to copy in and out is asked for
//! until all of it is there.

use crate::chip::{Chip, Clocking};

/// Error numbers, the same on every machine that Linux runs on (`asm-generic/errno-base.h`).
pub const EIO: i32 = 5;
const ENOTTY: i32 = 25;
const EINVAL: i32 = 22;
const EMSGSIZE: i32 = 90; // asm-generic/errno.h

const MAGIC: u32 = 0x6B; // 'k'
const WRITTEN: u32 = 1;
const MESSAGE: u32 = 0;
const MODE: u32 = 1;
const LSB_FIRST: u32 = 2;
const BITS: u32 = 3;
const SPEED: u32 = 4;
const MODE_32: u32 = 5;

/// One `spi_ioc_transfer`.
const TRANSFER: usize = 32;
/// The kernel's usual limit for all bytes of a message (its module's parameter `bufsiz`).
const BYTES_MOST: usize = 4096;

/// A piece of the caller's memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// Where it begins.
    pub base: u64,
    /// How long it is.
    pub len: u64,
}

/// A call, as far as its memory has come along.
#[derive(Clone, Copy, Debug)]
pub struct Call<'a> {
    /// Its number.
    pub number: u32,
    /// Its argument: where the caller's memory is.
    pub argument: u64,
    /// What was copied in.
    pub input: &'a [u8],
    /// How much will be copied out.
    pub output_len: usize,
}

/// What becomes of a call.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// It is to come again with this copied in, and room for that to be copied out.
    Again {
        /// To be copied in.
        input: Vec<Span>,
        /// To be copied out.
        output: Vec<Span>,
    },
    /// It is done.
    Done {
        /// What the call returns.
        result: i32,
        /// What is copied out.
        output: Vec<u8>,
    },
    /// It fails with this error.
    Failed(i32),
}

/// An open bus device. Every opener sees the same settings, as with the kernel's own.
#[derive(Clone, Debug)]
pub struct Spidev {
    mode: u32,
    lsb_first: u8,
    bits: u8,
    hertz: u32,
}

impl Default for Spidev {
    /// As the emulated board's device tree has it: mode 0, 8 bits, 5 MHz.
    fn default() -> Self {
        Self { mode: 0, lsb_first: 0, bits: 0, hertz: 5_000_000 }
    }
}

#[derive(Clone, Copy)]
struct Transfer {
    sent: u64,
    received: u64,
    len: usize,
    hertz: u32,
    deselects: bool,
}

impl Transfer {
    fn parse(bytes: &[u8]) -> Self {
        let wide = |at: usize| u64::from_ne_bytes(std::array::from_fn(|byte| bytes[at + byte]));
        let word = |at: usize| u32::from_ne_bytes(std::array::from_fn(|byte| bytes[at + byte]));
        Self {
            sent: wide(0),
            received: wide(8),
            len: usize::try_from(word(16)).unwrap_or(usize::MAX),
            hertz: word(20),
            deselects: bytes[27] != 0,
        }
    }

    fn span(&self, base: u64) -> Option<Span> {
        (base != 0 && self.len != 0).then_some(Span { base, len: self.len as u64 })
    }
}

impl Spidev {
    /// Answers a call with what the chip says.
    pub fn call(&mut self, chip: &mut dyn Chip, call: &Call<'_>) -> Answer {
        let (direction, size) = (call.number >> 30, (call.number >> 16 & 0x3FFF) as usize);
        if call.number >> 8 & 0xFF != MAGIC {
            return Answer::Failed(ENOTTY);
        }
        match call.number & 0xFF {
            MESSAGE if direction == WRITTEN => self.message(chip, call, size),
            setting if direction == WRITTEN => self.set(setting, call, size),
            setting => self.get(setting, call, size),
        }
    }

    fn set(&mut self, setting: u32, call: &Call<'_>, size: usize) -> Answer {
        if call.input.len() != size {
            let input = vec![Span { base: call.argument, len: size as u64 }];
            return Answer::Again { input, output: Vec::new() };
        }
        match (setting, call.input) {
            (MODE, [mode]) => self.mode = u32::from(*mode),
            (MODE_32, mode @ [_, _, _, _]) => self.mode = word(mode),
            (LSB_FIRST, [first]) => self.lsb_first = *first,
            (BITS, [bits]) => self.bits = *bits,
            (SPEED, hertz @ [_, _, _, _]) => self.hertz = word(hertz),
            _ => return Answer::Failed(ENOTTY),
        }
        Answer::Done { result: 0, output: Vec::new() }
    }

    fn get(&self, setting: u32, call: &Call<'_>, size: usize) -> Answer {
        let value = match (setting, size) {
            (MODE, 1) => self.mode.to_ne_bytes()[..1].to_vec(),
            (MODE_32, 4) => self.mode.to_ne_bytes().to_vec(),
            (LSB_FIRST, 1) => vec![self.lsb_first],
            (BITS, 1) => vec![self.bits],
            (SPEED, 4) => self.hertz.to_ne_bytes().to_vec(),
            _ => return Answer::Failed(ENOTTY),
        };
        if call.output_len == size {
            return Answer::Done { result: 0, output: value };
        }
        let output = vec![Span { base: call.argument, len: size as u64 }];
        Answer::Again { input: Vec::new(), output }
    }

    fn message(&mut self, chip: &mut dyn Chip, call: &Call<'_>, size: usize) -> Answer {
        if size == 0 || !size.is_multiple_of(TRANSFER) {
            return Answer::Failed(EINVAL);
        }
        let head = Span { base: call.argument, len: size as u64 };
        let Some((head_bytes, sent)) = call.input.split_at_checked(size) else {
            return Answer::Again { input: vec![head], output: Vec::new() };
        };
        let transfers: Vec<Transfer> = head_bytes.chunks_exact(TRANSFER).map(Transfer::parse).collect();
        let all = transfers.iter().fold(0usize, |sum, transfer| sum.saturating_add(transfer.len));
        if all > BYTES_MOST {
            return Answer::Failed(EMSGSIZE);
        }
        let sends = transfers.iter().filter_map(|transfer| transfer.span(transfer.sent));
        let receives = transfers.iter().filter_map(|transfer| transfer.span(transfer.received));
        let lengths = |spans: &[Span]| spans.iter().map(|span| span.len).sum::<u64>();
        let (input, output) = (sends.collect::<Vec<_>>(), receives.collect::<Vec<_>>());
        if lengths(&input) != sent.len() as u64 || lengths(&output) != call.output_len as u64 {
            return Answer::Again { input: [vec![head], input].concat(), output };
        }
        if !matches!(self.bits, 0 | 8) || self.lsb_first != 0 {
            return Answer::Failed(EINVAL); // the board's controller does neither
        }
        let output = self.exchange(chip, &transfers, sent);
        i32::try_from(all).map_or(Answer::Failed(EMSGSIZE), |result| Answer::Done { result, output })
    }

    /// The message's transfers, one selection of the chip for all until one says to let go of it.
    fn exchange(&self, chip: &mut dyn Chip, transfers: &[Transfer], mut sent: &[u8]) -> Vec<u8> {
        let mut output = Vec::new();
        let mut rest = transfers;
        while !rest.is_empty() {
            let end = rest.iter().position(|transfer| transfer.deselects).map_or(rest.len(), |at| at + 1);
            let (selection, later) = rest.split_at(end);
            rest = later;
            let mut bytes = Vec::new();
            for transfer in selection {
                let from_caller = if transfer.sent == 0 { 0 } else { transfer.len };
                let (now, after) = sent.split_at(from_caller);
                sent = after;
                bytes.extend(now);
                bytes.resize(bytes.len() + transfer.len - from_caller, 0); // nothing to send: zeros
            }
            let back = chip.exchange(self.clocking(selection), &bytes);
            let mut at = 0;
            for transfer in selection {
                if transfer.received != 0 {
                    output.extend(&back[at..at + transfer.len]);
                }
                at += transfer.len;
            }
        }
        output
    }

    /// Mode, and the fastest clock of a selection.
    fn clocking(&self, selection: &[Transfer]) -> Clocking {
        let own = |transfer: &Transfer| if transfer.hertz == 0 { self.hertz } else { transfer.hertz };
        let hertz = selection.iter().map(own).max().unwrap_or(self.hertz);
        Clocking { mode: self.mode.to_ne_bytes()[0] & 0b11, hertz }
    }
}

fn word(bytes: &[u8]) -> u32 {
    u32::from_ne_bytes(std::array::from_fn(|byte| bytes[byte]))
}

#[cfg(test)]
#[path = "spidev_tests.rs"]
mod tests;
