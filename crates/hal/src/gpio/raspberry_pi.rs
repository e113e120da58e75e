//! The pins of a Raspberry Pi's header by their BCM numbers, through `rppal`.
//!
//! `rppal` writes the chip's registers, past the kernel: no program's death changes a pin, and any
//! program may drive any pin. So the contactor can be opened whoever holds it, and levels must always
//! be set, never assumed.

use std::collections::BTreeMap;
use std::format;
use std::fs::{File, TryLockError};
use std::io;
use std::string::String;

use rppal::gpio::{Gpio as Registers, InputPin, Level, Mode, OutputPin};

use super::{Gpio, NoGpio, PinLevel};
use crate::PinFault;
use crate::pins::NotOwned;

/// The devices through which the registers are reached, newest boards first; whoever owns the
/// contactor locks the first there is.
const DEVICES: [&str; 3] = ["/dev/gpiomem0", "/dev/gpiomem", "/dev/mem"];

/// The header's pins.
#[derive(Debug)]
pub struct RaspberryPi {
    registers: Registers,
    outputs: BTreeMap<u8, OutputPin>,
    inputs: BTreeMap<u8, InputPin>,
    lock: Option<File>,
}

impl RaspberryPi {
    /// Opens the registers. No pin changes.
    pub fn open() -> Result<Self, NoGpio> {
        match Registers::new() {
            Ok(registers) => {
                Ok(Self { registers, outputs: BTreeMap::new(), inputs: BTreeMap::new(), lock: None })
            }
            Err(why) => Err(NoGpio {
                what: String::from("the Raspberry Pi's GPIO"),
                why: format!("{why}. Is this a Raspberry Pi, and is this user in the group gpio?"),
            }),
        }
    }

    fn number(pin: u16) -> Result<u8, PinFault> {
        u8::try_from(pin).map_err(|_| PinFault)
    }
}

impl Gpio for RaspberryPi {
    fn drive(&mut self, pin: u16, level: PinLevel) -> Result<(), PinFault> {
        let number = Self::number(pin)?;
        let level = Level::from(level);
        let output = match self.outputs.entry(number) {
            std::collections::btree_map::Entry::Occupied(held) => held.into_mut(),
            std::collections::btree_map::Entry::Vacant(free) => {
                let pin = self.registers.get(number).map_err(|_taken_or_absent| PinFault)?;
                let mut output = match level {
                    Level::Low => pin.into_output_low(),
                    Level::High => pin.into_output_high(),
                };
                // Its reset to an input would let an outside pull decide.
                output.set_reset_on_drop(false);
                free.insert(output)
            }
        };
        output.write(level);
        let driven = if output.is_set_high() { Level::High } else { Level::Low };
        if driven == level { Ok(()) } else { Err(PinFault) }
    }

    fn driven(&mut self, pin: u16) -> Result<Option<PinLevel>, PinFault> {
        let number = Self::number(pin)?;
        if let Some(output) = self.outputs.get(&number) {
            return Ok(Some(if output.is_set_high() { PinLevel::High } else { PinLevel::Low }));
        }
        let pin = self.registers.get(number).map_err(|_taken_or_absent| PinFault)?;
        Ok((pin.mode() == Mode::Output).then(|| pin.read().into()))
    }

    fn pulled_up(&mut self, pin: u16) -> Result<PinLevel, PinFault> {
        let number = Self::number(pin)?;
        if let Some(input) = self.inputs.get(&number) {
            return Ok(input.read().into());
        }
        let pin = self.registers.get(number).map_err(|_taken_or_absent| PinFault)?;
        let input = pin.into_input_pullup();
        let level = input.read().into();
        self.inputs.insert(number, input);
        Ok(level)
    }

    fn own(&mut self, _pin: u16) -> Result<(), NotOwned> {
        let device = DEVICES.into_iter().find_map(|path| File::open(path).ok());
        let Some(device) = device else {
            return Err(NotOwned::System(io::Error::other("no device of the GPIO registers can be opened")));
        };
        device.try_lock().map_err(|why| match why {
            TryLockError::WouldBlock => NotOwned::Taken,
            TryLockError::Error(why) => NotOwned::System(why),
        })?;
        self.lock = Some(device);
        Ok(())
    }
}

impl From<PinLevel> for Level {
    fn from(level: PinLevel) -> Self {
        match level {
            PinLevel::Low => Self::Low,
            PinLevel::High => Self::High,
        }
    }
}

impl From<Level> for PinLevel {
    fn from(level: Level) -> Self {
        match level {
            Level::Low => Self::Low,
            Level::High => Self::High,
        }
    }
}
