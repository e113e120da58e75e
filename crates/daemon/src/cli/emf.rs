//! Thermocouple emfs at the bench: from temperature to millivolts and back.

use std::fmt;
use std::io::{self, BufRead, Read, Write};

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::Millivolts;
use serde_json::json;

use super::args::EmfArgs;
use super::{Exit, bad_input, ended_writing};
use crate::files::Scale;

/// A line longer than this is no number; it bounds what a file of no lines can take.
const LINE_LONGEST: u64 = 4096;

/// Which way a value is turned.
#[derive(Clone, Copy)]
enum Way {
    ToEmf,
    ToTemperature,
}

/// What every value of one call has in common.
struct Turn {
    thermocouple: Thermocouple,
    way: Way,
    scale: Scale,
}

/// A value with its answer, in the units asked for.
struct Answer<'a> {
    turn: &'a Turn,
    given: f64,
    found: f64,
}

/// Why there is no answer.
enum Stopped {
    /// A value that cannot be understood, and where it stood.
    BadValue(String),
    /// The answers cannot be written.
    Unwritable(io::Error),
}

impl From<io::Error> for Stopped {
    fn from(why: io::Error) -> Self {
        Self::Unwritable(why)
    }
}

pub(super) fn emf(args: &EmfArgs) -> Exit {
    let Some(thermocouple) = Thermocouple::parse(&args.thermocouple) else {
        let why = format!("{:?} is no thermocouple type; the types are B E J K N R S T", args.thermocouple);
        return bad_input(&why);
    };
    let turn = Turn {
        thermocouple,
        way: if args.inverse { Way::ToTemperature } else { Way::ToEmf },
        scale: if args.fahrenheit { Scale::Fahrenheit } else { Scale::Celsius },
    };
    let mut out = io::stdout().lock();
    let mut tell = |answer: &Answer<'_>| {
        if args.json { writeln!(out, "{}", answer.json()) } else { writeln!(out, "{answer}") }
    };
    let told = if args.values.is_empty() {
        turn.lines(io::stdin().lock(), &mut tell)
    } else {
        turn.arguments(&args.values, &mut tell)
    };
    match told {
        Ok(()) => Exit::Good,
        Err(Stopped::BadValue(why)) => bad_input(&why),
        Err(Stopped::Unwritable(why)) => ended_writing(&why),
    }
}

impl Turn {
    fn arguments(
        &self,
        values: &[String],
        tell: &mut impl FnMut(&Answer<'_>) -> io::Result<()>,
    ) -> Result<(), Stopped> {
        for value in values {
            tell(&self.answer(value).map_err(Stopped::BadValue)?)?;
        }
        Ok(())
    }

    /// Answers each line as it comes, so that another program can ask and wait.
    fn lines(
        &self,
        mut input: impl BufRead,
        tell: &mut impl FnMut(&Answer<'_>) -> io::Result<()>,
    ) -> Result<(), Stopped> {
        let mut line = Vec::new();
        for number in 1_u64.. {
            line.clear();
            let at =
                |why: &dyn fmt::Display| Stopped::BadValue(format!("standard input, line {number}: {why}"));
            let read = input.by_ref().take(LINE_LONGEST).read_until(b'\n', &mut line);
            if read.map_err(|why| at(&why))? == 0 {
                break;
            }
            if !line.ends_with(b"\n") && line.len() as u64 == LINE_LONGEST {
                return Err(at(&"too long for a number"));
            }
            let text = String::from_utf8_lossy(&line);
            // A byte-order mark is what spreadsheets begin with.
            let value = text.trim_start_matches('\u{feff}').trim();
            if !value.is_empty() {
                tell(&self.answer(value).map_err(|why| at(&why))?)?;
            }
        }
        Ok(())
    }

    fn answer(&self, text: &str) -> Result<Answer<'_>, String> {
        let given: f64 = text.parse().map_err(|_| format!("{text:?} is no number"))?;
        let found = match self.way {
            Way::ToEmf => {
                let junction =
                    self.scale.temperature(given).ok_or_else(|| format!("{text} is no temperature"))?;
                self.thermocouple.emf(junction).map_err(|why| why.to_string())?.mv()
            }
            Way::ToTemperature => {
                let emf = Millivolts::new(given).ok_or_else(|| format!("{text} is no emf in mV"))?;
                self.scale.write(self.thermocouple.junction(emf).map_err(|why| why.to_string())?)
            }
        };
        Ok(Answer { turn: self, given, found })
    }
}

impl Answer<'_> {
    fn json(&self) -> String {
        let letter = self.turn.thermocouple.letter();
        let degrees = match self.turn.scale {
            Scale::Celsius => "temp_c",
            Scale::Fahrenheit => "temp_f",
        };
        let (asked, answered) = match self.turn.way {
            Way::ToEmf => (degrees, "emf_mv"),
            Way::ToTemperature => ("emf_mv", degrees),
        };
        // Written by hand, because the answer is to be the last number of the line.
        let (given, found) = (json!(self.given), json!(self.found));
        format!(r#"{{"type":"{letter}","{asked}":{given},"{answered}":{found}}}"#)
    }
}

impl fmt::Display for Answer<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let degrees = self.turn.scale.name();
        // Six decimals: a nanovolt, or a microdegree, well below what any instrument resolves.
        match self.turn.way {
            Way::ToEmf => write!(f, "{} °{degrees} = {:.6} mV", self.given, self.found),
            Way::ToTemperature => write!(f, "{} mV = {:.6} °{degrees}", self.given, self.found),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turn(way: Way, scale: Scale) -> Turn {
        Turn { thermocouple: Thermocouple::K, way, scale }
    }

    fn told(turn: &Turn, input: &str) -> (Vec<String>, Option<String>) {
        let mut lines = Vec::new();
        let outcome = turn.lines(input.as_bytes(), &mut |answer| {
            lines.push(answer.to_string());
            Ok(())
        });
        let why = match outcome {
            Ok(()) => None,
            Err(Stopped::BadValue(why)) => Some(why),
            Err(Stopped::Unwritable(why)) => panic!("{why}"),
        };
        (lines, why)
    }

    /// NIST SRD 60, type K: 1000 °C is 41.276 mV, −10 °C is −0.392 mV.
    #[test]
    fn lines_with_crlf_blanks_and_a_byte_order_mark_are_answered_one_for_one() {
        let (lines, why) = told(&turn(Way::ToEmf, Scale::Celsius), "\u{feff}1000\r\n\r\n  -10 \n");
        assert_eq!(lines, ["1000 °C = 41.275606 mV", "-10 °C = -0.391854 mV"]);
        assert_eq!(why, None);
    }

    #[test]
    fn fahrenheit_is_understood_both_ways() {
        let (lines, _) = told(&turn(Way::ToEmf, Scale::Fahrenheit), "1832");
        assert_eq!(lines, ["1832 °F = 41.275606 mV"]);
        let (lines, _) = told(&turn(Way::ToTemperature, Scale::Fahrenheit), "0");
        assert_eq!(lines, ["0 mV = 32.000000 °F"]);
    }

    #[test]
    fn a_bad_line_stops_with_its_number_and_reason_after_the_good_ones() {
        let (lines, why) = told(&turn(Way::ToEmf, Scale::Celsius), "20\nwarm\n30\n");
        assert_eq!(lines.len(), 1);
        assert_eq!(why.as_deref(), Some("standard input, line 2: \"warm\" is no number"));
        let (_, why) = told(&turn(Way::ToEmf, Scale::Celsius), "\n1372.5\n");
        let right =
            "standard input, line 2: 1372.5 °C is outside type K, which is defined from -270 to 1372 °C";
        assert_eq!(why.as_deref(), Some(right));
        let (_, why) = told(&turn(Way::ToEmf, Scale::Celsius), "nan\n");
        assert_eq!(why.as_deref(), Some("standard input, line 1: nan is no temperature"));
    }

    #[test]
    fn a_line_without_end_is_no_number_and_takes_no_memory() {
        let (lines, why) = told(&turn(Way::ToEmf, Scale::Celsius), &"1".repeat(100_000));
        assert!(lines.is_empty());
        assert_eq!(why.as_deref(), Some("standard input, line 1: too long for a number"));
    }
}
