//! The warden's judgement of beats (SR-30).

use hal::Level;
use pyrometry::units::Millis;

use crate::beat::{Beat, Permission};

/// The longest silence with the contactor closed: two beats may be late, not three (SR-30).
pub const SILENCE_LONGEST: Millis = Millis::new(2_500);

/// Why the warden has opened and stays open until armed anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Distrust {
    /// Never armed yet.
    NotArmed,
    /// No beat for longer than [`SILENCE_LONGEST`].
    Silence,
    /// A beat was lost, repeated or out of order.
    WrongOrder,
    /// Some stage of the control loop did not run.
    StageMissing,
    /// What arrived was no whole message.
    Garbled,
    /// The contactor's pin could not be driven or read, or was not as the warden had left it.
    PinUnsound,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Trust {
    None(Distrust),
    /// Armed; the next beat, whatever its number, is the first of its order.
    Fresh {
        since: Millis,
    },
    Following {
        last: Beat,
        heard: Millis,
    },
}

/// The warden's state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Warden {
    trust: Trust,
}

impl Default for Warden {
    fn default() -> Self {
        Self { trust: Trust::None(Distrust::NotArmed) }
    }
}

impl Warden {
    /// A deliberate arming, at a light-up or after a cleared trip.
    pub fn arm(&mut self, at: Millis) {
        self.trust = Trust::Fresh { since: at };
    }

    /// Hears a beat. Call [`Warden::contactor`] afterwards for what it means.
    pub fn hear(&mut self, beat: Beat, at: Millis) {
        self.trust = match self.grown_silent(at) {
            Trust::None(distrust) => Trust::None(distrust),
            Trust::Fresh { .. } => Trust::Following { last: beat, heard: at },
            Trust::Following { last, .. } if beat.sequence != last.sequence.wrapping_add(1) => {
                Trust::None(Distrust::WrongOrder)
            }
            Trust::Following { last, .. } if !beat.stages.all_advanced_since(last.stages) => {
                Trust::None(Distrust::StageMissing)
            }
            Trust::Following { .. } => Trust::Following { last: beat, heard: at },
        };
    }

    /// Loses trust for a reason that its owner found: opens and latches. The first reason stays.
    pub const fn lose_trust(&mut self, why: Distrust) {
        if self.distrust().is_none() {
            self.trust = Trust::None(why);
        }
    }

    /// What the contactor is to be now. Call at least every half second: silence opens it.
    pub fn contactor(&mut self, at: Millis) -> Level {
        self.trust = self.grown_silent(at);
        match self.trust {
            Trust::Following { last, .. } if last.permission == Permission::Granted => Level::On,
            Trust::Following { .. } | Trust::Fresh { .. } | Trust::None(_) => Level::Off,
        }
    }

    /// Why it stays open, if it does.
    #[must_use]
    pub const fn distrust(&self) -> Option<Distrust> {
        match self.trust {
            Trust::None(distrust) => Some(distrust),
            Trust::Fresh { .. } | Trust::Following { .. } => None,
        }
    }

    fn grown_silent(&self, at: Millis) -> Trust {
        match self.trust {
            Trust::Fresh { since: heard } | Trust::Following { heard, .. }
                if at.since(heard) > SILENCE_LONGEST =>
            {
                Trust::None(Distrust::Silence)
            }
            Trust::None(_) | Trust::Fresh { .. } | Trust::Following { .. } => self.trust,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::beat::Stages;

    fn beat(sequence: u32, permission: Permission) -> Beat {
        let count = sequence.wrapping_add(100);
        Beat {
            sequence,
            permission,
            stages: Stages { read: count, decided: count, acted: count, recorded: count },
        }
    }

    fn following(beats: u32) -> Warden {
        let mut warden = Warden::default();
        warden.arm(Millis::ZERO);
        for number in 0..beats {
            warden.hear(beat(number, Permission::Granted), Millis::from_seconds(u64::from(number)));
        }
        warden
    }

    #[test]
    fn sr_30_beats_in_order_and_in_time_keep_the_contactor_closed() {
        let mut warden = following(10);
        assert_eq!(warden.contactor(Millis::from_seconds(9)), Level::On);
        assert_eq!(warden.contactor(Millis::new(11_500)), Level::On, "2.5 s of silence are borne");
    }

    #[test]
    fn sr_30_silence_past_two_and_a_half_seconds_opens_and_latches() {
        let mut warden = following(10);
        assert_eq!(warden.contactor(Millis::new(11_501)), Level::Off);
        warden.hear(beat(10, Permission::Granted), Millis::new(11_600));
        assert_eq!(warden.contactor(Millis::new(11_600)), Level::Off);
        assert_eq!(warden.distrust(), Some(Distrust::Silence));
        warden.arm(Millis::new(12_000));
        warden.hear(beat(11, Permission::Granted), Millis::new(12_100));
        assert_eq!(warden.contactor(Millis::new(12_100)), Level::On);
    }

    #[test]
    fn sr_30_a_lost_or_repeated_beat_opens_and_latches() {
        for wrong in [9, 11] {
            let mut warden = following(10);
            warden.hear(beat(wrong, Permission::Granted), Millis::from_seconds(10));
            assert_eq!(warden.contactor(Millis::from_seconds(10)), Level::Off);
            assert_eq!(warden.distrust(), Some(Distrust::WrongOrder));
        }
    }

    #[test]
    fn sr_30_a_loop_that_skips_a_stage_opens_and_latches() {
        let mut warden = following(10);
        let mut hollow = beat(10, Permission::Granted);
        hollow.stages.acted -= 1;
        warden.hear(hollow, Millis::from_seconds(10));
        assert_eq!(warden.contactor(Millis::from_seconds(10)), Level::Off);
        assert_eq!(warden.distrust(), Some(Distrust::StageMissing));
    }

    #[test]
    fn sr_30_a_stage_that_jumps_by_half_its_range_or_more_has_gone_backwards() {
        for (jump, distrust) in [(0x7fff_fffe, None), (0x7fff_ffff, Some(Distrust::StageMissing))] {
            let mut warden = following(10);
            let mut jumped = beat(10, Permission::Granted);
            jumped.stages.read = beat(9, Permission::Granted).stages.read + jump;
            warden.hear(jumped, Millis::from_seconds(10));
            assert_eq!(warden.distrust(), distrust, "{jump:#x}");
        }
    }

    #[test]
    fn sr_30_trust_lost_for_another_reason_opens_and_latches_and_the_first_reason_is_told() {
        let mut warden = following(10);
        warden.lose_trust(Distrust::PinUnsound);
        warden.lose_trust(Distrust::Garbled);
        assert_eq!(warden.contactor(Millis::from_seconds(9)), Level::Off);
        warden.hear(beat(10, Permission::Granted), Millis::from_seconds(10));
        assert_eq!(warden.contactor(Millis::from_seconds(10)), Level::Off);
        assert_eq!(warden.distrust(), Some(Distrust::PinUnsound));
    }

    #[test]
    fn a_refused_permission_opens_without_latching() {
        let mut warden = following(10);
        warden.hear(beat(10, Permission::Refused), Millis::from_seconds(10));
        assert_eq!(warden.contactor(Millis::from_seconds(10)), Level::Off);
        warden.hear(beat(11, Permission::Granted), Millis::from_seconds(11));
        assert_eq!(warden.contactor(Millis::from_seconds(11)), Level::On);
    }

    #[test]
    fn counters_and_sequence_go_around_their_end() {
        let mut warden = Warden::default();
        warden.arm(Millis::ZERO);
        for (number, second) in (u32::MAX - 101..=u32::MAX).chain(0..10).zip(0..) {
            warden.hear(beat(number, Permission::Granted), Millis::from_seconds(second));
            assert_eq!(warden.contactor(Millis::from_seconds(second)), Level::On, "beat {number}");
        }
    }

    proptest! {
        #[test]
        fn never_closed_without_a_granted_beat_within_the_silence(
            steps in prop::collection::vec((0_u64..4_000, 0_u32..4, any::<bool>(), any::<bool>()), 1..60)
        ) {
            let mut warden = Warden::default();
            let (mut now_ms, mut sequence) = (0, 0_u32);
            for (wait_ms, skip, grants, arms) in steps {
                now_ms += wait_ms;
                if arms { warden.arm(Millis::new(now_ms)); }
                sequence = sequence.wrapping_add(skip);
                let permission = if grants { Permission::Granted } else { Permission::Refused };
                warden.hear(beat(sequence, permission), Millis::new(now_ms));
                let granted_ms = grants.then_some(now_ms);
                let later_ms = now_ms + 100;
                if warden.contactor(Millis::new(later_ms)) == Level::On {
                    prop_assert!(granted_ms.is_some_and(|ms| later_ms - ms <= SILENCE_LONGEST.ms()));
                }
            }
        }
    }
}
