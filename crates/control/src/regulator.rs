//! The duty of one zone: feed-forward from the kiln model, and a PID on what is left.
//!
//! The feed-forward is the power the model says the reference needs: to warm ware and elements at
//! the reference's rate, to feed the lining, and to make up for leaks. The PID (crate `pid`)
//! corrects the rest. What that crate lacks is done here: it has no time step (gains are scaled
//! to the span), no anti-windup at the real power limit (its integral gain is zeroed while the
//! limit holds), no filter before the derivative, and its limits are symmetric.

use pid::Pid;
use pyrometry::constant;
use pyrometry::units::{Celsius, Duty, Millis, Watts, between, greater, lesser};

use crate::kiln::Kiln;
use crate::shaper::Reference;
use crate::thermal::Wall;

/// Delay between duty and reading that the tuning allows for: the elements' and the
/// thermocouple's lag (8 to 19 s measured on a simulated furnace) and half a 20 s window.
const DELAY_S: f64 = 25.0;

/// Closed-loop time constant asked for: slower than the delay by enough to stand twice the gain.
const CLOSED_LOOP_S: f64 = 45.0;

/// Span over which the quick part of the load answers, for the integrating gain.
const ANSWER: Millis = Millis::from_seconds(90);

/// Derivative time: the elements' lag, which the derivative is to cancel.
const DERIVATIVE_S: f64 = 10.0;

/// Share of the ware's heat capacity that answers within that span when radiation is strong
/// (above red heat), from the fourfold fall of the loop gain over the range (measured on a
/// simulated furnace: 0.58 to 0.35 °C/s per unit of duty between 150 and 1200 °C).
const WARE_SHARE: f64 = 0.35;

/// Filter before the PID: passes what a kiln does in tens of seconds, not an amplifier's noise.
const FILTER_S: f64 = 8.0;

/// How far the wall's hot face is let follow the reading away from the reference.
const TRUST_C: f64 = 8.0;

/// Above this a kiln at light-up has been fired, not stood in the sun.
const FOUND_HOT: Celsius = constant!(Celsius, 60.0);

/// Room temperature taken for the leaks.
const ROOM_C: f64 = 20.0;

/// The regulator of one zone.
#[derive(Clone, Debug)]
pub(crate) struct Regulator {
    pid: Pid<f64>,
    wall: Wall,
    filtered_c: Option<f64>,
    uptake_w: f64,
    /// What the last step asked for before it was limited to what a duty can be.
    unlimited: f64,
}

/// Whether the integral may grow in this step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Integration {
    /// The kiln answers to the duty asked.
    Free,
    /// It doesn't: heat is withheld, the supply limits, or the clock waits.
    Held,
}

/// The zone as the regulator sees it in one step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Zone {
    /// What to follow.
    pub(crate) reference: Reference,
    /// The reading.
    pub(crate) reading: Celsius,
    /// This zone's share of lining, ware and leaks, 0 to 1.
    pub(crate) share: f64,
    /// Power of this zone's banks when all are on.
    pub(crate) power: Watts,
    /// Whether the integral may grow.
    pub(crate) integration: Integration,
}

impl Regulator {
    /// A regulator for a kiln whose lining stands at this temperature.
    pub(crate) fn new(kiln: &Kiln, standing_at: Celsius) -> Self {
        let wall = if standing_at > FOUND_HOT {
            Wall::found_hot(&kiln.model, standing_at)
        } else {
            Wall::at_rest(&kiln.model, standing_at)
        };
        Self { pid: Pid::new(standing_at.c(), 1.0), wall, filtered_c: None, uptake_w: 0.0, unlimited: 0.0 }
    }

    /// Follows a kiln that is not heated, so that the lining is known when heat is wanted again.
    pub(crate) fn watch(&mut self, reading: Celsius, span: Millis) {
        self.uptake_w = self.wall.step(reading, span).flow.w();
        self.filtered_c = Some(reading.c());
        self.pid.reset_integral_term();
    }

    /// The duty for this step.
    pub(crate) fn duty(&mut self, kiln: &Kiln, zone: &Zone, span: Millis) -> Duty {
        let reading_c = self.filter(zone.reading, span);
        let hot_face_c = between(zone.reference.at.c(), reading_c - TRUST_C, reading_c + TRUST_C);
        let hot_face = Celsius::new(hot_face_c).unwrap_or(zone.reading);
        self.uptake_w = self.wall.step(hot_face, span).flow.w();
        let error_c = zone.reference.at.c() - reading_c;
        self.tune(kiln, zone, error_c, span);
        self.pid.setpoint = zone.reference.at.c();
        let correction = self.pid.next_control_output(reading_c).output;
        self.unlimited = self.feed_forward(kiln, zone, hot_face) + correction;
        Duty::limited(self.unlimited)
    }

    fn feed_forward(&self, kiln: &Kiln, zone: &Zone, hot_face: Celsius) -> f64 {
        let model = kiln.model.parameters();
        let warm_w = (model.ware_j_per_k + model.quick_j_per_k) * zone.reference.rate.c_per_s();
        let leak_w = model.leak_w_per_k * (hot_face.c() - ROOM_C);
        let needed_w = zone.share * (warm_w + leak_w + self.uptake_w);
        needed_w / greater(1.0, zone.power.w() * model.power_ratio)
    }

    /// SIMC rules for an integrating process (Skogestad 2003, J. Process Control 13, table 1):
    /// Kc = 1/(k'·(τc + θ)), Ti = 4·(τc + θ).
    fn tune(&mut self, kiln: &Kiln, zone: &Zone, error_c: f64, span: Millis) {
        let model = kiln.model.parameters();
        let radiation = between((zone.reading.c() - 100.0) / 700.0, 0.0, 1.0); // none at 100 °C, full at red heat
        let answering_j_per_k = zone.share
            * (model.quick_j_per_k
                + WARE_SHARE * (0.3 + 0.7 * radiation) * model.ware_j_per_k
                + self.wall.skin_j_per_k(zone.reading, ANSWER));
        let slope_c_per_s = zone.power.w() * model.power_ratio / greater(1.0, answering_j_per_k);
        let gain = 1.0 / (slope_c_per_s * (CLOSED_LOOP_S + DELAY_S));
        let wound_up = (self.unlimited > 1.0 && error_c > 0.0) || (self.unlimited < 0.0 && error_c < 0.0);
        let integral_gain = if wound_up || zone.integration == Integration::Held {
            0.0
        } else {
            gain / (4.0 * (CLOSED_LOOP_S + DELAY_S)) * span.seconds()
        };
        self.pid.p(gain, 1.0);
        self.pid.i(integral_gain, 1.0);
        self.pid.d(gain * DERIVATIVE_S / greater(0.001, span.seconds()), 1.0);
    }

    fn filter(&mut self, reading: Celsius, span: Millis) -> f64 {
        let share = lesser(span.seconds() / FILTER_S, 1.0);
        let filtered_c =
            self.filtered_c.map_or(reading.c(), |before| before + (reading.c() - before) * share);
        self.filtered_c = Some(filtered_c);
        filtered_c
    }
}
