//! Why a firing is not lit, in a potter's words.

use std::fmt;

use control::{Finding, Part};
use serde::{Serialize, Serializer};
use warden::LimitNow;

use crate::limit;

/// Why a firing is not lit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unlit {
    /// In a sentence or two.
    Because(&'static str),
    /// A sensor could not guide it.
    Sensor(Finding),
    /// The warden would not let it heat, for what its limit probe says.
    Limit(LimitNow),
}

impl fmt::Display for Unlit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Because(why) => f.write_str(why),
            Self::Limit(now) => {
                let look_at = limit::look_at(now.finding).join("; ");
                write!(f, "{} No firing is lit while that is so. Look at: {look_at}.", limit::seen(now))
            }
            Self::Sensor(finding) => {
                let look_at = finding.look_at().join("; ");
                let so_what = match finding.part {
                    Some(Part::Probe(_)) => "A firing could not be guided by it.",
                    Some(Part::Bank(_)) | None => "No firing is lit while that is so.",
                };
                write!(f, "{} {so_what} Look at: {look_at}.", finding.seen())
            }
        }
    }
}

/// As its words.
impl Serialize for Unlit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
