//! SR-29: the safety contactor follows.

use super::*;
use crate::finding::Severity;

/// A kiln whose contactor has been as it should for a while.
fn rig(phase: Phase, permitted: bool) -> Rig {
    let contactor = if permitted { Contact::Shut } else { Contact::Open };
    let mut rig = Rig { contactor, permitted, ..Rig::in_phase(phase) };
    assert_eq!(rig.read_for(30, |_| 300.0), None);
    rig
}

fn withheld(rig: &mut Rig) -> Option<Interlock> {
    withheld_by(&rig.read(300.0))
}

#[test]
fn sr_29_a_contactor_closed_at_rest_refuses_light_up_after_three_seconds_and_says_pull_the_breaker() {
    let mut rig = rig(Phase::Resting, false);
    rig.contactor = Contact::Shut;
    for _ in 0..2 {
        assert_eq!(rig.read(300.0).refuses_light_up, None, "the warden has 2.5 s, and a sample shows it");
    }
    let judgement = rig.read(300.0);
    let refused = judgement.refuses_light_up.expect("three seconds are enough");
    assert_eq!((refused.interlock, judgement.trip), (Interlock::ContactorNotFollowing, None));
    let said = std::format!("{refused}");
    assert!(said.contains("closed for 3 s") && said.contains("Pull the breaker"), "{said}");
    assert!(names(&judgement.notices).contains(&Interlock::ContactorNotFollowing));
}

#[test]
fn sr_29_a_contactor_closed_before_heat_was_ever_permitted_trips_a_firing() {
    let mut rig = Rig { contactor: Contact::Shut, permitted: false, ..Rig::climbing() };
    let (second, trip) = rig.read_for(10, |_| 25.0).expect("it may be welded");
    assert_eq!((second, trip.interlock), (3, Interlock::ContactorNotFollowing));
}

#[test]
fn sr_29_a_contactor_that_opens_two_seconds_after_heat_was_taken_away_is_not_called_welded() {
    let mut rig = rig(Phase::Cooling, false);
    rig.contactor = Contact::Shut;
    rig.read(300.0);
    rig.read(300.0);
    rig.contactor = Contact::Open;
    for _ in 0..60 {
        let judgement = rig.read(300.0);
        assert_eq!((judgement.trip, judgement.refuses_light_up), (None, None));
    }
}

#[test]
fn sr_29_a_contactor_that_does_not_close_withholds_after_two_seconds_and_trips_after_ten() {
    let mut rig = rig(Phase::Climbing, false);
    rig.permitted = true;
    assert_eq!(withheld(&mut rig), None, "it may need a second");
    for _ in 2..10 {
        assert_eq!(withheld(&mut rig), Some(Interlock::ContactorNotFollowing));
    }
    assert_eq!(trip_of(&rig.read(300.0)), Some(Interlock::ContactorNotFollowing));
}

#[test]
fn sr_29_a_contactor_that_closes_within_a_second_of_the_permission_is_not_spoken_of() {
    let mut rig = rig(Phase::Climbing, false);
    rig.permitted = true;
    assert_eq!(withheld(&mut rig), None);
    rig.contactor = Contact::Shut;
    assert_eq!(rig.read_for(600, |_| 300.0), None);
}

#[test]
fn sr_29_a_contactor_that_opens_by_itself_withholds_at_once_goes_on_when_it_closes_and_trips_after_ten_seconds()
 {
    let mut rig = rig(Phase::Soaking, true);
    rig.contactor = Contact::Open;
    for _ in 0..9 {
        assert_eq!(withheld(&mut rig), Some(Interlock::ContactorNotFollowing));
    }
    rig.contactor = Contact::Shut;
    assert_eq!(withheld(&mut rig), None);
    rig.contactor = Contact::Open;
    let (second, trip) = rig.read_for(20, |_| 300.0).expect("it stays open");
    assert_eq!((second, trip.interlock), (9, Interlock::ContactorNotFollowing));
}

#[test]
fn sr_29_a_mirror_contact_that_cannot_be_read_withholds_and_refuses_light_up() {
    let mut heated = rig(Phase::Climbing, true);
    heated.contactor = Contact::Unreadable;
    assert_eq!(withheld(&mut heated), Some(Interlock::ContactorNotFollowing));
    let mut resting = rig(Phase::Resting, false);
    resting.contactor = Contact::Unreadable;
    let refused = resting.read(300.0).refuses_light_up.expect("nobody can tell");
    assert_eq!((refused.interlock, refused.severity), (Interlock::ContactorNotFollowing, Severity::Withhold));
}

#[test]
fn sr_29_a_trip_is_not_cleared_while_the_contactor_stands_closed() {
    let mut rig = rig(Phase::Climbing, true);
    rig.contactor = Contact::Open;
    assert!(rig.read_for(20, |_| 300.0).is_some());
    (rig.phase, rig.permitted, rig.contactor) = (Phase::Tripped, false, Contact::Shut);
    for _ in 0..5 {
        rig.read(300.0);
    }
    assert_eq!(rig.interlocks.clear(), Err(()), "it may be welded");
    rig.contactor = Contact::Open;
    rig.read(300.0);
    assert_eq!(rig.interlocks.clear(), Ok(()));
}

#[test]
fn sr_29_what_is_said_tells_a_closed_contactor_from_an_open_one_and_from_one_that_cannot_be_read() {
    let said = |contactor: Contact, permitted: bool| {
        let mut rig = rig(if permitted { Phase::Climbing } else { Phase::Resting }, permitted);
        rig.contactor = contactor;
        for _ in 0..3 {
            rig.read(300.0);
        }
        let judgement = rig.read(300.0);
        let found = judgement.withheld.or(judgement.refuses_light_up).expect("it does not follow");
        std::format!("{}", found.seen())
    };
    assert!(said(Contact::Shut, false).starts_with("The safety contactor has been closed for 4 s"));
    assert!(said(Contact::Open, true).starts_with("The safety contactor is open although heat is permitted"));
    let unread = "Whether the safety contactor is closed cannot be read.";
    assert_eq!([said(Contact::Unreadable, false), said(Contact::Unreadable, true)], [unread; 2]);
}
