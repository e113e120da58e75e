//! The board and the contactor made of a simulated kiln.
//!
//! The board owns the plant; the contactor holds only its coil. So the warden can have the one and
//! the control thread the other, in one thread or two, and neither ever waits for the other.
//!
//! Where the two are programs of their own, the levels stand in a file that outlives both
//! ([`SimulatedBoard::on_pins`]), and the kiln's relays follow the file.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use hal::pins::{Pin, Pins as _, SimulatedPins};
use hal::{Board, Contactor, Level, PinFault, Sensed, Signal};
use pyrometry::amplifier::Report;
use pyrometry::units::{Amps, Millis};

use crate::BANKS_MOST;
use crate::conditions::LidContactCondition;
use crate::plant::{Lid, Plant, Switches};
use crate::spec::{CurrentSensing, Input};

/// A simulated kiln behind the board's trait. Time passes only by [`SimulatedBoard::advance`].
pub struct SimulatedBoard {
    plant: Plant,
    switches: Switches,
    levels: Levels,
    button: SimulatedButton,
}

/// Where the levels of the pins stand.
enum Levels {
    /// In this program: the banks' in the switches, the contactor's in its coil.
    Here(Arc<AtomicBool>),
    /// In a file.
    File(SimulatedPins),
}

/// The coil of a simulated kiln's safety contactor. Off when made and when dropped; it acts on the
/// board's next advance.
pub struct SimulatedContactor {
    coil: Arc<AtomicBool>,
}

/// The button of a simulated kiln, which nobody can walk up to. A press lasts until it is read.
#[derive(Clone, Debug, Default)]
pub struct SimulatedButton(Arc<AtomicBool>);

impl SimulatedButton {
    /// Presses it.
    pub fn press(&self) {
        self.0.store(true, Ordering::Release);
    }

    fn is_pressed(&self) -> bool {
        self.0.swap(false, Ordering::AcqRel)
    }
}

impl SimulatedBoard {
    /// A board with everything off, and its contactor.
    #[must_use]
    pub fn new(plant: Plant) -> (Self, SimulatedContactor) {
        let coil = Arc::new(AtomicBool::new(false));
        let levels = Levels::Here(Arc::clone(&coil));
        (Self::with(plant, levels), SimulatedContactor { coil })
    }

    /// A board whose relays and contactor follow a file of pins. It drives the banks' pins and
    /// leaves the contactor's to its owner.
    #[must_use]
    pub fn on_pins(plant: Plant, pins: SimulatedPins) -> Self {
        Self::with(plant, Levels::File(pins))
    }

    fn with(plant: Plant, levels: Levels) -> Self {
        Self { plant, switches: Switches::default(), levels, button: SimulatedButton::default() }
    }

    /// Its button, to be pressed from elsewhere.
    #[must_use]
    pub fn button(&self) -> SimulatedButton {
        self.button.clone()
    }

    /// Lets time pass.
    pub fn advance(&mut self, span: Millis) {
        match &mut self.levels {
            Levels::Here(coil) => {
                self.switches.contactor = if coil.load(Ordering::Acquire) { Level::On } else { Level::Off };
            }
            Levels::File(pins) => {
                // A pin that cannot be read drives nothing.
                let mut level = |pin| pins.level(pin).unwrap_or(Level::Off);
                self.switches.contactor = level(Pin::Contactor);
                for (bank, place) in (0..).zip(&mut self.switches.banks) {
                    *place = level(Pin::Bank(bank));
                }
            }
        }
        self.plant.step(span, &self.switches);
    }

    fn drive(&mut self, bank: usize, level: Level) -> Result<(), PinFault> {
        match &mut self.levels {
            Levels::Here(_) => self.switches.banks[bank] = level,
            Levels::File(pins) => pins.drive(Pin::Bank(u8::try_from(bank).map_err(|_| PinFault)?), level)?,
        }
        Ok(())
    }

    /// Opens or shuts the lid.
    pub fn set_lid(&mut self, lid: Lid) {
        self.switches.lid = lid;
    }

    /// The kiln itself, for its truth.
    #[must_use]
    pub fn plant(&self) -> &Plant {
        &self.plant
    }

    /// The kiln itself, to schedule faults.
    pub fn plant_mut(&mut self) -> &mut Plant {
        &mut self.plant
    }

    fn lid_is_shut(&self) -> Option<Result<bool, PinFault>> {
        match (self.plant.spec().lid_contact, self.plant.conditions.lid_contact) {
            (Input::NotFitted, _) => None,
            (Input::Fitted, LidContactCondition::Dead) => Some(Err(PinFault)),
            (Input::Fitted, LidContactCondition::StuckShut) => Some(Ok(true)),
            (Input::Fitted, LidContactCondition::Sound) => Some(Ok(self.plant.lid() == Lid::Shut)),
        }
    }

    fn pin_is_dead(&self, bank: usize) -> bool {
        self.plant.conditions.banks.get(bank).is_none_or(|condition| condition.pin_dead)
    }
}

impl Board for SimulatedBoard {
    /// Its noise is that of the step's one reading.
    fn sample(&mut self) {}

    fn report(&mut self, probe: usize) -> Report {
        self.plant.report(probe)
    }

    fn set_bank(&mut self, bank: usize, level: Level) -> Result<(), PinFault> {
        if bank >= self.plant.spec().banks.len() || self.pin_is_dead(bank) {
            return Err(PinFault);
        }
        self.drive(bank, level)
    }

    fn is_closed(&mut self, sensed: Sensed) -> Option<Result<bool, PinFault>> {
        let spec = self.plant.spec();
        match sensed {
            Sensed::Lid => self.lid_is_shut(),
            Sensed::Contactor => fitted(spec.mirror_contact).then(|| Ok(self.plant.contactor_is_closed())),
            Sensed::PresenceButton => fitted(spec.presence_button).then(|| Ok(self.button.is_pressed())),
        }
    }

    fn amps(&mut self, bank: usize) -> Option<Result<Amps, PinFault>> {
        match self.plant.spec().current_sensing {
            CurrentSensing::NotFitted => None,
            CurrentSensing::EachBank => {
                let amps = self.plant.amps(bank)?;
                let dead = self.plant.conditions.banks[bank].sensor_dead;
                Some(if dead { Err(PinFault) } else { Ok(amps) })
            }
        }
    }

    fn set_heartbeat(&mut self, level: Level) -> Result<(), PinFault> {
        match &mut self.levels {
            // Nothing outside this program listens.
            Levels::Here(_) => Ok(()),
            Levels::File(pins) => pins.drive(Pin::Heartbeat, level),
        }
    }

    fn set_signal(&mut self, signal: Signal, level: Level) -> Result<(), PinFault> {
        match &mut self.levels {
            // Nobody outside this program looks.
            Levels::Here(_) => Ok(()),
            Levels::File(pins) => pins.drive(Pin::Signal(signal), level),
        }
    }

    fn all_off(&mut self) {
        for bank in 0..BANKS_MOST {
            if !self.pin_is_dead(bank) {
                // One that fails must not keep the others on; who asks for everything off cannot do more.
                let _driven = self.drive(bank, Level::Off);
            }
        }
    }
}

fn fitted(input: Input) -> bool {
    match input {
        Input::Fitted => true,
        Input::NotFitted => false,
    }
}

impl Contactor for SimulatedContactor {
    fn set(&mut self, level: Level) -> Result<(), PinFault> {
        self.coil.store(level == Level::On, Ordering::Release);
        Ok(())
    }
}

impl Drop for SimulatedContactor {
    fn drop(&mut self) {
        self.coil.store(false, Ordering::Release);
    }
}
