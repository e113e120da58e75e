//! The kiln as the controller knows it: parts and limits, frozen at light-up.

use heapless::Vec;
use pyrometry::amplifier::Sensor;
use pyrometry::units::{Celsius, Millis, Watts};

use crate::model::KilnModel;
use crate::{BANKS_MOST, PROBES_MOST};

/// What switches a bank.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SwitchKind {
    /// A relay or contactor with moving contacts: every closing wears it.
    Mechanical,
    /// A solid-state switch: closings cost nothing; it fails mainly shorted.
    SolidState,
}

/// The elements switched together and the relay that feeds them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bank {
    /// Rated power.
    pub power: Watts,
    /// What switches it.
    pub switch: SwitchKind,
    /// Shortest time on, once on (kept except when heat is taken away).
    pub on_least: Millis,
    /// Shortest time off, once off.
    pub off_least: Millis,
    /// The time-proportioning window.
    pub window: Millis,
    /// The probe that governs it, counted from zero.
    pub probe: u8,
}

/// A thermocouple with its amplifier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    /// Wire, chip and correction.
    pub sensor: Sensor,
}

/// Parts and limits of this kiln.
#[derive(Clone, Debug, PartialEq)]
pub struct Kiln {
    /// One probe a zone.
    pub probes: Vec<Probe, PROBES_MOST>,
    /// The banks.
    pub banks: Vec<Bank, BANKS_MOST>,
    /// No junction may be hotter.
    pub ceiling: Celsius,
    /// The most the energised banks may draw together.
    pub supply_limit: Watts,
    /// The longest firing.
    pub firing_longest: Millis,
    /// The longest stay; after it the schedule carries on.
    pub stay_longest: Millis,
    /// Cool enough to open below this.
    pub open_below: Celsius,
    /// What is known of its thermal behaviour.
    pub model: KilnModel,
}
