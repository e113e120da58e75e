//! Relays and contacts on the pins of a Raspberry Pi, by `rppal`.
//!
//! Pins are named by their BCM number. A relay is driven off before it is made an output's owner
//! and when it is dropped; a killed process drops nothing, and the board's kernel may keep the pin
//! as it was, which is why the safety contactor belongs to another process.

use rppal::gpio::{Gpio, InputPin, Level as PinLevel, OutputPin};

use crate::{ClosedAt, ContactInput, Level, PinFault, Switch};

/// Which level of the pin energises the relay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Energised {
    /// The pin is high when the relay is energised.
    High,
    /// The pin is low when the relay is energised.
    Low,
}

impl Energised {
    const fn pin_level(self, level: Level) -> PinLevel {
        match (self, level) {
            (Self::High, Level::On) | (Self::Low, Level::Off) => PinLevel::High,
            (Self::High, Level::Off) | (Self::Low, Level::On) => PinLevel::Low,
        }
    }
}

/// A relay, solid-state switch or contactor coil on one pin.
#[derive(Debug)]
pub struct PinRelay {
    pin: OutputPin,
    energised: Energised,
}

impl PinRelay {
    /// Takes the pin, driven off from its first moment as an output.
    pub fn take(gpio: &Gpio, bcm: u8, energised: Energised) -> Result<Self, PinFault> {
        let pin = gpio.get(bcm).map_err(|_taken_or_absent| PinFault)?;
        let mut pin = match energised.pin_level(Level::Off) {
            PinLevel::Low => pin.into_output_low(),
            PinLevel::High => pin.into_output_high(),
        };
        // Its reset to an input would let an external pull decide; the pin is to stay driven off.
        pin.set_reset_on_drop(false);
        Ok(Self { pin, energised })
    }
}

impl Switch for PinRelay {
    fn set(&mut self, level: Level) -> Result<(), PinFault> {
        let wanted = self.energised.pin_level(level);
        self.pin.write(wanted);
        let driven = if self.pin.is_set_high() { PinLevel::High } else { PinLevel::Low };
        if driven == wanted { Ok(()) } else { Err(PinFault) }
    }
}

impl Drop for PinRelay {
    fn drop(&mut self) {
        self.pin.write(self.energised.pin_level(Level::Off));
    }
}

/// A contact between a pin and ground, the pin pulled up: a broken wire reads high.
#[derive(Debug)]
pub struct PinContact {
    pin: InputPin,
    closed_at: ClosedAt,
}

impl PinContact {
    /// Takes the pin as an input with its pull-up.
    pub fn take(gpio: &Gpio, bcm: u8, closed_at: ClosedAt) -> Result<Self, PinFault> {
        let pin = gpio.get(bcm).map_err(|_taken_or_absent| PinFault)?;
        Ok(Self { pin: pin.into_input_pullup(), closed_at })
    }
}

impl ContactInput for PinContact {
    fn is_closed(&mut self) -> Result<bool, PinFault> {
        Ok(match self.closed_at {
            ClosedAt::High => self.pin.is_high(),
            ClosedAt::Low => self.pin.is_low(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_relay_is_off_at_the_level_that_does_not_energise_it() {
        assert_eq!(Energised::High.pin_level(Level::Off), PinLevel::Low);
        assert_eq!(Energised::Low.pin_level(Level::Off), PinLevel::High);
        assert_eq!(Energised::Low.pin_level(Level::On), PinLevel::Low);
    }
}
