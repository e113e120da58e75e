//! The simulated kiln that a kiln file describes.

use hal::Sensed;
use hal::pins::SimulatedPins;
use insight::Lining;
use kiln_sim::{
    BankSpec, Brick, CurrentSensing, Input, KilnSpec, Layer, Plant, ProbeSpec, SimulatedBoard,
    SimulatedContactor, SpecFault, Ware,
};
use pyrometry::units::{Celsius, Millis};

use crate::files::kiln::{Board, KilnFile, Simulated};
use crate::run::TimedBoard;

/// Dense firebrick: 2100 kg/m³, 1.3 W/mK, 0.85 kJ/kgK at room temperature rising to 1.15 at
/// 1000 °C (from memory of makers' data).
const HARD_BRICK: Brick =
    Brick { density_kg_per_m3: 2100.0, conductivity: [1.2, 1.0e-4, 0.0], heat_capacity: [850.0, 0.3, 0.0] };
/// Surface of stacked ware and shelves for each kilogram (engineering judgement: 6 mm walls seen
/// from both sides by half, of 2000 kg/m³).
const WARE_M2_PER_KG: f64 = 0.04;
/// A room where the kiln file of a real kiln says nothing of one.
const ROOM_C: f64 = 20.0;

/// What is simulated where the kiln file's own board is a real one: a dry run.
fn surroundings(file: &KilnFile) -> Simulated {
    match &file.board {
        Board::Simulated(simulated) => simulated.clone(),
        Board::RaspberryPi | Board::Linux { .. } => Simulated {
            load_kg: file.load_kg,
            ambient: Celsius::new(ROOM_C).unwrap_or(Celsius::LEAST),
            mains_ratio: 1.0,
            speed: None,
            seed: 0,
        },
    }
}

/// The room of the kiln in a file.
#[must_use]
pub fn ambient(file: &KilnFile) -> Celsius {
    surroundings(file).ambient
}

/// Chance's beginning in the kiln file.
#[must_use]
pub fn seed(file: &KilnFile) -> u64 {
    surroundings(file).seed
}

/// The specification of the kiln in a file.
#[must_use]
pub fn spec(file: &KilnFile) -> KilnSpec {
    let around = surroundings(file);
    let usual = KilnSpec::default();
    let brick = match file.body.lining {
        Lining::SoftBrick => Brick::INSULATING_FIREBRICK_1260,
        Lining::HardBrick => HARD_BRICK,
        Lining::Fibre => Brick::FIBRE_BLANKET,
    };
    let banks = file.kiln.banks.iter();
    let probes = file.kiln.probes.iter().enumerate();
    KilnSpec {
        zones: file.kiln.probes.len(),
        chamber_l: file.body.chamber.volume_m3() * 1000.0,
        lining: vec![Layer { brick, thickness_m: file.body.wall_m }],
        ware: Ware {
            mass_kg: around.load_kg,
            area_m2: around.load_kg * WARE_M2_PER_KG,
            core_lag_s: usual.ware.core_lag_s,
        },
        banks: banks
            .map(|bank| BankSpec { zone: usize::from(bank.probe), rated_w: bank.power.w() })
            .collect(),
        mains_v: usual.rated_v * around.mains_ratio,
        probes: probes
            .map(|(zone, probe)| ProbeSpec {
                zone,
                thermocouple: probe.sensor.thermocouple,
                amplifier: probe.sensor.amplifier,
                ..ProbeSpec::default()
            })
            .collect(),
        current_sensing: current_sensing(file),
        lid_contact: input(file, Sensed::Lid),
        mirror_contact: input(file, Sensed::Contactor),
        presence_button: input(file, Sensed::PresenceButton),
        ambient_c: around.ambient.c(),
        start_c: around.ambient.c(),
        ..usual
    }
}

/// The simulated kiln senses every bank's current or none.
fn current_sensing(file: &KilnFile) -> CurrentSensing {
    if file.banks.iter().all(|bank| bank.clamp.is_some()) {
        CurrentSensing::EachBank
    } else {
        CurrentSensing::NotFitted
    }
}

fn input(file: &KilnFile, sensed: Sensed) -> Input {
    if file.senses(sensed) { Input::Fitted } else { Input::NotFitted }
}

/// The board of the kiln in a file, on pins that outlive this program.
pub fn board_on_pins(file: &KilnFile, seed: u64, pins: SimulatedPins) -> Result<SimulatedBoard, SpecFault> {
    Ok(SimulatedBoard::on_pins(Plant::new(&spec(file), seed)?, pins))
}

/// The board of the kiln in a file, and its contactor, both within this program.
pub fn board(file: &KilnFile, seed: u64) -> Result<(SimulatedBoard, SimulatedContactor), SpecFault> {
    Ok(SimulatedBoard::new(Plant::new(&spec(file), seed)?))
}

impl TimedBoard for SimulatedBoard {
    fn pass(&mut self, span: Millis) {
        self.advance(span);
    }
}
