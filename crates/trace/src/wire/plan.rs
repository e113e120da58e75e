//! The programme of a firing.

use control::{Expected, Pace, Programme, ProgrammeFault, SEGMENTS_MOST, Target};
use pyrometry::cone::Cone;
use pyrometry::units::{Celsius, CelsiusPerHour, Joules, Millis};
use serde::{Deserialize, Serialize};

use super::{Exact, Few, Model, Named, WireFault};

/// What a firing needs besides the kiln.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Firing {
    /// Time from the first step until heating may begin, ms.
    pub delay_ms: u64,
    /// Forecast length of the heating, ms.
    pub forecast_ms: u64,
    /// The energy it is held to, J; none where it was not forecast.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast_j: Option<Exact<Joules>>,
    /// The thermal model that firings before have shown; none where it was the kiln file's guess.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub learned: Option<Model>,
    /// What to run.
    pub segments: Few<Segment, SEGMENTS_MOST>,
}

/// One segment: `{"climb":{"rate_c_per_h":60.0,"to_c":120.0,"soak_ms":1800000}}` and the like.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Segment {
    /// Heat up, then hold.
    Climb {
        /// How fast; none is flat out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        rate_c_per_h: Option<Exact<CelsiusPerHour>>,
        /// Ends at this temperature …
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to_c: Option<Exact<Celsius>>,
        /// … or on this cone.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to_cone: Option<ToCone>,
        /// The hold, ms.
        soak_ms: u64,
    },
    /// Cool at a rate, then hold.
    SlowCool {
        /// The negative rate.
        rate_c_per_h: Exact<CelsiusPerHour>,
        /// How far.
        to_c: Exact<Celsius>,
        /// The hold, ms.
        soak_ms: u64,
    },
    /// Elements off until it has fallen, then hold.
    LetFall {
        /// How far.
        to_c: Exact<Celsius>,
        /// The hold, ms.
        soak_ms: u64,
    },
    /// Elements off, only watching.
    Watch {
        /// How long, ms.
        lasting_ms: u64,
    },
}

/// A climb's end on a cone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ToCone {
    /// The cone, as it will be unloaded.
    pub cone: Named<Cone>,
    /// The climb stops here and waits for the cone.
    pub no_hotter_than_c: Exact<Celsius>,
    /// The longest wait, ms.
    pub at_most_ms: u64,
}

impl From<&control::Segment> for Segment {
    fn from(segment: &control::Segment) -> Self {
        match *segment {
            control::Segment::Climb { pace, target, soak } => {
                let rate_c_per_h = match pace {
                    Pace::Rate(rate) => Some(Exact(rate)),
                    Pace::FlatOut => None,
                };
                let (to_c, to_cone) = match target {
                    Target::Temperature(to) => (Some(Exact(to)), None),
                    Target::Cone { cone, no_hotter_than, at_most } => {
                        let cone = Named(cone);
                        let no_hotter_than_c = Exact(no_hotter_than);
                        (None, Some(ToCone { cone, no_hotter_than_c, at_most_ms: at_most.ms() }))
                    }
                };
                Self::Climb { rate_c_per_h, to_c, to_cone, soak_ms: soak.ms() }
            }
            control::Segment::SlowCool { rate, to, soak } => {
                Self::SlowCool { rate_c_per_h: Exact(rate), to_c: Exact(to), soak_ms: soak.ms() }
            }
            control::Segment::LetFall { to, soak } => Self::LetFall { to_c: Exact(to), soak_ms: soak.ms() },
            control::Segment::Watch { lasting } => Self::Watch { lasting_ms: lasting.ms() },
        }
    }
}

impl TryFrom<Segment> for control::Segment {
    type Error = WireFault;

    fn try_from(segment: Segment) -> Result<Self, WireFault> {
        Ok(match segment {
            Segment::Climb { rate_c_per_h, to_c, to_cone, soak_ms } => Self::Climb {
                pace: rate_c_per_h.map_or(Pace::FlatOut, |rate| Pace::Rate(rate.0)),
                target: target(to_c, to_cone)?,
                soak: Millis::new(soak_ms),
            },
            Segment::SlowCool { rate_c_per_h, to_c, soak_ms } => {
                Self::SlowCool { rate: rate_c_per_h.0, to: to_c.0, soak: Millis::new(soak_ms) }
            }
            Segment::LetFall { to_c, soak_ms } => Self::LetFall { to: to_c.0, soak: Millis::new(soak_ms) },
            Segment::Watch { lasting_ms } => Self::Watch { lasting: Millis::new(lasting_ms) },
        })
    }
}

fn target(to_c: Option<Exact<Celsius>>, to_cone: Option<ToCone>) -> Result<Target, WireFault> {
    match (to_c, to_cone) {
        (Some(to), None) => Ok(Target::Temperature(to.0)),
        (None, Some(to)) => Ok(Target::Cone {
            cone: to.cone.0,
            no_hotter_than: to.no_hotter_than_c.0,
            at_most: Millis::new(to.at_most_ms),
        }),
        (Some(_), Some(_)) | (None, None) => {
            Err(WireFault::new("segments", "a climb ends either at to_c or on to_cone"))
        }
    }
}

impl From<&control::Firing> for Firing {
    fn from(firing: &control::Firing) -> Self {
        let control::Firing { programme, delay, forecast, learned } = firing;
        let segments = Few(programme.segments().iter().map(Segment::from).collect());
        Self {
            delay_ms: delay.ms(),
            forecast_ms: forecast.lasts.ms(),
            forecast_j: forecast.energy.map(Exact),
            learned: learned.as_ref().map(Model::from),
            segments,
        }
    }
}

impl TryFrom<Firing> for control::Firing {
    type Error = WireFault;

    fn try_from(firing: Firing) -> Result<Self, WireFault> {
        let segments = firing.segments.try_each(control::Segment::try_from)?;
        let programme =
            Programme::new(segments).map_err(|fault| WireFault::new("segments", in_words(fault)))?;
        let delay = Millis::new(firing.delay_ms);
        let forecast = Expected {
            lasts: Millis::new(firing.forecast_ms),
            energy: firing.forecast_j.map(|energy| energy.0),
        };
        let learned = firing.learned.map(TryInto::try_into).transpose()?;
        Ok(Self { programme, delay, forecast, learned })
    }
}

/// Segments counted from one, as people count them.
fn in_words(fault: ProgrammeFault) -> String {
    match fault {
        ProgrammeFault::Empty => "no segment at all".to_owned(),
        ProgrammeFault::RateOfWrongSign { segment } => {
            format!(
                "segment {}: a climb's rate is above zero, a slow cooling's below",
                u16::from(segment) + 1
            )
        }
        ProgrammeFault::ClimbsDownwards { segment } => {
            format!("segment {} climbs to a colder temperature than it starts from", u16::from(segment) + 1)
        }
        ProgrammeFault::CoolsUpwards { segment } => {
            format!("segment {} cools to a hotter temperature than it starts from", u16::from(segment) + 1)
        }
    }
}
