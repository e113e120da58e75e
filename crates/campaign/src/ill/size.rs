//! How big each fault is and when it comes, by chance; and what the kiln must have to suffer it.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "each function names the kinds it is about; a test finds the kind that none names"
)]

use kiln_sim::{BankFault, BankSpec, CurrentSensing, Fault, Input, KilnSpec, ProbeFault};
use pyrometry::amplifier::Amplifier;
use pyrometry::thermocouple::Thermocouple;

use super::{Ill, Kind, When};
use crate::chance::Chance;

impl Kind {
    /// Gives the kiln what it must have for this fault to befall it.
    pub(crate) fn fit(self, spec: &mut KilnSpec, chance: &mut Chance) {
        let probe = &mut spec.probes[0];
        match self {
            Self::ChipReset => probe.amplifier = chance.one_of(&[Amplifier::Max31856, Amplifier::Mcp9600]),
            Self::Frozen if probe.amplifier.is_coarse() => {
                probe.amplifier = chance.one_of(&[Amplifier::Max31856, Amplifier::Mcp9600]);
            }
            Self::FrozenCoarse => probe.amplifier = Amplifier::Max31855,
            // This chip reports no cold junction, and a warm box cannot be seen with it.
            Self::HotBox if probe.amplifier == Amplifier::Max6675 => probe.amplifier = Amplifier::Max31855,
            Self::LidLeftOpen | Self::LidContactDead => spec.lid_contact = Input::Fitted,
            Self::OneRelayWelded | Self::OnePinDead | Self::OneBankDead => two_banks_at_least(spec),
            Self::OneRelayWeldedSensed => {
                two_banks_at_least(spec);
                spec.current_sensing = CurrentSensing::EachBank;
            }
            Self::ContactorWeldedSensed => spec.mirror_contact = Input::Fitted,
            Self::WrongWire => {
                probe.thermocouple = Thermocouple::K;
            }
            _ => {}
        }
        if !probe_serves(spec) {
            spec.probes[0].thermocouple = Thermocouple::K;
        }
    }

    /// Whether it can befall that kiln; fitted for two faults, a kiln may have lost what one of them needs.
    pub(crate) fn can_befall(self, spec: &KilnSpec) -> bool {
        let amplifier = spec.probes[0].amplifier;
        match self {
            Self::ChipReset => matches!(amplifier, Amplifier::Max31856 | Amplifier::Mcp9600),
            Self::Frozen => !amplifier.is_coarse(),
            Self::FrozenCoarse => amplifier.is_coarse(),
            _ => true,
        }
    }

    /// This fault in that kiln.
    pub(crate) fn draw(self, chance: &mut Chance, spec: &KilnSpec) -> Ill {
        let faults = self.faults(chance, spec);
        let comes_and_goes_s = (self == Self::LooseOpen).then(|| (chance.count(1, 2), chance.count(1, 2)));
        let late_s = if self == Self::LateSteps { chance.count(16, 90) } else { 0 };
        Ill { kind: self, when: self.when(chance), faults, comes_and_goes_s, late_s }
    }

    fn when(self, chance: &mut Chance) -> When {
        let after_share = chance.between(0.0, 0.95);
        match self {
            // Nobody rewires a kiln in mid-fire.
            Self::ReversedAtAmplifier
            | Self::ReversedAtHead
            | Self::SwappedAtBothEnds
            | Self::CopperLead
            | Self::WrongWire => When::FromTheStart,
            Self::ShortedAtAmplifier
            | Self::ShortedAtHead
            | Self::ShortedInTheWall
            | Self::PulledOut
            | Self::ContactorStuckOpen
            | Self::AllBanksDead
                if after_share < 0.3 =>
            {
                When::FromTheStart
            }
            Self::Open | Self::ShortToSupply | Self::ChipDead | Self::ChipReset | Self::HotBox => {
                When::Whenever { after_share: 1.2 * after_share }
            }
            _ => When::Heating { after_share },
        }
    }

    fn faults(self, chance: &mut Chance, spec: &KilnSpec) -> Vec<Fault> {
        if let Some(fault) = self.of_probe(chance) {
            return vec![Fault::Probe(0, fault)];
        }
        if let Some(fault) = self.of_bank() {
            let one = usize::try_from(chance.count(0, spec.banks.len() as u64 - 1)).unwrap_or(0);
            return match self {
                Self::OneRelayWelded | Self::OneRelayWeldedSensed | Self::OnePinDead | Self::OneBankDead => {
                    vec![Fault::Bank(one, fault)]
                }
                _ => (0..spec.banks.len()).map(|bank| Fault::Bank(bank, fault)).collect(),
            };
        }
        vec![match self {
            Self::HotBox => {
                let hotter_c = chance.between(90.0, 130.0) - spec.ambient_c;
                Fault::EnclosureHeated { w: hotter_c * spec.enclosure.to_ambient_w_per_k }
            }
            Self::ContactorStuckOpen => Fault::ContactorStuckOpen,
            Self::ContactorWelded | Self::ContactorWeldedSensed => Fault::ContactorWelds,
            Self::PowerCut => Fault::PowerCut,
            Self::MainsSag => Fault::MainsSag { ratio: chance.between(0.85, 0.95) },
            Self::LeakGrown => Fault::LeakGrown { w_per_k: chance.between(0.2, 1.0) * spec.leak_w_per_k },
            Self::LidLeftOpen => Fault::LidOpened,
            Self::LidContactDead => Fault::LidContactDead,
            _ => return Vec::new(), // late steps are the controller's, not the kiln's
        }]
    }

    fn of_probe(self, chance: &mut Chance) -> Option<ProbeFault> {
        let (up, down) = (chance.scale(15.0, 500.0), -chance.scale(15.0, 500.0));
        let rate_c_per_h = chance.scale(2.0, 200.0);
        Some(match self {
            Self::Open | Self::LooseOpen => ProbeFault::Open,
            Self::ShortToGround => ProbeFault::ShortToGround,
            Self::ShortToSupply => ProbeFault::ShortToSupply,
            Self::ChipDead => ProbeFault::ChipDead,
            Self::ChipReset => ProbeFault::ChipReset,
            Self::Frozen | Self::FrozenCoarse => ProbeFault::Stuck,
            Self::Jump => ProbeFault::Jump { c: if chance.happens(0.5) { up } else { down } },
            Self::GrowingNoise => ProbeFault::NoiseGrowing {
                c_per_h: chance.scale(5.0, 2000.0),
                most_c: chance.between(12.0, 40.0),
            },
            Self::SwitchingNoise => ProbeFault::SwitchingNoise { c: chance.between(10.0, 40.0) },
            Self::ReversedAtAmplifier => ProbeFault::ReversedAtAmplifier,
            Self::ReversedAtHead => ProbeFault::ReversedAtHead,
            Self::ShortedAtAmplifier => ProbeFault::ShortedAtAmplifier,
            Self::ShortedAtHead => ProbeFault::ShortedUpstream { share: 0.0 },
            Self::ShortedInTheWall => ProbeFault::ShortedUpstream { share: chance.between(0.2, 0.9) },
            Self::PulledOut => ProbeFault::PulledOut { share: 1.0 },
            Self::PartlyPulledOut => ProbeFault::PulledOut { share: chance.between(0.1, 0.95) },
            Self::ColdJunctionOff => ProbeFault::ColdJunctionOff { c: chance.between(-8.0, 8.0) },
            Self::DriftLow => ProbeFault::Drift { c_per_h: -rate_c_per_h, most_c: chance.between(5.0, 40.0) },
            Self::DriftHigh => ProbeFault::Drift { c_per_h: rate_c_per_h, most_c: chance.between(5.0, 40.0) },
            Self::SwappedAtBothEnds => ProbeFault::ExtensionSwapped,
            Self::CopperLead => ProbeFault::CopperExtension,
            Self::WrongWire => ProbeFault::WrongWire {
                actual: chance.one_of(&[Thermocouple::N, Thermocouple::J, Thermocouple::S, Thermocouple::R]),
            },
            _ => return None,
        })
    }

    fn of_bank(self) -> Option<BankFault> {
        Some(match self {
            Self::OneRelayWelded | Self::OneRelayWeldedSensed | Self::AllRelaysWelded => {
                BankFault::RelayWelds
            }
            Self::AllSwitchesShorted => BankFault::SwitchShorted,
            Self::AllSwitchesHalfShorted => BankFault::SwitchHalfShorted,
            Self::OnePinDead => BankFault::PinDead,
            Self::OneBankDead | Self::AllBanksDead => BankFault::ElementsBroken { share: 1.0 },
            Self::ElementsAged => BankFault::ElementsAged { resistance_ratio: 1.15 },
            _ => return None,
        })
    }
}

fn two_banks_at_least(spec: &mut KilnSpec) {
    if spec.banks.len() == 1 {
        let half = BankSpec { rated_w: 0.5 * spec.banks[0].rated_w, ..spec.banks[0] };
        spec.banks = vec![half; 2];
    }
}

fn probe_serves(spec: &KilnSpec) -> bool {
    spec.probes.iter().all(|probe| probe.amplifier.serves(probe.thermocouple))
}

#[cfg(test)]
mod tests {
    use kiln_sim::{Plant, Timed};
    use pyrometry::units::Millis;

    use super::*;

    /// The plant itself says what fault it can have, and of what size.
    #[test]
    fn every_kind_befalls_a_kiln_fitted_for_it_in_sizes_the_plant_can_have() {
        for seed in 0..50 {
            for kind in Kind::ALL {
                let (mut chance, mut spec) = (Chance::of(seed), KilnSpec::default());
                kind.fit(&mut spec, &mut chance);
                assert!(kind.can_befall(&spec), "{kind:?}");
                let ill = kind.draw(&mut chance, &spec);
                assert_eq!(ill.faults.is_empty(), kind == Kind::LateSteps, "{kind:?}");
                let onset = Millis::ZERO;
                let timed: Vec<Timed> =
                    ill.faults.iter().map(|fault| Timed { onset, until: None, fault: *fault }).collect();
                let mut plant = Plant::new(&spec, seed).expect("the fitted kiln can be simulated");
                assert_eq!(plant.schedule(&timed), Ok(()), "{kind:?}");
            }
        }
    }
}
