//! The lines of a GPIO chip by their offsets, through the kernel's character device.
//!
//! The kernel gives each line to one program at a time, and takes it back when that program ends; what
//! the line is at from then on is the chip driver's affair. So another program's line can be driven
//! only once that program is gone.

use std::collections::BTreeMap;
use std::format;
use std::io;
use std::path::{Path, PathBuf};
use std::string::ToString;

use gpiocdev::Request;
use gpiocdev::chip::Chip;
use gpiocdev::line::{Bias, Direction, Value};

use super::{Gpio, NoGpio, PinLevel};
use crate::PinFault;
use crate::pins::NotOwned;

/// What the kernel shows as the lines' user.
const CONSUMER: &str = "saggar";

/// One chip's lines.
#[derive(Debug)]
pub struct CharacterDevice {
    path: PathBuf,
    chip: Chip,
    lines: BTreeMap<u16, Line>,
}

#[derive(Debug)]
struct Line {
    request: Request,
    used: Used,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Used {
    /// As it was found.
    AsFound,
    Driven,
    PulledUp,
}

impl CharacterDevice {
    /// Opens a chip such as `/dev/gpiochip0`. No line changes.
    pub fn open(path: &Path) -> Result<Self, NoGpio> {
        match Chip::from_path(path) {
            Ok(chip) => Ok(Self { path: path.into(), chip, lines: BTreeMap::new() }),
            Err(why) => Err(NoGpio {
                what: path.display().to_string(),
                why: format!(
                    "{why} `ls -l /dev/gpiochip*` shows what there is; this user must be in the device's group"
                ),
            }),
        }
    }

    fn request(&self, pin: u16, used: Used, value: Value) -> Result<Line, PinFault> {
        let mut wanted = Request::builder();
        wanted.on_chip(&self.path).with_consumer(CONSUMER).with_line(u32::from(pin));
        match used {
            Used::AsFound => wanted.as_is(),
            Used::Driven => wanted.as_output(value),
            Used::PulledUp => wanted.as_input().with_bias(Bias::PullUp),
        };
        let request = wanted.request().map_err(|_taken_or_absent| PinFault)?;
        Ok(Line { request, used })
    }
}

impl Gpio for CharacterDevice {
    fn drive(&mut self, pin: u16, level: PinLevel) -> Result<(), PinFault> {
        let value = Value::from(level);
        match self.lines.get_mut(&pin) {
            Some(line) if line.used == Used::Driven => {
                line.request.set_lone_value(value).map_err(|_| PinFault)?;
            }
            Some(line) => {
                let mut driven = line.request.config();
                driven.as_output(value);
                line.request.reconfigure(&driven).map_err(|_| PinFault)?;
                line.used = Used::Driven;
            }
            None => {
                let line = self.request(pin, Used::Driven, value)?;
                self.lines.insert(pin, line);
            }
        }
        if self.driven(pin)? == Some(level) { Ok(()) } else { Err(PinFault) }
    }

    fn driven(&mut self, pin: u16) -> Result<Option<PinLevel>, PinFault> {
        if !self.lines.contains_key(&pin) {
            let line = self.request(pin, Used::AsFound, Value::Inactive)?;
            self.lines.insert(pin, line);
        }
        let line = self.lines.get(&pin).ok_or(PinFault)?;
        let is_output = match line.used {
            Used::Driven => true,
            Used::PulledUp => false,
            Used::AsFound => {
                let info = self.chip.line_info(u32::from(pin)).map_err(|_| PinFault)?;
                info.direction == Direction::Output
            }
        };
        let value = line.request.lone_value().map_err(|_| PinFault)?;
        Ok(is_output.then_some(value.into()))
    }

    fn pulled_up(&mut self, pin: u16) -> Result<PinLevel, PinFault> {
        if !self.lines.get(&pin).is_some_and(|line| line.used == Used::PulledUp) {
            let line = self.request(pin, Used::PulledUp, Value::Inactive)?;
            self.lines.insert(pin, line);
        }
        let line = self.lines.get(&pin).ok_or(PinFault)?;
        Ok(line.request.lone_value().map_err(|_| PinFault)?.into())
    }

    /// A line that is requested is its requester's: the kernel refuses everybody else.
    fn own(&mut self, pin: u16) -> Result<(), NotOwned> {
        if self.lines.contains_key(&pin) {
            return Ok(());
        }
        let line =
            self.chip.line_info(u32::from(pin)).map_err(|why| NotOwned::System(io::Error::other(why)))?;
        if line.used {
            return Err(NotOwned::Taken);
        }
        self.driven(pin).map(|_as_found| ()).map_err(|PinFault| {
            NotOwned::System(io::Error::other(format!("line {pin} of {} is refused", self.path.display())))
        })
    }
}

impl From<PinLevel> for Value {
    fn from(level: PinLevel) -> Self {
        match level {
            PinLevel::Low => Self::Inactive,
            PinLevel::High => Self::Active,
        }
    }
}

impl From<Value> for PinLevel {
    fn from(value: Value) -> Self {
        match value {
            Value::Inactive => Self::Low,
            Value::Active => Self::High,
        }
    }
}
