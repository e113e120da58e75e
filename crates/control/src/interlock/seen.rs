//! What interlocks see: observations, commands, and of the plan only data.

use pyrometry::amplifier::{Measured, Report, Said, SensorFault, Spread};
use pyrometry::units::{Amps, Celsius, Joules, Millis};

use super::observer::Observer;
use crate::decision::BankLevels;
use crate::expected::Expected;
use crate::kiln::Kiln;
use crate::observation::Contact;
use crate::phase::Phase;
use crate::{BANKS_MOST, PROBES_MOST};

/// One step as the controller hands it to the interlocks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen<'a> {
    /// Time since the step before; zero at the first.
    pub(crate) since_last: Millis,
    /// The phase before this step.
    pub(crate) phase: Phase,
    /// Parts, limits and model.
    pub(crate) kiln: &'a Kiln,
    /// What each amplifier said, in the kiln file's order.
    pub(crate) reports: &'a [Report],
    /// What each report supports.
    pub(crate) measured: &'a [Result<Measured, SensorFault>],
    /// The schedule's setpoint; `None` where no plan bounds the temperature (cooling unpowered).
    pub(crate) setpoint: Option<Celsius>,
    /// The programme's own maximum.
    pub(crate) plan_hottest: Option<Celsius>,
    /// The lid's contact.
    pub(crate) lid: Contact,
    /// Each bank's current, where it is sensed and could be read.
    pub(crate) amps: [Option<Amps>; BANKS_MOST],
    /// The safety contactor's mirror contact: shut is closed.
    pub(crate) contactor: Contact,
    /// Whether the step before permitted heat, so what the contactor was told.
    pub(crate) permitted: bool,
    /// What the relays were told in the step before, so what they did since.
    pub(crate) banks: BankLevels,
    /// Heating time so far, stays left out.
    pub(crate) elapsed: Millis,
    /// Heating time so far, stays counted.
    pub(crate) alight: Millis,
    /// Energy given to the elements so far, stays left out.
    pub(crate) given: Joules,
    /// What the firing is held to.
    pub(crate) forecast: Option<Expected>,
}

/// A step with what the interlocks worked out of it for one another.
pub(crate) struct View<'a> {
    /// The step.
    pub(crate) seen: &'a Seen<'a>,
    /// Samples that `jumping-reading` discarded.
    pub(crate) discarded: [bool; PROBES_MOST],
    /// Heat given, stored and lost.
    pub(crate) observer: &'a Observer,
}

impl Seen<'_> {
    /// The numbers of this kiln's probes.
    pub(crate) fn probes(&self) -> impl Iterator<Item = u8> + use<> {
        (0_u8..).take(self.kiln.probes.len())
    }

    /// What a probe's report supports; a report that is absent is no answer.
    pub(crate) fn measured(&self, probe: u8) -> Result<Measured, SensorFault> {
        self.measured.get(usize::from(probe)).copied().unwrap_or(Err(SensorFault::NoAnswer))
    }

    /// What a probe's amplifier said.
    pub(crate) fn said(&self, probe: u8) -> Said {
        self.reports.get(usize::from(probe)).map_or(Said::Nothing, |report| report.said)
    }

    /// How far apart the samples behind a probe's answer lay; `None` of a single one.
    pub(crate) fn spread(&self, probe: u8) -> Option<Spread> {
        self.reports.get(usize::from(probe)).and_then(|report| report.spread)
    }
}

impl View<'_> {
    /// A probe's measurement, if there is one and it was not discarded.
    pub(crate) fn usable(&self, probe: u8) -> Option<Measured> {
        let discarded = self.discarded.get(usize::from(probe)).copied().unwrap_or(true);
        if discarded { None } else { self.seen.measured(probe).ok() }
    }
}
