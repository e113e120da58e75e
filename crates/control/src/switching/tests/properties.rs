//! What holds whatever is asked.

use proptest::prelude::*;

use super::*;

/// What is asked in a second: a duty for each bank, or that all be off at once.
fn asked() -> impl Strategy<Value = Option<[f64; BANKS_MOST]>> {
    proptest::option::weighted(0.97, proptest::array::uniform(0.0..=1.0_f64))
}

fn given(switching: &mut Switching, kiln: &Kiln, asked: Option<[f64; BANKS_MOST]>, at: Millis) -> BankLevels {
    match asked {
        Some(ratios) => {
            switching.levels(kiln, &ratios.map(Duty::limited), &[Joules::ZERO; PROBES_MOST], TOGETHER, at)
        }
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
            let levels = levels(&mut switching, &kiln, &duties(ratio), t);
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
