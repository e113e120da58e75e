//! Pins of a real computer.

use core::fmt;
use std::boxed::Box;
use std::io;
use std::vec::Vec;

use super::{Energised, NotOwned, Output, Pin, Pins, Wiring};
use crate::gpio::{self, Gpio};
use crate::{Level, PinFault, Signal};

/// A computer's pins with what each drives.
pub struct WiredPins {
    gpio: Box<dyn Gpio>,
    wiring: Wiring,
}

impl fmt::Debug for WiredPins {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("WiredPins").field("wiring", &self.wiring).finish_non_exhaustive()
    }
}

impl WiredPins {
    /// The pins of a wiring. Nothing is driven yet.
    pub fn open(wiring: Wiring) -> io::Result<Self> {
        Ok(Self::on(gpio::open(&wiring.computer)?, wiring))
    }

    /// The same on pins that are open already.
    #[must_use]
    pub fn on(gpio: Box<dyn Gpio>, wiring: Wiring) -> Self {
        Self { gpio, wiring }
    }

    /// The computer's pins, for its inputs.
    pub fn gpio(&mut self) -> &mut dyn Gpio {
        &mut *self.gpio
    }

    /// Whether there is a pin for the heartbeat.
    #[must_use]
    pub const fn has_heartbeat(&self) -> bool {
        self.wiring.heartbeat.is_some()
    }

    fn output(&self, pin: Pin) -> Result<Output, PinFault> {
        match pin {
            Pin::Bank(bank) => self.wiring.banks.get(usize::from(bank)).copied(),
            Pin::Contactor => Some(self.wiring.contactor),
            Pin::Heartbeat => {
                self.wiring.heartbeat.map(|number| Output { number, energised: Energised::High })
            }
            Pin::Signal(signal) => self.wiring.signal(signal),
        }
        .ok_or(PinFault)
    }
}

impl Pins for WiredPins {
    fn own_contactor(&mut self) -> Result<(), NotOwned> {
        self.gpio.own(self.wiring.contactor.number)
    }

    fn drive(&mut self, pin: Pin, level: Level) -> Result<(), PinFault> {
        let output = self.output(pin)?;
        self.gpio.drive(output.number, output.energised.pin_level(level))
    }

    fn level(&mut self, pin: Pin) -> Result<Level, PinFault> {
        let output = self.output(pin)?;
        let driven = self.gpio.driven(output.number)?;
        Ok(if driven == Some(output.energised.pin_level(Level::On)) { Level::On } else { Level::Off })
    }

    fn banks(&self) -> Vec<Pin> {
        (0..).map(Pin::Bank).take(self.wiring.banks.len()).collect()
    }

    fn signals(&self) -> Vec<Signal> {
        self.wiring.signals.iter().map(|(signal, _)| *signal).collect()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::sync::{Arc, Mutex};

    use super::*;
    use crate::gpio::PinLevel;
    use crate::pins::Computer;

    /// Pins on a bench, of which one may not follow.
    #[derive(Clone, Debug, Default)]
    struct Bench {
        driven: Arc<Mutex<BTreeMap<u16, PinLevel>>>,
        stuck: Option<u16>,
    }

    impl Bench {
        fn driven(&self) -> BTreeMap<u16, PinLevel> {
            self.driven.lock().expect("whole").clone()
        }
    }

    impl Gpio for Bench {
        fn drive(&mut self, pin: u16, level: PinLevel) -> Result<(), PinFault> {
            if self.stuck == Some(pin) {
                return Err(PinFault);
            }
            self.driven.lock().expect("whole").insert(pin, level);
            Ok(())
        }

        fn driven(&mut self, pin: u16) -> Result<Option<PinLevel>, PinFault> {
            Ok(Self::driven(self).get(&pin).copied())
        }

        fn pulled_up(&mut self, _pin: u16) -> Result<PinLevel, PinFault> {
            Ok(PinLevel::High)
        }

        fn own(&mut self, _pin: u16) -> Result<(), NotOwned> {
            Ok(())
        }
    }

    fn pins(bench: &Bench) -> WiredPins {
        let output = |number, energised| Output { number, energised };
        let wiring = Wiring {
            computer: Computer::RaspberryPi,
            contactor: output(25, Energised::High),
            banks: std::vec![output(22, Energised::High), output(5, Energised::Low)],
            heartbeat: None,
            signals: std::vec![
                (Signal::Buzzer, output(12, Energised::Low)),
                (Signal::Lamp, output(13, Energised::High)),
            ],
        };
        WiredPins::on(Box::new(bench.clone()), wiring)
    }

    #[test]
    fn a_relay_is_off_at_the_level_that_does_not_energise_it_and_so_is_an_input() {
        let bench = Bench::default();
        let mut pins = pins(&bench);
        assert_eq!(pins.not_off(), [], "inputs energise nothing");
        pins.drive(Pin::Bank(0), Level::On).expect("driven");
        pins.drive(Pin::Bank(1), Level::On).expect("driven");
        let second_is_active_low = BTreeMap::from([(22, PinLevel::High), (5, PinLevel::Low)]);
        assert_eq!(bench.driven(), second_is_active_low);
        assert_eq!(pins.not_off(), [Pin::Bank(0), Pin::Bank(1)]);
        pins.all_off().expect("driven");
        let off = BTreeMap::from([(22, PinLevel::Low), (5, PinLevel::High), (25, PinLevel::Low)]);
        assert_eq!(bench.driven(), off);
    }

    #[test]
    fn a_pin_that_fails_keeps_no_other_from_being_driven_off() {
        let on = BTreeMap::from([(22, PinLevel::High), (25, PinLevel::High), (5, PinLevel::Low)]);
        let bench = Bench { driven: Arc::new(Mutex::new(on)), stuck: Some(22) };
        let mut pins = pins(&bench);
        assert_eq!(pins.all_off(), Err(PinFault));
        assert_eq!(pins.not_off(), [Pin::Bank(0)]);
    }

    #[test]
    fn a_signal_is_neither_energising_nor_off_with_the_heat_and_the_lamp_is_not_quietened() {
        let bench = Bench::default();
        let mut pins = pins(&bench);
        for signal in [Signal::Buzzer, Signal::Lamp] {
            pins.drive(Pin::Signal(signal), Level::On).expect("driven");
        }
        assert_eq!(pins.not_off(), []);
        pins.all_off().expect("driven");
        assert_eq!((bench.driven()[&12], bench.driven()[&13]), (PinLevel::Low, PinLevel::High));
        pins.quieten().expect("driven");
        assert_eq!((bench.driven()[&12], bench.driven()[&13]), (PinLevel::High, PinLevel::High));
    }

    #[test]
    fn what_is_not_wired_is_a_fault() {
        let mut pins = pins(&Bench::default());
        assert_eq!(pins.drive(Pin::Bank(2), Level::On), Err(PinFault));
        assert_eq!(pins.drive(Pin::Heartbeat, Level::On), Err(PinFault));
        assert_eq!(pins.drive(Pin::Signal(Signal::Vent), Level::On), Err(PinFault));
        assert_eq!(pins.level(Pin::Bank(2)), Err(PinFault));
    }
}
