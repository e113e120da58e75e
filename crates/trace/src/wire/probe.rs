//! A probe: its wire, its chip and its calibration.

use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::{self, Calibration, Day, Override, POINTS_MOST};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, CelsiusDelta};
use serde::{Deserialize, Serialize};

use super::{Exact, Few, Named, WireFault};

/// A thermocouple with its amplifier and its calibration.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Probe {
    thermocouple: Named<Thermocouple>,
    amplifier: Named<Amplifier>,
    /// Added at every temperature.
    offset_c: Exact<CelsiusDelta>,
    /// Added besides, straight between these.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    points: Few<Point, POINTS_MOST>,
    /// The day of the calibration, `2026-11-25`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    calibrated: Option<String>,
}

/// A correction at a temperature.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Point {
    at_c: Exact<Celsius>,
    add_c: Exact<CelsiusDelta>,
}

impl From<&control::Probe> for Probe {
    fn from(probe: &control::Probe) -> Self {
        let control::Probe { sensor: Sensor { thermocouple, amplifier, calibration } } = *probe;
        let point = |point: calibration::Point| Point { at_c: Exact(point.at), add_c: Exact(point.add) };
        Self {
            thermocouple: Named(thermocouple),
            amplifier: Named(amplifier),
            offset_c: Exact(calibration.everywhere()),
            points: Few(calibration.points().map(point).collect()),
            calibrated: calibration.day().map(|day| day.to_string()),
        }
    }
}

impl TryFrom<Probe> for control::Probe {
    type Error = WireFault;

    fn try_from(probe: Probe) -> Result<Self, WireFault> {
        let Probe { thermocouple, amplifier, offset_c, points, calibrated } = probe;
        let mut calibration = calibration(offset_c.0, points)
            .map_err(|refusal| WireFault::new("probes", refusal.to_string()))?;
        if let Some(text) = calibrated {
            let unknown = || WireFault::new("calibrated", format!("{text:?} is no day"));
            calibration = calibration.dated(Day::parse(&text).ok_or_else(unknown)?);
        }
        Ok(Self { sensor: Sensor { thermocouple: thermocouple.0, amplifier: amplifier.0, calibration } })
    }
}

/// Its bounds were judged when it was made; a trace only repeats it, so it counts as recorded.
fn calibration(
    offset: CelsiusDelta,
    points: Few<Point, POINTS_MOST>,
) -> Result<Calibration, calibration::Refusal> {
    let everywhere = Calibration::offset(offset, Override::Recorded)?;
    if points.is_empty() {
        return Ok(everywhere);
    }
    let points = points.each(|point| calibration::Point { at: point.at_c.0, add: point.add_c.0 });
    // Adding a correction of nothing changes no bit of either.
    everywhere.and(Calibration::piecewise(&points, Override::Recorded)?, Override::Recorded)
}
