//! From duties to relay levels: error-diffusing time proportioning.
//!
//! Each bank keeps an account of the heat it owes: the asked duty flows in every step, the time
//! it is energised flows out. At the head of its window a bank with something owed is energised
//! for as much of the window as the account covers; what a window could not give, because it was
//! too short to switch, is still in the account at the next. So the mean is exact however small
//! the duty, and no closing is shorter than the relay stands.
//!
//! Banks' windows are staggered, so that their closings and their currents don't fall together.
//! What is energised never draws more than the supply limit (SR-27). Taking heat away never waits:
//! minimum times bind only what is switched for the schedule (SR-28).

#[cfg(test)]
mod tests;

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
