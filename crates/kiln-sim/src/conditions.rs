//! What the faults of the moment amount to, part by part.
//!
//! Rebuilt only when a fault sets in or ends, so that a step pays nothing for those that don't.

use pyrometry::units::Millis;

use crate::fault::{BankFault, Fault, ProbeFault, Timed};
use crate::relay::SwitchCondition;
use crate::wiring::{Short, Wiring};
use crate::{BANKS_MOST, PROBES_MOST};

/// A bank's parts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BankCondition {
    pub(crate) switch: SwitchCondition,
    /// Conductance of its elements over new.
    pub(crate) conductance_ratio: f64,
    pub(crate) pin_dead: bool,
    pub(crate) sensor_dead: bool,
}

/// What a chip does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum ChipCondition {
    #[default]
    Sound,
    Stuck,
    Dead,
    Reset,
}

/// What the chip's inputs see.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Circuit {
    #[default]
    Sound,
    Open,
    Grounded,
    Supplied,
}

/// Something that grows from its onset on, to a limit.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Growth {
    from: Millis,
    c_per_h: f64,
    most_c: f64,
}

impl Growth {
    pub(crate) fn at(&self, now: Millis) -> f64 {
        (self.c_per_h * now.since(self.from).hours()).clamp(-self.most_c, self.most_c)
    }
}

/// A probe's parts.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct ProbeCondition {
    pub(crate) circuit: Circuit,
    pub(crate) wiring: Wiring,
    pub(crate) chip: ChipCondition,
    pub(crate) withdrawn: f64,
    pub(crate) drift: Growth,
    pub(crate) noise: Growth,
    pub(crate) switching_noise_c: f64,
    pub(crate) jump_c: f64,
    pub(crate) cold_junction_off_c: f64,
}

/// What the lid's contact says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum LidContactCondition {
    #[default]
    Sound,
    StuckShut,
    Dead,
}

/// Whether a fault holds the lid open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum LidForced {
    #[default]
    No,
    Open,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Conditions {
    pub(crate) banks: [BankCondition; BANKS_MOST],
    pub(crate) probes: [ProbeCondition; PROBES_MOST],
    pub(crate) contactor: SwitchCondition,
    pub(crate) mains_ratio: f64,
    pub(crate) lid: LidForced,
    pub(crate) lid_contact: LidContactCondition,
    pub(crate) more_leak_w_per_k: f64,
    pub(crate) more_enclosure_w: f64,
}

impl Default for BankCondition {
    fn default() -> Self {
        Self { switch: SwitchCondition::Sound, conductance_ratio: 1.0, pin_dead: false, sensor_dead: false }
    }
}

impl Default for Conditions {
    fn default() -> Self {
        Self {
            banks: [BankCondition::default(); BANKS_MOST],
            probes: [ProbeCondition::default(); PROBES_MOST],
            contactor: SwitchCondition::Sound,
            mains_ratio: 1.0,
            lid: LidForced::No,
            lid_contact: LidContactCondition::Sound,
            more_leak_w_per_k: 0.0,
            more_enclosure_w: 0.0,
        }
    }
}

impl Conditions {
    /// Of the faults that are on at `now`, and the next instant at which that changes.
    pub(crate) fn at(now: Millis, faults: &[Timed]) -> (Self, Option<Millis>) {
        let mut conditions = Self::default();
        for timed in faults {
            let on = timed.onset <= now && timed.until.is_none_or(|until| now < until);
            if on {
                conditions.suffer(timed.fault, timed.onset);
            }
        }
        let changes = faults.iter().flat_map(|timed| core::iter::once(timed.onset).chain(timed.until));
        (conditions, changes.filter(|change| *change > now).min())
    }

    fn suffer(&mut self, fault: Fault, onset: Millis) {
        match fault {
            Fault::Probe(probe, kind) => self.probes[probe].suffer(kind, onset),
            Fault::Bank(bank, kind) => self.banks[bank].suffer(kind),
            Fault::ContactorWelds => self.contactor = SwitchCondition::Welds,
            Fault::ContactorStuckOpen => self.contactor = SwitchCondition::StuckOpen,
            Fault::MainsSag { ratio } => self.mains_ratio *= ratio,
            Fault::PowerCut => self.mains_ratio = 0.0,
            Fault::LidOpened => self.lid = LidForced::Open,
            Fault::LidContactStuckShut => self.lid_contact = LidContactCondition::StuckShut,
            Fault::LidContactDead => self.lid_contact = LidContactCondition::Dead,
            Fault::LeakGrown { w_per_k } => self.more_leak_w_per_k += w_per_k,
            Fault::EnclosureHeated { w } => self.more_enclosure_w += w,
        }
    }
}

impl BankCondition {
    fn suffer(&mut self, fault: BankFault) {
        match fault {
            BankFault::RelayWelds => self.switch = SwitchCondition::Welds,
            BankFault::SwitchShorted => self.switch = SwitchCondition::Shorted,
            BankFault::SwitchHalfShorted => self.switch = SwitchCondition::HalfShorted,
            BankFault::RelayStuckOpen => self.switch = SwitchCondition::StuckOpen,
            BankFault::ElementsBroken { share } => self.conductance_ratio *= 1.0 - share,
            BankFault::ElementsAged { resistance_ratio } => self.conductance_ratio /= resistance_ratio,
            BankFault::PinDead => self.pin_dead = true,
            BankFault::CurrentSensorDead => self.sensor_dead = true,
        }
    }
}

impl ProbeCondition {
    fn suffer(&mut self, fault: ProbeFault, onset: Millis) {
        match fault {
            ProbeFault::Open => self.circuit = Circuit::Open,
            ProbeFault::ShortToGround => self.circuit = Circuit::Grounded,
            ProbeFault::ShortToSupply => self.circuit = Circuit::Supplied,
            ProbeFault::ShortedUpstream { share } => self.wiring.short = Some(Short::Upstream(share)),
            ProbeFault::ShortedAtAmplifier => self.wiring.short = Some(Short::AtAmplifier),
            ProbeFault::ReversedAtAmplifier => {
                self.wiring.junction_sign = -self.wiring.junction_sign;
                self.wiring.extension_sign = -self.wiring.extension_sign;
            }
            ProbeFault::ReversedAtHead => self.wiring.junction_sign = -self.wiring.junction_sign,
            ProbeFault::ExtensionSwapped => self.wiring.extension_sign = -self.wiring.extension_sign,
            ProbeFault::CopperExtension => self.wiring.extension_sign = 0.0,
            ProbeFault::WrongWire { actual } => self.wiring.actual = Some(actual),
            ProbeFault::PulledOut { share } => self.withdrawn = share,
            ProbeFault::Drift { c_per_h, most_c } => self.drift = Growth { from: onset, c_per_h, most_c },
            ProbeFault::NoiseGrowing { c_per_h, most_c } => {
                self.noise = Growth { from: onset, c_per_h, most_c }
            }
            ProbeFault::SwitchingNoise { c } => self.switching_noise_c = c,
            ProbeFault::Jump { c } => self.jump_c += c,
            ProbeFault::Stuck => self.chip = ChipCondition::Stuck,
            ProbeFault::ChipDead => self.chip = ChipCondition::Dead,
            ProbeFault::ChipReset => self.chip = ChipCondition::Reset,
            ProbeFault::ColdJunctionOff { c } => self.cold_junction_off_c = c,
        }
    }
}
