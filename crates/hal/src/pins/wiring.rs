//! Which pin of which computer drives what, and the small file that says so.
//!
//! ```text
//! computer raspberry-pi
//! contactor 25 high
//! bank 22 high
//! bank 23 low
//! heartbeat 26
//! buzzer 12 high
//! ```
//! Banks stand in the kiln file's order; `buzzer`, `lamp` and `vent` are where they are fitted; `high` or `low` is the level that energises; the other computer
//! is `linux` with its GPIO chip, such as `computer linux /dev/gpiochip0`. Lines that begin with `#` are
//! for people.

use core::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::string::{String, ToString};
use std::vec::Vec;
use std::{format, writeln};

use super::BANK_PINS;
use crate::gpio::PinLevel;
use crate::{Level, Signal};

/// Which level of the pin energises what it drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Energised {
    /// The pin is high when it is energised.
    High,
    /// The pin is low when it is energised.
    Low,
}

/// An output.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Output {
    /// Its GPIO number, or its line's offset.
    pub number: u16,
    /// The level that energises.
    pub energised: Energised,
}

/// How the pins are reached.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Computer {
    /// A Raspberry Pi's registers.
    RaspberryPi,
    /// A GPIO chip of Linux's character devices.
    Linux {
        /// Its device.
        gpio_chip: PathBuf,
    },
}

/// A kiln's output pins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wiring {
    /// The computer.
    pub computer: Computer,
    /// The safety contactor's coil.
    pub contactor: Output,
    /// The banks' relays, in the kiln file's order.
    pub banks: Vec<Output>,
    /// The heartbeat, where one is fitted.
    pub heartbeat: Option<u16>,
    /// What heats nothing, each at most once.
    pub signals: Vec<(Signal, Output)>,
}

impl Energised {
    pub(super) const fn pin_level(self, level: Level) -> PinLevel {
        match (self, level) {
            (Self::High, Level::On) | (Self::Low, Level::Off) => PinLevel::High,
            (Self::High, Level::Off) | (Self::Low, Level::On) => PinLevel::Low,
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::High => "high",
            Self::Low => "low",
        }
    }
}

impl Output {
    /// The level at which it energises nothing.
    #[must_use]
    pub const fn off(self) -> PinLevel {
        self.energised.pin_level(Level::Off)
    }
}

impl Wiring {
    /// Every output that energises something, the contactor first, then the banks.
    pub fn outputs(&self) -> impl Iterator<Item = Output> + '_ {
        let signals = self.signals.iter().map(|(_, output)| *output);
        core::iter::once(self.contactor).chain(self.banks.iter().copied()).chain(signals)
    }

    /// The output of a signal, where it is fitted.
    #[must_use]
    pub fn signal(&self, signal: Signal) -> Option<Output> {
        self.signals.iter().find(|(fitted, _)| *fitted == signal).map(|(_, output)| *output)
    }

    /// The wiring in a file; `None` where the file holds simulated pins, or is not there.
    pub fn read(path: &Path) -> io::Result<Option<Self>> {
        let text = match fs::read_to_string(path) {
            Ok(text) => text,
            Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(why) => return Err(why),
        };
        // Simulated pins are a row of ones and zeros.
        if text.bytes().next().is_none_or(|first| first.is_ascii_digit()) {
            return Ok(None);
        }
        Self::from_text(&text).map(Some).map_err(|why| io::Error::new(io::ErrorKind::InvalidData, why))
    }

    /// The wiring in a file's text.
    pub fn from_text(text: &str) -> Result<Self, String> {
        let (mut computer, mut contactor, mut heartbeat) = (None, None, None);
        let (mut banks, mut signals) = (Vec::new(), Vec::new());
        for (number, line) in (1..).zip(text.lines()) {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let wrong = || format!("line {number} cannot be understood: {line:?}");
            let (what, rest) = line.split_once(' ').ok_or_else(wrong)?;
            let once = match what {
                "computer" => computer.replace(computer_of(rest).ok_or_else(wrong)?).is_none(),
                "contactor" => contactor.replace(output_of(rest).ok_or_else(wrong)?).is_none(),
                "heartbeat" => heartbeat.replace(rest.parse().map_err(|_| wrong())?).is_none(),
                "bank" => {
                    banks.push(output_of(rest).ok_or_else(wrong)?);
                    banks.len() <= usize::from(BANK_PINS)
                }
                _ => {
                    let signal = Signal::ALL.into_iter().find(|signal| signal.name() == what);
                    let signal = signal.ok_or_else(wrong)?;
                    let once = signals.iter().all(|(fitted, _)| *fitted != signal);
                    signals.push((signal, output_of(rest).ok_or_else(wrong)?));
                    once
                }
            };
            if !once {
                return Err(format!("line {number} is one too many: {line:?}"));
            }
        }
        match (computer, contactor) {
            (Some(computer), Some(contactor)) if !banks.is_empty() => {
                Ok(Self { computer, contactor, banks, heartbeat, signals })
            }
            _ => Err("computer, contactor and at least one bank are needed".to_string()),
        }
    }
}

impl fmt::Display for Wiring {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.computer {
            Computer::RaspberryPi => writeln!(f, "computer raspberry-pi")?,
            Computer::Linux { gpio_chip } => writeln!(f, "computer linux {}", gpio_chip.display())?,
        }
        let outputs = core::iter::once(("contactor", self.contactor));
        let banks = self.banks.iter().map(|bank| ("bank", *bank));
        let signals = self.signals.iter().map(|(signal, output)| (signal.name(), *output));
        for (what, output) in outputs.chain(banks).chain(signals) {
            writeln!(f, "{what} {} {}", output.number, output.energised.word())?;
        }
        self.heartbeat.map_or(Ok(()), |pin| writeln!(f, "heartbeat {pin}"))
    }
}

fn computer_of(rest: &str) -> Option<Computer> {
    match rest.split_once(' ') {
        None if rest == "raspberry-pi" => Some(Computer::RaspberryPi),
        Some(("linux", chip)) => Some(Computer::Linux { gpio_chip: chip.into() }),
        _ => None,
    }
}

fn output_of(rest: &str) -> Option<Output> {
    let (number, level) = rest.split_once(' ')?;
    let energised = [Energised::High, Energised::Low].into_iter().find(|known| known.word() == level)?;
    Some(Output { number: number.parse().ok()?, energised })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# by hand\ncomputer linux /dev/gpiochip0\ncontactor 25 high\nbank 22 low\n\
                        heartbeat 26\nvent 12 low\nlamp 13 high\n";

    #[test]
    fn what_is_written_is_read_back() {
        let wiring = Wiring::from_text(TEXT).expect("a wiring");
        assert_eq!(wiring.computer, Computer::Linux { gpio_chip: "/dev/gpiochip0".into() });
        assert_eq!(wiring.contactor, Output { number: 25, energised: Energised::High });
        assert_eq!(wiring.banks, [Output { number: 22, energised: Energised::Low }]);
        assert_eq!(wiring.heartbeat, Some(26));
        let vent = Output { number: 12, energised: Energised::Low };
        assert_eq!((wiring.signal(Signal::Vent), wiring.signal(Signal::Buzzer)), (Some(vent), None));
        assert_eq!(wiring.outputs().count(), 4);
        assert_eq!(Wiring::from_text(&wiring.to_string()), Ok(wiring.clone()));
        let header = Wiring { computer: Computer::RaspberryPi, heartbeat: None, ..wiring };
        assert_eq!(Wiring::from_text(&header.to_string()), Ok(header));
    }

    #[test]
    fn a_file_that_is_torn_or_strange_is_refused_with_its_line() {
        let torn = Wiring::from_text("computer raspberry-pi\ncontactor 25 high\n");
        assert!(torn.is_err_and(|why| why.contains("at least one bank")));
        for (strange, line) in [
            ("contactor 25\n", "line 1 "),
            ("computer raspberry-pi x\n", "line 1 "),
            ("computer mainframe\n", "line 1 "),
            ("contactor 25 high\ncontactor 24 high\n", "line 2 is one too many"),
            ("# \nbank high 22\n", "line 2 "),
            ("bank 70000 high\n", "line 1 "),
            ("oven 3 high\n", "line 1 "),
            ("lamp 3\n", "line 1 "),
            ("lamp 3 high\nlamp 4 high\n", "line 2 is one too many"),
        ] {
            let why = Wiring::from_text(strange).expect_err(strange);
            assert!(why.contains(line), "{strange:?}: {why}");
        }
        let crowd = "bank 1 high\n".repeat(usize::from(BANK_PINS) + 1);
        assert!(Wiring::from_text(&crowd).is_err_and(|why| why.contains("line 9 is one too many")));
    }
}
