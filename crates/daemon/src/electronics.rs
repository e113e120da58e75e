//! What a kiln file's board is made of, simulated or real, and the file that names its pins.

use std::path::Path;

use hal::Sensed;
use hal::bus::NoBus;
use hal::gpio::AfterItsProgram;
use hal::pins::{Pins as _, SimulatedPins, WiredPins, Wiring};
use hal::wired_board::WiredBoard;
use kiln_sim::SimulatedButton;
use pyrometry::units::Millis;

use crate::files::kiln::{KilnFile, NoLimit, Outliving};
use crate::plant;
use crate::run::{KeptPins, TimedBoard, WardenProcess};
use crate::store;

/// Why there is no board.
#[derive(Debug, thiserror::Error)]
pub enum NoBoard {
    /// The simulated kiln.
    #[error("this kiln cannot be simulated: {0}")]
    Plant(#[from] kiln_sim::SpecFault),
    /// An amplifier's bus.
    #[error(transparent)]
    Bus(#[from] NoBus),
    /// The limit file.
    #[error(transparent)]
    Limit(#[from] NoLimit),
    /// Pins, or the file that names them.
    #[error(transparent)]
    Pins(#[from] std::io::Error),
}

/// A board, ready to be driven.
pub struct Electronics {
    /// The board.
    pub board: Box<dyn TimedBoard>,
    /// What outlived whoever drove it (SR-32).
    pub kept: KeptPins,
    /// The button of a simulated kiln that has one.
    pub button: Option<SimulatedButton>,
}

/// Writes the file by which the warden, and whoever drives every pin off, know the kiln's pins. Pins that
/// an earlier file named and this kiln has not are driven off first: nobody would ever do it later.
pub fn lay_out_pins(kiln: &KilnFile, path: &Path) -> Result<(), NoBoard> {
    let (former, present) = (Wiring::read(path).ok().flatten(), kiln.wiring());
    if let Some(former) = former.filter(|former| present.as_ref() != Some(former)) {
        leave(&former, kiln);
        // A simulated kiln's pins begin off.
        std::fs::remove_file(path)?;
    }
    match present {
        Some(wiring) => {
            // Told here, in words, rather than by a warden that cannot start.
            hal::gpio::open(&wiring.computer).map_err(std::io::Error::from)?;
            store::replace(path, &format!("{PINS_HEAD}{wiring}"))?;
        }
        None => drop(SimulatedPins::open(path)?),
    }
    Ok(())
}

const PINS_HEAD: &str = "# Which pin of this computer drives what. Written by saggar from its kiln file; it is\n\
                         # what `saggar-warden --pins-off` goes by. Do not change it by hand.\n";

/// Drives off what this kiln no longer has. It is tried: the computer may be another one.
fn leave(former: &Wiring, kiln: &KilnFile) {
    let gone: Vec<_> = former.outputs().filter(|output| !kiln.uses_pin(output.number)).collect();
    match hal::gpio::open(&former.computer) {
        Ok(mut gpio) => {
            for output in gone {
                tracing::warn!(pin = output.number, "the kiln file no longer has this output: driven off");
                if gpio.drive(output.number, output.off()).is_err() {
                    tracing::error!(pin = output.number, "it cannot be driven");
                }
            }
        }
        Err(why) => tracing::warn!(%why, "the pins of the kiln file before cannot be driven off"),
    }
}

/// What this computer's kernel would leave on without us (SR-32); also to the log, as each start finds it.
pub fn told_outliving(kiln: &KilnFile) -> Option<Outliving> {
    let after = kiln.after_its_program()?;
    let found = Outliving::of(kiln, after);
    match (after, &found) {
        (_, Some(found)) => tracing::warn!("{} {}", found.seen(), found.cure()),
        (AfterItsProgram::NotKnown, None) => {
            tracing::info!("{}", Outliving::NOT_KNOWN);
        }
        (AfterItsProgram::IsLetGo | AfterItsProgram::Stays { .. }, None) => {}
    }
    found
}

/// Takes the board, and looks at what its pins were left at. The warden has looked at its own.
pub fn open(kiln: &KilnFile, path: &Path, warden: &WardenProcess) -> Result<Electronics, NoBoard> {
    let names: Vec<String> = kiln.banks.iter().map(|bank| bank.name.clone()).collect();
    let Some(wiring) = kiln.wiring() else {
        let mut pins = SimulatedPins::open(path)?;
        let kept = KeptPins::found(&mut pins, warden.found(), &names);
        let board = plant::board_on_pins(kiln, plant::seed(kiln), pins)?;
        let button = kiln.senses(Sensed::PresenceButton).then(|| board.button());
        return Ok(Electronics { board: Box::new(board), kept, button });
    };
    let mut pins = WiredPins::open(wiring)?;
    let kept = KeptPins::found(&mut pins, warden.found(), &names);
    // Before the buses: whatever is wrong with them, nothing stays energised.
    pins.banks_off().map_err(|_| std::io::Error::other("a bank's pin cannot be driven"))?;
    let converter = kiln.connected_converter();
    let contacts = kiln.connected_contacts();
    let board = WiredBoard::open(pins, &kiln.connected_probes(), contacts, converter, kiln.mains)?;
    Ok(Electronics { board: Box::new(board), kept, button: None })
}

impl TimedBoard for WiredBoard {
    /// Time passes by itself; a part of it is listened through for the banks' currents.
    fn pass(&mut self, _span: Millis) {
        self.measure_currents();
    }
}
