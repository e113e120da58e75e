//! What comes, and about when: the forecast made at light-up, moved by what happened since.
//!
//! No time is named for what this kiln cannot reach; that it cannot is said instead.

use control::{Interlock, Pace, Phase, Segment, Target, WAITS_BEYOND};
use insight::Forecast;
use jiff::ZonedDateTime;
use pyrometry::cone::Cone;
use pyrometry::units::{CelsiusPerHour, Millis};

use crate::files::{Scale, time};
use crate::run::{FiringSheet, Snapshot};
use crate::sentence::{Ends, when};
use crate::web::House;

/// A forecast that unloads the cone aimed at no further up than this takes it for down: the maker's
/// batches vary by a tenth of a cone, and a guessed load moves it by about as much.
const SHORT_BY: f64 = 0.25;
/// What the fall after the heating may still add: a third of a cone (see `config/schedules/bisque.toml`).
const FALL_ADDS: f64 = 0.35;

/// What comes in the firing under way.
#[derive(Debug, Default)]
pub(super) struct Ahead {
    /// Its top, elements off for the last time, and cool enough to open.
    pub(super) ends: Ends,
    /// The cone aimed at goes down.
    pub(super) cone_down: Option<ZonedDateTime>,
    /// That the kiln does not get there, in words.
    pub(super) falls_short: Option<String>,
}

impl Ahead {
    pub(super) fn of(house: &House, snapshot: &Snapshot) -> Self {
        let Some(firing) = &snapshot.firing else { return Self::default() };
        if let Some(why) = never_ends(firing, snapshot) {
            return Self { falls_short: Some(why), ..Self::default() };
        }
        let over = Ends::of(snapshot, &house.clock);
        let at = |moment| when(firing, snapshot, moment, &house.clock);
        let down = firing.schedule.aim.is_some_and(|aim| is_down(snapshot, aim));
        let aim = firing.schedule.aim.filter(|_| over.heating.is_some() && !down);
        let cone = aim.map(|aim| (aim, goes_down(&firing.forecast, aim)));
        // A stay does heat-work that nobody forecast: the cone may go down in it.
        let surprises = down || snapshot.decision.phase == Phase::Staying;
        let cone_down = cone.and_then(|(_, moment)| at(moment?)).filter(|_| !surprises);
        Self {
            cone_down,
            falls_short: cone
                .filter(|(_, moment)| moment.is_none())
                .map(|(aim, _)| format!("By forecast cone {aim} is not down when the schedule ends.")),
            ends: Ends {
                top: over.top.filter(|_| !surprises),
                open: over.open.filter(|_| !is_cold(house, snapshot)),
                ..over
            },
        }
    }
}

/// Whether a cone has gone down already, as the page draws it.
fn is_down(snapshot: &Snapshot, cone: Cone) -> bool {
    snapshot.heat_work.down().is_some_and(|down| down.ordinal() >= cone.ordinal())
}

/// Whether the kiln is cool enough to open as it is, whatever becomes of the firing.
fn is_cold(house: &House, snapshot: &Snapshot) -> bool {
    let heats = snapshot.decision.segment.is_some() || snapshot.decision.phase == Phase::SetForLater;
    !heats && snapshot.decision.chamber.is_some_and(|chamber| chamber < house.kiln.kiln.open_below)
}

/// When a cone will go down, since light-up; `None` when it won't.
fn goes_down(forecast: &Forecast, aim: Cone) -> Option<Millis> {
    let unloaded = forecast.cone.filter(|cone| *cone >= aim.ordinal() - SHORT_BY)?;
    let hot_enough = aim.ordinal().min(unloaded) - FALL_ADDS;
    let is_down = |cone: Option<f64>| cone.is_some_and(|cone| cone >= hot_enough);
    let segment = forecast.segments.iter().find(|segment| is_down(segment.cone_ends))?;
    Some(if is_down(segment.cone_arrives) { segment.arrives } else { segment.ends })
}

/// Why no end can be named, if none can.
fn never_ends(firing: &FiringSheet, snapshot: &Snapshot) -> Option<String> {
    let decision = &snapshot.decision;
    let waits_to_begin = decision.phase == Phase::SetForLater;
    let from = decision.segment.or(waits_to_begin.then_some(0))?;
    if let Some((number, at)) = firing.forecast.stall(from) {
        let number = number + 1;
        let (at, count) = (firing.schedule.scale.say(at), firing.schedule.segments.len());
        return Some(format!(
            "By forecast this kiln stalls at about {at} in segment {number} of {count} and does not get there."
        ));
    }
    let stalled = decision.notices.iter().any(|notice| notice.interlock == Interlock::KilnStalled);
    stalled.then(|| "At full power the kiln climbs no more: it may not get there.".to_owned())
}

/// What follows the present segment, in words; `None` when nothing does. Coolings that the kiln is
/// already past are passed over, as the controller does.
pub(super) fn next(firing: &FiringSheet, snapshot: &Snapshot) -> Option<String> {
    let decision = &snapshot.decision;
    let number = decision.segment?.checked_add(1)?;
    let from = decision.setpoint.or(decision.chamber)?;
    let passed = |segment: &&Segment| match segment {
        Segment::SlowCool { to, .. } | Segment::LetFall { to, .. } => *to - from > WAITS_BEYOND,
        Segment::Climb { .. } | Segment::Watch { .. } => false,
    };
    let mut left = firing.schedule.programme.segments().iter().skip(usize::from(number));
    Some(in_words(left.find(|segment| !passed(segment))?, firing.schedule.scale))
}

/// The segment that is run.
pub(super) fn segment(snapshot: &Snapshot) -> Option<Segment> {
    let (firing, number) = snapshot.firing.as_ref().zip(snapshot.decision.segment)?;
    firing.schedule.programme.segments().get(usize::from(number)).copied()
}

/// Whether the present segment holds its target for a time.
pub(super) fn has_soak(snapshot: &Snapshot) -> bool {
    segment(snapshot).is_some_and(|segment| segment.soak() > Millis::ZERO)
}

fn in_words(segment: &Segment, scale: Scale) -> String {
    match *segment {
        Segment::Climb { pace, target, .. } => {
            let to = match target {
                Target::Temperature(to) => scale.say(to),
                Target::Cone { cone, .. } => format!("cone {cone}"),
            };
            match pace {
                Pace::Rate(rate) => format!("the climb to {to} at {}", scale.say_rate(rate)),
                Pace::FlatOut => format!("the climb to {to}, flat out"),
            }
        }
        Segment::SlowCool { rate, to, .. } => {
            let fall = CelsiusPerHour::new(rate.c_per_h().abs()).unwrap_or(rate);
            format!("the slow cooling to {} at {}", scale.say(to), scale.say_rate(fall))
        }
        Segment::LetFall { to, .. } => format!("the fall to {}, elements off", scale.say(to)),
        Segment::Watch { lasting } => format!("{} of watching, elements off", time::say(lasting)),
    }
}
