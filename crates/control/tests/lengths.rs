//! How long a firing and a stay may last, whatever people add and skip.

mod common;

use common::{Bench, climb};
use control::{Order, Outcome, Phase, Refusal, Segment, Start};
use kiln_sim::KilnSpec;
use pyrometry::units::Millis;

fn lit() -> Bench {
    Bench::new(&KilnSpec::default(), 30.0, &[climb(300.0, 200.0, 30), climb(200.0, 400.0, 10)])
}

fn lit_for(segments: &[Segment], lasts: Millis) -> Bench {
    let forecast = control::Expected::lasting(lasts);
    let firing = control::Firing {
        programme: common::programme(segments),
        delay: Millis::ZERO,
        forecast,
        learned: None,
    };
    Bench::with(&KilnSpec::default(), 30.0, Some(firing), &Start::default())
}

#[test]
fn minutes_that_would_pass_the_kilns_longest_firing_are_refused() {
    let mut bench = lit();
    bench.until(4_000, |decision| decision.phase == Phase::Soaking);
    let refused = bench.step(&[Order::AddMinutes(60 * 48)]);
    assert_eq!(refused.outcomes.as_slice(), [Outcome::Refused(Refusal::TooLong(Millis::from_hours(48)))]);
}

#[test]
fn added_minutes_cannot_outlast_the_longest_firing_however_often_they_are_added() {
    let mut bench = lit();
    bench.until(4_000, |decision| decision.phase == Phase::Soaking);
    let taken =
        (0..100).filter(|_| bench.step(&[Order::AddMinutes(60)]).outcomes[0] == Outcome::Taken).count();
    // 48 h are allowed and 30 forecast.
    assert_eq!(taken, 18);
}

#[test]
fn a_stay_cannot_be_lengthened_beyond_the_kiln_files_longest() {
    let mut bench = lit();
    for _ in 0..600 {
        bench.step(&[]);
    }
    bench.step(&[Order::Stay]);
    let longest = Millis::from_hours(4);
    let refused = bench.step(&[Order::AddMinutes(60)]);
    assert_eq!(refused.outcomes.as_slice(), [Outcome::Refused(Refusal::StayTooLong(longest))]);
    for _ in 0..3_600 {
        bench.step(&[]);
    }
    assert_eq!(bench.step(&[Order::AddMinutes(60)]).outcomes.as_slice(), [Outcome::Taken]);
    assert_eq!(
        bench.step(&[Order::AddMinutes(1)]).outcomes.as_slice(),
        [Outcome::Refused(Refusal::StayTooLong(longest))]
    );
}

#[test]
fn sr_25_stays_do_not_count_against_the_forecast_but_against_the_longest_firing() {
    let firing = control::Firing {
        programme: common::programme(&[climb(100.0, 90.0, 10)]),
        delay: Millis::ZERO,
        forecast: control::Expected::lasting(Millis::from_hours(1)),
        learned: None,
    };
    let mut bench = Bench::with(&KilnSpec::default(), 30.0, Some(firing), &Start::default());
    bench.begin_anew_with(|kiln| kiln.firing_longest = Millis::from_hours(6));
    let mut tripped = None;
    for second in 0..7 * 3_600 {
        let order = (second % 600 == 0).then_some(Order::Stay);
        let decision = bench.step(order.as_slice());
        if decision.trip.is_some() {
            tripped = Some((second, decision));
            break;
        }
    }
    let (second, decision) = tripped.unwrap();
    assert_eq!(decision.trip.unwrap().interlock, control::Interlock::FiringTooLong);
    assert!((6 * 3_600..6 * 3_600 + 3).contains(&second), "{second}");
}

#[test]
fn sr_25_a_skipped_segment_is_held_to_the_forecast_made_anew_and_not_to_the_old_one() {
    let mut bench = lit_for(&[climb(400.0, 60.0, 0), climb(20.0, 400.0, 0)], Millis::from_minutes(30));
    for _ in 0..300 {
        bench.step(&[]);
    }
    bench.step(&[Order::NextSegment]);
    for _ in 0..3_600 {
        assert_eq!(bench.step(&[]).trip, None, "an hour in, the old forecast of half an hour counts no more");
    }
    bench.forecast = Some(control::Expected::lasting(Millis::from_hours(1)));
    let due_s = 1.5 * (3_900.0 + 3_600.0);
    let tripped = bench.until(9_000, |decision| decision.trip.is_some());
    assert_eq!(tripped.trip.unwrap().interlock, control::Interlock::FiringTooLong);
    assert!((tripped.at.seconds() - due_s).abs() < 5.0, "{} s", tripped.at.seconds());
}
