//! The arithmetic, piece by piece; what it tells of banks is in `interlock/tests/felt.rs`.

use pyrometry::units::Joules;

use super::*;
use crate::observation::Contact;
use crate::phase::Phase;

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * (1.0 + b.abs()), "{a} where {b} is due");
}

#[test]
fn a_lag_goes_the_share_of_the_way_that_a_step_is_of_it_and_its_time() {
    let ways = Ways::of(Millis::from_seconds(4));
    close(ways.span_s, 4.0);
    close(ways.slow_share, 4.0 / 104.0);
    close(ways.duty_share, 4.0 / 604.0);
    close(ways.forgets_share, 4.0 / 2_404.0);
    for (way, time_s) in ways.keeps.into_iter().zip([30.0, 60.0, 120.0, 300.0, 1_000.0]) {
        close(way, 4.0 / (4.0 + time_s));
    }
    for (way, time_s) in ways.lags.into_iter().zip([5.0, 10.0, 15.0, 30.0, 40.0]) {
        close(way, 4.0 / (4.0 + time_s));
    }
    let mut lag = Lag::default();
    close(lag.follow(1.0, 0.25), 0.25);
    close(lag.follow(1.0, 0.25), 0.4375);
    close(lag.follow(0.4375, 0.25), 0.4375);
}

#[test]
fn nothing_is_left_of_a_steady_climb_and_of_a_step_what_is_quick() {
    let mut quick = Quick::default();
    close(quick.of(1.0, 0.25), 0.75 * 0.75);
    // Then 0.5625 and, of it, less what the second has followed: 0.1875 + 0.25 · 0.375.
    close(quick.of(1.0, 0.25), 0.5625 - 0.28125);
    let mut quick = Quick::default();
    let left = (0..2_000).map(|second| quick.of(0.1 * f64::from(second), 0.02)).last();
    assert!(left.is_some_and(|left| left.abs() < 1e-6), "{left:?}");
}

#[test]
fn the_first_reading_is_no_swing_and_a_missing_one_counts_as_the_one_before() {
    let ways = Ways::of(Millis::from_seconds(4));
    let mut swing = Swing::default();
    assert_eq!(swing.of(None, &ways), None);
    assert_eq!(swing.of(Some(600.0), &ways), Some(0.0));
    let kept = 1.0 - 4.0 / 104.0;
    close(swing.of(Some(601.0), &ways).unwrap(), kept * kept);
    let mut other = swing;
    assert_eq!(swing.of(None, &ways), other.of(Some(601.0), &ways));
}

#[test]
fn the_first_moment_of_power_shows_as_the_product_of_all_ways() {
    let ways = Ways::of(Millis::from_seconds(4));
    let felt = Heat::default().of(0.5, &ways);
    let kept = 1.0 - 4.0 / 104.0;
    for (of_lags, keeps_s) in felt.into_iter().zip([30.0, 60.0, 120.0, 300.0, 1_000.0]) {
        let mut due = keeps_s * 0.5 * 4.0 / (4.0 + keeps_s) * kept * kept;
        for (felt, lag_s) in of_lags.into_iter().zip([5.0, 10.0, 15.0, 30.0, 40.0]) {
            due *= 4.0 / (4.0 + lag_s);
            close(felt, due);
        }
    }
}

/// As if all had been seen at once and nothing forgotten.
fn all_at_once(span_s: f64) -> Ways {
    Ways { span_s, forgets_share: 0.0, ..Ways::of(Millis::from_seconds(4)) }
}

fn summed(rows: &[(f64, f64, f64)], ways: &Ways) -> Sums {
    let mut sums = Sums::default();
    for (bank, others, reading_c) in rows {
        sums.add(*bank, *others, *reading_c, ways);
    }
    sums
}

const ROWS: [(f64, f64, f64); 4] = [(1.0, 2.0, 1.0), (2.0, 1.0, 1.3), (3.0, -1.0, 0.9), (1.0, 1.0, 0.6)];

/// The same by `numpy.linalg.lstsq` and `numpy.linalg.inv`, and the standard errors from them.
#[test]
fn least_squares_and_their_errors_are_those_of_a_general_purpose_library() {
    let (felt, unexplained) = summed(&ROWS, &all_at_once(400.0)).solve().unwrap();
    close(felt.of_bank, 0.418811881188);
    close(felt.of_others, 0.308910891089);
    close(felt.share, 1.35576923077);
    close(unexplained, 17.3861386139);
    close(felt.bank_var, 3.76556219978e-05);
    close(felt.both_var, -1.07587491422e-05);
    close(felt.others_var, 8.06906185668e-05);
    close(felt.beyond(0.3), 45.5024354681);
    close(felt.others_certain(), 34.3891703036);
}

/// By `scipy.optimize.nnls`, solution and residual.
#[test]
fn what_would_cool_gives_nothing_and_the_rest_is_that_of_a_general_purpose_library() {
    const ON: [(f64, f64); 6] = [(1.0, -1.0), (-1.0, 1.0), (2.0, -1.0), (0.0, 1.0), (-2.0, 1.0), (1.0, -2.0)];
    let solved = |readings_c: [f64; 6]| {
        let mut sums = Sums::default();
        for ((bank, others), reading_c) in ON.into_iter().zip(readings_c) {
            sums.add(bank, others, reading_c, &all_at_once(400.0));
        }
        sums.solve().map(|(felt, unexplained)| (felt.of_bank, felt.of_others, unexplained / 400.0))
    };
    let known = [
        ([-1.0, 1.5, -1.0, 2.0, 1.0, -3.0], (0.414285714286, 1.75714285714, 0.221428571429)),
        ([2.0, -1.0, 3.0, -1.0, -4.0, 2.0], (1.72727272727, 0.0, 2.18181818182)),
        ([-3.0, 2.0, -2.0, 0.0, 4.0, -1.0], (0.0, 1.44444444444, 15.2222222222)),
        ([-1.0, 1.0, -3.0, 1.0, 3.0, 1.0], (0.0, 0.777777777778, 16.5555555556)),
    ];
    for (readings_c, due) in known {
        let (of_bank, of_others, unexplained) = solved(readings_c).expect("it answers to one of them");
        close(of_bank, due.0);
        close(of_others, due.1);
        close(unexplained, due.2);
    }
    assert_eq!(solved([-1.0, 0.0, -2.0, -3.0, 0.0, 0.0]), None, "it falls with the heat of both");
}

/// By `scipy.optimize.nnls`.
#[test]
fn of_two_that_each_explain_something_the_one_that_explains_more_is_taken_whatever_their_size() {
    let solved = |rows: &[(f64, f64, f64)]| {
        let (felt, unexplained) = summed(rows, &all_at_once(400.0)).solve().expect("it answers to one");
        (felt.of_bank, felt.of_others, unexplained / 400.0)
    };
    let (of_bank, of_others, unexplained) = solved(&[(5.0, 3.0, 3.0), (0.5, 1.0, 2.0), (1.0, 3.0, 3.0)]);
    close(of_bank, 0.0);
    close(of_others, 1.052631578947);
    close(unexplained, 0.947368421053);
    let (of_bank, of_others, unexplained) = solved(&[(3.0, 3.0, 0.1), (2.0, 0.2, 0.1), (0.0, 0.0, 1.0)]);
    close(of_bank, 0.038461538462);
    close(of_others, 0.0);
    close(unexplained, 1.000769230769);
}

#[test]
fn what_is_long_past_is_forgotten() {
    let ways = Ways { span_s: 2.0, forgets_share: 0.25, ..Ways::of(Millis::from_seconds(4)) };
    let sums = summed(&[(1.0, 2.0, 3.0), (2.0, -1.0, 0.5)], &ways);
    close(sums.seconds, 2.0 * 0.75 + 2.0);
    close(sums.bank, 2.0 * 0.75 + 8.0);
    close(sums.both, 4.0 * 0.75 - 4.0);
    close(sums.others, 8.0 * 0.75 + 2.0);
    close(sums.bank_reading, 6.0 * 0.75 + 2.0);
    close(sums.others_reading, 12.0 * 0.75 - 1.0);
    close(sums.reading, 18.0 * 0.75 + 0.5);
}

#[test]
fn nothing_is_told_before_twenty_minutes_nor_of_what_never_moved_apart_or_at_all() {
    assert!(summed(&ROWS, &all_at_once(300.0)).solve().is_some());
    assert!(summed(&ROWS, &all_at_once(299.0)).solve().is_none());
    let alike = ROWS.map(|(bank, _, reading_c)| (bank, 2.0 * bank, reading_c));
    assert!(summed(&alike, &all_at_once(400.0)).solve().is_none());
    let still = ROWS.map(|(bank, _, reading_c)| (1e-7 * bank, bank * bank, reading_c));
    assert!(summed(&still, &all_at_once(400.0)).solve().is_none());
}

/// Whether two move apart does not hang on how much either moves.
#[test]
fn small_swings_that_move_apart_are_told_like_large_ones() {
    let shares = [(1.0, 1.0), (1e-2, 1e-2), (1.0, 1e-4), (3e-6, 1.0)];
    for (of_bank, of_others) in shares {
        let rows = ROWS.map(|(bank, others, reading_c)| (of_bank * bank, of_others * others, reading_c));
        let (felt, _) = summed(&rows, &all_at_once(400.0)).solve().expect("they move apart");
        close(felt.of_bank * of_bank, 0.418811881188);
        close(felt.of_others * of_others, 0.308910891089);
    }
}

#[test]
fn an_answer_counts_that_leaves_a_tenth_more_unexplained_than_the_best_and_not_one_that_leaves_more() {
    let mut felt = BanksFelt::default();
    let worse = |by: f64| {
        let mut sums = summed(&ROWS, &all_at_once(400.0));
        sums.reading += by;
        sums
    };
    let least = worse(0.0).solve().unwrap().1;
    felt.sums[1][0][0] = worse(0.0);
    felt.sums[1][2][3] = worse(0.0999 * least);
    felt.sums[1][4][4] = worse(0.1001 * least);
    assert_eq!(felt.of(1).count(), 2);
    assert_eq!(felt.of(0).count(), 0);
    assert_eq!(felt.of(BANKS_MOST).count(), 0);
}

fn seen(kiln: &Kiln, on: bool) -> Seen<'_> {
    let mut banks = [false; BANKS_MOST];
    banks[0] = on;
    Seen {
        since_last: Millis::from_seconds(1),
        phase: Phase::Climbing,
        kiln,
        reports: &[],
        measured: &[],
        setpoint: None,
        plan_hottest: None,
        lid: Contact::NotFitted,
        amps: [None; BANKS_MOST],
        contactor: Contact::NotFitted,
        permitted: true,
        banks,
        elapsed: Millis::ZERO,
        alight: Millis::ZERO,
        given: Joules::ZERO,
        forecast: None,
    }
}

#[test]
fn a_moment_is_the_mean_of_four_seconds() {
    let kiln = crate::testing::kiln_with_banks(2, 1.0);
    let mut felt = BanksFelt::default();
    let mut take = |on: bool, c: f64| felt.take(&seen(&kiln, on), [Some(c), None, None, None]);
    let given = [take(true, 600.0), take(true, 602.0), take(false, 604.0), take(true, 606.0)];
    assert_eq!(given, [None, None, None, Some(Millis::from_seconds(4))]);
    assert_eq!(felt.swings[0].last_c, Some(603.0));
    assert_eq!(felt.swings[1].last_c, None);
    close(felt.duty(0), 0.5 * 0.75 * 4.0 / 604.0);
    close(felt.duty(1), 0.0);
    assert_eq!((felt.watched, felt.moment.span), (Millis::from_seconds(4), Millis::ZERO));
}

#[test]
fn the_first_eight_minutes_are_not_counted() {
    let kiln = crate::testing::kiln_with_banks(2, 1.0);
    let mut felt = BanksFelt::default();
    for second in 1..=484 {
        felt.take(&seen(&kiln, true), [Some(600.0), None, None, None]);
        let counted_s = felt.sums[0][0][0].seconds;
        assert!((counted_s > 0.0) == (second >= 480), "{counted_s} s at {second} s");
    }
}
