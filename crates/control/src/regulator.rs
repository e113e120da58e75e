//! The duty of one zone: feed-forward from the kiln model, and a PID on what is left.
//!
//! The feed-forward is the heat the model says the reference takes: into ware and lining, through
//! leaks, into what answers at once. The PID (crate `pid`) corrects it, in watts. The sum is what
//! the elements are to give; the duty then is what brings them there, knowing the heat they hold.
//!
//! What the `pid` crate lacks is done here: it has no time step (gains are scaled to the span), no
//! anti-windup at the real power limit (its integral gain is zeroed while more could not be
//! given), no way to set its integral for a bumpless transfer (a bias beside it takes that part),
//! no filter before the derivative, and its limits are symmetric.

use pid::Pid;
use pyrometry::constant;
use pyrometry::units::{Celsius, Duty, Millis, Watts, between, greater, lesser};

use crate::fall::Fall;
use crate::kiln::Kiln;
use crate::shaper::Reference;
use crate::thermal::{Elements, ROOM_C, Wall, Ware};

/// Delay between heat and reading that the tuning allows for, besides the time in which the
/// elements are brought: the thermocouple's lag, the filter's, and half a 20 s window. With less, a
/// light kiln of great power swings, see `a_fast_kiln_…` in `tests/cone_end.rs`.
const DELAY_S: f64 = 30.0;

/// Closed-loop time constant asked for: slower than the delay by enough to stand twice the gain.
const CLOSED_LOOP_S: f64 = 45.0;

/// Derivative time: the part of the delay that the derivative is to make up for.
const DERIVATIVE_S: f64 = 10.0;

/// Span over which the quick part of the load answers, for the integrating gain.
const ANSWER: Millis = Millis::from_seconds(90);

/// Share of the ware's heat capacity that answers within that span when radiation is strong
/// (above red heat), from the fourfold fall of the loop gain over the range (measured on a
/// simulated furnace: 0.58 to 0.35 °C/s per unit of duty between 150 and 1200 °C).
const WARE_SHARE: f64 = 0.25;

/// Filter before the PID: passes what a kiln does in tens of seconds, not an amplifier's noise.
const FILTER_S: f64 = 5.0;

/// How far the lining's hot face is let follow the reference away from the reading.
const TRUST_C: f64 = 8.0;

/// How long a reading goes on rising once the elements are off: their lag, the thermocouple's and
/// the filter's, together.
const COASTS_S: f64 = 50.0;

/// The most that a take-over believes the model to be out by, as a share of the power.
const TAKEN_OVER_MOST: f64 = 0.4;

/// Above this a kiln at light-up has been fired, not stood in the sun.
const FOUND_HOT: Celsius = constant!(Celsius, 60.0);

/// The regulator of one zone.
#[derive(Clone, Debug)]
pub(crate) struct Regulator {
    pid: Pid<f64>,
    elements: Elements,
    ware: Ware,
    wall: Wall,
    share: f64,
    power: Watts,
    lining_takes_w: f64,
    /// The last feed-forward.
    forward_w: f64,
    /// What full power has shown the feed-forward to be out by.
    bias_w: f64,
    filtered_c: Option<f64>,
    moving_c_per_s: f64,
    /// What the last step asked for before it was limited to what a duty can be.
    unlimited: f64,
}

/// Whether the integral may grow in this step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Integration {
    /// The kiln answers to the duty asked.
    Free,
    /// It doesn't: heat is withheld, the climb is flat out, or the supply limits.
    Held,
}

impl Regulator {
    /// A regulator for a zone that has this share of the kiln and these banks' power, standing at
    /// a temperature.
    pub(crate) fn new(kiln: &Kiln, share: f64, power: Watts, standing_at: Celsius) -> Self {
        let wall = if standing_at > FOUND_HOT {
            Wall::found_hot(&kiln.model, standing_at)
        } else {
            Wall::at_rest(&kiln.model, standing_at)
        };
        Self {
            pid: Pid::new(standing_at.c(), power.w()),
            elements: Elements::at_rest(&kiln.model, power, share, standing_at.c()),
            ware: Ware::at_rest(&kiln.model, share, standing_at),
            wall,
            share,
            power,
            lining_takes_w: 0.0,
            forward_w: 0.0,
            bias_w: 0.0,
            filtered_c: None,
            moving_c_per_s: 0.0,
            unlimited: 0.0,
        }
    }

    /// Follows a kiln that is not heated, so that its stores are known when heat is wanted again.
    pub(crate) fn watch(&mut self, reading: Celsius, span: Millis) {
        self.follow(reading, Duty::OFF, span);
        self.filter(reading, span);
        self.pid.reset_integral_term();
        self.bias_w = 0.0;
    }

    /// The duty for this step; `given` is what the banks were really asked for since the last.
    pub(crate) fn duty(
        &mut self,
        kiln: &Kiln,
        reference: Reference,
        reading: Celsius,
        given: Duty,
        integration: Integration,
        span: Millis,
    ) -> Duty {
        let reading_c = self.filter(reading, span);
        let hot_face_c = between(reference.at.c(), reading_c - TRUST_C, reading_c + TRUST_C);
        let stores_w = self.follow(Celsius::new(hot_face_c).unwrap_or(reading), given, span);
        let model = kiln.model.parameters();
        let forward_w = stores_w
            + self.share * model.leak_w_per_k * (hot_face_c - ROOM_C)
            + self.share * model.quick_j_per_k * reference.rate.c_per_s();
        self.tune(kiln, reading, reference.at.c() - reading_c, integration, span);
        self.pid.setpoint = reference.at.c();
        self.forward_w = forward_w;
        let needed_w = forward_w + self.bias_w + self.pid.next_control_output(reading_c).output;
        self.unlimited = self.elements.duty_to_give(needed_w, reading_c);
        Duty::limited(self.unlimited)
    }

    /// How hot the zone will still get if the elements gave from now on only what staying takes:
    /// by what the model says they hold, or by how fast the reading moves, whichever is more.
    pub(crate) fn coasts_to(&self, kiln: &Kiln) -> Celsius {
        let Some(reading) = self.filtered_c.and_then(Celsius::new) else { return Celsius::LEAST };
        let staying_w = self.share * kiln.model.parameters().leak_w_per_k * (reading.c() - ROOM_C)
            + self.ware.takes_w(reading.c());
        let held_c = self.elements.excess_j(staying_w, reading.c()) / self.answering_j_per_k(kiln, reading);
        let moving_c = self.moving_c_per_s * COASTS_S;
        Celsius::new(reading.c() + greater(0.0, greater(held_c, moving_c))).unwrap_or(reading)
    }

    /// Takes over after full power, without a bump: of the power given, what did not go into the
    /// rise seen is what staying here takes, whatever the model says.
    pub(crate) fn take_over(&mut self, kiln: &Kiln) {
        let Some(reading) = self.filtered_c.and_then(Celsius::new) else { return };
        let given_w = self.power.w() * kiln.model.parameters().power_ratio;
        let rising_w = self.answering_j_per_k(kiln, reading) * self.moving_c_per_s;
        let most_w = TAKEN_OVER_MOST * given_w;
        self.bias_w = between(given_w - rising_w - self.forward_w, -most_w, most_w);
        self.pid.reset_integral_term();
    }

    /// How the zone would fall without heat from here: lining, leaks and the ware's own lag take
    /// from what the elements hold.
    pub(crate) fn natural_fall(&self, kiln: &Kiln, from: Celsius) -> Fall {
        let model = kiln.model.parameters();
        let (quick_j_per_k, leak_w_per_k) =
            (greater(10.0, self.share * model.quick_j_per_k), self.share * model.leak_w_per_k);
        let (mut ware, mut wall) = (self.ware, self.wall);
        Fall::computed(from.c(), |at_c, step_s| {
            let span = Millis::from_seconds_f64(step_s).unwrap_or(Millis::ZERO);
            let taken_w = |ware: &mut Ware, wall: &mut Wall, at_c: f64| {
                let lining_w = Celsius::new(at_c).map_or(0.0, |face| wall.step(face, span).w());
                ware.step(at_c, span) + self.share * lining_w + leak_w_per_k * (at_c - ROOM_C)
            };
            // One degree hotter takes this much more: what answers at once is quicker than a step.
            let (mut ware_hotter, mut wall_hotter) = (ware, wall);
            let hotter_w = taken_w(&mut ware_hotter, &mut wall_hotter, at_c + 1.0);
            let here_w = taken_w(&mut ware, &mut wall, at_c);
            at_c - here_w * step_s / (quick_j_per_k + greater(0.0, hotter_w - here_w) * step_s)
        })
    }

    /// Lets the stores follow; gives the heat flowing into ware and lining, W.
    fn follow(&mut self, chamber: Celsius, given: Duty, span: Millis) -> f64 {
        self.elements.step(given, chamber.c(), span);
        self.lining_takes_w = self.share * self.wall.step(chamber, span).w();
        self.ware.step(chamber.c(), span) + self.lining_takes_w
    }

    /// Heat capacity that answers within [`ANSWER`].
    fn answering_j_per_k(&self, kiln: &Kiln, reading: Celsius) -> f64 {
        let model = kiln.model.parameters();
        let radiation = between((reading.c() - 100.0) / 700.0, 0.0, 1.0); // none at 100 °C, full at red heat
        let whole_j_per_k = model.quick_j_per_k
            + WARE_SHARE * (0.3 + 0.7 * radiation) * model.ware_j_per_k
            + self.wall.skin_j_per_k(reading, ANSWER);
        greater(100.0, self.share * whole_j_per_k)
    }

    /// SIMC rules for an integrating process (Skogestad 2003, J. Process Control 13, table 1):
    /// Kc = 1/(k'·(τc + θ)), Ti = 4·(τc + θ), here in watts, so that 1/k' is a heat capacity.
    fn tune(&mut self, kiln: &Kiln, reading: Celsius, error_c: f64, integration: Integration, span: Millis) {
        let slow_s = CLOSED_LOOP_S + DELAY_S + self.elements.bring_s(reading.c());
        let gain_w_per_c = self.answering_j_per_k(kiln, reading) / slow_s;
        let wound_up = (self.unlimited > 1.0 && error_c > 0.0) || (self.unlimited < 0.0 && error_c < 0.0);
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

    fn filter(&mut self, reading: Celsius, span: Millis) -> f64 {
        let share = lesser(span.seconds() / FILTER_S, 1.0);
        let before_c = self.filtered_c.unwrap_or(reading.c());
        let filtered_c = before_c + (reading.c() - before_c) * share;
        self.filtered_c = Some(filtered_c);
        if span > Millis::ZERO {
            self.moving_c_per_s += ((filtered_c - before_c) / span.seconds() - self.moving_c_per_s) * share;
        }
        filtered_c
    }
}
