//! Where a firing stands in its schedule, followed from the decisions: what is left of a soak or
//! stay, and when heating and cooling will probably be over.

use control::{
    Carried, Decision, Left, Order, Outcome, Phase, Programme, Segment, UNDO_WITHIN, UNDO_WITHIN_C,
};
use insight::Forecast;
use pyrometry::units::{Celsius, Millis};

/// Followed step by step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Course {
    at: Option<Millis>,
    phase: Option<Phase>,
    segment: Option<u8>,
    /// What is left of the present soak, and of the present stay.
    pub soak_left: Option<Millis>,
    /// What is left of the longest stay.
    pub stay_left: Option<Millis>,
    /// How long the schedule's clock stood still for the kiln.
    pub waited: Millis,
    /// When a person shut off and at what temperature, if they did and it was not undone.
    shut_off: Option<(Millis, Option<Celsius>)>,
    /// The segment that is carried on, and what was left of its soak.
    owed: Option<(u8, Millis)>,
}

impl Course {
    /// At the beginning of a firing, or of one that carries another on.
    #[must_use]
    pub fn begin(carried: Option<&Carried>) -> Self {
        let owed = carried.and_then(|carried| match carried.left {
            Left::Soak { left, .. } => Some((carried.segment, left)),
            Left::Way | Left::Wait { .. } | Left::Watch { .. } => None,
        });
        Self { owed, ..Self::default() }
    }

    /// Takes one step with its orders.
    pub fn take(
        &mut self,
        programme: Option<&Programme>,
        stay_longest: Millis,
        orders: &[Order],
        decision: &Decision,
    ) {
        let span = decision.at.since(self.at.unwrap_or(decision.at));
        self.at = Some(decision.at);
        if decision.waiting {
            self.waited += span;
        }
        let moved = self.phase != Some(decision.phase) || self.segment != decision.segment;
        if moved {
            self.enter(programme, stay_longest, decision);
        } else {
            let left = if decision.waiting { Millis::ZERO } else { span };
            self.soak_left = self.soak_left.map(|soak| soak.since(left));
            self.stay_left = self.stay_left.map(|stay| stay.since(span));
        }
        for (order, outcome) in orders.iter().zip(&decision.outcomes) {
            match (order, outcome) {
                (Order::AddMinutes(minutes), Outcome::Taken) => {
                    self.lengthen(Millis::from_minutes(u64::from(*minutes)));
                }
                // A second press takes nothing away from the first.
                (Order::ShutOff, Outcome::Taken) => {
                    self.shut_off.get_or_insert((decision.at, decision.chamber));
                }
                (Order::NextSegment | Order::EndClimb, Outcome::Taken) if is_over(decision) => {
                    self.shut_off.get_or_insert((decision.at, decision.chamber));
                }
                (Order::CarryOn, Outcome::Taken) => self.shut_off = None,
                (_, Outcome::Taken | Outcome::Refused(_)) => {}
            }
        }
        self.phase = Some(decision.phase);
        self.segment = decision.segment;
    }

    fn enter(&mut self, programme: Option<&Programme>, stay_longest: Millis, decision: &Decision) {
        let back_from_stay = self.phase == Some(Phase::Staying) && self.segment == decision.segment;
        match decision.phase {
            Phase::Staying => self.stay_left = Some(stay_longest),
            // A stay leaves the soak it interrupted as it was.
            Phase::Soaking if back_from_stay && self.soak_left.is_some() => self.stay_left = None,
            Phase::Soaking => {
                self.stay_left = None;
                let segment = decision.segment.and_then(|number| {
                    programme.and_then(|programme| programme.segments().get(usize::from(number)))
                });
                let owed = self.owed.filter(|(owed, _)| decision.segment == Some(*owed));
                self.soak_left = owed.map(|(_, left)| left).or(segment.map(Segment::soak));
            }
            Phase::Resting
            | Phase::SetForLater
            | Phase::Climbing
            | Phase::SlowCooling
            | Phase::Cooling
            | Phase::CoolEnoughToOpen
            | Phase::Tripped => (self.soak_left, self.stay_left) = (None, None),
        }
    }

    /// Whether the climb is the way back to a soak that a power cut had cut short.
    #[must_use]
    pub fn climbs_back(&self, decision: &Decision) -> bool {
        let owed = self.owed.map(|(segment, _)| segment);
        decision.phase == Phase::Climbing && owed.is_some() && owed == decision.segment
    }

    fn lengthen(&mut self, by: Millis) {
        if let Some(stay) = &mut self.stay_left {
            *stay += by;
        } else if let Some(soak) = &mut self.soak_left {
            *soak += by;
        }
    }

    /// The shut-off cannot be undone, however young it is.
    pub fn forget_undo(&mut self) {
        self.shut_off = None;
    }

    /// Whether a person's shut-off can still be undone: it is young, and the kiln near enough.
    #[must_use]
    pub fn can_be_undone(&self, decision: &Decision) -> bool {
        self.shut_off.is_some_and(|(at, then)| {
            let moved = then.zip(decision.chamber).map(|(then, now)| (then - now).magnitude().c());
            decision.at.since(at) <= UNDO_WITHIN && moved.is_some_and(|c| c <= UNDO_WITHIN_C)
        })
    }

    /// How long until the schedule's last segment ends, by the forecast made at light-up.
    #[must_use]
    pub fn until_over(&self, forecast: &Forecast, decision: &Decision) -> Option<Millis> {
        let segment = forecast.segments.get(usize::from(decision.segment?))?;
        let after_this = forecast.duration.since(segment.ends);
        let here = if let (Some(soak), Phase::Soaking | Phase::Staying) = (self.soak_left, decision.phase) {
            soak
        } else {
            segment.ends.since(reached_at(forecast, segment.begins, segment.arrives, decision))
        };
        Some(here + after_this + self.stay_left.unwrap_or(Millis::ZERO))
    }

    /// How long until the kiln is cool enough to open.
    #[must_use]
    pub fn until_open(&self, forecast: &Forecast, decision: &Decision) -> Option<Millis> {
        let opens = forecast.opens?;
        match (decision.phase, self.until_over(forecast, decision)) {
            (Phase::CoolEnoughToOpen | Phase::Resting, _) => None,
            (_, Some(over)) => Some(over + opens.since(forecast.duration)),
            (_, None) => {
                let chamber = decision.chamber?;
                let cooled = forecast.points.iter().rev().find(|point| point.expected >= chamber)?;
                Some(opens.since(cooled.at))
            }
        }
    }
}

/// Whether the heating has ended.
fn is_over(decision: &Decision) -> bool {
    decision.segment.is_none() && decision.phase == Phase::Cooling
}

/// The time in the forecast at which a segment had come as far as it has now.
fn reached_at(forecast: &Forecast, begins: Millis, arrives: Millis, decision: &Decision) -> Millis {
    let Some(now) = decision.setpoint.or(decision.chamber) else { return begins };
    let of_segment = forecast.points.iter().filter(|point| point.at >= begins && point.at <= arrives);
    let distance = |there: Celsius| (there - now).magnitude().c();
    of_segment
        .min_by(|a, b| {
            let (a, b) = (a.planned.unwrap_or(a.expected), b.planned.unwrap_or(b.expected));
            distance(a).total_cmp(&distance(b))
        })
        .map_or(begins, |point| point.at)
}
