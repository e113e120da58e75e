//! From duties to relay levels: as few operations as a bounded swing of the heat allows.
//!
//! Each bank keeps an account of the heat it owes: the asked duty flows in every step, the time
//! it is energised flows out. A zone's accounts together, in joules, are how far the heat given lags
//! what was asked. While that stays within a band nothing is switched; at its upper edge the bank that
//! owes most is turned on, at its lower edge the one that owes least is turned off. So the mean is
//! exact however small the duty, the swing of the heat is the band whatever the duty and the number of
//! banks, and no fewer operations would do for that swing: of several banks one trims while the others
//! stand, and where the duty is just what some of them give, none is switched at all.
//!
//! Banks that are alike take turns: one that is owed much more than another that is on takes its place,
//! so that heat is spread in the chamber as asked. One whose heat its zone does not feel keeps to its own
//! account and is asked for as much: what it gives, if anything, does not count as the zone's. A relay's then
//! swings as wide as any band, which shows whether it is felt after all.
//!
//! What is energised never draws more than the supply limit (SR-27). Taking heat away never waits:
//! minimum times bind only what is switched for the schedule (SR-28).

#[cfg(test)]
mod tests;

use pyrometry::units::{Duty, Joules, Millis, between, greater};

use crate::decision::BankLevels;
use crate::kiln::{Bank, Kiln, SwitchKind};
use crate::{BANKS_MOST, PROBES_MOST};

/// A bank that is owed so much more than one that is on takes its place: little enough that banks at
/// different heights heat evenly, much enough that taking turns wears relays less than trimming does.
const TURNS_S: f64 = 40.0;

/// What lies beyond a zone's last edge: what a step more adds, and what a relay that may not turn yet does.
const BEYOND_EDGES_S: f64 = 3.0;

/// A zone that is owed all it may be but so much doesn't get what it is asked for.
const STARVED_BUT_S: f64 = 1.0;

/// The widest band of one bank, in seconds of its power: at half duty a cycle of 160 s.
const BAND_WIDEST_S: f64 = 40.0;

/// A bank that was turned at the edge may not be enough to turn the account back: the next one is turned
/// half a band's edge further on, not in the next second.
const NEXT_EDGE: f64 = 0.5;

/// At half duty a band is crossed at half the pace of time, twice in a cycle.
const BANDS_IN_A_CYCLE: f64 = 4.0;

/// One bank's account and its relay's state.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Account {
    /// Energised seconds owed.
    owed_s: f64,
    /// With which others it is trimmed.
    group: u8,
    /// Whether the relay is energised.
    on: bool,
    /// Since when it is as it is; `None` before the first switching, when nothing binds.
    since: Option<Millis>,
}

/// A way to turn a relay.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Turn {
    On,
    #[default]
    Off,
}

/// What each zone forgives: how much heat may come too early or too late, in all.
pub(crate) type Swings = [Joules; PROBES_MOST];

/// Groups of banks that are trimmed together: one a zone, and one for every bank that is trimmed alone.
const GROUPS_MOST: usize = PROBES_MOST + BANKS_MOST;

/// The switching of every bank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Switching {
    accounts: [Account; BANKS_MOST],
    /// Which way banks of each group were turned since it last was owed nothing, and how many.
    turned: [(Turn, u8); GROUPS_MOST],
    /// Whether each group is owed so much that the supply limit, not the regulator, decides its heat.
    starved: [bool; GROUPS_MOST],
    last: Option<Millis>,
}

impl Switching {
    /// All off at once, and nothing owed: for every step in which heat is not permitted.
    pub(crate) fn all_off(&mut self, at: Millis) -> BankLevels {
        for account in &mut self.accounts {
            account.owed_s = 0.0;
            account.turn(false, at);
        }
        self.turned = [(Turn::Off, 0); GROUPS_MOST];
        self.starved = [false; GROUPS_MOST];
        self.last = Some(at);
        BankLevels::default()
    }

    /// The levels for this step; a bank that is `alone` is not counted on for its zone's heat.
    pub(crate) fn levels(
        &mut self,
        kiln: &Kiln,
        duty: &[Duty; BANKS_MOST],
        swings: &Swings,
        alone: BankLevels,
        at: Millis,
    ) -> BankLevels {
        let span_s = at.since(self.last.unwrap_or(at)).seconds();
        self.last = Some(at);
        for (account, duty) in self.accounts.iter_mut().zip(duty).take(kiln.banks.len()) {
            account.book(*duty, span_s);
        }
        self.group(kiln, alone);
        for group in (0_u8..).take(GROUPS_MOST) {
            let Some((zone, duty)) = self.asked(kiln, group, duty) else { continue };
            let own = usize::from(group) >= PROBES_MOST;
            let swing = if own { Joules::GREATEST } else { of_zone(swings, zone) };
            self.forgive(kiln, group, swing);
            if duty == Duty::OFF {
                self.extinguish(kiln, group, at);
            } else if duty == Duty::FULL {
                self.turn_next(kiln, group, Turn::On, |_| true, at);
            } else {
                self.trim(kiln, group, swing, at);
            }
        }
        self.take_turns(kiln, at);
        self.energised()
    }

    /// Whether some zone is owed so much that the supply limit, not the regulator, decides its heat.
    pub(crate) fn starved(&self) -> bool {
        self.starved.contains(&true)
    }

    fn energised(&self) -> BankLevels {
        let mut levels = BankLevels::default();
        for (level, account) in levels.iter_mut().zip(&self.accounts) {
            *level = account.on;
        }
        levels
    }

    /// Each bank with its zone's others, or by itself.
    fn group(&mut self, kiln: &Kiln, alone: BankLevels) {
        let own = (0_u8..).skip(PROBES_MOST);
        for (((account, bank), alone), own) in self.accounts.iter_mut().zip(&kiln.banks).zip(alone).zip(own) {
            account.group = if alone { own } else { bank.probe };
        }
    }

    /// Whose zone a group is of, and what is asked of it; nothing of a group without banks.
    fn asked(&self, kiln: &Kiln, group: u8, duty: &[Duty; BANKS_MOST]) -> Option<(u8, Duty)> {
        let first = self.of_group(kiln, group).next()?;
        Some((first.bank.probe, *duty.get(first.number)?))
    }

    /// Heat that a group's banks owe together, J.
    fn owed_j(&self, kiln: &Kiln, group: u8) -> f64 {
        self.of_group(kiln, group).map(|entry| entry.account.owed_s * entry.bank.power.w()).sum()
    }

    /// The full power of a group.
    fn full_w(&self, kiln: &Kiln, group: u8) -> f64 {
        greater(1.0, self.of_group(kiln, group).map(|entry| entry.bank.power.w()).sum())
    }

    fn of_group<'a>(&'a self, kiln: &'a Kiln, group: u8) -> impl Iterator<Item = Entry<'a>> {
        self.banks(kiln).filter(move |entry| entry.account.group == group)
    }

    fn banks<'a>(&'a self, kiln: &'a Kiln) -> impl Iterator<Item = Entry<'a>> {
        let banks = self.accounts.iter().zip(&kiln.banks).enumerate();
        banks.map(|(number, (account, bank))| Entry { number, account, bank })
    }

    /// Strikes off, of all its banks alike, what a group is owed beyond its last edge: it would never get
    /// it but for catching up later, when it is no longer wanted.
    fn forgive(&mut self, kiln: &Kiln, group: u8, swing: Joules) {
        let full_w = self.full_w(kiln, group);
        let (mut edge, mut next_edges) = (0.0, 1.0);
        for entry in self.of_group(kiln, group) {
            edge = greater(edge, edge_j(entry.bank, swing));
            next_edges += NEXT_EDGE;
        }
        let most_s = edge * next_edges / full_w + BEYOND_EDGES_S;
        let owed_s = self.owed_j(kiln, group) / full_w;
        if let Some(starved) = self.starved.get_mut(usize::from(group)) {
            *starved = owed_s > most_s - STARVED_BUT_S;
        }
        self.strike(group, owed_s - between(owed_s, -most_s, most_s));
    }

    fn strike(&mut self, group: u8, struck_s: f64) {
        for account in self.accounts.iter_mut().filter(|account| account.group == group) {
            account.owed_s -= struck_s;
        }
    }

    /// No heat is wanted: all off, and what was owed is owed no longer.
    fn extinguish(&mut self, kiln: &Kiln, group: u8, at: Millis) {
        self.strike(group, greater(self.owed_j(kiln, group) / self.full_w(kiln, group), 0.0));
        if let Some(turned) = self.turned.get_mut(usize::from(group)) {
            *turned = (Turn::Off, 0);
        }
        for (account, bank) in self.accounts.iter_mut().zip(&kiln.banks) {
            if account.group == group && account.may_turn(bank.on_least, at) {
                account.turn(false, at);
            }
        }
    }

    /// Turns one bank on at the upper edge of its band, or one off at its lower edge.
    fn trim(&mut self, kiln: &Kiln, group: u8, swing: Joules, at: Millis) {
        let owed_j = self.owed_j(kiln, group);
        let turn = if owed_j > 0.0 { Turn::On } else { Turn::Off };
        let Some(turned) = self.turned.get_mut(usize::from(group)) else { return };
        if turned.0 != turn {
            *turned = (turn, 0);
        }
        let beyond = 1.0 + NEXT_EDGE * f64::from(turned.1);
        self.turn_next(kiln, group, turn, |bank| owed_j.abs() >= beyond * edge_j(bank, swing), at);
    }

    /// Turns on the bank of a group that is owed most, or off the one that is owed least, of those that
    /// may be turned; on only if the supply carries it.
    fn turn_next(&mut self, kiln: &Kiln, group: u8, turn: Turn, may: impl Fn(&Bank) -> bool, at: Millis) {
        let on = turn == Turn::On;
        let next = self
            .of_group(kiln, group)
            .filter(|entry| entry.account.on != on && entry.may_turn(at))
            .filter(|entry| may(entry.bank) && (!on || self.fits(kiln, entry.number, BankLevels::default())))
            .reduce(|first, next| {
                let (first_s, next_s) = (first.account.owed_s, next.account.owed_s);
                let sooner = if on { next_s > first_s } else { next_s < first_s };
                if sooner { next } else { first }
            })
            .map(|entry| entry.number);
        if let Some(account) = next.and_then(|number| self.accounts.get_mut(number)) {
            account.turn(on, at);
            if let Some((_, count)) = self.turned.get_mut(usize::from(group)) {
                *count = count.saturating_add(1);
            }
        }
    }

    /// Lets the bank that is owed most take the place of those that are owed least.
    fn take_turns(&mut self, kiln: &Kiln, at: Millis) {
        let waiting = self.banks(kiln).filter(|entry| !entry.account.on && entry.may_turn(at));
        let Some(waiting) =
            waiting.reduce(|most, next| if next.account.owed_s > most.account.owed_s { next } else { most })
        else {
            return;
        };
        let number = waiting.number;
        let Some(give_way) = self.giving_way_to(kiln, &waiting, at) else { return };
        for (account, gives_way) in self.accounts.iter_mut().zip(give_way) {
            if gives_way {
                account.turn(false, at);
            }
        }
        if let Some(account) = self.accounts.get_mut(number) {
            account.turn(true, at);
        }
    }

    /// Which banks are to give way to one that waits: one of its own group, or, where it is the supply
    /// that it waits for, as many as make room for it.
    fn giving_way_to(&self, kiln: &Kiln, waiting: &Entry<'_>, at: Millis) -> Option<BankLevels> {
        let mut give_way = BankLevels::default();
        let next = |given_way: &BankLevels, group: Option<u8>| {
            self.banks(kiln)
                .filter(|entry| {
                    entry.account.on
                        && entry.may_turn(at)
                        && !given_way.get(entry.number).is_some_and(|gives_way| *gives_way)
                        && group.is_none_or(|group| entry.account.group == group)
                        && waiting.account.owed_s - entry.account.owed_s > TURNS_S
                })
                .reduce(|least, next| if next.account.owed_s < least.account.owed_s { next } else { least })
                .map(|entry| entry.number)
        };
        let mut chosen = next(&give_way, Some(waiting.account.group));
        if chosen.is_none() && self.fits(kiln, waiting.number, give_way) {
            return None; // it waits for its band, not for a place
        }
        while let Some(number) = chosen.or_else(|| next(&give_way, None)) {
            if let Some(gives_way) = give_way.get_mut(number) {
                *gives_way = true;
            }
            if self.fits(kiln, waiting.number, give_way) {
                return Some(give_way);
            }
            chosen = None;
        }
        None
    }

    /// Whether the supply carries one more bank when some give way.
    fn fits(&self, kiln: &Kiln, number: usize, give_way: BankLevels) -> bool {
        let mut levels = self.energised();
        for (level, gives_way) in levels.iter_mut().zip(give_way) {
            *level &= !gives_way;
        }
        if let Some(level) = levels.get_mut(number) {
            *level = true;
        }
        kiln.drawn(&levels) <= kiln.supply_limit
    }
}

fn of_zone(swings: &Swings, zone: u8) -> Joules {
    swings.get(usize::from(zone)).copied().unwrap_or(Joules::ZERO)
}

/// A bank with its account.
#[derive(Clone, Copy)]
struct Entry<'a> {
    number: usize,
    account: &'a Account,
    bank: &'a Bank,
}

impl Entry<'_> {
    /// Whether its relay has stood for as long as it must.
    fn may_turn(&self, at: Millis) -> bool {
        self.account.may_turn(if self.account.on { self.bank.on_least } else { self.bank.off_least }, at)
    }
}

/// How much a zone may be owed, or ahead, before this bank is turned: half its band.
///
/// A band is at least what lets every closing and opening last as long as it must: at a small duty
/// it is the time on, at a large one the time off.
fn edge_j(bank: &Bank, swing: Joules) -> f64 {
    let shortest_s = greater(
        bank.cycle_least.seconds() / BANDS_IN_A_CYCLE,
        greater(bank.on_least.seconds(), bank.off_least.seconds()),
    );
    let band_s = match bank.switch {
        SwitchKind::SolidState => shortest_s,
        SwitchKind::Mechanical => {
            between(swing.j() / bank.power.w(), shortest_s, greater(shortest_s, BAND_WIDEST_S))
        }
    };
    0.5 * band_s * bank.power.w()
}

impl Account {
    /// Books the span just past.
    fn book(&mut self, duty: Duty, span_s: f64) {
        let given_s = if self.on { span_s } else { 0.0 };
        self.owed_s += duty.ratio() * span_s - given_s;
    }

    fn may_turn(&self, least: Millis, at: Millis) -> bool {
        self.since.is_none_or(|since| at.since(since) >= least)
    }

    fn turn(&mut self, on: bool, at: Millis) {
        if self.on != on {
            self.on = on;
            self.since = Some(at);
        }
    }
}
