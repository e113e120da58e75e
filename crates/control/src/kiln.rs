//! The kiln as the controller knows it: parts and limits, frozen at light-up.

use heapless::Vec;
use pyrometry::amplifier::Sensor;
use pyrometry::units::{Amps, Celsius, Millis, Watts};

use crate::decision::BankLevels;
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

/// How closely mechanical switches make the chamber follow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Closeness {
    /// As few operations as the ware forgives.
    #[default]
    Sparing,
    /// Closer, at twice the operations.
    Close,
}

/// The elements switched together and the relay that feeds them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bank {
    /// Rated power.
    pub power: Watts,
    /// Current at that power; `None` where the kiln file does not tell the supply's tension.
    pub current: Option<Amps>,
    /// What switches it.
    pub switch: SwitchKind,
    /// Shortest time on, once on (kept except when heat is taken away).
    pub on_least: Millis,
    /// Shortest time off, once off.
    pub off_least: Millis,
    /// Shortest time in which it goes on and off once, at half duty.
    pub cycle_least: Millis,
    /// The probe that governs it, counted from zero.
    pub probe: u8,
}

/// Taken where the kiln file tells no tension: IEC 60038. On a lower one the current is greater, so
/// bounds that are a share of it err to the safe side.
const USUAL_TENSION_V: f64 = 230.0;

impl Bank {
    /// Its current at full power, as told or as at the usual tension.
    #[must_use]
    pub fn rated_current(&self) -> Amps {
        let usual = || Amps::new(self.power.w() / USUAL_TENSION_V).unwrap_or(Amps::ZERO);
        self.current.unwrap_or_else(usual)
    }
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
    /// How its mechanical switches are used.
    pub switching: Closeness,
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

impl Kiln {
    /// What these banks draw together, added up in the kiln file's order: another order may differ in
    /// the last bit, and a supply for just this much must carry it.
    #[must_use]
    pub fn drawn(&self, energised: &BankLevels) -> Watts {
        let on = self.banks.iter().zip(energised).filter(|(_, on)| **on);
        on.fold(Watts::ZERO, |sum, (bank, _)| sum + bank.power)
    }

    /// Power of the banks that a probe governs.
    #[must_use]
    pub fn of_zone(&self, probe: u8) -> Watts {
        self.drawn(&core::array::from_fn(|number| {
            self.banks.get(number).is_some_and(|bank| bank.probe == probe)
        }))
    }

    /// Real power of these banks, as far as the model knows the mains and the elements' age.
    #[must_use]
    pub fn gives(&self, energised: &BankLevels) -> Watts {
        let drawn = self.drawn(energised);
        Watts::new(drawn.w() * self.model.parameters().power_ratio).unwrap_or(drawn)
    }

    /// Power of all banks together.
    #[must_use]
    pub fn rated(&self) -> Watts {
        self.drawn(&[true; BANKS_MOST])
    }

    /// The most power that can be on at once: that of the banks which, together, come nearest to the
    /// supply limit from below.
    #[must_use]
    pub fn carried(&self) -> Watts {
        let sets = 0..1_u32 << self.banks.len();
        let drawn = sets.map(|set| self.drawn(&core::array::from_fn(|number| set >> number & 1 == 1)));
        let fits = drawn.filter(|drawn| *drawn <= self.supply_limit);
        fits.fold(Watts::ZERO, |most, drawn| if drawn > most { drawn } else { most })
    }
}
