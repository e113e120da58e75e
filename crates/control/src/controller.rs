//! The controller: a value whose only door is the step.

use pyrometry::units::Millis;

use crate::decision::Decision;
use crate::finding::Finding;
use crate::kiln::Kiln;
use crate::observation::Observation;
use crate::programme::Programme;

/// What a firing needs besides the kiln, frozen at light-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Firing {
    /// What to run.
    pub programme: Programme,
    /// How long after the first step heating may begin.
    pub delay: Millis,
    /// How long the heating is forecast to take, delay not counted.
    pub forecast: Millis,
}

/// What survives from before: restarts, power cuts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Start {
    /// A trip that nobody has cleared yet.
    pub latched: Option<Finding>,
}

/// Everything a controller is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The kiln.
    pub kiln: Kiln,
    /// The firing; `None` at rest.
    pub firing: Option<Firing>,
    /// What survives from before.
    pub start: Start,
}

/// The controller of one firing, or of one rest between firings.
#[derive(Clone, Debug)]
pub struct Controller {
    setup: Setup,
}

impl Controller {
    /// A controller that has seen nothing yet.
    #[must_use]
    pub fn new(setup: Setup) -> Self {
        Self { setup }
    }

    /// Sees, decides. Call once a second; a gap over 5 s counts as a stale reading.
    pub fn step(&mut self, observation: &Observation<'_>) -> Decision {
        let _ = (&self.setup, observation);
        todo!()
    }
}
