//! A PID with a filter before it and windows behind it.

use hal::Level;
use pid::Pid;

use super::step_test::{Answer, tested};
use super::window::{Remainder, Window};
use super::{Baseline, Seen};
use crate::case::Case;
use crate::track::Track;

/// The filter's time constant, s.
pub(crate) const FILTER_S: f64 = 5.0;

/// Where a PID with one set of gains is tuned: in the middle of the range.
const TUNED_AT_C: f64 = 600.0;

/// Where a PID whose gains follow the temperature is tuned.
const SCHEDULED_AT_C: [f64; 5] = [150.0, 400.0, 700.0, 1000.0, 1180.0];

/// Gains for steps of a second, each a share of full power per °C.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Gains {
    proportional_per_c: f64,
    integral_per_cs: f64,
    derivative_s_per_c: f64,
}

impl Gains {
    /// AMIGO for an integrating process (Åström and Hägglund 2004, Journal of Process Control 14, 635):
    /// K = 0.45/(kv·L), Ti = 8·L, Td = 0.5·L.
    fn amigo(answer: Answer) -> Self {
        let proportional_per_c = 0.45 / (answer.quickens_c_per_s * answer.delay_s);
        Self {
            proportional_per_c,
            integral_per_cs: proportional_per_c / (8.0 * answer.delay_s),
            derivative_s_per_c: proportional_per_c * 0.5 * answer.delay_s,
        }
    }

    fn between(below: Self, above: Self, part: f64) -> Self {
        let mix = |of: fn(&Self) -> f64| of(&below) + part * (of(&above) - of(&below));
        Self {
            proportional_per_c: mix(|gains| gains.proportional_per_c),
            integral_per_cs: mix(|gains| gains.integral_per_cs),
            derivative_s_per_c: mix(|gains| gains.derivative_s_per_c),
        }
    }
}

/// Gains over temperature, straight between.
struct Table(Vec<(f64, Gains)>);

impl Table {
    fn of(answers: &[Answer]) -> Self {
        Self(answers.iter().map(|answer| (answer.at_c, Gains::amigo(*answer))).collect())
    }

    fn at(&self, at_c: f64) -> Gains {
        let above = self.0.iter().position(|(known_c, _)| *known_c > at_c);
        match above {
            Some(0) => self.0[0].1,
            Some(above) => {
                let ((low_c, low), (high_c, high)) = (self.0[above - 1], self.0[above]);
                Gains::between(low, high, (at_c - low_c) / (high_c - low_c))
            }
            None => self.0[self.0.len() - 1].1,
        }
    }
}

struct Windowed {
    table: Table,
    pid: Pid<f64>,
    window: Window,
    filtered_c: Option<f64>,
}

impl Windowed {
    fn new(answers: &[Answer], remainder: Remainder) -> Self {
        Self {
            table: Table::of(answers),
            pid: Pid::new(0.0, 1.0),
            window: Window::new(remainder),
            filtered_c: None,
        }
    }
}

impl Baseline for Windowed {
    fn levels(&mut self, seen: Seen) -> Level {
        let before_c = self.filtered_c.unwrap_or(seen.reading_c);
        let filtered_c = before_c + (seen.reading_c - before_c) / FILTER_S;
        self.filtered_c = Some(filtered_c);
        let gains = self.table.at(filtered_c);
        self.pid.setpoint = seen.setpoint_c;
        self.pid
            .p(gains.proportional_per_c, 1.0)
            .i(gains.integral_per_cs, 1.0)
            .d(gains.derivative_s_per_c, 1.0);
        let duty_ratio = self.pid.next_control_output(filtered_c).output.max(0.0);
        self.window.level(duty_ratio)
    }
}

/// One set of gains, and what no whole second can give is dropped.
pub(crate) fn fire_plain(case: &Case) -> Track {
    super::fire(case, &mut Windowed::new(&tested(case, &[TUNED_AT_C]), Remainder::Dropped))
}

/// Gains that follow the temperature, and nothing dropped.
pub(crate) fn fire_scheduled(case: &Case) -> Track {
    super::fire(case, &mut Windowed::new(&tested(case, &SCHEDULED_AT_C), Remainder::Carried))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amigo_gives_its_published_gains() {
        let gains = Gains::amigo(Answer { at_c: 600.0, quickens_c_per_s: 0.5, delay_s: 30.0 });
        assert!((gains.proportional_per_c - 0.03).abs() < 1e-12, "0.45/(0.5·30)");
        assert!((gains.proportional_per_c / gains.integral_per_cs - 240.0).abs() < 1e-9, "8·30 s");
        assert!((gains.derivative_s_per_c / gains.proportional_per_c - 15.0).abs() < 1e-9, "0.5·30 s");
    }

    #[test]
    fn gains_go_straight_from_one_test_to_the_next_and_stand_still_beyond() {
        let answer = |at_c, delay_s| Answer { at_c, quickens_c_per_s: 0.5, delay_s };
        let table = Table::of(&[answer(400.0, 30.0), answer(800.0, 60.0)]);
        let share = |at_c| table.at(at_c).proportional_per_c;
        assert_eq!((share(20.0), share(900.0)), (share(400.0), share(800.0)));
        assert!((share(600.0) - f64::midpoint(share(400.0), share(800.0))).abs() < 1e-12);
    }
}
