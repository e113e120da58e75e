//! How much of each bank's heat its zone's thermocouple feels, from when it was on and how the reading
//! moved.
//!
//! Banks of one zone take turns, so the reading's small swings tell them apart. Reading and heat are both
//! cut off from what is slow (schedule, lining, ware); what is left of the reading is put down, by least
//! squares, to the heat of one bank and to that of the zone's others together, watt for watt. How long
//! the chamber keeps the heat of a turn, and how far elements and thermocouple lag, is not known: several
//! answers are tried, and those that explain about as much as any count. What is long past is forgotten,
//! since parts fail.
//!
//! What is compared is two banks under one thermocouple: neither the kiln's heat capacity nor its model
//! comes into it.

#[cfg(test)]
mod tests;

use pyrometry::units::{Millis, greater, lesser};

use super::seen::Seen;
use crate::kiln::Kiln;
use crate::{BANKS_MOST, PROBES_MOST};

/// So much is taken together.
const MOMENT: Millis = Millis::from_seconds(4);
/// What is slower is left out: well over a cycle of the relays, well under a segment.
const SLOW_S: f64 = 100.0;
/// Where a firing is begun, a reading that moves already is no answer to the banks: so long until it no
/// longer shows.
const SETTLES: Millis = Millis::from_minutes(8);
/// What is told of a bank is what it did in about this time.
const REMEMBERED_S: f64 = 2_400.0;
/// Before so much of it there are too few swings to tell.
const WATCHED_S: f64 = 1_200.0;
/// Times in which the chamber gives heat on to ware and lining that are tried.
const KEEPS_S: [f64; 5] = [30.0, 60.0, 120.0, 300.0, 1_000.0];
/// Lags between heat and reading that are tried: each adds to the ones before it, so 5, 15, 30, 60, 100 s.
const LAGS_S: [f64; 5] = [5.0, 10.0, 15.0, 30.0, 40.0];
/// An answer that leaves so many times as much unexplained as the best may still be the true one.
const ABOUT_AS_WELL: f64 = 1.1;
/// What a zone's banks were told to give is the mean of about so long.
const DUTY_OVER_S: f64 = 600.0;
/// What is left unexplained comes in swings: so many seconds of it count as one.
const ALIKE_S: f64 = 20.0;
/// Less is no swing at all, only the last bits of what was forgotten.
const SWINGS_LEAST: f64 = 1e-9;

/// How the reading answers to heat, watt for watt: °C/s for the zone's full power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Felt {
    /// Of the bank, against one watt of the zone's others.
    pub(super) share: f64,
    of_bank: f64,
    of_others: f64,
    /// Variances and covariance of the two.
    bank_var: f64,
    both_var: f64,
    others_var: f64,
}

impl Felt {
    /// By how many of its standard errors the bank is felt more than this share of the others; below
    /// zero it is felt less.
    pub(super) fn beyond(&self, share: f64) -> f64 {
        let var = self.bank_var - 2.0 * share * self.both_var + share * share * self.others_var;
        (self.of_bank - share * self.of_others) / greater(f64::MIN_POSITIVE, libm::sqrt(var))
    }

    /// How many of its standard errors the heat of the others is away from nothing.
    pub(super) fn others_certain(&self) -> f64 {
        self.of_others / greater(f64::MIN_POSITIVE, libm::sqrt(self.others_var))
    }
}

/// One step of first-order lags: the share of the way that each goes in it.
struct Ways {
    slow_share: f64,
    duty_share: f64,
    keeps: [f64; KEEPS_S.len()],
    lags: [f64; LAGS_S.len()],
    forgets_share: f64,
    span_s: f64,
}

impl Ways {
    fn of(span: Millis) -> Self {
        let span_s = span.seconds();
        let way = |time_s: f64| span_s / (time_s + span_s);
        Self {
            slow_share: way(SLOW_S),
            duty_share: way(DUTY_OVER_S),
            keeps: KEEPS_S.map(way),
            lags: LAGS_S.map(way),
            forgets_share: way(REMEMBERED_S),
            span_s,
        }
    }
}

/// A first-order lag.
#[derive(Clone, Copy, Debug, Default)]
struct Lag {
    at: f64,
}

impl Lag {
    fn follow(&mut self, to: f64, way: f64) -> f64 {
        self.at += (to - self.at) * way;
        self.at
    }
}

/// Two high passes one after the other: nothing is left of a steady climb.
#[derive(Clone, Copy, Debug, Default)]
struct Quick {
    slow: Lag,
    slower: Lag,
}

impl Quick {
    fn of(&mut self, value: f64, way: f64) -> f64 {
        let quick = value - self.slow.follow(value, way);
        quick - self.slower.follow(quick, way)
    }
}

/// A reading without what is slow.
#[derive(Clone, Copy, Debug, Default)]
struct Swing {
    last_c: Option<f64>,
    quick: Quick,
}

impl Swing {
    /// `None` before the first reading; one that is missing counts as the one before.
    fn of(&mut self, reading_c: Option<f64>, ways: &Ways) -> Option<f64> {
        let reading_c = reading_c.or(self.last_c)?;
        if self.last_c.replace(reading_c).is_none() {
            self.quick.slow.at = reading_c;
        }
        Some(self.quick.of(reading_c, ways.slow_share))
    }
}

/// A bank's heat as the reading would show it, if the chamber kept it for so long.
#[derive(Clone, Copy, Debug, Default)]
struct Kept {
    chamber: Lag,
    quick: Quick,
    lagged: [Lag; LAGS_S.len()],
}

/// One value for every answer that is tried.
type Tried<T> = [[T; LAGS_S.len()]; KEEPS_S.len()];

/// One bank's heat as the reading would show it.
#[derive(Clone, Copy, Debug, Default)]
struct Heat {
    kept: [Kept; KEEPS_S.len()],
}

impl Heat {
    fn of(&mut self, power: f64, ways: &Ways) -> Tried<f64> {
        let mut all = Tried::default();
        let keeps = ways.keeps.iter().zip(KEEPS_S);
        for ((kept, (way, keeps_s)), of_lags) in self.kept.iter_mut().zip(keeps).zip(&mut all) {
            let held = keeps_s * kept.chamber.follow(power, *way);
            let mut felt = kept.quick.of(held, ways.slow_share);
            for ((lag, way), slot) in kept.lagged.iter_mut().zip(ways.lags).zip(of_lags) {
                felt = lag.follow(felt, way);
                *slot = felt;
            }
        }
        all
    }
}

/// Sums of products over what is remembered: of one bank, of the others, of the reading.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    seconds: f64,
    bank: f64,
    both: f64,
    others: f64,
    bank_reading: f64,
    others_reading: f64,
    reading: f64,
}

impl Sums {
    fn add(&mut self, bank: f64, others: f64, reading_c: f64, ways: &Ways) {
        let put = |sum: &mut f64, product: f64| *sum += product * ways.span_s - *sum * ways.forgets_share;
        put(&mut self.seconds, 1.0);
        put(&mut self.bank, bank * bank);
        put(&mut self.both, bank * others);
        put(&mut self.others, others * others);
        put(&mut self.bank_reading, bank * reading_c);
        put(&mut self.others_reading, others * reading_c);
        put(&mut self.reading, reading_c * reading_c);
    }

    /// Least squares of the reading on both, neither of which can cool (Lawson and Hanson 1974, Solving
    /// Least Squares Problems, chapter 23), and what they leave unexplained; `None` where the two never
    /// moved apart, or the reading answers to neither.
    fn solve(&self) -> Option<(Felt, f64)> {
        let determinant = self.bank * self.others - self.both * self.both;
        let apart = determinant > SWINGS_LEAST * self.bank * self.others && self.bank > SWINGS_LEAST;
        if !apart || self.seconds < WATCHED_S {
            return None;
        }
        let of_bank = (self.others * self.bank_reading - self.both * self.others_reading) / determinant;
        let of_others = (self.bank * self.others_reading - self.both * self.bank_reading) / determinant;
        let heats = of_bank >= 0.0 && of_others >= 0.0;
        let (of_bank, of_others) = if heats { (of_bank, of_others) } else { self.one_alone()? };
        let explained = of_bank * self.bank_reading + of_others * self.others_reading;
        let unexplained = greater(SWINGS_LEAST, self.reading - explained);
        let var = unexplained / self.seconds * ALIKE_S / determinant;
        let felt = Felt {
            share: of_bank / greater(f64::MIN_POSITIVE, of_others),
            of_bank,
            of_others,
            bank_var: var * self.others,
            both_var: -var * self.both,
            others_var: var * self.bank,
        };
        Some((felt, unexplained))
    }

    /// The one of both that explains more by itself, the other giving nothing.
    fn one_alone(&self) -> Option<(f64, f64)> {
        let (bank, others) = (greater(0.0, self.bank_reading), greater(0.0, self.others_reading));
        if bank * bank * self.others > others * others * self.bank {
            Some((bank / self.bank, 0.0))
        } else {
            (others > 0.0).then_some((0.0, others / self.others))
        }
    }
}

/// A few seconds taken together: nothing that is looked for is quicker.
#[derive(Clone, Copy, Debug, Default)]
struct Moment {
    span: Millis,
    on: [Millis; BANKS_MOST],
    /// Sum of each probe's usable readings, and how many.
    readings_c: [(f64, f64); PROBES_MOST],
}

impl Moment {
    fn take(&mut self, seen: &Seen<'_>, readings_c: [Option<f64>; PROBES_MOST]) {
        self.span += seen.since_last;
        for (on_for, on) in self.on.iter_mut().zip(seen.banks) {
            *on_for += if on { seen.since_last } else { Millis::ZERO };
        }
        for ((sum_c, count), reading_c) in self.readings_c.iter_mut().zip(readings_c) {
            if let Some(reading_c) = reading_c {
                *sum_c += reading_c;
                *count += 1.0;
            }
        }
    }
}

/// What is known of every bank's heat.
#[derive(Clone, Debug, Default)]
pub(super) struct BanksFelt {
    watched: Millis,
    moment: Moment,
    swings: [Swing; PROBES_MOST],
    duties: [Lag; PROBES_MOST],
    heats: [Heat; BANKS_MOST],
    sums: [Tried<Sums>; BANKS_MOST],
}

impl BanksFelt {
    /// Takes one step: each probe's reading where it can be used, and what the relays were told. Gives
    /// the time for which more is known than before, once that is so.
    pub(super) fn take(&mut self, seen: &Seen<'_>, readings_c: [Option<f64>; PROBES_MOST]) -> Option<Millis> {
        self.moment.take(seen, readings_c);
        if self.moment.span < MOMENT {
            return None;
        }
        let moment = core::mem::take(&mut self.moment);
        self.watched += moment.span;
        self.learn(seen.kiln, &moment);
        Some(moment.span)
    }

    fn learn(&mut self, kiln: &Kiln, moment: &Moment) {
        let ways = Ways::of(moment.span);
        let mut of_zones = [Tried::default(); PROBES_MOST];
        let mut on_shares = [0.0; PROBES_MOST];
        let mut of_banks = [Tried::default(); BANKS_MOST];
        let banks = kiln.banks.iter().zip(moment.on);
        for ((bank, on), (heat, felt)) in banks.zip(self.heats.iter_mut().zip(&mut of_banks)) {
            let share = bank.power.w() / greater(1.0, kiln.of_zone(bank.probe).w());
            let on_share = share * on.seconds() / ways.span_s;
            *felt = heat.of(on_share, &ways);
            if let Some(sum) = on_shares.get_mut(usize::from(bank.probe)) {
                *sum += on_share;
            }
            if let Some(of_zone) = of_zones.get_mut(usize::from(bank.probe)) {
                for (sum, felt) in of_zone.iter_mut().flatten().zip(felt.iter().flatten()) {
                    *sum += *felt;
                }
            }
        }
        let mut swings_c = [None; PROBES_MOST];
        let readings = moment.readings_c.into_iter().zip(&mut self.swings);
        for (swing_c, ((sum_c, count), swing)) in swings_c.iter_mut().zip(readings) {
            *swing_c = swing.of((count > 0.0).then_some(sum_c / count), &ways);
        }
        for (duty, on_share) in self.duties.iter_mut().zip(on_shares) {
            let _mean = duty.follow(on_share, ways.duty_share);
        }
        if self.watched < SETTLES {
            return;
        }
        for ((bank, felt), sums) in kiln.banks.iter().zip(of_banks).zip(&mut self.sums) {
            let zone = usize::from(bank.probe);
            let (Some(Some(swing_c)), Some(of_zone)) = (swings_c.get(zone), of_zones.get(zone)) else {
                continue;
            };
            let tried = sums.iter_mut().flatten().zip(felt.iter().flatten().zip(of_zone.iter().flatten()));
            for (sums, (felt, of_zone)) in tried {
                sums.add(*felt, of_zone - felt, *swing_c, &ways);
            }
        }
    }

    /// The zone's mean duty of late.
    pub(super) fn duty(&self, zone: u8) -> f64 {
        self.duties.get(usize::from(zone)).map_or(0.0, |duty| duty.at)
    }

    /// How a bank is felt, by each answer that explains the reading about as well as any; none where it
    /// has no others beside it or they never moved apart.
    ///
    /// Banks that take turns in a strict order look, by a wrong lag, like their neighbours in it.
    pub(super) fn of(&self, bank: usize) -> impl Iterator<Item = Felt> + Clone {
        let solved =
            self.sums.get(bank).copied().unwrap_or_default().map(|sums| sums.map(|sums| sums.solve()));
        let solved = solved.into_iter().flatten().flatten();
        let least = solved.clone().map(|(_, unexplained)| unexplained).reduce(lesser).unwrap_or(0.0);
        solved.filter(move |(_, unexplained)| *unexplained <= ABOUT_AS_WELL * least).map(|(felt, _)| felt)
    }
}
