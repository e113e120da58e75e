//! The board of a real kiln: pins, amplifiers and contacts of one computer.

use core::fmt;
use core::time::Duration;
use std::boxed::Box;
use std::thread;
use std::vec::Vec;

use linux_embedded_hal::SpidevDevice;
use pyrometry::amplifier::{Amplifier, Report};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::Amps;

use crate::amplifier::{Mains, NO_ANSWER};
use crate::bus::{self, ConnectedConverter, Connection, NoBus};
use crate::converter::Currents;
use crate::gpio::PinLevel;
use crate::pins::{Pin, Pins, WiredPins};
use crate::sampling::Gathering;
use crate::{Board, ClosedAt, Level, PinFault, Probe, Sensed, Signal};

/// A probe as it is connected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConnectedProbe {
    /// Where.
    pub at: Connection,
    /// The chip.
    pub amplifier: Amplifier,
    /// The wire.
    pub wire: Thermocouple,
}

/// A contact as it is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ConnectedContact {
    /// What it senses.
    pub sensed: Sensed,
    /// The pin.
    pub pin: u16,
    /// The pin's level when what is sensed is closed.
    pub closed_at: ClosedAt,
}

struct SampledProbe {
    chip: Box<dyn Probe + Send>,
    samples: Gathering,
}

/// A real kiln's electronics. Everything goes off when it is dropped.
pub struct WiredBoard {
    pins: WiredPins,
    probes: Vec<SampledProbe>,
    contacts: Vec<ConnectedContact>,
    currents: Option<Currents<SpidevDevice>>,
}

impl fmt::Debug for WiredBoard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("WiredBoard").field("contacts", &self.contacts).finish_non_exhaustive()
    }
}

impl WiredBoard {
    /// Opens the buses of the probes, which stand in the kiln file's order, and of the converter; sets the
    /// chips up, and waits half a second for what they measure so.
    pub fn open(
        pins: WiredPins,
        probes: &[ConnectedProbe],
        contacts: Vec<ConnectedContact>,
        converter: Option<ConnectedConverter>,
        mains: Mains,
    ) -> Result<Self, NoBus> {
        let open = |probe: &ConnectedProbe| {
            let chip = bus::probe(probe.at, probe.amplifier, probe.wire, mains)?;
            Ok(SampledProbe { chip, samples: Gathering::new() })
        };
        let mut probes = probes.iter().map(open).collect::<Result<Vec<_>, _>>()?;
        set_up(&mut probes, thread::sleep);
        let currents = converter.map(bus::currents).transpose()?;
        Ok(Self { pins, probes, contacts, currents })
    }

    /// Measures the banks' currents, where they have clamps: a tenth of a second, once a step.
    pub fn measure_currents(&mut self) {
        if let Some(currents) = &mut self.currents {
            currents.measure();
        }
    }

    /// The pins, to look at what was found.
    pub const fn pins(&mut self) -> &mut WiredPins {
        &mut self.pins
    }
}

/// Sets every chip up, then waits once, for the slowest.
fn set_up(probes: &mut [SampledProbe], wait: impl FnOnce(Duration)) {
    let slowest = probes.iter_mut().map(|probe| probe.chip.set_up()).max();
    wait(slowest.unwrap_or_default());
}

impl Board for WiredBoard {
    fn report(&mut self, probe: usize) -> Report {
        let Some(probe) = self.probes.get_mut(probe) else { return NO_ANSWER };
        let last = probe.chip.report();
        probe.samples.close(&last)
    }

    fn sample(&mut self) {
        for probe in &mut self.probes {
            probe.samples.take(&probe.chip.report());
        }
    }

    fn set_bank(&mut self, bank: usize, level: Level) -> Result<(), PinFault> {
        self.pins.drive(Pin::Bank(u8::try_from(bank).map_err(|_| PinFault)?), level)
    }

    fn is_closed(&mut self, sensed: Sensed) -> Option<Result<bool, PinFault>> {
        let contact = self.contacts.iter().find(|contact| contact.sensed == sensed)?;
        let level = self.pins.gpio().pulled_up(contact.pin);
        Some(level.map(|level| match contact.closed_at {
            ClosedAt::High => level == PinLevel::High,
            ClosedAt::Low => level == PinLevel::Low,
        }))
    }

    fn amps(&mut self, bank: usize) -> Option<Result<Amps, PinFault>> {
        self.currents.as_ref()?.of(bank)
    }

    fn set_heartbeat(&mut self, level: Level) -> Result<(), PinFault> {
        if self.pins.has_heartbeat() { self.pins.drive(Pin::Heartbeat, level) } else { Ok(()) }
    }

    fn set_signal(&mut self, signal: Signal, level: Level) -> Result<(), PinFault> {
        if self.pins.signals().contains(&signal) {
            self.pins.drive(Pin::Signal(signal), level)
        } else {
            Ok(())
        }
    }

    fn all_off(&mut self) {
        // The contactor is the warden's; who asks for everything off cannot do more about a pin that fails.
        let _driven = self.pins.banks_off();
    }
}

impl Drop for WiredBoard {
    fn drop(&mut self) {
        self.all_off();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU64, Ordering};
    use std::vec;

    use pyrometry::amplifier::{ChipFaults, Said};

    use super::*;

    const CONVERTED: Report = Report::single(Said::Words { junction: 1, cold_junction: 1 }, ChipFaults::NONE);
    const LOST: Report = Report::single(Said::Nothing, ChipFaults::CONFIGURATION_LOST);

    /// A chip that holds nothing it measured before so long after its set-up.
    struct Slow {
        takes_ms: u64,
        waited_ms: Arc<AtomicU64>,
        is_set_up: bool,
    }

    impl Probe for Slow {
        fn report(&mut self) -> Report {
            let has_converted = self.is_set_up && self.waited_ms.load(Ordering::Relaxed) >= self.takes_ms;
            if has_converted { CONVERTED } else { LOST }
        }

        fn set_up(&mut self) -> Duration {
            self.is_set_up = true;
            Duration::from_millis(self.takes_ms)
        }
    }

    #[test]
    fn sr_03_a_boards_first_report_of_each_chip_tells_no_lost_set_up_and_a_later_loss_is_told() {
        let waited_ms = Arc::new(AtomicU64::new(0));
        let slow = |takes_ms| {
            let chip = Slow { takes_ms, waited_ms: Arc::clone(&waited_ms), is_set_up: false };
            SampledProbe { chip: Box::new(chip), samples: Gathering::new() }
        };
        let mut probes = vec![slow(400), slow(0), slow(450)];
        set_up(&mut probes, |span| {
            waited_ms.store(u64::try_from(span.as_millis()).expect("short"), Ordering::Relaxed);
        });
        for probe in &mut probes {
            let first = probe.chip.report();
            assert_eq!(probe.samples.close(&first), CONVERTED);
            assert_eq!(probe.samples.close(&LOST), LOST);
        }
    }
}
