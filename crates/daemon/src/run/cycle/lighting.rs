//! Whether a firing may be lit, and its beginning.

use std::sync::Arc;

use control::{Controller, Phase};
use pyrometry::units::Millis;
use warden::LimitFinding;

use super::asked::SHUT_OFF;
use super::{Cycle, at_rest};
use crate::run::anew::Anew;
use crate::run::ask::{Lighting, Lit};
use crate::run::course::Course;
use crate::run::guard::Guard;
use crate::run::presence::{Presence, PresenceAsked};
use crate::run::snapshot::{LightUp, NotLit};
use crate::run::unlit::Unlit;
use crate::store::Record;

const TOO_SLOW: Unlit = Unlit::Because("The disk is too slow to begin a record of this firing.");
const LATCH_UNREADABLE: Unlit = Unlit::Because(
    "Whether a trip waits to be cleared cannot be read from the disk. Look the kiln over, then clear the trip.",
);
const TRIPPED: Unlit = Unlit::Because("A trip waits to be cleared.");
const WARDEN_LOST: Unlit = Unlit::Because(
    "The warden that holds the contactor is lost. Look the kiln over, then end saggar and start it anew.",
);
const UNDER_WAY: Unlit = Unlit::Because("A firing is under way.");

/// The next step to light a kiln that wants to see somebody.
const NOBODY_THERE: Unlit = Unlit::Because(
    "Press the button at the kiln, then light up within 2 min: somebody has to be there. One that is held \
         down must be let go first.",
);

/// A sensor that could not guide a firing for less than this may have had a glitch. Engineering
/// judgement: the time after which a reading is stale for good (SR-03).
const GLITCH: Millis = Millis::from_seconds(15);

impl<G: Guard> Cycle<G> {
    /// A fresh controller for a firing.
    pub(super) fn light(&mut self, lighting: Lighting, at: Millis) -> Lit {
        if let LightUp::Refused(why) = self.light_up() {
            return Err(why);
        }
        if self.owes_not_lit.is_some() {
            return Err(TOO_SLOW);
        }
        let Lighting { sheet, setup, trace, presence, presses_known } = lighting;
        // Making a light-up ready takes a while.
        if self.parts.shut_off.presses() > presses_known {
            return Err(SHUT_OFF);
        }
        if presence == PresenceAsked::AsTheKilnFileSays && self.presence.now(at) == Presence::Awaited {
            return Err(NOBODY_THERE);
        }
        let begin =
            Record::Begin { firing: sheet.id, trace: Box::new(trace), setup: Box::new(setup.clone()) };
        if self.parts.records.try_send(begin).is_err() {
            return Err(TOO_SLOW);
        }
        self.begin(Controller::new(setup), at);
        self.firing = Some(Arc::new(sheet));
        self.recording = true;
        self.lost = 0;
        self.not_lit = None;
        self.presence.used();
        self.parts.guard.arm(at);
        Ok(())
    }

    pub(super) fn light_up(&self) -> LightUp {
        if self.warden_is_lost() {
            return LightUp::Refused(WARDEN_LOST);
        }
        if let Some(limit) = self.limit
            && limit.finding != LimitFinding::Within
        {
            return LightUp::Refused(Unlit::Limit(limit));
        }
        if self.latch.unreadable.is_some() {
            return LightUp::Refused(LATCH_UNREADABLE);
        }
        if let Some(trouble) = self.parts.health.trouble() {
            return LightUp::Refused(Unlit::Because(trouble.words()));
        }
        let possible = match self.phase {
            Phase::Resting | Phase::CoolEnoughToOpen => Ok(()),
            Phase::Cooling if self.segment.is_none() => Ok(()),
            Phase::Tripped => Err(TRIPPED),
            Phase::SetForLater
            | Phase::Climbing
            | Phase::Soaking
            | Phase::SlowCooling
            | Phase::Staying
            | Phase::Cooling => Err(UNDER_WAY),
        };
        match (possible, self.sensor) {
            (Err(why), _) => LightUp::Refused(why),
            (Ok(()), Some(finding)) => LightUp::Refused(Unlit::Sensor(finding)),
            (Ok(()), None) => LightUp::Possible,
        }
    }

    /// Leaves unlit a firing that falls due now while a sensor could not guide it. The kiln rests. A
    /// glitch ends no night's firing: what lasted less is withheld for like any other.
    pub(super) fn look_before_it_is_due(&mut self, at: Millis) {
        let (Some(firing), Some(finding)) = (&self.firing, self.sensor) else { return };
        if self.sensor_for < GLITCH {
            return;
        }
        let waited = at.since(self.began.unwrap_or(at));
        if self.phase != Phase::SetForLater || waited < firing.delay {
            return;
        }
        tracing::warn!("a firing that falls due is not lit: {}", Unlit::Sensor(finding));
        self.not_lit = Some(Arc::new(NotLit { title: firing.schedule.title.clone(), finding }));
        self.owes_not_lit = Some(finding);
        self.begin(at_rest(&self.parts.kiln, None), at);
        self.firing = None;
        self.recording = false;
    }

    fn begin(&mut self, controller: Controller, at: Millis) {
        self.course = Course::begin(controller.setup().start.carried.as_ref());
        self.controller = controller;
        self.began = Some(at);
        self.anew = Anew::default();
    }
}
