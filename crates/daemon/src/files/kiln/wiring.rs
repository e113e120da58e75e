//! The kiln file as the board and the warden need it: which pin drives what, which chip is where.

use hal::bus::ConnectedConverter;
use hal::converter::Clamp;
use hal::pins::{Computer, Output, Wiring};
use hal::wired_board::{ConnectedContact, ConnectedProbe};

use super::{Board, ClampPart, ConverterPart, KilnFile, Line};

impl Line {
    const fn output(self) -> Output {
        Output { number: self.pin, energised: self.active.energised() }
    }
}

impl KilnFile {
    /// The output pins; `None` where the kiln is simulated.
    #[must_use]
    pub fn wiring(&self) -> Option<Wiring> {
        let computer = match &self.board {
            Board::Simulated(_) => return None,
            Board::RaspberryPi => Computer::RaspberryPi,
            Board::Linux { gpio_chip } => Computer::Linux { gpio_chip: gpio_chip.into() },
        };
        Some(Wiring {
            computer,
            contactor: self.contactor?.output(),
            banks: self.banks.iter().map(|bank| bank.line.map(Line::output)).collect::<Option<_>>()?,
            heartbeat: self.heartbeat,
            signals: self.signals.lines().map(|(signal, line)| (signal, line.output())).collect(),
        })
    }

    /// Whether something of this kiln is on that pin.
    #[must_use]
    pub fn uses_pin(&self, number: u16) -> bool {
        let outputs =
            self.wiring().is_some_and(|wiring| wiring.outputs().any(|output| output.number == number));
        let contacts = self.connected_contacts().iter().any(|contact| contact.pin == number);
        outputs || contacts || self.heartbeat == Some(number)
    }

    /// The amplifiers, in the file's order; those of a simulated kiln are nowhere.
    #[must_use]
    pub fn connected_probes(&self) -> Vec<ConnectedProbe> {
        let probes = self.probes.iter().zip(&self.kiln.probes);
        let connected = probes.filter_map(|(part, probe)| {
            let (amplifier, wire) = (probe.sensor.amplifier, probe.sensor.thermocouple);
            part.connection.map(|at| ConnectedProbe { at, amplifier, wire })
        });
        connected.collect()
    }

    /// The converter with the banks' clamps; that of a simulated kiln is nowhere.
    #[must_use]
    pub fn connected_converter(&self) -> Option<ConnectedConverter> {
        let ConverterPart { place: Some((bus, chip_select)), reference_v } = self.converter? else {
            return None;
        };
        let banks = self.banks.iter().enumerate();
        let clamps = banks.filter_map(|(bank, part)| {
            let ClampPart { channel, a_per_v, offset_a } = part.clamp?;
            Some(Clamp { bank, channel, a_per_v, offset_a })
        });
        Some(ConnectedConverter { bus, chip_select, reference_v, clamps: clamps.collect() })
    }

    /// The contacts; those of a simulated kiln are nowhere.
    #[must_use]
    pub fn connected_contacts(&self) -> Vec<ConnectedContact> {
        let contacts = self.contacts.iter().filter_map(|part| {
            let pin = part.pin?;
            Some(ConnectedContact { sensed: part.sensed, pin: pin.pin, closed_at: pin.closed_at })
        });
        contacts.collect()
    }
}
