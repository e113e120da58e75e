//! Time proportioning by windows: on at the window's head, off for the rest.

use hal::Level;

/// A window's length, s: usual with relays; common practice, no source.
const WINDOW_S: f64 = 20.0;

/// The least a relay may be on, or off, in a window, s.
const LEAST_S: f64 = 2.0;

/// What becomes of the part of a duty that no whole second can give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Remainder {
    Dropped,
    Carried,
}

/// The window being run.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    remainder: Remainder,
    at_s: f64,
    on_s: f64,
    owed_s: f64,
}

impl Window {
    pub(crate) fn new(remainder: Remainder) -> Self {
        Self { remainder, at_s: WINDOW_S, on_s: 0.0, owed_s: 0.0 }
    }

    /// The level of this second; the duty is heeded at a window's head.
    pub(crate) fn level(&mut self, duty_ratio: f64) -> Level {
        if self.at_s >= WINDOW_S {
            self.begin(duty_ratio);
        }
        let level = if self.at_s < self.on_s { Level::On } else { Level::Off };
        self.at_s += 1.0;
        level
    }

    fn begin(&mut self, duty_ratio: f64) {
        let asked_s = duty_ratio * WINDOW_S + self.owed_s;
        self.on_s = possible_s(asked_s);
        self.at_s = 0.0;
        self.owed_s = match self.remainder {
            Remainder::Dropped => 0.0,
            Remainder::Carried => (asked_s - self.on_s).clamp(-LEAST_S, LEAST_S),
        };
    }
}

/// The nearest whole seconds that leave the relay on and off long enough.
fn possible_s(asked_s: f64) -> f64 {
    let whole_s = libm::round(asked_s).clamp(0.0, WINDOW_S);
    if whole_s < LEAST_S {
        if asked_s < LEAST_S / 2.0 { 0.0 } else { LEAST_S }
    } else if whole_s > WINDOW_S - LEAST_S {
        if asked_s > WINDOW_S - LEAST_S / 2.0 { WINDOW_S } else { WINDOW_S - LEAST_S }
    } else {
        whole_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on_s(remainder: Remainder, duty_ratio: f64, windows: u32) -> Vec<usize> {
        let mut window = Window::new(remainder);
        let mut one = || (0..20).filter(|_| window.level(duty_ratio) == Level::On).count();
        (0..windows).map(|_| one()).collect()
    }

    #[test]
    fn a_dropped_remainder_is_lost_and_a_carried_one_comes_in_a_later_window() {
        assert_eq!(on_s(Remainder::Dropped, 0.4125, 4), [8, 8, 8, 8]);
        assert_eq!(on_s(Remainder::Carried, 0.4125, 4).iter().sum::<usize>(), 33);
    }

    #[test]
    fn no_pulse_and_no_pause_is_shorter_than_a_relay_may_stand() {
        assert_eq!(on_s(Remainder::Dropped, 0.045, 1), [0]);
        assert_eq!(on_s(Remainder::Dropped, 0.055, 1), [2]);
        assert_eq!(on_s(Remainder::Dropped, 0.945, 1), [18]);
        assert_eq!(on_s(Remainder::Dropped, 0.955, 1), [20]);
    }
}
