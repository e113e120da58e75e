//! What the warden answers, as bytes.
//!
//! ```text
//! 0..4    "SGRW"
//! 4       version, 1
//! 5       the contactor: 0 open, 1 closed
//! 6       why it stays open: 0 no reason, else the reason's number
//! 7       what the contactor was when the warden began: 0 open, 1 closed
//! 8..12   the sequence of the last beat heard
//! 12..16  CRC-32 of all before
//! ```

use hal::Level;

use crate::judge::Distrust;
use crate::seal::{self, Garbled};

/// The length of every answer.
pub const WORD_BYTES: usize = 16;

const MAGIC: [u8; 4] = *b"SGRW";
const VERSION: u8 = 1;

/// An answer of the warden.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Word {
    /// The contactor, as driven and read back.
    pub contactor: Level,
    /// Why it stays open until a new arming, if it does.
    pub distrust: Option<Distrust>,
    /// The contactor as the warden found it when it began: on, where its pin had outlived an owner.
    pub found: Level,
    /// The last beat heard.
    pub heard: u32,
}

impl Word {
    /// As it goes over the line.
    #[must_use]
    pub fn to_bytes(self) -> [u8; WORD_BYTES] {
        let why = self.distrust.map_or(0, number);
        let head = MAGIC.into_iter().chain([VERSION, bit(self.contactor), why, bit(self.found)]);
        seal::seal(head.chain(self.heard.to_le_bytes()))
    }

    /// As it came from the line.
    pub fn from_bytes(bytes: &[u8; WORD_BYTES]) -> Result<Self, Garbled> {
        let mut body = seal::open(bytes)?;
        if body.bytes()? != MAGIC {
            return Err(Garbled);
        }
        let [version, contactor, why, found] = body.bytes()?;
        if version != VERSION {
            return Err(Garbled);
        }
        let distrust = match why {
            0 => None,
            why => Some(REASONS.into_iter().find(|reason| number(*reason) == why).ok_or(Garbled)?),
        };
        Ok(Self { contactor: level(contactor)?, distrust, found: level(found)?, heard: body.number()? })
    }
}

const REASONS: [Distrust; 6] = [
    Distrust::NotArmed,
    Distrust::Silence,
    Distrust::WrongOrder,
    Distrust::StageMissing,
    Distrust::Garbled,
    Distrust::PinUnsound,
];

const fn number(reason: Distrust) -> u8 {
    match reason {
        Distrust::NotArmed => 1,
        Distrust::Silence => 2,
        Distrust::WrongOrder => 3,
        Distrust::StageMissing => 4,
        Distrust::Garbled => 5,
        Distrust::PinUnsound => 6,
    }
}

const fn bit(level: Level) -> u8 {
    match level {
        Level::Off => 0,
        Level::On => 1,
    }
}

const fn level(bit: u8) -> Result<Level, Garbled> {
    match bit {
        0 => Ok(Level::Off),
        1 => Ok(Level::On),
        _ => Err(Garbled),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_comes_back_as_it_was_said() {
        for distrust in REASONS.map(Some).into_iter().chain([None]) {
            for (contactor, found) in [(Level::On, Level::Off), (Level::Off, Level::On)] {
                let word = Word { contactor, distrust, found, heard: 77 };
                assert_eq!(Word::from_bytes(&word.to_bytes()), Ok(word));
            }
        }
    }

    #[test]
    fn a_word_with_any_one_bit_wrong_is_garbled() {
        for bit in 0..WORD_BYTES * 8 {
            let mut bytes = Word::default().to_bytes();
            bytes[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(Word::from_bytes(&bytes), Err(Garbled), "bit {bit}");
        }
    }

    #[test]
    fn a_whole_word_that_says_nonsense_is_garbled() {
        for head in [[2, 0, 0, 0], [1, 2, 0, 0], [1, 0, 7, 0], [1, 0, 0, 2]] {
            let body = MAGIC.into_iter().chain(head).chain([0; 4]);
            assert_eq!(Word::from_bytes(&seal::seal(body)), Err(Garbled), "{head:?}");
        }
    }
}
