//! The programme: a compiled schedule, of fixed capacity.

use heapless::Vec;
use pyrometry::cone::Cone;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis};

use crate::SEGMENTS_MOST;

/// How a segment gets to its target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Travel {
    /// At a rate; negative is slow cooling with heat as needed.
    Ramp(CelsiusPerHour),
    /// As fast as the kiln can.
    FlatOut,
    /// Elements off until the target.
    LetFall,
}

/// Where a segment goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// To a temperature.
    Temperature(Celsius),
    /// Until the heat-work of a cone is done.
    Cone {
        /// The cone, as it will be unloaded.
        cone: Cone,
        /// The climb stops here and waits for the cone.
        no_hotter_than: Celsius,
        /// The longest wait at `no_hotter_than`.
        at_most: Millis,
    },
}

/// One segment of a programme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// How it gets there.
    pub travel: Travel,
    /// Where it goes.
    pub target: Target,
    /// How long it holds there.
    pub soak: Millis,
}

/// Why segments make no programme. The segment is counted from zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProgrammeFault {
    /// No segment at all.
    Empty,
    /// More segments than fit.
    TooMany,
    /// A ramp of zero degrees per hour never arrives.
    ZeroRate {
        /// Which segment.
        segment: u8,
    },
    /// Heating towards a colder target, or cooling towards a hotter one.
    WrongWay {
        /// Which segment.
        segment: u8,
    },
    /// A cone as the target of a segment that doesn't heat.
    ConeWhileCooling {
        /// Which segment.
        segment: u8,
    },
}

/// A schedule compiled for the controller: 1 to 64 segments that can be run.
#[derive(Clone, Debug, PartialEq)]
pub struct Programme {
    segments: Vec<Segment, SEGMENTS_MOST>,
    hottest: Celsius,
}
