//! SR-27 and SR-28, and that the mean is the duty.

use std::vec::Vec;

use proptest::prelude::*;

use super::*;
use crate::testing::{BANK_W, kiln_with_banks};
use pyrometry::units::Watts;

fn duties(ratio: f64) -> [Duty; BANKS_MOST] {
    [Duty::limited(ratio); BANKS_MOST]
}

fn drawn_w(kiln: &Kiln, levels: BankLevels) -> f64 {
    kiln.banks.iter().zip(levels).filter(|(_, on)| *on).map(|(bank, _)| bank.power.w()).sum()
}

/// Runs for a time at one duty; gives each bank's energised seconds and closings.
fn run(kiln: &Kiln, ratio: f64, seconds: u64) -> Vec<(u64, u64)> {
    let mut switching = Switching::default();
    let mut tally: Vec<(u64, u64)> = kiln.banks.iter().map(|_| (0, 0)).collect();
    let mut before = BankLevels::default();
    for t in 0..seconds {
        let levels = switching.levels(kiln, &duties(ratio), Millis::from_seconds(t));
        let drawn_w = drawn_w(kiln, levels);
        assert!(drawn_w <= kiln.supply_limit.w(), "SR-27: {drawn_w} W at {t} s");
        for ((entry, on), was) in tally.iter_mut().zip(levels).zip(before) {
            entry.0 += u64::from(on);
            entry.1 += u64::from(on && !was);
        }
        before = levels;
    }
    tally
}

#[test]
fn a_duty_too_small_for_one_closing_a_window_is_still_given_in_the_mean() {
    let kiln = kiln_with_banks(1, 1.0);
    let tally = run(&kiln, 0.02, 10_000);
    assert!(tally[0].0.abs_diff(200) <= 4, "{tally:?}");
}

#[test]
fn sr_27_supply_for_one_bank_of_two_shares_it_evenly() {
    let kiln = kiln_with_banks(2, 0.5);
    let tally = run(&kiln, 1.0, 2_000);
    assert!(tally[0].0.abs_diff(tally[1].0) <= 60, "{tally:?}");
    assert!(tally[0].0 + tally[1].0 >= 1_980, "{tally:?}");
}

#[test]
fn sr_27_a_supply_for_just_the_rating_carries_all_banks_in_whatever_order_they_turn_on() {
    let mut kiln = kiln_with_banks(3, 1.0);
    // These powers add up to another last bit where the second and third come first.
    for (bank, power_w) in kiln.banks.iter_mut().zip([100.1, 200.2, 300.3]) {
        bank.power = Watts::new(power_w).unwrap();
    }
    kiln.supply_limit = kiln.rated();
    let mut switching = Switching::default();
    let mut duty = duties(1.0);
    duty[0] = Duty::OFF;
    for t in 0..200 {
        switching.levels(&kiln, &duty, Millis::from_seconds(t));
    }
    // Within a window the first one joins, and none gives way to it.
    for t in 200..300 {
        let levels = switching.levels(&kiln, &duties(1.0), Millis::from_seconds(t));
        assert!(levels[1] && levels[2] && (levels[0] || t < 220), "{levels:?} at {t} s");
    }
}

#[test]
fn sr_27_a_supply_for_just_all_banks_lets_all_be_on_and_one_watt_less_does_not() {
    for (less_w, most_on) in [(0.0, 3), (1.0, 2)] {
        let mut kiln = kiln_with_banks(3, 1.0);
        kiln.supply_limit = Watts::new(kiln.supply_limit.w() - less_w).unwrap();
        let mut switching = Switching::default();
        let on = (0..400).map(|t| {
            let levels = switching.levels(&kiln, &duties(1.0), Millis::from_seconds(t));
            levels.iter().filter(|on| **on).count()
        });
        assert_eq!(on.max(), Some(most_on), "{less_w} W less than all");
    }
}

#[test]
fn full_duty_closes_each_relay_once() {
    let tally = run(&kiln_with_banks(2, 1.0), 1.0, 1_000);
    assert_eq!(tally.iter().map(|(_, closings)| *closings).max(), Some(1), "{tally:?}");
}

#[test]
fn banks_are_not_all_closed_in_the_same_second() {
    let kiln = kiln_with_banks(4, 1.0);
    let mut switching = Switching::default();
    let mut before = BankLevels::default();
    for t in 0..400 {
        let levels = switching.levels(&kiln, &duties(0.3), Millis::from_seconds(t));
        let closings = levels.iter().zip(before).filter(|(on, was)| **on && !was).count();
        assert!(closings <= 1 || t == 0, "{closings} closings at {t} s");
        before = levels;
    }
}

#[test]
fn sr_28_heat_is_taken_away_without_waiting_for_the_minimum_time() {
    let kiln = kiln_with_banks(1, 1.0);
    let mut switching = Switching::default();
    assert!(switching.levels(&kiln, &duties(1.0), Millis::ZERO)[0]);
    assert_eq!(switching.all_off(Millis::from_seconds(1)), BankLevels::default());
}

#[test]
fn a_bank_that_never_gets_its_turn_counts_as_starved_after_four_tenths_more_than_a_window() {
    let mut kiln = kiln_with_banks(1, 1.0);
    kiln.supply_limit = Watts::new(1.0).unwrap();
    let mut switching = Switching::default();
    for t in 0..40 {
        switching.levels(&kiln, &duties(1.0), Millis::from_seconds(t));
        assert_eq!(switching.starved(&kiln), t >= 28, "{t}");
    }
}

/// The seconds in which the one bank is energised, where heat is first asked for at some second of
/// windows of 20 s; its shortest times are 2 s off and so many on.
fn on_from(first_s: u64, ratio: f64, until_s: u64, on_least_s: u64) -> Vec<u64> {
    let mut kiln = kiln_with_banks(1, 1.0);
    kiln.banks[0].on_least = Millis::from_seconds(on_least_s);
    let mut switching = Switching::default();
    switching.all_off(Millis::from_seconds(first_s));
    let mut on_in = |t: &u64| switching.levels(&kiln, &duties(ratio), Millis::from_seconds(*t))[0];
    (first_s..until_s).filter(|t| on_in(t)).collect()
}

#[test]
fn a_window_joined_in_its_middle_is_given_the_duty_of_what_is_left_of_it() {
    assert_eq!(on_from(10, 0.5, 20, 2), [10, 11, 12, 13, 14]);
}

#[test]
fn sr_28_what_is_due_is_given_if_it_lasts_as_long_as_a_relay_must_and_else_kept_for_the_next_window() {
    assert_eq!(on_from(20, 0.1, 40, 2), [20, 21], "two seconds of twenty");
    assert_eq!(on_from(20, 0.05, 40, 2), [], "one is too short");
}

#[test]
fn sr_28_a_relay_that_would_be_off_for_less_than_it_must_stays_on() {
    assert_eq!(on_from(10, 0.8, 20, 2), [10, 11, 12, 13, 14, 15, 16, 17], "two seconds off");
    assert_eq!(on_from(10, 0.9, 20, 2), [10, 11, 12, 13, 14, 15, 16, 17, 18, 19]);
}

#[test]
fn sr_28_a_window_joined_too_late_to_turn_on_and_off_again_is_left_out() {
    assert_eq!(on_from(16, 1.0, 22, 2), [16, 17, 18, 19, 20, 21], "two seconds on, two off");
    assert_eq!(on_from(17, 1.0, 22, 2), [20, 21]);
    assert_eq!(on_from(15, 1.0, 22, 3), [15, 16, 17, 18, 19, 20, 21], "three on, two off");
    assert_eq!(on_from(16, 1.0, 22, 3), [20, 21]);
}

#[test]
fn a_step_that_comes_late_in_a_window_does_not_open_a_relay_at_full_duty() {
    let kiln = kiln_with_banks(1, 1.0);
    let mut switching = Switching::default();
    for t in (0..20).chain(37..60) {
        assert!(switching.levels(&kiln, &duties(1.0), Millis::from_seconds(t))[0], "{t} s");
    }
}

/// Which of two banks is energised when, after 21 s without a supply, there is one for one of them.
fn first_of_two(duty: [f64; 2]) -> [bool; 2] {
    let mut kiln = kiln_with_banks(2, 0.5);
    let for_one = core::mem::replace(&mut kiln.supply_limit, Watts::new(1.0).unwrap());
    let mut asked = duties(0.0);
    asked[0] = Duty::limited(duty[0]);
    asked[1] = Duty::limited(duty[1]);
    let mut switching = Switching::default();
    for t in 0..21 {
        switching.levels(&kiln, &asked, Millis::from_seconds(t));
    }
    kiln.supply_limit = for_one;
    let levels = switching.levels(&kiln, &asked, Millis::from_seconds(21));
    [levels[0], levels[1]]
}

#[test]
fn sr_27_where_one_of_two_can_be_on_the_one_that_is_owed_most_is_and_of_equals_the_first() {
    assert_eq!(first_of_two([0.2, 1.0]), [false, true]);
    assert_eq!(first_of_two([1.0, 0.2]), [true, false]);
    assert_eq!(first_of_two([1.0, 1.0]), [true, false]);
}

/// What is asked in a second: a duty for each bank, or that all be off at once.
fn asked() -> impl Strategy<Value = Option<[f64; BANKS_MOST]>> {
    proptest::option::weighted(0.97, proptest::array::uniform(0.0..=1.0_f64))
}

fn given(switching: &mut Switching, kiln: &Kiln, asked: Option<[f64; BANKS_MOST]>, at: Millis) -> BankLevels {
    match asked {
        Some(ratios) => switching.levels(kiln, &ratios.map(Duty::limited), at),
        None => switching.all_off(at),
    }
}

proptest! {
    #[test]
    fn sr_27_no_step_draws_more_than_the_supply_whatever_is_asked_of_whichever_banks(
        powers_w in proptest::collection::vec(500.0..6_000.0_f64, 1..=6),
        supply_share in 0.1..=1.0_f64,
        seconds in proptest::collection::vec(asked(), 300),
    ) {
        let mut kiln = kiln_with_banks(powers_w.len(), supply_share);
        for (bank, power_w) in kiln.banks.iter_mut().zip(&powers_w) {
            bank.power = Watts::new(*power_w).unwrap();
        }
        kiln.supply_limit = Watts::new(powers_w.iter().sum::<f64>() * supply_share).unwrap();
        let mut switching = Switching::default();
        for (t, asked) in (0..).zip(seconds) {
            let levels = given(&mut switching, &kiln, asked, Millis::from_seconds(t));
            let drawn_w = drawn_w(&kiln, levels);
            prop_assert!(drawn_w <= kiln.supply_limit.w(), "{} W at {} s", drawn_w, t);
        }
    }

    #[test]
    fn sr_28_minimum_times_are_kept_whatever_is_asked_but_for_all_off(
        least_s in (1_u64..=9, 1_u64..=9), supply_share in 0.3..=1.0_f64,
        seconds in proptest::collection::vec(asked(), 600),
    ) {
        let mut kiln = kiln_with_banks(3, supply_share);
        for bank in &mut kiln.banks {
            bank.on_least = Millis::from_seconds(least_s.0);
            bank.off_least = Millis::from_seconds(least_s.1);
        }
        let mut switching = Switching::default();
        let mut since = [(false, None); BANKS_MOST];
        for (t, asked) in (0_u64..).zip(seconds) {
            let levels = given(&mut switching, &kiln, asked, Millis::from_seconds(t));
            for (level, (before, turned)) in levels.iter().zip(&mut since) {
                if *level == *before {
                    continue;
                }
                let least = if *before { least_s.0 } else { least_s.1 };
                let lasted = turned.map(|then: u64| t - then);
                let taken_away = *before && asked.is_none();
                prop_assert!(
                    taken_away || lasted.is_none_or(|lasted| lasted >= least),
                    "turned after {:?} s of {} at {} s", lasted, least, t
                );
                (*before, *turned) = (*level, Some(t));
            }
        }
    }

    #[test]
    fn sr_28_minimum_times_are_kept_and_the_mean_is_the_duty(
        ratio in 0.0..=1.0_f64, banks in 1_usize..=4,
    ) {
        let kiln = kiln_with_banks(banks, 1.0);
        let mut switching = Switching::default();
        let mut since = [(false, 0_u64); BANKS_MOST];
        let mut on_s = [0_u64; BANKS_MOST];
        for t in 0..4_000_u64 {
            let levels = switching.levels(&kiln, &duties(ratio), Millis::from_seconds(t));
            for ((level, state), total) in levels.iter().zip(&mut since).zip(&mut on_s) {
                *total += u64::from(*level);
                if *level != state.0 {
                    prop_assert!(state.1 == 0 || t - state.1 >= 2, "changed after {} s", t - state.1);
                    *state = (*level, t);
                }
            }
        }
        for total in on_s.iter().take(banks) {
            let asked_s = ratio * 4_000.0;
            prop_assert!((f64::from(u32::try_from(*total).unwrap()) - asked_s).abs() <= 31.0);
        }
        prop_assert!(BANK_W > 0.0);
    }
}
