//! What the rest of the daemon gets to see after each step.

use std::sync::Arc;
use std::time::Duration;

use control::{Decision, Finding, PROBES_MOST};
use hal::{Level, PinFault, Signal};
use heapless::Vec;
use pyrometry::amplifier::Report;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{CelsiusPerHour, Millis};
use warden::LimitNow;

use super::course::Course;
use super::firing::FiringSheet;
use super::guard::Standing;
use super::kept_pins::KeptPins;
use super::presence::Presence;
use super::shut_off::Obeyed;
use super::unlit::Unlit;
use crate::store::Trouble;

/// The kiln after a step.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// What was decided.
    pub decision: Decision,
    /// What each probe's amplifier said.
    pub reports: Vec<Report, PROBES_MOST>,
    /// The contactor, as the warden holds it.
    pub contactor: Level,
    /// How fast the chamber's temperature moves.
    pub rate: Option<CelsiusPerHour>,
    /// The firing, until the next one or until it is over and the kiln rests.
    pub firing: Option<Arc<FiringSheet>>,
    /// Where it stands.
    pub course: Course,
    /// The heat-work of the present firing.
    pub heat_work: HeatWork,
    /// Whether a firing may be lit now.
    pub light_up: LightUp,
    /// For how long a sensor has kept a firing from being lit; zero when none does.
    pub sensor_for: Millis,
    /// Whether a trip stood at some time since the program began, cleared or not, or a latch on disk
    /// that could not be read and may have been one.
    pub had_trip: bool,
    /// Whether somebody shows to be at the kiln.
    pub presence: Presence,
    /// The firing that fell due last and was not lit, until the next light-up.
    pub not_lit: Option<Arc<NotLit>>,
    /// How the warden stands to the control loop.
    pub warden: Standing,
    /// How its limit probe finds the kiln; `None` where it has none.
    pub limit: Option<LimitNow>,
    /// What the start found energised.
    pub kept: KeptPins,
    /// How far shut-offs were obeyed.
    pub shut_off: Obeyed,
    /// What heats nothing.
    pub signals: SignalsNow,
    /// How long after it was due the latest step since the start was done.
    pub late_worst: Duration,
    /// Why the latch on disk cannot be read.
    pub latch_unreadable: Option<Arc<str>>,
    /// What keeps the record from being kept.
    pub trouble: Option<Trouble>,
}

/// How an output that heats nothing was driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Driven {
    /// To what.
    pub level: Level,
    /// Whether its pin followed.
    pub pin: Result<(), PinFault>,
}

/// The outputs that heat nothing, those that are fitted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SignalsNow {
    buzzer: Option<Driven>,
    lamp: Option<Driven>,
    vent: Option<Driven>,
}

impl SignalsNow {
    /// How one was driven; `None` where it is not fitted.
    #[must_use]
    pub const fn of(&self, signal: Signal) -> Option<Driven> {
        match signal {
            Signal::Buzzer => self.buzzer,
            Signal::Lamp => self.lamp,
            Signal::Vent => self.vent,
        }
    }

    /// Whether one is on; `None` where it is not fitted.
    #[must_use]
    pub fn is_on(&self, signal: Signal) -> Option<bool> {
        self.of(signal).map(|driven| driven.level == Level::On)
    }

    pub(super) const fn put(&mut self, signal: Signal, driven: Driven) {
        let place = match signal {
            Signal::Buzzer => &mut self.buzzer,
            Signal::Lamp => &mut self.lamp,
            Signal::Vent => &mut self.vent,
        };
        *place = Some(driven);
    }
}

/// A firing set for later that was not lit when its time came.
#[derive(Clone, Debug, PartialEq)]
pub struct NotLit {
    /// Its title.
    pub title: String,
    /// The sensor that could not have guided it.
    pub finding: Finding,
}

/// Whether a firing may be lit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LightUp {
    /// It may.
    Possible,
    /// It may not.
    Refused(Unlit),
}
