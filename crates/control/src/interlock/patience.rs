//! How long each row has withheld heat: without a break, and within the last hour.

use pyrometry::units::Millis;

use super::row::Patience;

const MINUTES: usize = 60; // buckets of one minute make the hour
const MINUTE: Millis = Millis::from_minutes(1);

/// One row's account of withheld time.
#[derive(Clone, Debug)]
pub(crate) struct Withheld {
    unbroken: Millis,
    minutes: [Millis; MINUTES],
    minute: usize,
    into_minute: Millis,
    in_an_hour: Millis,
    /// The chamber when the unbroken withhold began, and now, °C.
    began_c: Option<f64>,
    now_c: Option<f64>,
}

impl Withheld {
    /// Nothing withheld yet.
    pub(crate) const fn new() -> Self {
        Self {
            unbroken: Millis::ZERO,
            minutes: [Millis::ZERO; MINUTES],
            minute: 0,
            into_minute: Millis::ZERO,
            in_an_hour: Millis::ZERO,
            began_c: None,
            now_c: None,
        }
    }

    /// A step in which the row withholds; the chamber where it was just read.
    pub(crate) fn held(&mut self, span: Millis, chamber_c: Option<f64>) {
        self.advance(span);
        self.began_c = self.began_c.or(chamber_c);
        self.now_c = chamber_c.or(self.now_c);
        self.unbroken += span;
        self.in_an_hour += span;
        if let Some(minute) = self.minutes.get_mut(self.minute) {
            *minute += span;
        }
    }

    /// A step in which it doesn't.
    pub(crate) fn let_go(&mut self, span: Millis) {
        self.unbroken = Millis::ZERO;
        (self.began_c, self.now_c) = (None, None);
        if self.in_an_hour > Millis::ZERO {
            self.advance(span);
        }
    }

    /// Whether it has withheld longer than it may.
    pub(crate) fn exhausts(&self, patience: Patience) -> Option<Millis> {
        let fallen_c = self.began_c.zip(self.now_c).map(|(began_c, now_c)| began_c - now_c);
        let too_far = patience.drop.zip(fallen_c).is_some_and(|(most, fallen_c)| fallen_c >= most.c());
        if self.unbroken >= patience.unbroken || too_far {
            Some(self.unbroken)
        } else if self.in_an_hour >= patience.in_an_hour {
            Some(self.in_an_hour)
        } else {
            None
        }
    }

    /// Moves the hour on; what leaves it no longer counts.
    fn advance(&mut self, span: Millis) {
        self.into_minute += span;
        for _ in 0..MINUTES {
            if self.into_minute < MINUTE {
                return;
            }
            self.into_minute = self.into_minute.since(MINUTE);
            self.minute = (self.minute + 1) % MINUTES;
            if let Some(minute) = self.minutes.get_mut(self.minute) {
                self.in_an_hour = self.in_an_hour.since(*minute);
                *minute = Millis::ZERO;
            }
        }
        self.into_minute = Millis::ZERO; // nothing is left of the hour
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: Millis = Millis::from_seconds(1);

    fn after(steps: impl Iterator<Item = bool>) -> Option<Millis> {
        let mut withheld = Withheld::new();
        for held in steps {
            if held { withheld.held(SECOND, None) } else { withheld.let_go(SECOND) }
        }
        withheld.exhausts(Patience::ORDINARY)
    }

    #[test]
    fn ten_minutes_without_a_break_exhaust_and_a_second_less_does_not() {
        assert_eq!(after((0..600).map(|_| true)), Some(Millis::from_minutes(10)));
        assert_eq!(after((0..599).map(|_| true)), None);
    }

    #[test]
    fn twenty_minutes_withheld_with_breaks_exhaust_within_an_hour_and_not_beyond_it() {
        // Twice nine and a half minutes, a pause, and one minute; the hour begins with the first of them.
        let with_pause = |pause_s: usize| {
            let spans = [(false, 30), (true, 570), (false, 30), (true, 570), (false, pause_s), (true, 60)];
            after(spans.into_iter().flat_map(|(held, seconds)| core::iter::repeat_n(held, seconds)))
        };
        let just_within_s = 3_600 - (570 + 30 + 570 + 60) - 1;
        assert_eq!(with_pause(just_within_s), Some(Millis::from_minutes(20)));
        assert_eq!(with_pause(just_within_s + 1), None);
    }

    #[test]
    fn a_pause_of_hours_forgets_all_that_was_withheld_before() {
        let mut withheld = Withheld::new();
        for minutes in [9, 9] {
            withheld.held(Millis::from_minutes(minutes), None);
            withheld.let_go(SECOND);
        }
        withheld.let_go(Millis::from_hours(3));
        withheld.held(Millis::from_minutes(9), None);
        assert_eq!(withheld.exhausts(Patience::ORDINARY), None);
    }

    #[test]
    fn twenty_minutes_within_an_hour_exhaust_and_a_third_of_the_time_for_longer_does_not() {
        assert!(after((0..2700).map(|second| second % 2 == 0)).is_some());
        assert_eq!(after((0..36_000).map(|second| second % 4 == 0)), None);
    }
}
