//! What kiln to simulate: sizes, parts and surroundings, checked field by field.

mod check;

pub use check::SpecFault;

use pyrometry::amplifier::Amplifier;
use pyrometry::thermocouple::Thermocouple;

use crate::brick::{Brick, Layer};

/// Whether the banks' currents are sensed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurrentSensing {
    /// No sensor.
    NotFitted,
    /// One sensor a bank.
    EachBank,
}

/// Whether the board has a contact input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input {
    /// None.
    NotFitted,
    /// There is one.
    Fitted,
}

/// The wire the elements are wound from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// Diameter, 0.5 to 8 mm.
    pub diameter_mm: f64,
    /// Rated power over the wire's surface, 0.3 to 5 W/cm².
    pub surface_load_w_per_cm2: f64,
}

/// The elements switched together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BankSpec {
    /// The zone they heat, counted from the top, from zero.
    pub zone: usize,
    /// Power at rated tension, cold and new, 50 to 60000 W.
    pub rated_w: f64,
}

/// A thermocouple with its amplifier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProbeSpec {
    /// The zone it measures, counted from the top, from zero.
    pub zone: usize,
    /// The wire, which is also what the chip is set to (unless a fault says otherwise).
    pub thermocouple: Thermocouple,
    /// The chip.
    pub amplifier: Amplifier,
    /// Time constant of the junction in its sheath at 1000 °C, 1 to 300 s. It is several times
    /// longer when cold, since radiation carries less.
    pub lag_s: f64,
    /// How much of the elements' glow reaches the junction, 0 to 1: 1 in the open chamber, less for
    /// a sheath between rows of grooved elements, which mostly sees ware and wall.
    pub element_view: f64,
    /// Standard deviation of the reading's noise, 0 to 5 °C.
    pub noise_c: f64,
    /// How much this wire reads high when new, −30 to 30 °C: its tolerance class, drawn.
    pub error_c: f64,
}

/// Ware with its shelves and props, divided evenly over the zones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ware {
    /// Mass, 0.5 to 2000 kg.
    pub mass_kg: f64,
    /// Surface that the elements and walls see, 0.05 to 50 m².
    pub area_m2: f64,
    /// Time constant with which its core follows its surface, 10 to 3600 s.
    pub core_lag_s: f64,
}

/// The box with the electronics, on the kiln's side or near it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Enclosure {
    /// Heat capacity, 100 to 1e5 J/K.
    pub capacity_j_per_k: f64,
    /// To ambient, 0.05 to 50 W/K.
    pub to_ambient_w_per_k: f64,
    /// From the kiln's outer face, 0 to 10 W/K.
    pub from_kiln_w_per_k: f64,
    /// What its own parts give off, 0 to 200 W.
    pub own_w: f64,
    /// How far the thermocouple's terminal head stands between ambient (0) and the outer face (1).
    pub head_share: f64,
}

/// A kiln to simulate. Every field is checked by [`crate::Plant::new`].
#[derive(Clone, Debug, PartialEq)]
pub struct KilnSpec {
    /// Zones, 1 to 4, from the top.
    pub zones: usize,
    /// Chamber volume, 0.5 to 3000 L. The chamber is taken as a cube.
    pub chamber_l: f64,
    /// The lining, hot face first, one to three layers.
    pub lining: Vec<Layer>,
    /// What is fired.
    pub ware: Ware,
    /// The elements, one to eight banks; every zone needs one.
    pub banks: Vec<BankSpec>,
    /// Their wire.
    pub wire: Wire,
    /// Tension at which banks give their rated power, 50 to 1000 V.
    pub rated_v: f64,
    /// The mains' mean tension, 50 to 1000 V.
    pub mains_v: f64,
    /// Standard deviation of the mains' slow wander, relative, 0 to 0.1.
    pub mains_wander: f64,
    /// The probes, one to four.
    pub probes: Vec<ProbeSpec>,
    /// Current sensors.
    pub current_sensing: CurrentSensing,
    /// The lid's contact: closed when the lid is shut.
    pub lid_contact: Input,
    /// The safety contactor's mirror contact, which tells what its main contacts really do.
    pub mirror_contact: Input,
    /// The button by which a person shows to be at the kiln.
    pub presence_button: Input,
    /// Gas exchange with ambient through gaps and vents, 0 to 50 W/K, all zones together.
    pub leak_w_per_k: f64,
    /// Open spyholes and gaps that radiate, 0 to 0.05 m², all zones together.
    pub gaps_m2: f64,
    /// Share of the chamber's cross-section through which zones see each other, 0 to 1.
    pub zone_opening: f64,
    /// Ambient, −30 to 50 °C.
    pub ambient_c: f64,
    /// Temperature of the whole kiln at the start, −30 to 1350 °C.
    pub start_c: f64,
    /// The box.
    pub enclosure: Enclosure,
}

impl Default for BankSpec {
    fn default() -> Self {
        Self { zone: 0, rated_w: 5750.0 }
    }
}

impl Default for ProbeSpec {
    /// A type K junction of 3 mm on a fine-resolution chip.
    fn default() -> Self {
        Self {
            zone: 0,
            thermocouple: Thermocouple::K,
            amplifier: Amplifier::Max31856,
            lag_s: 4.0,
            element_view: 0.1,
            noise_c: 0.08,
            error_c: 0.0,
        }
    }
}

impl KilnSpec {
    /// A test kiln of half a litre in fibre, 60 W in one bank, in a room at 20 °C: light enough to answer
    /// within a minute.
    #[must_use]
    pub fn test_kiln() -> Self {
        let usual = Self::default();
        Self {
            chamber_l: 0.5,
            lining: vec![Layer { brick: Brick::FIBRE_BLANKET, thickness_m: 0.05 }],
            ware: Ware { mass_kg: 0.5, area_m2: 0.05, core_lag_s: 30.0 },
            banks: vec![BankSpec { zone: 0, rated_w: 60.0 }],
            leak_w_per_k: 0.02,
            gaps_m2: 2.0e-5,
            ambient_c: 20.0,
            start_c: 20.0,
            enclosure: Enclosure { from_kiln_w_per_k: 0.02, ..usual.enclosure },
            ..usual
        }
    }
}

impl Default for KilnSpec {
    /// A 150 L stoneware kiln of 76 mm insulating firebrick, 11.5 kW in two banks on 230 V, one
    /// type K probe, 30 kg of ware and shelves, in a shed at 18 °C.
    fn default() -> Self {
        Self {
            zones: 1,
            chamber_l: 150.0,
            lining: vec![Layer { brick: Brick::INSULATING_FIREBRICK_1260, thickness_m: 0.076 }],
            ware: Ware { mass_kg: 30.0, area_m2: 1.2, core_lag_s: 240.0 },
            banks: vec![BankSpec::default(); 2],
            wire: Wire { diameter_mm: 1.8, surface_load_w_per_cm2: 1.5 },
            rated_v: 230.0,
            mains_v: 230.0,
            mains_wander: 0.004,
            probes: vec![ProbeSpec::default()],
            current_sensing: CurrentSensing::NotFitted,
            lid_contact: Input::Fitted,
            mirror_contact: Input::NotFitted,
            presence_button: Input::NotFitted,
            leak_w_per_k: 0.3,
            gaps_m2: 3.0e-4,
            zone_opening: 0.3,
            ambient_c: 18.0,
            start_c: 18.0,
            enclosure: Enclosure {
                capacity_j_per_k: 2500.0,
                to_ambient_w_per_k: 2.0,
                from_kiln_w_per_k: 0.2,
                own_w: 8.0,
                head_share: 0.35,
            },
        }
    }
}
