//! The warden's judgement of beats (SR-30), and of its limit probe where it has one (SR-37).

use hal::Level;
use pyrometry::amplifier::SensorFault;
use pyrometry::units::{Celsius, Millis};

use crate::beat::{Beat, Permission};
use crate::limit::{Limit, LimitNow};

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
    /// Heat was permitted while the limit probe was above its ceiling, or not yet well below it again.
    AboveLimit,
    /// Heat was permitted while the limit probe gave no usable reading.
    LimitBlind,
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
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warden {
    trust: Trust,
    limit: Option<Limit>,
}

impl Default for Warden {
    fn default() -> Self {
        Self { trust: Trust::None(Distrust::NotArmed), limit: None }
    }
}

impl Warden {
    /// One with a limit probe of its own.
    #[must_use]
    pub fn with_limit(ceiling: Celsius) -> Self {
        Self { limit: Some(Limit::new(ceiling)), ..Self::default() }
    }

    /// Takes what the limit probe read, and when.
    pub fn read(&mut self, reading: Result<Celsius, SensorFault>, at: Millis) {
        if let Some(limit) = &mut self.limit {
            limit.read(reading, at);
        }
    }

    /// How the limit probe finds the kiln; `None` where there is none.
    #[must_use]
    pub fn limit(&self, at: Millis) -> Option<LimitNow> {
        self.limit.map(|limit| limit.now(at))
    }

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
        // Where no heat is wanted the limit takes nothing away, and a fault that mends itself is none.
        if self.permits()
            && let Some(objection) = self.limit.and_then(|limit| limit.objection(at))
        {
            self.lose_trust(objection);
        }
        if self.permits() { Level::On } else { Level::Off }
    }

    fn permits(&self) -> bool {
        match self.trust {
            Trust::Following { last, .. } => last.permission == Permission::Granted,
            Trust::Fresh { .. } | Trust::None(_) => false,
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

    fn degrees(c: f64) -> Result<Celsius, SensorFault> {
        Celsius::new(c).ok_or(SensorFault::OutOfRange)
    }

    fn with_limit(reading: Result<Celsius, SensorFault>) -> Warden {
        let mut warden = Warden::with_limit(Celsius::new(1280.0).unwrap());
        (0..3).for_each(|second| warden.read(reading, Millis::from_seconds(second)));
        warden.arm(Millis::from_seconds(2));
        warden
    }

    #[test]
    fn sr_37_above_the_ceiling_it_opens_and_latches_and_a_new_arming_counts_only_once_it_is_colder() {
        let mut warden = with_limit(degrees(1280.0));
        warden.hear(beat(0, Permission::Granted), Millis::from_seconds(3));
        assert_eq!(warden.contactor(Millis::from_seconds(3)), Level::On, "at the ceiling");
        (0..3).for_each(|_| warden.read(degrees(1281.0), Millis::from_seconds(3)));
        assert_eq!(warden.contactor(Millis::from_seconds(3)), Level::Off);
        assert_eq!(warden.distrust(), Some(Distrust::AboveLimit));
        for (number, read_c, level) in [(1, 1275.0, Level::Off), (2, 1269.0, Level::On)] {
            warden.read(degrees(read_c), Millis::from_seconds(4));
            assert_eq!(warden.contactor(Millis::from_seconds(4)), Level::Off, "latched");
            warden.arm(Millis::from_seconds(4));
            warden.hear(beat(number, Permission::Granted), Millis::from_seconds(4));
            assert_eq!(warden.contactor(Millis::from_seconds(4)), level, "{read_c}");
        }
    }

    #[test]
    fn sr_37_a_probe_that_was_never_read_keeps_the_contactor_open() {
        let mut warden = with_limit(Err(SensorFault::Open));
        warden.hear(beat(0, Permission::Granted), Millis::from_seconds(3));
        assert_eq!(warden.contactor(Millis::from_seconds(3)), Level::Off);
        assert_eq!(warden.distrust(), Some(Distrust::LimitBlind));
        assert_eq!(warden.limit(Millis::from_seconds(3)).unwrap().latest, Some(Err(SensorFault::Open)));
    }

    #[test]
    fn sr_37_a_probe_that_is_blind_for_a_while_where_no_heat_is_permitted_latches_nothing() {
        let mut warden = with_limit(degrees(20.0));
        for (number, second) in (0..30).zip(3..) {
            warden.hear(beat(number, Permission::Refused), Millis::from_seconds(second));
            assert_eq!(warden.contactor(Millis::from_seconds(second)), Level::Off);
        }
        assert_eq!(warden.distrust(), None);
        warden.read(degrees(20.0), Millis::from_seconds(33));
        warden.hear(beat(30, Permission::Granted), Millis::from_seconds(33));
        assert_eq!(warden.contactor(Millis::from_seconds(33)), Level::On);
    }

    #[test]
    fn without_a_limit_probe_no_reading_is_asked_for() {
        let mut warden = following(10);
        warden.read(degrees(2000.0), Millis::from_seconds(9));
        assert_eq!(
            (warden.limit(Millis::from_seconds(9)), warden.contactor(Millis::from_seconds(9))),
            (None, Level::On)
        );
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

        #[test]
        fn sr_37_never_closed_while_three_readings_in_a_row_were_above_nor_while_ten_seconds_were_blind(
            steps in prop::collection::vec((0_u64..2_400, 1250_i32..1300, 0_u32..8), 1..120)
        ) {
            let mut warden = Warden::with_limit(Celsius::new(1280.0).unwrap());
            let (mut at, mut above, mut cooled) = (Millis::ZERO, 0, true);
            let mut seen = None;
            for ((wait_ms, read_c, chance), number) in steps.into_iter().zip(0..) {
                at += Millis::new(wait_ms);
                // Most are unusable, so that ten seconds without are no rarity; one in eight arms anew.
                if chance < 5 {
                    warden.read(Err(SensorFault::NoAnswer), at);
                } else {
                    warden.read(degrees(f64::from(read_c)), at);
                    seen = Some(at);
                    above = if read_c > 1280 { above + 1 } else { 0 };
                    cooled = above < 3 && (cooled || read_c < 1270);
                }
                if chance == 7 || warden.distrust().is_some() {
                    warden.arm(at);
                }
                warden.hear(beat(number, Permission::Granted), at);
                let is_known = seen.is_some_and(|seen| at.since(seen) <= Millis::from_seconds(10));
                prop_assert_eq!(warden.contactor(at) == Level::On, cooled && is_known);
            }
        }
    }
}
