//! The law asked the other way round: where, how long, how hot.

use core::fmt;

use super::evidence::Evidence;
use super::law::{Law, inverse_kelvin};
use crate::cone::Cone;
use crate::units::{Celsius, CelsiusDelta, CelsiusPerHour, Millis};

/// Longest hold that is an answer: beyond a hundred hours nobody fires, and the law has no
/// evidence.
const LONGEST_HOLD_H: f64 = 100.0;

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unreachable {
    /// The rate must be a climb.
    NotClimbing,
    /// It would take more than a hundred hours.
    TooCold,
}

/// The cone's end point on a ramp of this rate.
pub fn end_point(cone: Cone, rate: CelsiusPerHour) -> Result<(Celsius, Evidence), Unreachable> {
    let rate_c_per_h = climbing(rate)?;
    let end_point_c = Law::of(cone).end_point_c(rate_c_per_h);
    let end_point = Celsius::new(end_point_c).ok_or(Unreachable::NotClimbing)?;
    Ok((end_point, Evidence::at_rate(rate_c_per_h)))
}

/// How fast the cone goes down at a temperature: its D per hour.
#[must_use]
pub fn rate_per_h(cone: Cone, at: Celsius) -> f64 {
    if at.c() < Law::of(cone).nothing_below_c { 0.0 } else { Law::of(cone).rate_per_h(inverse_kelvin(at)) }
}

/// How long to hold a temperature until the cone is down, having done a share of it already;
/// no time if it is down.
pub fn hold_to_fall(cone: Cone, at: Celsius, progress: f64) -> Result<Millis, Unreachable> {
    let missing = 1.0 - progress;
    if missing <= 0.0 {
        return Ok(Millis::ZERO);
    }
    let hours = missing / rate_per_h(cone, at);
    if hours.is_nan() || hours > LONGEST_HOLD_H {
        return Err(Unreachable::TooCold);
    }
    Millis::from_seconds_f64(hours * 3600.0).ok_or(Unreachable::TooCold)
}

/// How long to hold, after a ramp of this rate that stops short of the cone's end point by
/// `below`, until the cone is down.
pub fn hold_after_ramp(cone: Cone, rate: CelsiusPerHour, below: CelsiusDelta) -> Result<Millis, Unreachable> {
    let rate_c_per_h = climbing(rate)?;
    let (end_point, _) = end_point(cone, rate)?;
    let at = end_point - below;
    hold_to_fall(cone, at, Law::of(cone).k_integral(inverse_kelvin(at)) / rate_c_per_h)
}

/// The peak at which a ramp of `rate`, a soak there, and cooling at `cooling` (a positive number;
/// `None` for cooling too fast to count) together bring the cone down.
pub fn peak_for(
    cone: Cone,
    rate: CelsiusPerHour,
    soak: Millis,
    cooling: Option<CelsiusPerHour>,
) -> Result<(Celsius, Evidence), Unreachable> {
    let rate_c_per_h = climbing(rate)?;
    let cooling_c_per_h = cooling.map(climbing).transpose()?;
    let law = Law::of(cone);
    let done_at = |peak_c: f64| {
        let inverse_t = 1.0 / (peak_c + 273.15);
        let k_integral = law.k_integral(inverse_t);
        let cooled = cooling_c_per_h.map_or(0.0, |cooling| k_integral / cooling);
        k_integral / rate_c_per_h + law.rate_per_h(inverse_t) * soak.hours() + cooled
    };
    // The ramp alone would take it to its end point; soak and cooling only lower the peak.
    let mut high = law.end_point_c(rate_c_per_h);
    let mut low = law.nothing_below_c;
    for _ in 0..50 {
        // 50 halvings of at most 1500 °C: to a double's end
        let middle = 0.5 * (low + high);
        if done_at(middle) >= 1.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    let evidence = Evidence::at_rate(law.k_integral(1.0 / (high + 273.15)));
    Celsius::new(high).map(|peak| (peak, evidence)).ok_or(Unreachable::TooCold)
}

fn climbing(rate: CelsiusPerHour) -> Result<f64, Unreachable> {
    let rate_c_per_h = rate.c_per_h();
    if rate_c_per_h > 0.0 { Ok(rate_c_per_h) } else { Err(Unreachable::NotClimbing) }
}

impl fmt::Display for Unreachable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotClimbing => "the rate must be above 0 °C/h",
            Self::TooCold => "so cold that it would take more than a hundred hours",
        })
    }
}

impl core::error::Error for Unreachable {}
