//! The duty of one zone: feed-forward from the kiln model, and a PID on what is left.
//!
//! The feed-forward is the heat the model says the kiln would take if it stood at the reference: into
//! ware and lining, through leaks, into what answers at once. Its stores follow the reading, so what
//! a kiln lags behind is asked for and what it is ahead is not. How much ware there is, the firing
//! itself shows. The PID (crate `pid`) corrects it, in watts. The sum is what
//! the elements are to give; the duty then is what brings them there, knowing the heat they hold.
//!
//! What the `pid` crate lacks is done here: it has no time step (gains are scaled to the span), no
//! anti-windup at the real power limit (its integral gain is zeroed while more could not be
//! given), no filter before the derivative, and its limits are symmetric.

use pid::Pid;
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusPerHour, Duty, Joules, Millis, Watts, between, greater, lesser};

use crate::estimate::Estimate;
use crate::fall::Fall;
use crate::model::KilnModel;
use crate::shaper::Reference;
use crate::thermal::{Flows, LoadBalance, Stores};

/// Delay between heat and reading that the tuning allows for, besides the time in which the
/// elements are brought: the thermocouple's lag, the filter's, and half a 20 s cycle. With less, a
/// light kiln of great power swings, see `a_fast_kiln_…` in `tests/cone_end.rs`.
const DELAY_S: f64 = 30.0;

/// Closed-loop time constant asked for: slower than the delay by enough to stand twice the gain.
const CLOSED_LOOP_S: f64 = 45.0;

/// Derivative time: the part of the delay that the derivative is to make up for.
const DERIVATIVE_S: f64 = 10.0;

/// So long after the reference's rate has fallen less is fed forward than the stores account for: about
/// the integral's own time, in which it finds out.
const FALLS_FOR_S: f64 = 400.0;

/// Span over which the quick part of the load answers, for the integrating gain.
const ANSWER: Millis = Millis::from_seconds(90);

/// Share of the ware's heat capacity that answers within that span when radiation is strong
/// (above red heat), from the fourfold fall of the loop gain over the range (measured on a
/// simulated furnace: 0.58 to 0.35 °C/s per unit of duty between 150 and 1200 °C).
const WARE_SHARE: f64 = 0.25;

const STILL: CelsiusPerHour = constant!(CelsiusPerHour, 0.0);

/// The regulator of one zone.
#[derive(Clone, Debug)]
pub(crate) struct Regulator {
    pid: Pid<f64>,
    stores: Stores,
    power: Watts,
    /// The load that this firing's full power has shown, as a multiple of the guess.
    load_ratio: f64,
    balance: LoadBalance,
    estimate: Estimate,
    /// At which rate the reference has moved in the last [`FALLS_FOR_S`], °C/s.
    moved_c_per_s: f64,
    /// What the last step asked for before it was limited to what a duty can be.
    unlimited: f64,
    /// Whether it asked the elements to give more than their power.
    beyond_power: bool,
}

/// Whether the integral may grow in this step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Integration {
    /// The kiln answers to the duty asked.
    Free,
    /// It doesn't: heat is withheld, or the supply limits.
    Held,
}

impl Regulator {
    /// A regulator for a zone that has this share of the kiln and these banks' power, standing at
    /// a temperature.
    pub(crate) fn new(model: &KilnModel, share: f64, power: Watts, standing_at: Celsius) -> Self {
        Self {
            pid: Pid::new(standing_at.c(), power.w()),
            stores: Stores::found(model, share, power, standing_at),
            power,
            load_ratio: 1.0,
            balance: LoadBalance::default(),
            estimate: Estimate::default(),
            moved_c_per_s: 0.0,
            unlimited: 0.0,
            beyond_power: false,
        }
    }

    /// Follows a kiln that is not heated, so that its stores are known when heat is wanted again.
    pub(crate) fn watch(&mut self, reading: Celsius, span: Millis) {
        let _watched = self.stores.follow(reading, Duty::OFF, span);
        // The law's derivative goes from reading to reading: it must not leap when heat is wanted again.
        let reading_c = self.estimate.see(reading, STILL, span);
        let _unwanted = self.pid.next_control_output(reading_c);
        self.pid.reset_integral_term();
        self.balance = LoadBalance::default();
        self.moved_c_per_s = 0.0;
    }

    /// By how much the reference's rate has fallen lately, °C/s; 0 where it has risen.
    ///
    /// The thermocouple's lag and the quick part of the ware, which the model has in none of its stores,
    /// carry a climb on where it is to end: as if what answers at once were twice as much. Where a climb
    /// begins they only round the corner, and zones that differ in them would come apart.
    fn falls_c_per_s(&mut self, reference: Reference, span: Millis) -> f64 {
        let rate_c_per_s = reference.rate.c_per_s();
        self.moved_c_per_s += (rate_c_per_s - self.moved_c_per_s) * lesser(span.seconds() / FALLS_FOR_S, 1.0);
        lesser(rate_c_per_s - self.moved_c_per_s, 0.0)
    }

    /// Its zone's temperature as it takes it, °C; `None` before the first step.
    pub(crate) fn smoothed_c(&self) -> Option<f64> {
        self.estimate.smoothed_c()
    }

    /// How far its zone is from its reference, °C.
    pub(crate) fn off_c(&self) -> f64 {
        self.estimate.smoothed_c().map_or(0.0, |smoothed_c| (smoothed_c - self.pid.setpoint).abs())
    }

    /// The duty for this step; `given` is what the banks were really asked for since the last.
    pub(crate) fn duty(
        &mut self,
        model: &KilnModel,
        reference: Reference,
        reading: Celsius,
        given: Duty,
        integration: Integration,
        span: Millis,
    ) -> Duty {
        let reading_c = self.estimate.see(reading, reference.moves, span);
        let Flows { given_w, lining_w, ware_w, leak_w } = self.stores.follow(reading, given, span);
        self.balance.add(given_w - lining_w - leak_w, ware_w, span);
        let parameters = model.parameters();
        let share = self.stores.share;
        self.load_ratio = self.balance.ratio(share * parameters.ware_j_per_k);
        let to_c = reference.at.c();
        let forward_w = share * self.stores.wall.takes_w(to_c)
            + self.stores.leaks_w(to_c)
            + self.load_ratio * self.stores.ware.takes_w(to_c)
            + share
                * parameters.quick_j_per_k
                * (reference.rate.c_per_s() + self.falls_c_per_s(reference, span));
        self.tune(model, reading, reference.at.c() - reading_c, integration, span);
        self.pid.setpoint = reference.at.c();
        let needed_w = forward_w + self.pid.next_control_output(reading_c).output;
        self.unlimited = self.stores.elements.duty_to_give(needed_w, reading_c);
        self.beyond_power = needed_w > self.power.w() * parameters.power_ratio;
        Duty::limited(self.unlimited)
    }

    /// Heat that swings the zone's temperature by so much when it comes and goes.
    ///
    /// The elements' own lag, which hides some of it, is left out: before a firing has shown it, it is
    /// not known.
    pub(crate) fn swing(&self, model: &KilnModel, reading: Celsius, by_c: f64) -> Joules {
        Joules::new(self.answering_j_per_k(model, reading) * by_c).unwrap_or(Joules::ZERO)
    }

    /// How the zone would fall without heat from here: lining, leaks and the ware's own lag take
    /// from what the elements hold.
    pub(crate) fn natural_fall(&self, model: &KilnModel, from: Celsius) -> Fall {
        let quick_j_per_k = greater(10.0, self.stores.share * model.parameters().quick_j_per_k);
        let mut stores = self.stores;
        Fall::computed(from.c(), |at_c, step_s| {
            let span = Millis::from_seconds_f64(step_s).unwrap_or(Millis::ZERO);
            // One degree hotter takes this much more: what answers at once is quicker than a step.
            let mut hotter = stores;
            let hotter_w = hotter.take_w(at_c + 1.0, self.load_ratio, span);
            let here_w = stores.take_w(at_c, self.load_ratio, span);
            at_c - here_w * step_s / (quick_j_per_k + greater(0.0, hotter_w - here_w) * step_s)
        })
    }

    /// Heat capacity that answers within [`ANSWER`].
    fn answering_j_per_k(&self, model: &KilnModel, reading: Celsius) -> f64 {
        let parameters = model.parameters();
        let radiation = between((reading.c() - 100.0) / 700.0, 0.0, 1.0); // none at 100 °C, full at red heat
        let whole_j_per_k = parameters.quick_j_per_k
            + WARE_SHARE * (0.3 + 0.7 * radiation) * parameters.ware_j_per_k
            + self.stores.wall.skin_j_per_k(reading, ANSWER);
        greater(100.0, self.stores.share * whole_j_per_k)
    }

    /// SIMC rules for an integrating process (Skogestad 2003, J. Process Control 13, table 1):
    /// Kc = 1/(k'·(τc + θ)), Ti = 4·(τc + θ), here in watts, so that 1/k' is a heat capacity.
    fn tune(
        &mut self,
        model: &KilnModel,
        reading: Celsius,
        error_c: f64,
        integration: Integration,
        span: Millis,
    ) {
        let slow_s =
            CLOSED_LOOP_S + DELAY_S + self.stores.elements.bring_s(reading.c()) + self.estimate.smooths_s();
        let gain_w_per_c = self.answering_j_per_k(model, reading) / slow_s;
        let can_give_no_more = self.unlimited > 1.0 || self.beyond_power;
        let wound_up = (can_give_no_more && error_c > 0.0) || (self.unlimited < 0.0 && error_c < 0.0);
        let integral = if wound_up || integration == Integration::Held {
            0.0
        } else {
            gain_w_per_c / (4.0 * slow_s) * span.seconds()
        };
        let most_w = self.power.w();
        self.pid.p(gain_w_per_c, most_w);
        self.pid.i(integral, most_w);
        self.pid.d(gain_w_per_c * DERIVATIVE_S / greater(0.001, span.seconds()), most_w);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::kiln_with_banks;

    const SECOND: Millis = Millis::from_seconds(1);

    #[test]
    fn a_rate_that_has_fallen_shows_for_minutes_and_one_that_has_risen_does_not() {
        let kiln = kiln_with_banks(1, 1.0);
        let at = Celsius::new(600.0).unwrap();
        let mut regulator = Regulator::new(&kiln.model, 1.0, kiln.rated(), at);
        let mut falls_c_per_h = |c_per_h: f64, seconds: u32| {
            let rate = CelsiusPerHour::new(c_per_h).unwrap();
            let reference = Reference { at, moves: rate, rate };
            3600.0 * (0..seconds).map(|_| regulator.falls_c_per_s(reference, SECOND)).last().unwrap()
        };
        let close = |a: f64, b: f64| assert!((a - b).abs() < 0.01, "{a} °C/h where {b} is due");
        close(falls_c_per_h(240.0, 30), 0.0); // a firing begins, and its corner is rounded
        close(falls_c_per_h(120.0, 4000), 0.0);
        close(falls_c_per_h(0.0, 1), -120.0 * 399.0 / 400.0);
        close(falls_c_per_h(0.0, 399), -120.0 * f64::powi(399.0 / 400.0, 400));
        close(falls_c_per_h(60.0, 1), 0.0);
    }

    #[test]
    fn a_kiln_that_cooled_unheated_is_not_kicked_when_heat_is_wanted_again() {
        let kiln = kiln_with_banks(1, 1.0);
        let celsius = |c: f64| Celsius::new(c).unwrap();
        let mut regulator = Regulator::new(&kiln.model, 1.0, kiln.rated(), celsius(45.0));
        let still = |at| Reference { at, moves: STILL, rate: STILL };
        let ask = |regulator: &mut Regulator, at: Celsius| {
            regulator.duty(&kiln.model, still(at), at, Duty::OFF, Integration::Free, SECOND)
        };
        ask(&mut regulator, celsius(45.0));
        for second in 0..400 {
            regulator.watch(celsius(45.0 - 8.0 * f64::from(second) / 400.0), SECOND);
        }
        let first = ask(&mut regulator, celsius(37.0));
        assert!(first.ratio() < 0.05, "{first:?} where the kiln stands as it is to");
    }
}
