//! Which bank takes which one's place.

use super::*;

const NOW: Millis = Millis::from_seconds(100);
const LONG_AGO: Millis = Millis::from_seconds(0);
const JUST_NOW: Millis = Millis::from_seconds(99);

fn bank(on: bool, owed_s: f64) -> Account {
    Account { owed_s, on, since: Some(LONG_AGO), group: 0 }
}

/// Which of these banks of one power are on after one look at whose turn it is; the supply carries so many.
fn after_turns<const N: usize>(accounts: [Account; N], carries: usize) -> [bool; N] {
    let mut kiln = kiln_with_banks(N, 1.0);
    kiln.supply_limit = Watts::new(BANK_W * f64::from(u32::try_from(carries).unwrap())).unwrap();
    let mut switching = Switching::default();
    for (slot, account) in switching.accounts.iter_mut().zip(accounts) {
        *slot = account;
    }
    switching.take_turns(&kiln, NOW);
    core::array::from_fn(|number| switching.accounts[number].on)
}

#[test]
fn a_bank_takes_anothers_place_only_if_it_is_owed_more_than_forty_seconds_more() {
    assert_eq!(after_turns([bank(true, -20.0), bank(false, 20.0)], 2), [true, false]);
    assert_eq!(after_turns([bank(true, -20.0), bank(false, 20.5)], 2), [false, true]);
}

#[test]
fn of_equals_the_first_waits_first_and_the_first_gives_way() {
    let waits = bank(false, 30.0);
    assert_eq!(after_turns([waits, waits, bank(true, -30.0)], 3), [true, false, false]);
    let stands = bank(true, -30.0);
    assert_eq!(after_turns([stands, stands, bank(false, 30.0)], 3), [false, true, true]);
}

#[test]
fn sr_28_a_bank_that_has_just_closed_gives_way_to_none() {
    let closed = Account { since: Some(JUST_NOW), ..bank(true, -30.0) };
    assert_eq!(after_turns([closed, bank(false, 30.0)], 2), [true, false]);
    assert_eq!(after_turns([closed, bank(true, -20.0), bank(false, 30.0)], 3), [true, false, true]);
}

#[test]
fn a_bank_that_is_off_has_no_place_to_give() {
    // The one that is owed least of all is off; the one that stands is owed too much to give way.
    assert_eq!(
        after_turns([bank(false, -90.0), bank(true, 0.0), bank(false, 30.0)], 3),
        [false, true, false]
    );
}

#[test]
fn a_bank_of_another_group_gives_way_only_where_the_supply_asks_for_it() {
    let other = Account { group: 1, ..bank(true, -60.0) };
    assert_eq!(after_turns([other, bank(false, 30.0)], 2), [true, false]);
    assert_eq!(after_turns([other, bank(false, 30.0)], 1), [false, true]);
}

#[test]
fn sr_27_as_many_give_way_as_make_room_for_a_stronger_one() {
    let mut kiln = kiln_with_banks(3, 1.0);
    kiln.banks[2].power = Watts::new(2.0 * BANK_W).unwrap();
    kiln.supply_limit = kiln.banks[2].power;
    let mut switching = Switching::default();
    for (number, account) in [bank(true, -10.0), bank(true, -20.0), bank(false, 60.0)].into_iter().enumerate()
    {
        switching.accounts[number] = account;
    }
    switching.take_turns(&kiln, NOW);
    assert_eq!(switching.energised()[..3], [false, false, true]);
}
