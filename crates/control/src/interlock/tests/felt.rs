//! SR-23 by how much of each bank's heat a thermocouple feels.

use super::*;
use crate::finding::{Part, Severity};

/// A chamber that answers to its banks through elements that lag by 30 s, °C/s at full power.
struct Chamber {
    c: f64,
    elements: [f64; 3],
    /// What of its heat each bank gives.
    gives: [f64; 3],
}

const RISES_C_PER_S: f64 = 0.1;
const FALLS_C_PER_S: f64 = 0.02;

impl Chamber {
    fn giving(gives: [f64; 3]) -> Self {
        Self { c: 600.0, elements: [0.0; 3], gives }
    }

    fn second(&mut self, banks: BankLevels) -> f64 {
        for ((element, on), gives) in self.elements.iter_mut().zip(banks).zip(self.gives) {
            *element += (if on { gives / 3.0 } else { 0.0 } - *element) / 30.0;
        }
        self.c += RISES_C_PER_S * self.elements.iter().sum::<f64>() - FALLS_C_PER_S;
        self.c
    }
}

/// Each bank on for about half of the time, turned by chance of its own every 40 s.
fn in_turn(second: u32) -> BankLevels {
    let (mut turns, mut chance) = ([false; BANKS_MOST], 0.0);
    for turn in &mut turns {
        chance += 1_000.0;
        *turn = noise(chance + f64::from(second / 40)) > 0.0;
    }
    turns
}

fn all_together(second: u32) -> BankLevels {
    [(second / 40).is_multiple_of(3); BANKS_MOST]
}

fn three_banks() -> Rig {
    let kiln = kiln_with_banks(3, 1.0);
    Rig { interlocks: Interlocks::new(&kiln, None), kiln, ..Rig::climbing() }
}

/// What is said of banks not felt in each second.
fn told(
    rig: &mut Rig,
    chamber: &mut Chamber,
    turns: fn(u32) -> BankLevels,
    seconds: u32,
) -> Vec<Option<Finding>> {
    let mut each = Vec::new();
    for second in 0..seconds {
        rig.banks = turns(second);
        let judgement = rig.read(chamber.second(rig.banks) + 0.05 * noise(f64::from(second)));
        assert_eq!(judgement.trip, None, "at {second} s");
        let mut of_banks = judgement.notices.into_iter();
        each.push(of_banks.find(|notice| notice.interlock == Interlock::BankNotFelt));
    }
    each
}

#[test]
fn sr_23_a_dead_bank_of_several_is_told_by_its_number_once_it_can_be_told_for_certain() {
    let mut rig = three_banks();
    let mut chamber = Chamber::giving([1.0, 0.0, 1.0]);
    assert_eq!(told(&mut rig, &mut chamber, in_turn, 2_100).iter().flatten().next(), None);
    assert_eq!(rig.interlocks.not_felt()[..3], [false; 3], "8 min to settle, 20 to watch, 8 of certainty");
    assert_eq!(told(&mut rig, &mut chamber, in_turn, 1_500).iter().flatten().next(), None);
    assert_eq!(
        rig.interlocks.not_felt()[..3],
        [false, true, false],
        "it is not counted on, before it is told"
    );
    let said = told(&mut rig, &mut chamber, in_turn, 3_600);
    let first = said.iter().position(Option::is_some).expect("it is told");
    assert!((480..2_400).contains(&first), "after 40 min of certainty: {first} s");
    let notice = said.last().copied().flatten().expect("and stays");
    assert_eq!((notice.part, notice.severity), (Some(Part::Bank(1)), Severity::Notice));
    assert!(notice.evidence.seen < 0.1, "{notice:?}");
    assert_eq!(rig.interlocks.not_felt()[..3], [false, true, false]);
}

#[test]
fn sr_23_a_bank_that_gives_two_thirds_of_its_heat_is_weak_and_not_told() {
    let said = told(&mut three_banks(), &mut Chamber::giving([1.0, 0.67, 1.0]), in_turn, 7_200);
    assert_eq!(said.iter().flatten().next(), None);
}

/// The same, but each only for the first 10 s: a duty of an eighth.
fn for_moments(second: u32) -> BankLevels {
    in_turn(second).map(|on| on && second % 40 < 10)
}

#[test]
fn sr_23_at_small_duties_a_bank_is_not_told() {
    let mut rig = three_banks();
    let said = told(&mut rig, &mut Chamber::giving([1.0, 0.0, 1.0]), for_moments, 9_000);
    assert_eq!(said.iter().flatten().next(), None);
    assert_eq!(rig.interlocks.not_felt()[..3], [false, true, false], "though not counted on");
}

/// A bank that gives about as much as the bound, on a reading so loud that it cannot be told on which side.
#[test]
fn sr_23_where_it_is_not_certain_nothing_is_told() {
    let mut rig = three_banks();
    let mut chamber = Chamber::giving([1.0, 0.35, 1.0]);
    for second in 0..9_000 {
        rig.banks = in_turn(second);
        let judgement = rig.read(chamber.second(rig.banks) + 1.5 * noise(f64::from(second)));
        assert!(!names(&judgement.notices).contains(&Interlock::BankNotFelt), "at {second} s");
        assert!(!rig.interlocks.not_felt().contains(&true), "at {second} s");
    }
}

#[test]
fn sr_23_banks_that_never_turned_apart_cannot_be_told_apart() {
    let said = told(&mut three_banks(), &mut Chamber::giving([1.0, 0.0, 1.0]), all_together, 7_200);
    assert_eq!(said.iter().flatten().next(), None);
}

#[test]
fn sr_23_where_no_bank_is_felt_there_is_nothing_to_hold_one_against() {
    let said = told(&mut three_banks(), &mut Chamber::giving([0.0; 3]), in_turn, 900);
    assert_eq!(said.iter().flatten().next(), None);
}

#[test]
fn sr_23_a_bank_that_dies_is_told_and_no_more_once_it_heats_again() {
    let mut rig = three_banks();
    let mut chamber = Chamber::giving([1.0; 3]);
    assert_eq!(told(&mut rig, &mut chamber, in_turn, 3_600).iter().flatten().next(), None);
    chamber.gives = [1.0, 1.0, 0.0];
    let said = told(&mut rig, &mut chamber, in_turn, 9_000);
    let told_of = said.last().copied().flatten().expect("it is told");
    assert_eq!(told_of.part, Some(Part::Bank(2)));
    chamber.gives = [1.0; 3];
    let said = told(&mut rig, &mut chamber, in_turn, 7_200);
    assert_eq!(said.last().copied().flatten(), None);
}

#[test]
fn a_reading_missed_now_and_then_does_not_hide_a_dead_bank() {
    let mut rig = three_banks();
    let mut chamber = Chamber::giving([0.0, 1.0, 1.0]);
    let mut last = None;
    for second in 0..6_000 {
        rig.banks = in_turn(second);
        let c = chamber.second(rig.banks);
        let judgement = if second % 7 == 0 {
            rig.see(Err(SensorFault::NoAnswer))
        } else {
            rig.read(c + 0.05 * noise(f64::from(second)))
        };
        last = judgement.notices.into_iter().find(|notice| notice.interlock == Interlock::BankNotFelt);
    }
    assert_eq!(last.and_then(|notice| notice.part), Some(Part::Bank(0)));
}
