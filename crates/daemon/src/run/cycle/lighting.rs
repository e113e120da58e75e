//! Whether a firing may be lit, and its beginning.

use std::sync::Arc;

use control::{Controller, Phase};
use pyrometry::heat_work::HeatWork;
use pyrometry::units::Millis;

use super::Cycle;
use crate::run::ask::{Lighting, Lit};
use crate::run::course::Course;
use crate::run::guard::Guard;
use crate::run::snapshot::LightUp;
use crate::store::Record;

impl<G: Guard> Cycle<G> {
    /// A fresh controller for a firing.
    pub(super) fn light(&mut self, lighting: Lighting, at: Millis) -> Lit {
        if let LightUp::Refused(why) = self.light_up() {
            return Err(why);
        }
        let Lighting { sheet, setup, trace } = lighting;
        let kiln = Box::new(setup.kiln.clone());
        let begin = Record::Begin { firing: sheet.id, trace: Box::new(trace), kiln };
        if self.parts.records.try_send(begin).is_err() {
            return Err("The disk is too slow to begin a record of this firing.");
        }
        self.controller = Controller::new(setup);
        self.began = Some(at);
        self.firing = Some(Arc::new(sheet));
        self.recording = true;
        self.course = Course::default();
        self.heat_work = HeatWork::NONE;
        self.parts.guard.arm(at);
        Ok(())
    }

    pub(super) fn light_up(&self) -> LightUp {
        if self.latch.unreadable.is_some() {
            return LightUp::Refused(
                "Whether a trip waits to be cleared cannot be read from the disk. Look the kiln over, then clear the trip.",
            );
        }
        if let Some(trouble) = self.parts.health.trouble() {
            return LightUp::Refused(trouble.words());
        }
        match self.phase {
            Phase::Resting | Phase::CoolEnoughToOpen => LightUp::Possible,
            Phase::Cooling if self.segment.is_none() => LightUp::Possible,
            Phase::Tripped => LightUp::Refused("A trip waits to be cleared."),
            Phase::SetForLater
            | Phase::Climbing
            | Phase::Soaking
            | Phase::SlowCooling
            | Phase::Staying
            | Phase::Cooling => LightUp::Refused("A firing is under way."),
        }
    }
}
