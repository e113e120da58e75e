//! SR-23: a bank that is told to be on and warms its zone's thermocouple far less than the others do.
//!
//! Where no current is sensed it is all that tells which of several banks is dead. It is told and no
//! more: a sound bank that lies far from the thermocouple looks alike. The switching then no longer
//! counts on the bank's heat (`switching.rs`): a sound one gives as much as before, in longer turns.

use pyrometry::units::{Millis, greater};

use super::felt::{BanksFelt, Felt};
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::decision::BankLevels;
use crate::finding::{Evidence, Interlock, Severity};
use crate::{BANKS_MOST, PROBES_MOST};

/// SR-23: share of what a watt of the zone's other banks does. A bank with half of its elements broken
/// may be felt less, since the share is rough. Engineering judgement.
const SHARE_LEAST: f64 = 0.3;
/// Felt by more than this, it heats after all.
const SHARE_SOUND: f64 = 0.6;
/// Standard errors of it that make certain.
const CERTAIN: f64 = 3.0;
/// Of the others' heat, against which it is held.
const OTHERS_CERTAIN: f64 = 5.0;
/// So long, before the bank's heat is no longer counted on: while the kiln falls behind for one that has
/// just died, another may look like it.
const CERTAIN_FOR: Millis = Millis::from_minutes(8);
/// And so long at a duty of this much, before it is told. At small duties banks are on for moments, and mostly
/// when the reading has just fallen for another cause, so that they are taken for what follows; that must
/// be forgotten first.
const TOLD_AFTER: Millis = Millis::from_minutes(40);
const DUTY_LEAST: f64 = 0.2;

pub(crate) const ROW: Row = Row {
    requirement: "SR-23",
    interlock: Interlock::BankNotFelt,
    condition: "a bank of several that heat one zone is felt by its thermocouple, watt for watt, less than 0.3 as much as the others, for certain for 40 min at a duty of 0.2 or more",
    worst: Severity::Notice,
    clears: "it is felt more than 0.6 as much, for certain",
    look_at: &[
        "its elements: one may be broken; measure with the isolator off and locked",
        "its relay, its wires and terminals, its fuse or phase",
        "a bank far from the thermocouple may be sound and so little felt: then this stands in every firing",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "watt for watt it warms the thermocouple about {:.0} % as much as the other banks; {:.0} % is the least expected.",
            greater(0.0, evidence.seen * 100.0),
            evidence.bound * 100.0
        )
    },
};

/// What is known of one bank.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    /// For how long it has been certain that it is not felt, in all and at some duty.
    certain: Millis,
    certain_at_work: Millis,
    /// Whether its heat is counted on no longer.
    discounted: bool,
    /// For how long it has been told.
    told: Option<Millis>,
    share: f64,
}

impl Track {
    /// Takes what is felt of it after so much longer, by each answer that may be the true one.
    fn take(&mut self, mut felt: impl Iterator<Item = Felt> + Clone, duty: f64, span: Millis) {
        let Some(share) = felt.clone().map(|felt| felt.share).reduce(greater) else { return };
        if felt.clone().all(is_sound) {
            *self = Self::default();
        } else if felt.all(is_not_felt) {
            self.share = share;
            self.certain += span;
            if duty >= DUTY_LEAST {
                self.certain_at_work += span;
            }
        } else {
            (self.certain, self.certain_at_work) = (Millis::ZERO, Millis::ZERO);
        }
        self.discounted |= self.certain >= CERTAIN_FOR;
        if self.certain_at_work >= TOLD_AFTER {
            self.told = self.told.or(Some(Millis::ZERO));
        }
    }
}

/// Which banks are not felt.
#[derive(Clone, Debug, Default)]
pub(crate) struct BankNotFelt {
    felt: BanksFelt,
    tracks: [Track; BANKS_MOST],
}

impl BankNotFelt {
    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut readings_c = [None; PROBES_MOST];
        for (slot, probe) in readings_c.iter_mut().zip(view.seen.probes()) {
            *slot = view.usable(probe).map(|measured| measured.junction.c());
        }
        for lasted in self.tracks.iter_mut().filter_map(|track| track.told.as_mut()) {
            *lasted += view.seen.since_last;
        }
        if let Some(moment) = self.felt.take(view.seen, readings_c) {
            let banks = view.seen.kiln.banks.iter().zip(&mut self.tracks).enumerate();
            for (number, (bank, track)) in banks {
                track.take(self.felt.of(number), self.felt.duty(bank.probe), moment);
            }
        }
        self.verdict()
    }

    /// Banks whose heat is not to be counted on.
    pub(crate) fn banks(&self) -> BankLevels {
        self.tracks.map(|track| track.discounted)
    }

    fn verdict(&self) -> Verdict {
        let mut worst = Verdict::Clear;
        for (track, bank) in self.tracks.iter().zip(0_u8..) {
            if let Some(lasted) = track.told {
                let evidence = Evidence { seen: track.share, bound: SHARE_LEAST, lasted };
                worst = worst.worse(Verdict::about_bank(bank, Severity::Notice, evidence));
            }
        }
        worst
    }
}

fn is_not_felt(felt: Felt) -> bool {
    felt.others_certain() > OTHERS_CERTAIN && felt.beyond(SHARE_LEAST) < -CERTAIN
}

fn is_sound(felt: Felt) -> bool {
    felt.beyond(SHARE_SOUND) > CERTAIN
}
