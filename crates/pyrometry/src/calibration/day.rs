//! A calendar day.

use core::fmt;

/// A day of the (proleptic Gregorian) calendar, written `2026-11-25`. Data only: nothing here
/// knows what day it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day {
    year: u16,
    month: u8,
    of_month: u8,
}

impl Day {
    /// A day from 1970 to 9999; `None` for one that does not exist.
    #[must_use]
    pub fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let exists = (1970..=9999).contains(&year) && day >= 1 && day <= days_in(year, month);
        exists.then_some(Self { year, month, of_month: day })
    }

    /// From `2026-11-25`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let year = digits(parts.next()?, 4)?;
        let month = digits(parts.next()?, 2)?;
        let day = digits(parts.next()?, 2)?;
        if parts.next().is_some() {
            return None;
        }
        Self::new(year, u8::try_from(month).ok()?, u8::try_from(day).ok()?)
    }

    /// Days from an earlier day to this one; none if that one is later.
    #[must_use]
    pub fn days_since(self, earlier: Self) -> u32 {
        self.ordinal().saturating_sub(earlier.ordinal())
    }

    /// Days since the first of March of year 0, with the year begun in March so that the leap day
    /// is its last.
    fn ordinal(self) -> u32 {
        let (year, month) = if self.month > 2 {
            (u32::from(self.year), u32::from(self.month) - 3)
        } else {
            (u32::from(self.year) - 1, u32::from(self.month) + 9)
        };
        // 153 days every five months from March: 31, 30, 31, 30, 31.
        365 * year + year / 4 - year / 100 + year / 400 + (153 * month + 2) / 5 + u32::from(self.of_month)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.of_month)
    }
}

fn digits(text: &str, length: usize) -> Option<u16> {
    let plain = text.len() == length && text.bytes().all(|byte| byte.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

fn days_in(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    }
}
