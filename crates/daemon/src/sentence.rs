//! The kiln's state in one sentence, as one potter would tell another.

mod ends;
#[cfg(test)]
mod tests;

use control::{Decision, Pace, Phase, Segment, Target};
use jiff::{SignedDuration, ZonedDateTime};
use pyrometry::units::{CelsiusDelta, Millis};

use crate::clock::told;
use crate::files::{Scale, time};
use crate::run::Snapshot;
use crate::store::Trouble;

pub use ends::{Ends, Top, when};

/// Closer together than this, two ends are one to a potter.
const AT_ONCE: SignedDuration = SignedDuration::from_mins(5);
/// A lag smaller than this is "on plan".
const ON_PLAN_C: f64 = 3.0;

/// The sentence.
#[must_use]
pub fn sentence(snapshot: &Snapshot, ends: &Ends, now: &ZonedDateTime) -> String {
    let scale = snapshot.firing.as_ref().map_or(Scale::Celsius, |firing| firing.schedule.scale);
    let decision = &snapshot.decision;
    let chamber = match decision.chamber {
        Some(chamber) => scale.say(chamber),
        None => "no reading".to_owned(),
    };
    let mut said = match decision.phase {
        Phase::Resting => format!("The kiln rests at {chamber}."),
        Phase::SetForLater => set_for_later(snapshot, now, &chamber),
        Phase::Climbing => climbing(snapshot, scale, &chamber),
        Phase::Soaking => {
            let left =
                snapshot.course.soak_left.map_or(String::new(), |left| format!(", {} left", time::say(left)));
            let at =
                decision.setpoint.map_or(String::new(), |setpoint| format!(" at {}", scale.say(setpoint)));
            format!("Soaking{at}{left}: {chamber} now{}.", on_plan(decision, scale))
        }
        Phase::SlowCooling => slow_cooling(snapshot, scale, &chamber),
        Phase::Staying => {
            let at =
                decision.setpoint.map_or(String::new(), |setpoint| format!(" at {}", scale.say(setpoint)));
            let left = snapshot.course.stay_left.map_or(String::new(), |left| {
                format!(" It carries on by itself in {} at the latest.", time::say(whole_minutes(left)))
            });
            format!("Staying{at} until you say carry on: {chamber} now.{left}")
        }
        Phase::Cooling => cooling(snapshot, scale, &chamber),
        Phase::CoolEnoughToOpen => format!("Cool enough to open: {chamber}."),
        Phase::Tripped => format!("Tripped: all heat is off until a person clears it. {chamber} now."),
    };
    if let Some(withheld) = &decision.withheld
        && decision.trip.is_none()
        && decision.phase.may_heat()
    {
        said = format!("{said} Heat is withheld: {}", withheld.seen());
    }
    finish(&mut said, ends, now, decision);
    if let Some(trouble) = snapshot.trouble.map(Trouble::words) {
        said = format!("{said} {trouble}");
    }
    said
}

/// What comes when: the top, the elements' end, the opening.
fn finish(said: &mut String, ends: &Ends, now: &ZonedDateTime, decision: &Decision) {
    let mut coming = Vec::new();
    // While a kiln falls by itself its elements are off already, but not for good.
    let off = if decision.phase == Phase::Cooling { "last heat" } else { "elements off" };
    match (&ends.top, &ends.off) {
        (Some(top), Some(end)) if end.duration_since(&top.at) < AT_ONCE => {
            coming.push(format!("{} and {off} about {}", top.what, told(end, now)));
        }
        (top, end) => {
            coming.extend(top.iter().map(|top| format!("{} about {}", top.what, told(&top.at, now))));
            coming.extend(end.iter().map(|end| format!("{off} about {}", told(end, now))));
        }
    }
    coming.extend(ends.open.iter().map(|open| format!("cool enough to open about {}", told(open, now))));
    let coming = coming.join(", ");
    if let Some(first) = coming.chars().next() {
        let rest = &coming[first.len_utf8()..];
        *said = format!("{said} {}{rest}.", first.to_uppercase());
    }
}

fn set_for_later(snapshot: &Snapshot, now: &ZonedDateTime, chamber: &str) -> String {
    let left = snapshot.firing.as_ref().map(|firing| firing.delay.since(snapshot.decision.at));
    match left {
        Some(left) => {
            let span = jiff::SignedDuration::from_millis(i64::try_from(left.ms()).unwrap_or(i64::MAX));
            let due = told(&now.saturating_add(span), now);
            format!("Set for later: heating begins about {due}. {chamber} now.")
        }
        None => format!("Set for later. {chamber} now."),
    }
}

/// The present segment, or one that comes so much later.
fn segment(snapshot: &Snapshot, later: usize) -> Option<Segment> {
    let (firing, number) = snapshot.firing.as_ref().zip(snapshot.decision.segment)?;
    firing.schedule.programme.segments().get(usize::from(number) + later).copied()
}

/// Elements off: in a segment that says so, or after all of them.
fn cooling(snapshot: &Snapshot, scale: Scale, chamber: &str) -> String {
    match segment(snapshot, 0) {
        Some(Segment::LetFall { to, soak }) => {
            let then = match segment(snapshot, 1) {
                _ if soak > Millis::ZERO => format!(", then a {} soak", time::say(soak)),
                Some(Segment::Climb { .. }) => ", then climbing again".to_owned(),
                Some(Segment::SlowCool { .. }) => ", then slow cooling".to_owned(),
                Some(Segment::LetFall { .. } | Segment::Watch { .. }) | None => String::new(),
            };
            format!("Falling to {} by itself{then}: {chamber} now.", scale.say(to))
        }
        Some(Segment::Watch { .. }) => format!("Watching without heat: {chamber} now."),
        Some(Segment::Climb { .. } | Segment::SlowCool { .. }) | None => {
            format!("Cooling by itself, elements off: {chamber} now.")
        }
    }
}

fn climbing(snapshot: &Snapshot, scale: Scale, chamber: &str) -> String {
    let decision = &snapshot.decision;
    let plan = match segment(snapshot, 0) {
        // At another rate than the segment's.
        _ if snapshot.course.climbs_back(decision) => " back to what is left of the soak".to_owned(),
        Some(Segment::Climb { pace, target, .. }) => {
            let to = match target {
                Target::Temperature(to) => scale.say(to),
                Target::Cone { cone, .. } => format!("cone {cone}"),
            };
            match pace {
                Pace::Rate(rate) => format!(" to {to} at {}", scale.say_rate(rate)),
                Pace::FlatOut => format!(" to {to}, flat out"),
            }
        }
        Some(Segment::SlowCool { .. } | Segment::LetFall { .. } | Segment::Watch { .. }) | None => {
            String::new()
        }
    };
    if decision.waiting {
        let off = decision.lag.map_or(String::new(), |lag| difference(lag, scale));
        return format!("Climbing{plan}: {chamber} now, {off} off the plan, so the schedule waits.");
    }
    format!("Climbing{plan}: {chamber} now{}.", on_plan(decision, scale))
}

fn slow_cooling(snapshot: &Snapshot, scale: Scale, chamber: &str) -> String {
    let decision = &snapshot.decision;
    match segment(snapshot, 0) {
        Some(Segment::SlowCool { rate, to, .. }) => format!(
            "Cooling slowly to {} at {}: {chamber} now{}.",
            scale.say(to),
            scale.say_rate(rate).trim_start_matches('-'),
            on_plan(decision, scale)
        ),
        Some(Segment::Climb { .. } | Segment::LetFall { .. } | Segment::Watch { .. }) | None => {
            format!("Cooling slowly: {chamber} now.")
        }
    }
}

/// A difference without its sign, as a person reads it.
fn difference(lag: CelsiusDelta, scale: Scale) -> String {
    match scale {
        Scale::Celsius => format!("{:.0} °C", lag.c().abs()),
        Scale::Fahrenheit => format!("{:.0} °F", lag.c().abs() * 1.8),
    }
}

fn on_plan(decision: &Decision, scale: Scale) -> String {
    let Some(lag) = decision.lag else { return String::new() };
    if lag.c().abs() < ON_PLAN_C {
        return ", on plan".to_owned();
    }
    let degrees = difference(lag, scale);
    format!(", {degrees} {} plan", if lag.c() > 0.0 { "behind" } else { "above" })
}

const fn whole_minutes(span: Millis) -> Millis {
    Millis::from_minutes(span.ms().div_ceil(60_000))
}
