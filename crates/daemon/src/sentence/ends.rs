//! When things will probably be over, by a firing's forecast and where it stands.

use control::{Phase, Segment, Target};
use jiff::ZonedDateTime;
use pyrometry::units::Millis;

use crate::clock::KilnClock;
use crate::run::{FiringSheet, Snapshot};

/// When things will probably be over.
#[derive(Clone, Debug, Default)]
pub struct Ends {
    /// The firing's top, while it is ahead.
    pub top: Option<Top>,
    /// When the elements give heat for the last time.
    pub off: Option<ZonedDateTime>,
    /// The schedule's last segment.
    pub heating: Option<ZonedDateTime>,
    /// Cool enough to open.
    pub open: Option<ZonedDateTime>,
}

/// The top of a firing.
#[derive(Clone, Debug)]
pub struct Top {
    /// The cone or the temperature, as a potter says it.
    pub what: String,
    /// When it is reached.
    pub at: ZonedDateTime,
}

impl Ends {
    /// As far as the firing's forecast tells; nothing where the kiln stalls on the way.
    #[must_use]
    pub fn of(snapshot: &Snapshot, clock: &KilnClock) -> Self {
        let Some(firing) = &snapshot.firing else { return Self::default() };
        if firing.forecast.stall(snapshot.decision.segment.unwrap_or(0)).is_some() {
            return Self::default();
        }
        let ahead = Ahead { firing, snapshot };
        let when = |span: Millis| clock.ahead(span);
        Self {
            top: ahead.top().map(|(what, span)| Top { what, at: when(span) }),
            off: ahead.until(firing.forecast.end_of_heating).map(when),
            heating: ahead.until_over().map(when),
            open: ahead.until_open().map(when),
        }
    }
}

/// When the clock shows a moment of a firing's forecast, by where it stands; `None` when that is past.
#[must_use]
pub fn when(
    firing: &FiringSheet,
    snapshot: &Snapshot,
    moment: Millis,
    clock: &KilnClock,
) -> Option<ZonedDateTime> {
    Ahead { firing, snapshot }.until(moment).map(|span| clock.ahead(span))
}

/// What lies ahead of a firing, counted from now.
struct Ahead<'a> {
    firing: &'a FiringSheet,
    snapshot: &'a Snapshot,
}

impl Ahead<'_> {
    /// What is left of the delay, before a firing has begun.
    fn delay(&self) -> Option<Millis> {
        let decision = &self.snapshot.decision;
        (decision.phase == Phase::SetForLater).then(|| self.firing.delay.since(decision.at))
    }

    fn until_over(&self) -> Option<Millis> {
        let (forecast, decision) = (&self.firing.forecast, &self.snapshot.decision);
        match self.delay() {
            Some(delay) => Some(delay + forecast.duration),
            None => self.snapshot.course.until_over(forecast, decision),
        }
    }

    fn until_open(&self) -> Option<Millis> {
        let (forecast, decision) = (&self.firing.forecast, &self.snapshot.decision);
        match self.delay() {
            Some(delay) => forecast.opens.map(|opens| delay + opens),
            None => self.snapshot.course.until_open(forecast, decision),
        }
    }

    /// Until a moment of the forecast; `None` once it is past.
    fn until(&self, moment: Millis) -> Option<Millis> {
        let over = self.until_over()?;
        let after = self.firing.forecast.duration.since(moment);
        (over > after).then(|| over.since(after))
    }

    /// The first climb to the hottest, and until when.
    fn top(&self) -> Option<(String, Millis)> {
        let programme = &self.firing.schedule.programme;
        let hottest = programme.hottest()?;
        let is_top = |segment: &Segment| {
            matches!(segment, Segment::Climb { .. }) && segment.hottest() == Some(hottest)
        };
        let number = programme.segments().iter().position(is_top)?;
        let Segment::Climb { target, .. } = programme.segments().get(number)? else { return None };
        let here = self.snapshot.decision.segment.map(usize::from);
        let soaks_there = here == Some(number) && self.snapshot.course.soak_left.is_some();
        if here.is_some_and(|here| here > number) || soaks_there {
            return None;
        }
        let what = match target {
            Target::Temperature(to) => self.firing.schedule.scale.say(*to),
            Target::Cone { cone, .. } => format!("cone {cone}"),
        };
        Some((what, self.until(self.firing.forecast.segments.get(number)?.arrives)?))
    }
}
