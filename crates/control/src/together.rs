//! Zones are fired together: the slowest leads.
//!
//! A zone that can't follow, because its banks are at their limit or because it cools more slowly than
//! asked, would be left behind by the others, and the ware with it. So no zone is asked to be further
//! ahead of it than a bound. They go no faster than it, but never back with it: a kiln whose zones all
//! followed the one that falls would fall together. A zone that needs its neighbours' heat to arrive at
//! all gets it in the end: the bound widens for as long as it binds. Evenness is worth an hour, not the
//! firing.

use pyrometry::units::{Celsius, Millis, between, greater, lesser};

use crate::plan::WAITS_BEYOND;
use crate::shaper::{Reference, per_hour};

/// The most a zone is at first asked to be ahead of the slowest: more than healthy zones are apart of
/// themselves, see `docs/control.md`.
const AHEAD_C: f64 = 2.5;

/// The most it comes to; so far behind, the schedule's clock waits for the slowest zone anyway.
const AHEAD_MOST_C: f64 = WAITS_BEYOND.c();

/// How fast it widens while it binds, and narrows again: engineering judgement.
const WIDENS_C_PER_S: f64 = 1.0 / 1800.0;

/// The slowest zone's pace is judged over so long: longer than the banks' cycles.
const PACE_OVER_S: f64 = 60.0;

/// Which zone is the slowest: the coldest of those that climb, the hottest of those that cool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Up,
    Down,
}

/// The zones as they were led.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Together {
    led: Option<Led>,
    ahead_c: f64,
}

/// What was asked on this way so far.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Led {
    way: Way,
    /// Where the slowest zone was, smoothed.
    followed_c: f64,
    /// What the zones were asked to be at.
    asked_c: f64,
}

impl Together {
    /// Zones that nobody has led yet.
    pub(crate) const fn new() -> Self {
        Self { led: None, ahead_c: AHEAD_C }
    }

    /// What every zone is to follow: the reference, or, where that leaves the slowest behind, what is near
    /// it. `zones_c` are their smoothed temperatures.
    pub(crate) fn lead(
        &mut self,
        reference: Reference,
        zones_c: impl Iterator<Item = f64>,
        span: Millis,
    ) -> Reference {
        let way = if reference.rate.c_per_h() < 0.0 { Way::Down } else { Way::Up };
        let Some(slowest_c) = zones_c.reduce(|one_c, other_c| way.slower(one_c, other_c)) else {
            return reference;
        };
        let led = match self.led {
            Some(led) if led.way == way => led,
            _ => Led { way, followed_c: slowest_c, asked_c: slowest_c },
        };
        let near_c = way.further(way.ahead_of(slowest_c, self.ahead_c), led.asked_c);
        let at = Celsius::new(way.slower(reference.at.c(), near_c)).unwrap_or(reference.at);
        let moved_c = slowest_c - led.followed_c;
        let followed_c = led.followed_c + moved_c * lesser(span.seconds() / PACE_OVER_S, 1.0);
        self.led = Some(Led { way, followed_c, asked_c: at.c() });

        let binds = at != reference.at;
        let widens_c = if binds { WIDENS_C_PER_S } else { -WIDENS_C_PER_S } * span.seconds();
        self.ahead_c = between(self.ahead_c + widens_c, AHEAD_C, AHEAD_MOST_C);
        if !binds {
            return reference;
        }
        let moves = per_hour(way.not_back(moved_c / PACE_OVER_S));
        Reference { at, moves, rate: moves }
    }
}

impl Way {
    fn slower(self, one_c: f64, other_c: f64) -> f64 {
        match self {
            Self::Up => lesser(one_c, other_c),
            Self::Down => greater(one_c, other_c),
        }
    }

    fn further(self, one_c: f64, other_c: f64) -> f64 {
        match self {
            Self::Up => greater(one_c, other_c),
            Self::Down => lesser(one_c, other_c),
        }
    }

    fn ahead_of(self, slowest_c: f64, by_c: f64) -> f64 {
        match self {
            Self::Up => slowest_c + by_c,
            Self::Down => slowest_c - by_c,
        }
    }

    fn not_back(self, c_per_s: f64) -> f64 {
        match self {
            Self::Up => greater(c_per_s, 0.0),
            Self::Down => lesser(c_per_s, 0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use pyrometry::units::CelsiusPerHour;

    use super::*;

    const SECOND: Millis = Millis::from_seconds(1);

    fn reference(at_c: f64, c_per_h: f64) -> Reference {
        let rate = CelsiusPerHour::new(c_per_h).unwrap();
        Reference { at: Celsius::new(at_c).unwrap(), moves: rate, rate }
    }

    fn led(together: &mut Together, plan: Reference, zones_c: [f64; 2]) -> Reference {
        together.lead(plan, zones_c.into_iter(), SECOND)
    }

    #[test]
    fn zones_that_keep_up_follow_the_plan_itself() {
        let plan = reference(500.0, 100.0);
        assert_eq!(led(&mut Together::new(), plan, [498.0, 501.0]), plan);
    }

    #[test]
    fn no_zone_is_asked_to_be_far_ahead_of_one_that_is_left_behind_and_all_move_at_its_pace() {
        let (mut together, mut slowest_c) = (Together::new(), 480.0);
        let mut last = reference(500.0, 100.0);
        for _ in 0..300 {
            slowest_c += 60.0 / 3600.0;
            last = led(&mut together, reference(500.0, 100.0), [499.0, slowest_c]);
        }
        let ahead_c = last.at.c() - slowest_c;
        assert!((AHEAD_C..AHEAD_C + 0.4).contains(&ahead_c), "{ahead_c}");
        assert!((last.rate.c_per_h() - 60.0).abs() < 1.0 && last.moves == last.rate, "{last:?}");
    }

    #[test]
    fn a_zone_that_falls_takes_nobody_back_with_it() {
        let (mut together, mut slowest_c) = (Together::new(), 480.0);
        for _ in 0..300 {
            slowest_c -= 60.0 / 3600.0;
            let last = led(&mut together, reference(500.0, 0.0), [485.0, slowest_c]);
            assert!(last.at.c() >= 482.4 && last.rate.c_per_h() >= 0.0, "{last:?}");
        }
    }

    #[test]
    fn a_zone_behind_for_hours_is_helped_by_its_neighbours_and_the_bound_narrows_again_after_it() {
        let (mut together, plan) = (Together::new(), reference(500.0, 0.0));
        for _ in 0..3 * 3600 {
            led(&mut together, plan, [500.0, 480.0]);
        }
        assert!((led(&mut together, plan, [500.0, 480.0]).at.c() - 488.0).abs() < 1e-9, "8 °C");
        for _ in 0..3 * 3600 {
            led(&mut together, plan, [500.0, 499.0]);
        }
        let next = reference(520.0, 0.0);
        assert!((led(&mut together, next, [520.0, 510.0]).at.c() - 512.5).abs() < 0.01, "2.5 °C again");
    }

    #[test]
    fn where_zones_cool_the_hottest_leads() {
        let last = led(&mut Together::new(), reference(900.0, -80.0), [901.0, 910.0]);
        assert!((last.at.c() - 907.5).abs() < 1e-9, "{last:?}");
        let mut together = Together::new();
        for second in 0..120 {
            let rate = led(&mut together, reference(900.0, -80.0), [901.0, 910.0 + f64::from(second)]).rate;
            assert!(rate.c_per_h() <= 0.0, "{rate:?}");
        }
    }

    #[test]
    fn the_pace_of_the_way_up_is_forgotten_on_the_way_down() {
        let mut together = Together::new();
        for second in 0..120 {
            led(&mut together, reference(900.0, 100.0), [480.0 + f64::from(second), 900.0]);
        }
        assert!(led(&mut together, reference(500.0, -80.0), [610.0, 610.0]).rate.c_per_h().abs() < 1e-9);
    }
}
