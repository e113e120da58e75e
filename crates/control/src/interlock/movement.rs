//! How the kiln has moved of late, and how far it ought to go on if nothing changed.

use pyrometry::units::{Millis, lesser};

use super::observer::Observer;

/// Half of what it did before is expected of it now: walls take up more as a kiln climbs, and ramps
/// end. Engineering judgement.
const EXPECTED_SHARE: f64 = 0.5;
/// Power that differs less counts as the same: switching cycles do not divide a run evenly.
const SAME_POWER: f64 = 0.1;
/// Sample intervals of the observer before the run over which movement is taken: 2 min.
const BEFORE: usize = 12;

/// A steady movement and the power it took.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Movement {
    c_per_s: f64,
    given_w: f64,
}

impl Movement {
    /// Movement over the last two minutes, if it was steady: the slower of their halves, none if they
    /// disagree on the direction.
    pub(crate) fn lately(observer: &Observer) -> Option<Self> {
        let (now, half, then) = (observer.ago(0)?, observer.ago(BEFORE / 2)?, observer.ago(BEFORE)?);
        let first = (half.chamber_c - then.chamber_c) / half.at.since(then.at).seconds();
        let second = (now.chamber_c - half.chamber_c) / now.at.since(half.at).seconds();
        if !(first * second > 0.0) {
            return None;
        }
        let slower = lesser(first.abs(), second.abs());
        Some(Self {
            c_per_s: if first > 0.0 { slower } else { -slower },
            given_w: (now.given_j - then.given_j) / now.at.since(then.at).seconds(),
        })
    }

    /// How far it goes on in a span in which this much heat is given, without its sign, °C: nothing
    /// if the power has changed against the movement.
    pub(crate) fn goes_on_c(self, span: Millis, given_j: f64) -> f64 {
        let given_w = given_j / span.seconds();
        let goes_on = if self.c_per_s > 0.0 {
            given_w >= self.given_w * (1.0 - SAME_POWER)
        } else {
            given_w <= self.given_w * (1.0 + SAME_POWER)
        };
        if goes_on { self.c_per_s.abs() * span.seconds() * EXPECTED_SHARE } else { 0.0 }
    }
}
