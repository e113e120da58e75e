//! Where the law stands on evidence, and what an uncertain sensor makes of a cone.

use core::fmt;

use crate::constant;
use crate::units::CelsiusDelta;

/// The chart's slowest and fastest rates for large self-supporting cones, in °C/h.
const SLOWEST_C_PER_H: f64 = 15.0;
const FASTEST_C_PER_H: f64 = 150.0;

/// How far the law's evidence carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// Worth a ramp of 15 to 150 °C/h, where the chart has end points.
    OnChart,
    /// Slower, or a long hold far below the end point.
    Slower,
    /// Faster than 150 °C/h.
    Faster,
}

impl Evidence {
    /// Of a history worth a ramp of this rate; what is not a number is outside.
    pub(super) fn at_rate(rate_c_per_h: f64) -> Self {
        // A rate meant to be 15 or 150 must not fall outside by rounding.
        if rate_c_per_h > FASTEST_C_PER_H * (1.0 + 1e-9) {
            Self::Faster
        } else if rate_c_per_h >= SLOWEST_C_PER_H * (1.0 - 1e-9) {
            Self::OnChart
        } else {
            Self::Slower
        }
    }

    /// What the law itself may be out by: on the chart the maker's batch tolerance of ±2 °C;
    /// elsewhere about ±7 °C (chart cells left out and predicted from neighbours, residuals).
    #[must_use]
    pub const fn allowance(self) -> CelsiusDelta {
        match self {
            Self::OnChart => constant!(CelsiusDelta, 2.0),
            Self::Slower | Self::Faster => constant!(CelsiusDelta, 7.0),
        }
    }
}

impl fmt::Display for Evidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::OnChart => "within the chart's 15 to 150 °C/h",
            Self::Slower => "slower than the chart's 15 °C/h or held long: good to about 7 °C",
            Self::Faster => "faster than the chart's 150 °C/h: good to about 7 °C",
        })
    }
}

/// A continuous cone with its bounds, on the scale of [`crate::cone::Cone::ordinal`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// If the kiln was as much colder than read as the sensor allows.
    pub least: Option<f64>,
    /// As read.
    pub likely: Option<f64>,
    /// If it was as much hotter.
    pub most: Option<f64>,
}
