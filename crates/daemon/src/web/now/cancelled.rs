//! A light-up for later that a person cancelled: nothing was fired, so the kiln reads as resting.
//!
//! The controller knows one way to end a firing, by cooling until the kiln can be opened; for a
//! firing that never began, neither means anything to a person.

use std::sync::PoisonError;

use control::Phase;

use crate::run::Snapshot;
use crate::web::House;

/// A firing that begins is set for later to its last step, which comes once a second.
const LAST_STEPS_S: f64 = 2.0;

/// The kiln at rest, where its firing was cancelled before it was due.
pub(super) fn at_rest(house: &House, snapshot: &Snapshot) -> Option<Snapshot> {
    let firing = snapshot.firing.as_ref()?;
    let over = matches!(snapshot.decision.phase, Phase::Cooling | Phase::CoolEnoughToOpen);
    if !over || snapshot.decision.segment.is_some() {
        return None;
    }
    let curve = house.curve.read().unwrap_or_else(PoisonError::into_inner);
    let (_, curve) = curve.as_ref().filter(|(id, _)| *id == firing.id)?;
    let waited = curve.phases().first().filter(|span| span.phase.0 == Phase::SetForLater)?;
    if f64::from(waited.to_s) + LAST_STEPS_S >= firing.delay.seconds() {
        return None;
    }
    let mut rested = Snapshot { firing: None, ..snapshot.clone() };
    rested.decision.phase = Phase::Resting;
    Some(rested)
}
