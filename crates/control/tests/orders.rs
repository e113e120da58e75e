//! What people can ask of a firing, on the simulated kiln.

mod common;

use common::{Bench, climb, flat_out, let_fall, slow_cool};
use control::{Order, Outcome, Phase, Refusal, Segment, Start};
use kiln_sim::KilnSpec;
use pyrometry::amplifier::{Report, Said};
use pyrometry::units::{Celsius, CelsiusDelta, Millis, greater};

fn lit() -> Bench {
    Bench::new(&KilnSpec::default(), 30.0, &[climb(300.0, 200.0, 30), climb(200.0, 400.0, 10)])
}

#[test]
fn a_firing_climbs_soaks_climbs_soaks_and_then_cools() {
    let mut bench = lit();
    assert_eq!(bench.step(&[]).phase, Phase::Climbing);
    let soak = bench.until(4_000, |decision| decision.phase == Phase::Soaking);
    assert_eq!(soak.segment, Some(0));
    let second = bench.until(2_500, |decision| decision.segment == Some(1));
    assert_eq!(second.phase, Phase::Climbing);
    bench.until(5_000, |decision| decision.phase == Phase::Soaking);
    let over = bench.until(700, |decision| decision.phase == Phase::Cooling);
    assert!(!over.permission && over.banks.iter().all(|on| !on) && over.segment.is_none());
}

#[test]
fn staying_keeps_the_setpoint_until_told_to_carry_on() {
    let mut bench = lit();
    for _ in 0..600 {
        bench.step(&[]);
    }
    let held = bench.step(&[Order::Stay]);
    assert_eq!((held.phase, held.outcomes.as_slice()), (Phase::Staying, &[Outcome::Taken][..]));
    let mut later = held.clone();
    for _ in 0..900 {
        later = bench.step(&[]);
    }
    assert_eq!((later.phase, later.setpoint), (Phase::Staying, held.setpoint));
    assert!(later.permission, "a stay is held with heat");
    let on = bench.step(&[Order::CarryOn]);
    assert_eq!(on.phase, Phase::Climbing);
    assert!(on.setpoint.unwrap().c() - held.setpoint.unwrap().c() < 0.2, "the schedule goes on from there");
}

#[test]
fn a_stay_ends_by_itself_after_the_kiln_files_longest() {
    let mut bench = lit();
    bench.step(&[Order::Stay]);
    bench.until(4 * 3600 + 2, |decision| decision.phase == Phase::Climbing);
    assert!(bench.second() >= 4 * 3600);
}

#[test]
fn a_shut_off_takes_heat_away_in_the_same_step_and_can_soon_be_undone() {
    let mut bench = lit();
    for _ in 0..1200 {
        bench.step(&[]);
    }
    let off = bench.step(&[Order::ShutOff]);
    assert_eq!((off.phase, off.permission), (Phase::Cooling, false));
    assert!(off.banks.iter().all(|on| !on));
    bench.step(&[Order::ShutOff]);
    let undone = bench.step(&[Order::CarryOn]);
    assert_eq!((undone.phase, undone.segment), (Phase::Climbing, Some(0)), "a second press loses nothing");
}

#[test]
fn a_shut_off_while_candling_can_be_undone_though_the_kiln_is_cool_enough_to_open() {
    let mut bench = lit();
    for _ in 0..300 {
        bench.step(&[]);
    }
    bench.step(&[Order::ShutOff]);
    for _ in 0..500 {
        bench.step(&[]);
    }
    assert_eq!(bench.step(&[Order::CarryOn]).phase, Phase::Climbing);
}

#[test]
fn a_shut_off_cannot_be_undone_after_ten_minutes() {
    let mut bench = lit();
    bench.until(9_000, |decision| decision.chamber.unwrap().c() > 300.0);
    bench.step(&[Order::ShutOff]);
    for _ in 0..601 {
        bench.step(&[]);
    }
    assert_eq!(bench.step(&[Order::CarryOn]).outcomes.as_slice(), [Outcome::Refused(Refusal::TooLate)]);
}

#[test]
fn carry_on_after_the_end_of_the_programme_starts_nothing() {
    let mut bench = Bench::new(&KilnSpec::default(), 30.0, &[flat_out(120.0, 0)]);
    bench.until(3_000, |decision| decision.phase == Phase::Cooling);
    let after = bench.step(&[Order::CarryOn, Order::Stay, Order::NextSegment]);
    assert_eq!(after.phase, Phase::Cooling);
    assert!(after.outcomes.iter().all(|outcome| *outcome == Outcome::Refused(Refusal::NotInThisPhase)));
}

#[test]
fn going_to_the_soak_now_holds_the_present_setpoint_for_the_segments_soak() {
    let mut bench = lit();
    for _ in 0..1800 {
        bench.step(&[]);
    }
    let now = bench.step(&[Order::EndClimb]);
    assert_eq!(now.phase, Phase::Soaking);
    assert!(now.setpoint.unwrap().c() < 170.0);
    let next = bench.until(30 * 60 + 2, |decision| decision.segment == Some(1));
    assert_eq!(next.phase, Phase::Climbing);
}

#[test]
fn added_minutes_lengthen_the_soak_by_just_that() {
    let mut bench = lit();
    bench.until(4_000, |decision| decision.phase == Phase::Soaking);
    let began = bench.second();
    assert_eq!(bench.step(&[Order::AddMinutes(15)]).outcomes.as_slice(), [Outcome::Taken]);
    bench.until(46 * 60, |decision| decision.segment == Some(1));
    let lasted = bench.second() - began;
    assert!(lasted.abs_diff(45 * 60) <= 2, "{lasted} s");
}

#[test]
fn a_fall_goes_on_with_slow_cooling_at_its_target() {
    let mut bench = Bench::new(
        &KilnSpec::default(),
        30.0,
        &[flat_out(500.0, 5), let_fall(400.0), slow_cool(-60.0, 380.0)],
    );
    bench.until(9_000, |decision| decision.phase == Phase::Soaking);
    let falling = bench.until(400, |decision| decision.phase == Phase::Cooling);
    assert!(!falling.permission, "the contactor opens in a fall");
    let slow = bench.until(9_000, |decision| decision.phase == Phase::SlowCooling);
    assert!((slow.setpoint.unwrap().c() - 400.0).abs() < 2.0);
    let end = bench.until(3_000, |decision| decision.phase == Phase::Cooling);
    assert!((end.chamber.unwrap().c() - 380.0).abs() < 5.0);
}

#[test]
fn a_delayed_light_up_gives_no_heat_before_its_time() {
    let firing = control::Firing {
        programme: common::programme(&[climb(100.0, 200.0, 0)]),
        delay: Millis::from_minutes(30),
        forecast: control::Expected::lasting(Millis::from_hours(4)),
        learned: None,
    };
    let mut bench = Bench::with(&KilnSpec::default(), 30.0, Some(firing), &Start::default());
    for _ in 0..30 * 60 {
        let decision = bench.step(&[]);
        assert_eq!((decision.phase, decision.permission), (Phase::SetForLater, false));
    }
    assert_eq!(bench.step(&[]).phase, Phase::Climbing);
}

#[test]
fn a_delayed_light_up_that_is_called_off_leaves_a_kiln_at_rest() {
    let firing = control::Firing {
        programme: common::programme(&[climb(100.0, 200.0, 0)]),
        delay: Millis::from_minutes(30),
        forecast: control::Expected::lasting(Millis::from_hours(4)),
        learned: None,
    };
    let mut bench = Bench::with(&KilnSpec::default(), 30.0, Some(firing), &Start::default());
    bench.step(&[]);
    let off = bench.step(&[Order::ShutOff]);
    assert_eq!((off.phase, off.outcomes.as_slice()), (Phase::Resting, &[Outcome::Taken][..]));
    for _ in 0..40 * 60 {
        assert_eq!(bench.step(&[]).phase, Phase::Resting);
    }
}

#[test]
fn a_kiln_that_cannot_keep_up_makes_the_schedule_wait() {
    let mut bench = Bench::new(&KilnSpec::default(), 30.0, &[climb(900.0, 1100.0, 0)]);
    let waiting = bench.until(7_200, |decision| decision.waiting);
    assert!(waiting.lag.unwrap().c() > 8.0);
    for _ in 0..3600 {
        let decision = bench.step(&[]);
        assert!(decision.lag.unwrap().c() < 9.0, "the setpoint never runs away: {decision:?}");
        assert!(decision.trip.is_none(), "{decision:?}");
    }
}

#[test]
fn a_rest_without_a_firing_takes_no_order_and_gives_no_heat() {
    let mut bench = Bench::with(&KilnSpec::default(), 30.0, None, &Start::default());
    for order in
        [Order::Stay, Order::CarryOn, Order::ShutOff, Order::NextSegment, Order::EndClimb, Order::ClearTrip]
    {
        let decision = bench.step(&[order]);
        assert_eq!(decision.outcomes.as_slice(), [Outcome::Refused(Refusal::NotInThisPhase)], "{order:?}");
        assert_eq!((decision.phase, decision.permission), (Phase::Resting, false));
    }
}

#[test]
fn next_segment_into_a_cooling_from_below_its_end_passes_it_over() {
    let mut bench = Bench::new(
        &KilnSpec::default(),
        30.0,
        &[climb(150.0, 1000.0, 0), slow_cool(-60.0, 800.0), climb(100.0, 900.0, 0)],
    );
    for _ in 0..600 {
        bench.step(&[]);
    }
    let before = bench.step(&[]);
    let after = bench.step(&[Order::NextSegment]);
    assert_eq!((after.phase, after.segment), (Phase::Climbing, Some(2)));
    assert!(after.setpoint.unwrap() <= before.setpoint.unwrap() + CelsiusDelta::new(0.2).unwrap());
}

#[test]
fn next_segment_past_the_last_climb_into_coolings_below_their_ends_ends_the_heating() {
    let mut bench = Bench::new(
        &KilnSpec::default(),
        30.0,
        &[climb(150.0, 1000.0, 0), let_fall(900.0), slow_cool(-60.0, 800.0)],
    );
    for _ in 0..600 {
        bench.step(&[]);
    }
    let after = bench.step(&[Order::NextSegment]);
    assert_eq!((after.phase, after.segment, after.permission), (Phase::Cooling, None, false));
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(48))]

    /// Whatever people press and whenever, no order makes the kiln want to be hotter than it is or
    /// was to be; carrying on goes back to what was left at most.
    #[test]
    fn no_order_raises_the_setpoint_above_both_plan_and_kiln(
        presses in proptest::collection::btree_map(1_u64..4_000, 0_usize..5, 0..14),
    ) {
        let segments = [
            climb(200.0, 150.0, 5),
            slow_cool(-60.0, 120.0),
            let_fall(100.0),
            climb(400.0, 350.0, 5),
            flat_out(400.0, 5),
            let_fall(380.0),
            slow_cool(-200.0, 370.0),
        ];
        let orders = [Order::NextSegment, Order::EndClimb, Order::Stay, Order::CarryOn, Order::ShutOff];
        let mut bench = Bench::new(&KilnSpec::default(), 30.0, &segments);
        let mut before_c = f64::MIN;
        let mut left_c = f64::MIN;
        for second in 0..4_000 {
            let order = presses.get(&second).map(|press| orders[*press]);
            let decision = bench.step(order.as_slice());
            let now_c = decision.setpoint.map_or(f64::MIN, Celsius::c);
            let chamber_c = decision.chamber.unwrap().c();
            if let Some(order) = order {
                let planned_c = if order == Order::CarryOn { left_c } else { before_c };
                // A step's own share of the climb; flat out, the lead at which its clock waits.
                let lead_c = if decision.segment == Some(4) { 18.0 } else { 0.2 };
                let allowed_c = greater(planned_c, chamber_c) + lead_c;
                proptest::prop_assert!(now_c <= allowed_c, "{second} {order:?}: {now_c} {allowed_c}");
            }
            before_c = now_c;
            left_c = if decision.setpoint.is_some() { now_c } else { left_c };
        }
    }
}

#[test]
fn nothing_is_permitted_before_there_is_a_reading_to_begin_from() {
    let mut bench = lit();
    let dead = |report| Report { said: Said::Nothing, ..report };
    for _ in 0..2 {
        let decision = bench.step_seeing(&[Order::EndClimb], dead);
        assert_eq!((decision.permission, decision.chamber), (false, None), "{decision:?}");
        assert_eq!(decision.outcomes.as_slice(), [Outcome::Refused(Refusal::NotInThisPhase)]);
    }
}

#[test]
fn a_watch_cannot_be_made_to_heat_by_staying() {
    let watch = Segment::Watch { lasting: Millis::from_hours(1) };
    let mut bench = Bench::new(&KilnSpec::default(), 30.0, &[watch, climb(100.0, 200.0, 0)]);
    bench.step(&[]);
    let decision = bench.step(&[Order::Stay]);
    assert_eq!(decision.outcomes.as_slice(), [Outcome::Refused(Refusal::NotInThisPhase)]);
    assert!(!decision.permission);
}

#[test]
fn next_segment_into_a_climb_below_the_kiln_lets_it_fall_there_first() {
    let segments = [climb(400.0, 600.0, 30), let_fall(400.0), climb(100.0, 450.0, 10)];
    let mut bench = Bench::new(&KilnSpec::default(), 30.0, &segments);
    bench.until(12_000, |decision| decision.phase == Phase::Soaking);
    bench.step(&[Order::NextSegment]);
    for _ in 0..60 {
        bench.step(&[]);
    }
    let skipped = bench.step(&[Order::NextSegment]);
    assert_eq!((skipped.segment, skipped.phase, skipped.setpoint), (Some(2), Phase::Cooling, None));
    let soaks = bench.until(6 * 3_600, |decision| decision.phase == Phase::Soaking);
    assert_eq!((soaks.segment, soaks.setpoint.unwrap().c(), soaks.trip), (Some(2), 450.0, None));
}

#[test]
fn an_order_that_ended_the_last_segment_can_be_undone_like_a_shut_off() {
    for order in [Order::NextSegment, Order::EndClimb] {
        let mut bench = Bench::new(&KilnSpec::default(), 30.0, &[climb(200.0, 600.0, 0)]);
        for _ in 0..1_800 {
            bench.step(&[]);
        }
        let before = bench.step(&[]).setpoint;
        let over = bench.step(&[order]);
        assert_eq!((over.phase, over.segment), (Phase::Cooling, None));
        let undone = bench.step(&[Order::CarryOn]);
        assert_eq!((undone.phase, undone.segment), (Phase::Climbing, Some(0)), "{order:?}");
        assert!((undone.setpoint.unwrap() - before.unwrap()).magnitude().c() < 0.5);
    }
}

#[test]
fn a_shut_off_during_a_stay_is_undone_to_the_stay() {
    let mut bench = lit();
    for _ in 0..600 {
        bench.step(&[]);
    }
    let held = bench.step(&[Order::Stay]);
    bench.step(&[Order::ShutOff]);
    let undone = bench.step(&[Order::CarryOn]);
    assert_eq!((undone.phase, undone.setpoint), (Phase::Staying, held.setpoint));
    assert_eq!(bench.step(&[Order::CarryOn]).phase, Phase::Climbing);
}
