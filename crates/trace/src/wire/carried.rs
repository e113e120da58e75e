//! Where a firing stood that another one carries on.

use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Joules, Millis};
use serde::{Deserialize, Serialize};

use super::{Exact, Number, WireFault};

/// Where a firing stood.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Carried {
    /// Its segment, counted from zero.
    segment: u8,
    /// What of that segment is left.
    left: Left,
    /// The chamber then.
    chamber_c: Exact<Celsius>,
    /// How long before the first step that was, ms.
    gap_ms: u64,
    /// Heating until then, stays not counted, ms.
    elapsed_ms: u64,
    /// Energy given to the elements until then, stays not counted, J.
    given_j: Exact<Joules>,
    /// Heating until then, stays counted, ms.
    alight_ms: u64,
    /// The heat-work until then: the share of every cone, in the cones' order.
    heat_work: Vec<Number>,
    /// The hottest until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    hottest_c: Option<Exact<Celsius>>,
}

/// What of a segment is left: `"way"`, `{"soak":{"at_c":1040.0,"left_ms":600000}}` and the like.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Left {
    Way,
    Wait { waited_ms: u64 },
    Soak { at_c: Exact<Celsius>, left_ms: u64 },
    Watch { left_ms: u64 },
}

impl From<&control::Carried> for Carried {
    fn from(carried: &control::Carried) -> Self {
        let control::Carried { segment, left, chamber, gap, elapsed, given, alight, heat_work } = carried;
        Self {
            segment: *segment,
            left: match *left {
                control::Left::Way => Left::Way,
                control::Left::Wait { waited } => Left::Wait { waited_ms: waited.ms() },
                control::Left::Soak { at, left } => Left::Soak { at_c: Exact(at), left_ms: left.ms() },
                control::Left::Watch { left } => Left::Watch { left_ms: left.ms() },
            },
            chamber_c: Exact(*chamber),
            gap_ms: gap.ms(),
            elapsed_ms: elapsed.ms(),
            given_j: Exact(*given),
            alight_ms: alight.ms(),
            heat_work: heat_work.shares().iter().map(|share| Number(*share)).collect(),
            hottest_c: heat_work.hottest().map(Exact),
        }
    }
}

impl TryFrom<Carried> for control::Carried {
    type Error = WireFault;

    fn try_from(carried: Carried) -> Result<Self, WireFault> {
        let shares: Vec<f64> = carried.heat_work.iter().map(|share| share.0).collect();
        let heat_work =
            HeatWork::restored(&shares, carried.hottest_c.map(|hottest| hottest.0)).map_err(|_| {
                WireFault::new("carried", "its heat-work has not one share for each cone, 0 to 1000")
            })?;
        Ok(Self {
            segment: carried.segment,
            left: match carried.left {
                Left::Way => control::Left::Way,
                Left::Wait { waited_ms } => control::Left::Wait { waited: Millis::new(waited_ms) },
                Left::Soak { at_c, left_ms } => {
                    control::Left::Soak { at: at_c.0, left: Millis::new(left_ms) }
                }
                Left::Watch { left_ms } => control::Left::Watch { left: Millis::new(left_ms) },
            },
            chamber: carried.chamber_c.0,
            gap: Millis::new(carried.gap_ms),
            elapsed: Millis::new(carried.elapsed_ms),
            given: carried.given_j.0,
            alight: Millis::new(carried.alight_ms),
            heat_work,
        })
    }
}
