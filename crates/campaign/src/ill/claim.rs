//! What `docs/safety.md` claims of each kind of fault, and when a firing gave the chance to show it.

use kiln_sim::KilnSpec;
use pyrometry::amplifier::Amplifier;

use super::Kind;

/// What is claimed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Claim {
    /// It must trip (where no heat is permitted: refuse light-up) once there was the chance.
    MustTrip,
    /// Nothing dangerous comes of it: it may be told, and must not make the kiln too hot.
    Bearable,
    /// Temperature and duty do not show it, or not always: what does is named.
    Unseen(&'static str),
}

/// What a faulty firing gave to see since its fault set in, in seconds of a step each.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Exposure {
    /// At all.
    pub(crate) any_s: u32,
    /// Heat permitted by the phase.
    pub(crate) heating_s: u32,
    /// Heat asked for at 0.3 or more, and the plan not falling.
    pub(crate) asked_s: u32,
    /// The true junction more than 40 °C above the setpoint, heat permitted, without a break.
    pub(crate) above_plan_s: u32,
    /// Heat permitted, and some bank told to be off.
    pub(crate) bank_off_s: u32,
    /// Whether heat was permitted at all: a contactor welds in closing.
    pub(crate) permitted: bool,
    /// No permission to heat, after there was one.
    pub(crate) refused_s: u32,
    /// The box above 82 °C.
    pub(crate) hot_box_s: u32,
    /// How far the true junction was from the amplifier when the fault set in.
    pub(crate) from_box_c: f64,
}

pub(crate) const fn claim(kind: Kind) -> Claim {
    match kind {
        Kind::Open
        | Kind::LooseOpen
        | Kind::ShortToGround
        | Kind::ShortToSupply
        | Kind::ChipDead
        | Kind::ChipReset
        | Kind::Frozen
        | Kind::Jump
        | Kind::GrowingNoise
        | Kind::SwitchingNoise
        | Kind::ReversedAtAmplifier
        | Kind::ReversedAtHead
        | Kind::ShortedAtAmplifier
        | Kind::ShortedAtHead
        | Kind::PulledOut
        | Kind::HotBox
        | Kind::OneRelayWeldedSensed
        | Kind::AllRelaysWelded
        | Kind::AllSwitchesShorted
        | Kind::AllBanksDead
        | Kind::ContactorStuckOpen
        | Kind::ContactorWeldedSensed
        | Kind::PowerCut
        | Kind::LidLeftOpen
        | Kind::LidContactDead
        | Kind::LateSteps => Claim::MustTrip,
        Kind::DriftHigh | Kind::OneBankDead | Kind::MainsSag | Kind::ElementsAged | Kind::LeakGrown => {
            Claim::Bearable
        }
        Kind::FrozenCoarse => Claim::Unseen("the outside high-limit; in climbs within minutes"),
        Kind::ShortedInTheWall => Claim::Unseen("witness cones, the outside high-limit"),
        Kind::PartlyPulledOut => Claim::Unseen("witness cones, the outside high-limit"),
        Kind::ColdJunctionOff => Claim::Unseen("bench check against a second instrument, witness cones"),
        Kind::DriftLow => Claim::Unseen("witness cones, the wire's hours"),
        Kind::SwappedAtBothEnds => Claim::Unseen("bench check: warm the terminals; witness cones"),
        Kind::CopperLead => Claim::Unseen("bench check: warm the terminals; witness cones"),
        Kind::WrongWire => Claim::Unseen("bench check of the type (SR-10), witness cones"),
        Kind::OneRelayWelded | Kind::OnePinDead => Claim::Unseen(
            "above-plan and heating-while-off where the bank holds the kiln up; current sensors",
        ),
        Kind::AllSwitchesHalfShorted => {
            Claim::Unseen("above-plan and heating-while-off where half the power holds the kiln up")
        }
        Kind::ContactorWelded => {
            Claim::Unseen("nothing until it is needed: its mirror contact, the bench check before firing")
        }
    }
}

/// Whether the firing went on long enough with the fault that a miss is a miss.
pub(crate) fn exposed(kind: Kind, exposure: &Exposure, spec: &KilnSpec) -> bool {
    let looks_for_shorts = match spec.probes[0].amplifier {
        Amplifier::Max31855 | Amplifier::Max31856 => true,
        Amplifier::Max6675 | Amplifier::Mcp9600 => false,
    };
    // A reading that falls to the box's temperature jumps, or has to be found out by its heat.
    let at_the_box = exposure.asked_s >= 7200 || (exposure.from_box_c > 60.0 && exposure.heating_s >= 120);
    match kind {
        Kind::Open | Kind::ShortToSupply | Kind::ChipDead | Kind::ChipReset | Kind::Jump => {
            exposure.any_s >= 10
        }
        Kind::ShortToGround if looks_for_shorts => exposure.any_s >= 10,
        Kind::ShortToGround | Kind::ShortedAtAmplifier | Kind::ShortedAtHead | Kind::PulledOut => at_the_box,
        Kind::LateSteps => exposure.heating_s >= 30,
        // One bad sample in three is borne for 20 min of withheld heat within an hour.
        Kind::LooseOpen => exposure.heating_s >= 3700,
        Kind::Frozen => exposure.heating_s >= 120,
        Kind::GrowingNoise => exposure.heating_s >= 3 * 3600,
        Kind::SwitchingNoise => exposure.asked_s >= 1800,
        Kind::ReversedAtAmplifier | Kind::ReversedAtHead => exposure.asked_s >= 1800,
        Kind::HotBox => exposure.hot_box_s >= 120,
        Kind::ContactorWeldedSensed => exposure.refused_s >= 10,
        Kind::OneRelayWeldedSensed => exposure.bank_off_s >= 1200,
        Kind::AllRelaysWelded | Kind::AllSwitchesShorted => exposure.above_plan_s >= 180,
        Kind::AllBanksDead | Kind::ContactorStuckOpen | Kind::PowerCut => exposure.asked_s >= 2700,
        Kind::LidLeftOpen | Kind::LidContactDead => exposure.heating_s >= 1860,
        Kind::FrozenCoarse
        | Kind::ShortedInTheWall
        | Kind::PartlyPulledOut
        | Kind::ColdJunctionOff
        | Kind::DriftLow
        | Kind::DriftHigh
        | Kind::SwappedAtBothEnds
        | Kind::CopperLead
        | Kind::WrongWire
        | Kind::OneRelayWelded
        | Kind::OnePinDead
        | Kind::AllSwitchesHalfShorted
        | Kind::OneBankDead
        | Kind::ContactorWelded
        | Kind::MainsSag
        | Kind::ElementsAged
        | Kind::LeakGrown => exposure.any_s > 0,
    }
}
