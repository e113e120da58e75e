//! The edges for an outside relay.

use std::sync::atomic::Ordering;

use control::{Order, Outcome};
use daemon::run::Step;
use daemon::store::Latched;

use crate::stand::Stand;

fn edges_of(stand: &mut Stand, steps: u64) -> u64 {
    let before = stand.wires.edges.load(Ordering::Relaxed);
    (0..steps).for_each(|_| drop(stand.step()));
    stand.wires.edges.load(Ordering::Relaxed) - before
}

fn heating() -> Stand {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    stand
}

#[test]
fn sr_33_each_step_that_permits_heat_makes_one_edge_and_none_at_rest_does() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    assert_eq!(edges_of(&mut stand, 20), 0, "at rest");
    stand.light().expect("lit");
    stand.until_it_heats();
    assert_eq!(edges_of(&mut stand, 20), 20);
}

#[test]
fn sr_33_no_edge_comes_once_heat_is_not_permitted() {
    let mut stand = heating();
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    assert_eq!(edges_of(&mut stand, 20), 0, "shut off");
    assert_eq!(stand.order(Order::CarryOn), Outcome::Taken);
    assert!(edges_of(&mut stand, 20) >= 19, "and again once the shut-off is undone");
    stand.wires.open.store(true, Ordering::Relaxed);
    (0..5).for_each(|_| drop(stand.step()));
    assert_eq!(edges_of(&mut stand, 20), 0, "tripped");
}

#[test]
fn sr_33_no_edge_comes_of_a_step_in_which_a_stage_failed_nor_while_the_warden_distrusts() {
    let mut stand = heating();
    stand.wires.pins_dead.store(true, Ordering::Relaxed);
    assert_eq!(edges_of(&mut stand, 5), 0, "a relay cannot be driven");
    stand.wires.pins_dead.store(false, Ordering::Relaxed);
    assert_eq!(edges_of(&mut stand, 20), 0, "the warden stays open until the next light-up");
}

#[test]
fn sr_34_a_step_in_which_a_stage_failed_is_not_whole_and_the_next_one_without_a_failure_is() {
    let mut stand = heating();
    assert_eq!(stand.done(), Step::Whole);
    stand.wires.pins_dead.store(true, Ordering::Relaxed);
    assert_eq!([stand.done(), stand.done()], [Step::Broken; 2], "a relay cannot be driven");
    stand.wires.pins_dead.store(false, Ordering::Relaxed);
    assert_eq!(stand.done(), Step::Whole);
}
