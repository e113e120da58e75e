//! SR-05 at its bounds: how large a jump is, and how many are too many.

use super::*;

/// A reading that has stood at 300 °C for a while.
fn still() -> Rig {
    let mut rig = Rig::climbing();
    assert_eq!(rig.read_for(100, |_| 300.0), None);
    rig
}

fn is_discarded(judgement: &Judgement) -> bool {
    withheld_by(judgement) == Some(Interlock::JumpingReading) && !judgement.usable[0]
}

#[test]
fn sr_05_six_standard_deviations_of_the_noise_learned_in_a_minute_or_two_are_no_jump() {
    // Readings 1.5 °C to and fro have second differences of 3 °C: of white noise, a standard deviation
    // of √(9/6) = 1.22 °C, and six of them are 7.35 °C.
    let discards = |learned_s: u32, jump_c: f64| {
        let mut rig = Rig::climbing();
        for second in 0..learned_s {
            assert!(!is_discarded(&rig.read(if second % 2 == 0 { 300.0 } else { 301.5 })));
        }
        is_discarded(&rig.read(if learned_s % 2 == 1 { 300.0 } else { 301.5 } + jump_c))
    };
    assert!(!discards(640, 7.2));
    assert!(discards(640, 7.5));
    assert!(discards(10, 7.2), "ten samples are not enough to learn from");
}

#[test]
fn sr_05_after_a_gap_of_five_seconds_ten_degrees_are_no_jump_and_a_tenth_more_is() {
    for (jump_c, discarded) in [(9.9, false), (10.1, true)] {
        let mut rig = still();
        rig.span = Millis::from_seconds(5);
        assert_eq!(is_discarded(&rig.read(300.0 + jump_c)), discarded, "{jump_c} °C");
    }
}

#[test]
fn sr_05_discarded_samples_that_do_not_agree_are_no_step() {
    let mut rig = still();
    for second in 0..8_u32 {
        let judgement = rig.read(if second % 2 == 0 { 340.0 } else { 390.0 });
        assert_eq!((judgement.usable[0], judgement.trip), (false, None), "{second}");
    }
}

#[test]
fn sr_05_three_jumps_within_ten_seconds_keep_withholding_between_them_and_two_do_not() {
    let withheld_after = |jumps: u32| {
        let mut rig = still();
        for _ in 0..jumps {
            assert!(is_discarded(&rig.read(330.0)));
            rig.read(300.0);
        }
        (0..20_u32).take_while(|_| withheld_by(&rig.read(300.0)) == Some(Interlock::JumpingReading)).count()
    };
    assert_eq!(withheld_after(2), 0);
    // The first of the three was five samples ago, and counts for ten.
    assert_eq!(withheld_after(3), 4);
}

#[test]
fn sr_05_a_step_that_stayed_can_be_cleared_once_its_jumps_are_a_minute_old() {
    let mut rig = still();
    for _ in 0..5 {
        rig.read(340.0);
    }
    rig.phase = Phase::Tripped;
    for second in 1..=60 {
        assert_eq!(rig.interlocks.clear(), Err(()), "{second} s after");
        assert_eq!(trip_of(&rig.read(340.0)), Some(Interlock::JumpingReading));
    }
    assert_eq!(rig.interlocks.clear(), Ok(()));
}
