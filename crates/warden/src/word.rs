//! What the warden answers, as bytes.
//!
//! ```text
//! 0..4    "SGRW"
//! 4       version, 2
//! 5       the contactor: 0 open, 1 closed
//! 6       why it stays open: 0 no reason, else the reason's number
//! 7       what the contactor was when the warden began: 0 open, 1 closed
//! 8..12   the sequence of the last beat heard
//! 12      how the limit probe finds the kiln: 0 there is none, 1 unread, 2 within, 3 above, 4 blind
//! 13      its latest reading: 0 none yet, 1 a temperature, 2 open, 3 short, 4 no answer, 5 out of range
//! 14..16  0
//! 16..20  that temperature in tenths of °C, signed
//! 20..24  its ceiling likewise
//! 24..28  CRC-32 of all before
//! ```

use hal::Level;
use pyrometry::amplifier::SensorFault;
use pyrometry::units::{Celsius, whole_steps};

use crate::judge::Distrust;
use crate::limit::{LimitFinding, LimitNow};
use crate::seal::{self, Garbled};

/// The length of every answer.
pub const WORD_BYTES: usize = 28;

const MAGIC: [u8; 4] = *b"SGRW";
const VERSION: u8 = 2;

/// An answer of the warden.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Word {
    /// The contactor, as driven and read back.
    pub contactor: Level,
    /// Why it stays open until a new arming, if it does.
    pub distrust: Option<Distrust>,
    /// The contactor as the warden found it when it began: on, where its pin had outlived an owner.
    pub found: Level,
    /// The last beat heard.
    pub heard: u32,
    /// How the limit probe finds the kiln, in tenths of degrees; `None` where there is none.
    pub limit: Option<LimitNow>,
}

impl Word {
    /// As it goes over the line.
    #[must_use]
    pub fn to_bytes(self) -> [u8; WORD_BYTES] {
        let why = self.distrust.map_or(0, number);
        let head = MAGIC.into_iter().chain([VERSION, bit(self.contactor), why, bit(self.found)]);
        let [limit, reading] = self.limit.map_or([0; 2], |limit| [found(limit.finding), kind(limit.latest)]);
        let read = self.limit.and_then(|limit| limit.latest?.ok());
        let ceiling = self.limit.map(|limit| limit.ceiling);
        let degrees = [read, ceiling].map(tenths).into_iter().flat_map(i32::to_le_bytes);
        seal::seal(head.chain(self.heard.to_le_bytes()).chain([limit, reading, 0, 0]).chain(degrees))
    }

    /// Whether this is worth saying to one who was told another: all but what an answer to a beat tells anyway.
    #[must_use]
    pub fn is_news_after(&self, told: &Self) -> bool {
        let news = |word: &Self| (word.contactor, word.distrust, word.limit.map(|limit| limit.finding));
        news(self) != news(told)
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
        let heard = body.number()?;
        let [finding, reading, 0, 0] = body.bytes()? else { return Err(Garbled) };
        let (read, ceiling) = (body.number()?, body.number()?);
        let limit = match (finding, reading, read, ceiling) {
            (0, 0, 0, 0) => None,
            (0, _, _, _) => return Err(Garbled),
            (_, _, _, _) => Some(LimitNow {
                finding: FINDINGS.into_iter().find(|known| self::found(*known) == finding).ok_or(Garbled)?,
                ceiling: degrees(ceiling)?,
                latest: latest(reading, read)?,
            }),
        };
        Ok(Self { contactor: level(contactor)?, distrust, found: level(found)?, heard, limit })
    }
}

const FINDINGS: [LimitFinding; 4] =
    [LimitFinding::Unread, LimitFinding::Within, LimitFinding::Above, LimitFinding::Blind];

const fn found(finding: LimitFinding) -> u8 {
    match finding {
        LimitFinding::Unread => 1,
        LimitFinding::Within => 2,
        LimitFinding::Above => 3,
        LimitFinding::Blind => 4,
    }
}

const A_TEMPERATURE: u8 = 1;
const FAULTS: [SensorFault; 4] =
    [SensorFault::Open, SensorFault::Short, SensorFault::NoAnswer, SensorFault::OutOfRange];

const fn kind(latest: Option<Result<Celsius, SensorFault>>) -> u8 {
    match latest {
        None => 0,
        Some(Ok(_)) => A_TEMPERATURE,
        Some(Err(fault)) => fault_number(fault),
    }
}

const fn fault_number(fault: SensorFault) -> u8 {
    match fault {
        SensorFault::Open => 2,
        SensorFault::Short => 3,
        SensorFault::NoAnswer => 4,
        SensorFault::OutOfRange => 5,
    }
}

fn latest(kind: u8, read: u32) -> Result<Option<Result<Celsius, SensorFault>>, Garbled> {
    match (kind, read) {
        (0, 0) => Ok(None),
        (A_TEMPERATURE, _) => Ok(Some(Ok(degrees(read)?))),
        (fault, 0) => {
            let fault = FAULTS.into_iter().find(|known| fault_number(*known) == fault).ok_or(Garbled)?;
            Ok(Some(Err(fault)))
        }
        (_, _) => Err(Garbled),
    }
}

fn tenths(temperature: Option<Celsius>) -> i32 {
    temperature.map_or(0, |temperature| whole_steps(temperature.c() * 10.0))
}

fn degrees(tenths: u32) -> Result<Celsius, Garbled> {
    Celsius::new(f64::from(tenths.cast_signed()) / 10.0).ok_or(Garbled)
}

const REASONS: [Distrust; 8] = [
    Distrust::NotArmed,
    Distrust::Silence,
    Distrust::WrongOrder,
    Distrust::StageMissing,
    Distrust::Garbled,
    Distrust::PinUnsound,
    Distrust::AboveLimit,
    Distrust::LimitBlind,
];

const fn number(reason: Distrust) -> u8 {
    match reason {
        Distrust::NotArmed => 1,
        Distrust::Silence => 2,
        Distrust::WrongOrder => 3,
        Distrust::StageMissing => 4,
        Distrust::Garbled => 5,
        Distrust::PinUnsound => 6,
        Distrust::AboveLimit => 7,
        Distrust::LimitBlind => 8,
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

    fn celsius(c: f64) -> Celsius {
        Celsius::new(c).unwrap()
    }

    fn limits() -> impl Iterator<Item = Option<LimitNow>> {
        let read = [None, Some(Ok(celsius(-12.3))), Some(Ok(celsius(1281.4)))];
        let latest = read.into_iter().chain(FAULTS.map(|fault| Some(Err(fault))));
        let ceiling = celsius(1280.0);
        latest
            .flat_map(move |latest| FINDINGS.map(|finding| Some(LimitNow { finding, ceiling, latest })))
            .chain([None])
    }

    #[test]
    fn every_word_comes_back_as_it_was_said() {
        for distrust in REASONS.map(Some).into_iter().chain([None]) {
            for (contactor, found) in [(Level::On, Level::Off), (Level::Off, Level::On)] {
                for limit in limits() {
                    let word = Word { contactor, distrust, found, heard: 77, limit };
                    assert_eq!(Word::from_bytes(&word.to_bytes()), Ok(word));
                }
            }
        }
    }

    #[test]
    fn a_word_is_laid_out_as_the_table_says() {
        let limit = LimitNow {
            finding: LimitFinding::Above,
            ceiling: celsius(1280.0),
            latest: Some(Ok(celsius(1281.4))),
        };
        let bytes = Word {
            distrust: Some(Distrust::AboveLimit),
            heard: 0x0102,
            limit: Some(limit),
            ..Word::default()
        }
        .to_bytes();
        assert_eq!(bytes[..16], *b"SGRW\x02\x00\x07\x00\x02\x01\x00\x00\x03\x01\x00\x00");
        assert_eq!(bytes[16..24], [0x0e, 0x32, 0, 0, 0, 0x32, 0, 0], "12814 and 12800");
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
        for head in [[1, 0, 0, 0], [2, 2, 0, 0], [2, 0, 9, 0], [2, 0, 0, 2]] {
            let body = MAGIC.into_iter().chain(head).chain([0; 16]);
            assert_eq!(Word::from_bytes(&seal::seal(body)), Err(Garbled), "{head:?}");
        }
        let whole = MAGIC.into_iter().chain([2, 0, 0, 0]).chain([0; 16]);
        assert_eq!(Word::from_bytes(&seal::seal(whole)), Ok(Word::default()));
    }

    #[test]
    fn a_whole_word_whose_limit_says_nonsense_is_garbled() {
        let with = |limit: [u8; 4], read: i32, ceiling: i32| {
            let numbers = [read, ceiling].into_iter().flat_map(i32::to_le_bytes);
            Word::from_bytes(&seal::seal(
                MAGIC.into_iter().chain([2, 0, 0, 0, 0, 0, 0, 0]).chain(limit).chain(numbers),
            ))
        };
        assert!(with([2, 1, 0, 0], 9_000, 12_800).is_ok());
        for (limit, read, ceiling) in [
            ([5, 1, 0, 0], 9_000, 12_800),
            ([2, 6, 0, 0], 0, 12_800),
            ([2, 2, 0, 0], 9_000, 12_800),
            ([2, 0, 0, 0], 9_000, 12_800),
            ([2, 1, 1, 0], 9_000, 12_800),
            ([2, 1, 0, 1], 9_000, 12_800),
            ([2, 1, 0, 0], 30_001, 12_800),
            ([2, 1, 0, 0], 9_000, -2_732),
            ([0, 1, 0, 0], 0, 0),
            ([0, 0, 0, 0], 0, 12_800),
            ([0, 0, 0, 0], 9_000, 0),
        ] {
            assert_eq!(with(limit, read, ceiling), Err(Garbled), "{limit:?} {read} {ceiling}");
        }
    }

    #[test]
    fn what_the_limit_finds_is_news_and_its_reading_is_not() {
        let limit = |finding, read_c| LimitNow {
            finding,
            ceiling: celsius(1280.0),
            latest: Some(Ok(celsius(read_c))),
        };
        let told = Word { limit: Some(limit(LimitFinding::Within, 20.0)), ..Word::default() };
        let warmer = Word { limit: Some(limit(LimitFinding::Within, 21.0)), heard: 5, ..told };
        assert!(!warmer.is_news_after(&told));
        for news in [
            Word { limit: Some(limit(LimitFinding::Above, 20.0)), ..told },
            Word { limit: None, ..told },
            Word { contactor: Level::On, ..told },
            Word { distrust: Some(Distrust::Silence), ..told },
        ] {
            assert!(news.is_news_after(&told), "{news:?}");
        }
    }
}
