//! What goes wrong in a firing: each kind of fault with its size, its moment, and what
//! `docs/safety.md` claims about it.

mod claim;
mod size;

use kiln_sim::Fault;

pub(crate) use claim::{Claim, Exposure, claim, exposed};

/// Kinds of fault, as the table names them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Kind {
    Open,
    LooseOpen,
    ShortToGround,
    ShortToSupply,
    ChipDead,
    ChipReset,
    Frozen,
    FrozenCoarse,
    Jump,
    GrowingNoise,
    SwitchingNoise,
    ReversedAtAmplifier,
    ReversedAtHead,
    ShortedAtAmplifier,
    ShortedAtHead,
    ShortedInTheWall,
    PulledOut,
    PartlyPulledOut,
    HotBox,
    ColdJunctionOff,
    DriftLow,
    DriftHigh,
    SwappedAtBothEnds,
    CopperLead,
    WrongWire,
    OneRelayWelded,
    OneRelayWeldedSensed,
    AllRelaysWelded,
    AllSwitchesShorted,
    AllSwitchesHalfShorted,
    OnePinDead,
    OneBankDead,
    AllBanksDead,
    ContactorStuckOpen,
    ContactorWelded,
    ContactorWeldedSensed,
    PowerCut,
    MainsSag,
    ElementsAged,
    LeakGrown,
    LidLeftOpen,
    LidContactDead,
    LateSteps,
}

impl Kind {
    pub(crate) const ALL: [Self; 43] = [
        Self::Open,
        Self::LooseOpen,
        Self::ShortToGround,
        Self::ShortToSupply,
        Self::ChipDead,
        Self::ChipReset,
        Self::Frozen,
        Self::FrozenCoarse,
        Self::Jump,
        Self::GrowingNoise,
        Self::SwitchingNoise,
        Self::ReversedAtAmplifier,
        Self::ReversedAtHead,
        Self::ShortedAtAmplifier,
        Self::ShortedAtHead,
        Self::ShortedInTheWall,
        Self::PulledOut,
        Self::PartlyPulledOut,
        Self::HotBox,
        Self::ColdJunctionOff,
        Self::DriftLow,
        Self::DriftHigh,
        Self::SwappedAtBothEnds,
        Self::CopperLead,
        Self::WrongWire,
        Self::OneRelayWelded,
        Self::OneRelayWeldedSensed,
        Self::AllRelaysWelded,
        Self::AllSwitchesShorted,
        Self::AllSwitchesHalfShorted,
        Self::OnePinDead,
        Self::OneBankDead,
        Self::AllBanksDead,
        Self::ContactorStuckOpen,
        Self::ContactorWelded,
        Self::ContactorWeldedSensed,
        Self::PowerCut,
        Self::MainsSag,
        Self::ElementsAged,
        Self::LeakGrown,
        Self::LidLeftOpen,
        Self::LidContactDead,
        Self::LateSteps,
    ];

    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::LooseOpen => "loose-open",
            Self::ShortToGround => "short-to-ground",
            Self::ShortToSupply => "short-to-supply",
            Self::ChipDead => "chip-dead",
            Self::ChipReset => "chip-reset",
            Self::Frozen => "frozen",
            Self::FrozenCoarse => "frozen-coarse",
            Self::Jump => "jump",
            Self::GrowingNoise => "growing-noise",
            Self::SwitchingNoise => "switching-noise",
            Self::ReversedAtAmplifier => "reversed-at-amplifier",
            Self::ReversedAtHead => "reversed-at-head",
            Self::ShortedAtAmplifier => "shorted-at-amplifier",
            Self::ShortedAtHead => "shorted-at-head",
            Self::ShortedInTheWall => "shorted-in-the-wall",
            Self::PulledOut => "pulled-out",
            Self::PartlyPulledOut => "partly-pulled-out",
            Self::HotBox => "hot-box",
            Self::ColdJunctionOff => "cold-junction-off",
            Self::DriftLow => "drift-low",
            Self::DriftHigh => "drift-high",
            Self::SwappedAtBothEnds => "swapped-at-both-ends",
            Self::CopperLead => "copper-lead",
            Self::WrongWire => "wrong-wire",
            Self::OneRelayWelded => "one-relay-welded",
            Self::OneRelayWeldedSensed => "one-relay-welded-sensed",
            Self::AllRelaysWelded => "all-relays-welded",
            Self::AllSwitchesShorted => "all-switches-shorted",
            Self::AllSwitchesHalfShorted => "all-switches-half-shorted",
            Self::OnePinDead => "one-pin-dead",
            Self::OneBankDead => "one-bank-dead",
            Self::AllBanksDead => "all-banks-dead",
            Self::ContactorStuckOpen => "contactor-stuck-open",
            Self::ContactorWelded => "contactor-welded",
            Self::ContactorWeldedSensed => "contactor-welded-sensed",
            Self::PowerCut => "power-cut",
            Self::MainsSag => "mains-sag",
            Self::ElementsAged => "elements-aged",
            Self::LeakGrown => "leak-grown",
            Self::LidLeftOpen => "lid-left-open",
            Self::LidContactDead => "lid-contact-dead",
            Self::LateSteps => "late-steps",
        }
    }

    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

/// When a fault sets in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum When {
    /// Before light-up.
    FromTheStart,
    /// Once this share of the forecast is over and heat is permitted.
    Heating {
        /// Share of the forecast.
        after_share: f64,
    },
    /// Once this share of the forecast is over, heat or not.
    Whenever {
        /// Share of the forecast.
        after_share: f64,
    },
}

/// One fault of a firing.
#[derive(Clone, Debug)]
pub(crate) struct Ill {
    pub(crate) kind: Kind,
    pub(crate) when: When,
    /// What the plant suffers from then on.
    pub(crate) faults: Vec<Fault>,
    /// Seconds on and off, for what comes and goes.
    pub(crate) comes_and_goes_s: Option<(u64, u64)>,
    /// Seconds for which the controller is not called, once.
    pub(crate) late_s: u64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_found_again_by_its_name() {
        for kind in Kind::ALL {
            assert_eq!(Kind::named(kind.name()), Some(kind));
        }
        assert_eq!(Kind::named("rust"), None);
    }
}
