//! The course of a firing: events and orders turned into stages, and the schedule's clock.

use heapless::Vec;
use pyrometry::units::Millis;

use crate::ORDERS_MOST;
use crate::controller::Controller;
use crate::decision::ClimbEnd;
use crate::observation::Observation;
use crate::order::{Order, Outcome, Refusal};
use crate::phase::Phase;
use crate::plan::{Leg, Progress, Run, Then};
use crate::programme::{Pace, Programme, Segment};
use crate::stage::{Interrupted, Stage, Stay, UNDO_WITHIN, UNDO_WITHIN_C, Undo};
use crate::transition::{Event, Move, transition};
use crate::zones::Chamber;

/// A kiln counts as warm again this far above "cool enough to open", so that noise can't toggle it.
const WARM_AGAIN_C: f64 = 5.0;

impl Controller {
    /// Takes an event through the table.
    pub(crate) fn on(&mut self, event: Event) {
        let step = transition(self.stage.phase(), event);
        let _done = self.make(step, Millis::ZERO);
    }

    /// Does what people asked for since the last step.
    pub(crate) fn obey(&mut self, observation: &Observation<'_>) -> Vec<Outcome, ORDERS_MOST> {
        let mut outcomes = Vec::new();
        for order in observation.orders.iter().take(ORDERS_MOST) {
            if outcomes.push(self.obey_one(*order)).is_err() {
                break; // there is room for every order that is taken
            }
        }
        outcomes
    }

    fn obey_one(&mut self, order: Order) -> Outcome {
        let (event, minutes) = match order {
            Order::Stay => (Event::Stay, 0),
            Order::CarryOn => (Event::CarryOn, 0),
            Order::ShutOff => (Event::ShutOff, 0),
            Order::ClearTrip => (Event::ClearTrip, 0),
            Order::NextSegment => (Event::NextSegment, 0),
            Order::EndClimb => (Event::EndClimb, 0),
            Order::AddMinutes(minutes) => (Event::AddMinutes, minutes),
            Order::ConeSeen { .. } => return Outcome::Taken,
        };
        let before = self.stage;
        let step = transition(before.phase(), event);
        match self.make(step, Millis::from_minutes(u64::from(minutes))) {
            Ok(()) => {
                if self.stage == (Stage::Cooling { undo: None }) {
                    self.stage = Stage::Cooling { undo: self.undo_of(before) };
                }
                if order == Order::EndClimb {
                    self.climb_end = Some(ClimbEnd::Ordered);
                }
                if matches!(order, Order::EndClimb | Order::NextSegment) {
                    self.forecast = None; // of another firing than this now is, until a new one comes
                }
                Outcome::Taken
            }
            Err(refusal) => Outcome::Refused(refusal),
        }
    }

    /// Makes a move.
    fn make(&mut self, step: Move, longer: Millis) -> Result<(), Refusal> {
        match step {
            Move::Ignore => {}
            Move::Refuse(refusal) => return Err(refusal),
            Move::Begin => self.stage = Stage::AwaitingReading,
            Move::Soak => return self.soak(),
            Move::Advance => return self.advance(),
            Move::Hold => return self.hold(),
            Move::Resume => return self.resume(),
            Move::Lengthen => return self.lengthen(longer),
            Move::Extinguish => self.extinguish(),
            Move::CallOff => self.stage = self.without_a_firing(),
            Move::Finish => self.stage = Stage::Cooling { undo: None },
            Move::Open => self.stage = Stage::CoolEnoughToOpen,
            Move::Latch => self.stage = Stage::Tripped,
            Move::Release => return self.release(),
        }
        Ok(())
    }

    fn soak(&mut self) -> Result<(), Refusal> {
        let Stage::Running(run) = self.stage else { return Err(Refusal::NotInThisPhase) };
        let at = match (run.leg, run.setpoint()) {
            (Leg::Falling { to }, _) => to,
            (_, Some(setpoint)) => setpoint,
            (_, None) => return Err(Refusal::NotInThisPhase),
        };
        let left = match run.leg {
            Leg::Moving { then: Then::SoakFor { left }, .. } => left,
            Leg::Moving { then: Then::AsWritten | Then::WaitHaving { .. }, .. }
            | Leg::AwaitingCone { .. }
            | Leg::Soaking { .. }
            | Leg::Falling { .. }
            | Leg::Watching { .. } => {
                self.programme().map_or(Millis::ZERO, |programme| soak_of(programme, run.segment))
            }
        };
        self.stage = Stage::Running(Run { leg: Leg::Soaking { at, left }, ..run });
        if left == Millis::ZERO {
            self.on(Event::SoakOver);
        }
        Ok(())
    }

    fn advance(&mut self) -> Result<(), Refusal> {
        let Some(next) = self.stage.run().map(|run| run.segment.saturating_add(1)) else {
            return Err(Refusal::NotInThisPhase);
        };
        let run = match (self.leaving_from(), self.programme()) {
            (Some(from), Some(programme)) => Run::from_segment(programme, next, from),
            _ => None,
        };
        match run {
            Some(run) => self.stage = Stage::Running(run),
            None => self.on(Event::ProgrammeOver),
        }
        Ok(())
    }

    fn hold(&mut self) -> Result<(), Refusal> {
        let Stage::Running(resume) = self.stage else { return Err(Refusal::NotInThisPhase) };
        if let Leg::Watching { .. } = resume.leg {
            return Err(Refusal::NotInThisPhase); // a watch is to see a kiln without heat
        }
        let Some(at) = self.leaving_from() else { return Err(Refusal::NotInThisPhase) };
        self.stage = Stage::Staying(Stay { at, left: self.setup.kiln.stay_longest, resume });
        Ok(())
    }

    fn resume(&mut self) -> Result<(), Refusal> {
        match self.stage {
            Stage::Staying(stay) => self.stage = Stage::Running(stay.resume),
            Stage::Cooling { undo: Some(undo) } => {
                let since = self.last_at.unwrap_or(undo.shut_off_at).since(undo.shut_off_at);
                let near = self
                    .chamber
                    .is_some_and(|now| (undo.chamber - now.mean).magnitude().c() <= UNDO_WITHIN_C);
                if since > UNDO_WITHIN || !near {
                    return Err(Refusal::TooLate);
                }
                self.stage = match undo.interrupted {
                    Interrupted::Running(run) => Stage::Running(run),
                    Interrupted::Staying(stay) => Stage::Staying(stay),
                };
            }
            Stage::Resting
            | Stage::SetForLater { .. }
            | Stage::AwaitingReading
            | Stage::Running(_)
            | Stage::Cooling { undo: None }
            | Stage::CoolEnoughToOpen
            | Stage::Tripped => return Err(Refusal::NotInThisPhase),
        }
        Ok(())
    }

    fn lengthen(&mut self, by: Millis) -> Result<(), Refusal> {
        let (longest, longest_stay) = (self.setup.kiln.firing_longest, self.setup.kiln.stay_longest);
        let heating_left = self.forecast.map_or(Millis::ZERO, |forecast| forecast.lasts.since(self.elapsed));
        match &mut self.stage {
            Stage::Running(Run { leg: Leg::Soaking { left, .. }, .. }) => {
                if self.alight + heating_left.max(*left) + by > longest {
                    return Err(Refusal::TooLong(longest));
                }
                *left += by;
                let full = self.setup.kiln.carried();
                self.forecast = self.forecast.map(|forecast| forecast.longer(by, full));
            }
            Stage::Staying(stay) => {
                if stay.left + by > longest_stay {
                    return Err(Refusal::StayTooLong(longest_stay));
                }
                stay.left += by;
            }
            Stage::Running(_)
            | Stage::Resting
            | Stage::SetForLater { .. }
            | Stage::AwaitingReading
            | Stage::Cooling { .. }
            | Stage::CoolEnoughToOpen
            | Stage::Tripped => return Err(Refusal::NotInThisPhase),
        }
        Ok(())
    }

    /// A second press changes nothing, so it can't take away the undoing of the first.
    fn extinguish(&mut self) {
        if let Stage::Cooling { .. } = self.stage {
            return;
        }
        self.stage = Stage::Cooling { undo: None };
    }

    /// What a person's order that ended the heating interrupted: they may soon go back to it.
    fn undo_of(&self, before: Stage) -> Option<Undo> {
        let interrupted = match before {
            Stage::Running(run) => Interrupted::Running(run),
            Stage::Staying(stay) => Interrupted::Staying(stay),
            Stage::Resting
            | Stage::SetForLater { .. }
            | Stage::AwaitingReading
            | Stage::Cooling { .. }
            | Stage::CoolEnoughToOpen
            | Stage::Tripped => return None,
        };
        Some(Undo { shut_off_at: self.last_at?, chamber: self.chamber?.mean, interrupted })
    }

    fn release(&mut self) -> Result<(), Refusal> {
        self.interlocks.clear().map_err(|()| Refusal::CauseStillThere)?;
        self.stage = self.without_a_firing();
        Ok(())
    }

    /// What a kiln does whose firing is over or never came: cool, or rest.
    fn without_a_firing(&self) -> Stage {
        let hot = self.chamber.is_none_or(|chamber| chamber.hottest > self.setup.kiln.open_below);
        if hot { Stage::Cooling { undo: None } } else { Stage::Resting }
    }

    /// Begins the programme once there is a reading to begin from; ends it there in a kiln hotter
    /// than all of it.
    pub(crate) fn begin_when_read(&mut self) {
        let (Stage::AwaitingReading, Some(found)) = (self.stage, self.chamber) else { return };
        let open_below = self.setup.kiln.open_below;
        self.plan_hottest = self.programme().and_then(Programme::hottest).map(|most| most.hotter(found.mean));
        let carried = self.setup.start.carried;
        let place = |programme| match &carried {
            Some(carried) => Run::carried(programme, carried, found.mean),
            None => Run::begin(programme, found.mean, open_below),
        };
        match self.programme().and_then(place) {
            Some(run) => self.stage = Stage::Running(run),
            None => self.on(Event::ProgrammeOver),
        }
    }

    /// Lets time pass on the schedule's clock; gives whether it stood still for the kiln.
    pub(crate) fn run_schedule(&mut self, span: Millis) -> bool {
        let Some(chamber) = self.chamber else { return false };
        let mut waiting = false;
        match &mut self.stage {
            Stage::Running(_) => {
                self.alight += span;
                waiting = self.run_segment(span, chamber);
            }
            Stage::Staying(stay) => {
                self.alight += span;
                stay.left = stay.left.since(span);
                if stay.left == Millis::ZERO {
                    self.on(Event::StayOver);
                }
            }
            Stage::Cooling { undo } => {
                let now = self.last_at.unwrap_or_default();
                let undoing = undo.is_some_and(|undo| now.since(undo.shut_off_at) <= UNDO_WITHIN);
                if chamber.hottest <= self.setup.kiln.open_below && !undoing {
                    self.on(Event::ColdEnough);
                }
            }
            Stage::CoolEnoughToOpen => {
                if chamber.hottest.c() > self.setup.kiln.open_below.c() + WARM_AGAIN_C {
                    self.on(Event::WarmAgain);
                }
            }
            Stage::Resting | Stage::SetForLater { .. } | Stage::AwaitingReading | Stage::Tripped => {}
        }
        waiting
    }
}

impl Controller {
    /// Lets time pass in a segment; gives whether its clock stood still for the kiln.
    fn run_segment(&mut self, span: Millis, chamber: Chamber) -> bool {
        self.elapsed += span;
        self.given = self.given + self.setup.kiln.gives(&self.banks) * span;
        let aim = self.cone_aimed_at();
        let at = self.last_at.unwrap_or_default();
        if aim.is_some_and(|(cone, ..)| self.cone_will_be_down(cone, at)) {
            self.end_climb(ClimbEnd::ConeDown);
            return false;
        }
        let flat_out = self.is_flat_out();
        let Stage::Running(run) = &mut self.stage else { return false };
        if run.waits_for(chamber.coldest, chamber.hottest) {
            return !flat_out;
        }
        let waited = matches!(run.leg, Leg::AwaitingCone { .. });
        match (run.advance(span, chamber.hottest), aim) {
            (Progress::Going, _) => {}
            (Progress::Over, _) => self.on(Event::SoakOver),
            (Progress::Arrived, Some(_)) if waited => self.end_climb(ClimbEnd::ConeNotDown),
            (Progress::Arrived, Some((_, hottest, at_most))) => run.await_cone(hottest, at_most),
            (Progress::Arrived, None) => self.end_climb(ClimbEnd::Temperature),
        }
        false
    }

    /// Whether "as fast as the kiln can" is what was asked: waiting for it is the plan then.
    fn is_flat_out(&self) -> bool {
        let segment = self
            .stage
            .run()
            .zip(self.programme())
            .and_then(|(run, programme)| programme.segments().get(usize::from(run.segment)));
        matches!(segment, Some(Segment::Climb { pace: Pace::FlatOut, .. }))
    }

    /// Ends a climb, fall or slow cooling at its target.
    fn end_climb(&mut self, end: ClimbEnd) {
        if self.stage.phase() == Phase::Climbing {
            self.climb_end = Some(end);
        }
        self.on(Event::Arrived);
    }
}

fn soak_of(programme: &Programme, segment: u8) -> Millis {
    programme.segments().get(usize::from(segment)).map_or(Millis::ZERO, Segment::soak)
}
