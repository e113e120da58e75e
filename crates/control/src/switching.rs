//! From duties to relay levels: error-diffusing time proportioning.
//!
//! Each bank keeps an account of the heat it owes: the asked duty flows in every step, the time
//! it is energised flows out. At the head of its window a bank with something owed is energised
//! for as much of the window as the account covers; what a window could not give, because it was
//! too short to switch, is still in the account at the next. So the mean is exact however small
//! the duty, and no closing is shorter than the relay stands.
//!
//! Banks' windows are staggered, so that their closings and their currents don't fall together.
//! Taking heat away never waits: minimum times bind only what is switched for the schedule.

use pyrometry::units::{Duty, Millis, between};

use crate::BANKS_MOST;
use crate::decision::BankLevels;
use crate::kiln::{Bank, Kiln};

/// The most a bank may owe, in windows: enough for a duty below the shortest closing to gather,
/// little enough that a bank held back by the supply limit does not catch up for long after.
const OWED_MOST_WINDOWS: f64 = 1.5;

/// An account this full says that the bank doesn't get what it is asked for.
const OWED_FULL_WINDOWS: f64 = 1.4;

/// One bank's account and its relay's state.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Account {
    /// Energised seconds owed.
    owed_s: f64,
    /// Whether the relay is energised.
    on: bool,
    /// Since when it is as it is; `None` before the first switching, when nothing binds.
    since: Option<Millis>,
    /// Which window of the clock it decided in last.
    window: Option<u64>,
    /// Energised until, in this window.
    off_at: Millis,
}

/// The switching of every bank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Switching {
    accounts: [Account; BANKS_MOST],
    last: Option<Millis>,
}

impl Switching {
    /// All off at once, and nothing owed: for every step in which heat is not permitted.
    pub(crate) fn all_off(&mut self, at: Millis) -> BankLevels {
        for account in &mut self.accounts {
            account.owed_s = 0.0;
            account.window = None;
            account.turn(false, at);
        }
        self.last = Some(at);
        BankLevels::default()
    }

    /// The levels for this step.
    pub(crate) fn levels(&mut self, kiln: &Kiln, duty: &[Duty; BANKS_MOST], at: Millis) -> BankLevels {
        let span_s = at.since(self.last.unwrap_or(at)).seconds();
        self.last = Some(at);
        let banks = kiln.banks.len();
        for ((account, bank), (duty, number)) in
            self.accounts.iter_mut().zip(&kiln.banks).zip(duty.iter().zip(0_u64..))
        {
            account.book(*duty, span_s, bank);
            account.plan(bank, *duty, at, stagger(bank, number, banks));
        }
        self.grant(kiln, at)
    }

    /// Turns relays off first, then on as the supply limit lets, those that owe most first.
    fn grant(&mut self, kiln: &Kiln, at: Millis) -> BankLevels {
        for (account, bank) in self.accounts.iter_mut().zip(&kiln.banks) {
            if account.on && !account.wanted(at) && account.may_turn(bank.on_least, at) {
                account.turn(false, at);
            }
        }
        let mut considered = BankLevels::default();
        for _ in 0..kiln.banks.len() {
            let Some(number) = self.most_owing(kiln, considered, at) else { break };
            if let Some(flag) = considered.get_mut(number) {
                *flag = true;
            }
            if !self.fits(kiln, number) {
                self.make_way(kiln, number, at);
            }
            if self.fits(kiln, number)
                && let Some(account) = self.accounts.get_mut(number)
            {
                account.turn(true, at);
            }
        }
        self.energised()
    }

    fn energised(&self) -> BankLevels {
        let mut levels = BankLevels::default();
        for (level, account) in levels.iter_mut().zip(&self.accounts) {
            *level = account.on;
        }
        levels
    }

    /// Whether the supply carries one more bank.
    fn fits(&self, kiln: &Kiln, number: usize) -> bool {
        let mut levels = self.energised();
        if let Some(level) = levels.get_mut(number) {
            *level = true;
        }
        kiln.drawn(&levels) <= kiln.supply_limit
    }

    /// Where the supply can't carry all, a bank that has had a whole window gives way to one that
    /// has waited as long.
    fn make_way(&mut self, kiln: &Kiln, waiting: usize, at: Millis) {
        let waited_long = match (self.accounts.get(waiting), kiln.banks.get(waiting)) {
            (Some(account), Some(bank)) => account.may_turn(bank.window, at),
            _ => false,
        };
        if !waited_long {
            return;
        }
        for (account, bank) in self.accounts.iter_mut().zip(&kiln.banks) {
            if account.on && account.may_turn(bank.window, at) {
                account.turn(false, at);
            }
        }
    }

    /// Whether some bank owes so much that its account is full: the supply limit, not the
    /// regulator, decides its heat.
    pub(crate) fn starved(&self, kiln: &Kiln) -> bool {
        self.accounts
            .iter()
            .zip(&kiln.banks)
            .any(|(account, bank)| account.owed_s >= OWED_FULL_WINDOWS * bank.window.seconds())
    }

    fn most_owing(&self, kiln: &Kiln, considered: BankLevels, at: Millis) -> Option<usize> {
        let mut best: Option<(usize, f64)> = None;
        for (number, ((account, bank), done)) in
            self.accounts.iter().zip(&kiln.banks).zip(considered).enumerate()
        {
            let eligible = !done && !account.on && account.wanted(at) && account.may_turn(bank.off_least, at);
            if eligible && best.is_none_or(|(_, owed_s)| account.owed_s > owed_s) {
                best = Some((number, account.owed_s));
            }
        }
        best.map(|(number, _)| number)
    }
}

/// Where in its window a bank begins: windows are shared out evenly among the banks.
fn stagger(bank: &Bank, number: u64, banks: usize) -> Millis {
    let share = u64::try_from(banks).unwrap_or(1).max(1);
    Millis::new(bank.window.ms() / share * number)
}

impl Account {
    /// Books the span just past.
    fn book(&mut self, duty: Duty, span_s: f64, bank: &Bank) {
        let given_s = if self.on { span_s } else { 0.0 };
        let most_s = OWED_MOST_WINDOWS * bank.window.seconds();
        self.owed_s = between(self.owed_s + duty.ratio() * span_s - given_s, -most_s, most_s);
    }

    /// At the head of a window, decides how much of it to be energised for.
    fn plan(&mut self, bank: &Bank, duty: Duty, at: Millis, stagger: Millis) {
        let window_ms = bank.window.ms().max(1);
        let shifted = at.ms().saturating_add(window_ms).saturating_sub(stagger.ms());
        let (window, into) = (shifted / window_ms, shifted % window_ms);
        if self.window == Some(window) {
            return;
        }
        let head_missed = self.window.is_none() && into != 0;
        self.window = Some(window);
        let left_s = Millis::new(window_ms - into).seconds();
        let due_s = self.owed_s + duty.ratio() * left_s;
        let (least_on_s, least_off_s) = (bank.on_least.seconds(), bank.off_least.seconds());
        let on_s = if due_s < least_on_s || (head_missed && left_s < least_on_s + least_off_s) {
            0.0
        } else if due_s > left_s - least_off_s {
            left_s
        } else {
            due_s
        };
        self.off_at = at + Millis::from_seconds_f64(on_s).unwrap_or(Millis::ZERO);
    }

    /// Whether this window's plan has it energised now.
    fn wanted(&self, at: Millis) -> bool {
        at < self.off_at
    }

    fn may_turn(&self, least: Millis, at: Millis) -> bool {
        self.since.is_none_or(|since| at.since(since) >= least)
    }

    fn turn(&mut self, on: bool, at: Millis) {
        if self.on != on {
            self.on = on;
            self.since = Some(at);
        }
        if !on {
            self.off_at = at;
        }
    }
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use proptest::prelude::*;

    use super::*;
    use crate::testing::{BANK_W, kiln_with_banks};

    fn duties(ratio: f64) -> [Duty; BANKS_MOST] {
        [Duty::limited(ratio); BANKS_MOST]
    }

    /// Runs for a time at one duty; gives each bank's energised seconds and closings.
    fn run(kiln: &Kiln, ratio: f64, seconds: u64) -> Vec<(u64, u64)> {
        let mut switching = Switching::default();
        let mut tally: Vec<(u64, u64)> = kiln.banks.iter().map(|_| (0, 0)).collect();
        let mut before = BankLevels::default();
        for t in 0..seconds {
            let levels = switching.levels(kiln, &duties(ratio), Millis::from_seconds(t));
            let drawn: f64 =
                kiln.banks.iter().zip(&levels).filter(|(_, on)| **on).map(|(b, _)| b.power.w()).sum();
            assert!(drawn <= kiln.supply_limit.w(), "SR-27: {drawn} W at {t} s");
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
            bank.power = pyrometry::units::Watts::new(power_w).unwrap();
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
    fn heat_is_taken_away_without_waiting_for_the_minimum_time() {
        let kiln = kiln_with_banks(1, 1.0);
        let mut switching = Switching::default();
        assert!(switching.levels(&kiln, &duties(1.0), Millis::ZERO)[0]);
        assert_eq!(switching.all_off(Millis::from_seconds(1)), BankLevels::default());
    }

    proptest! {
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
}
