//! The kiln's state in one sentence, as one potter would tell another.

use control::{Decision, Phase};
use jiff::ZonedDateTime;
use pyrometry::units::{CelsiusDelta, Millis};

use crate::clock::{KilnClock, told};
use crate::files::{Scale, time};
use crate::run::Snapshot;
use crate::store::Trouble;

/// A lag smaller than this is "on plan".
const ON_PLAN_C: f64 = 3.0;

/// When things will probably be over.
#[derive(Clone, Debug, Default)]
pub struct Ends {
    /// The schedule's last segment.
    pub heating: Option<ZonedDateTime>,
    /// Cool enough to open.
    pub open: Option<ZonedDateTime>,
}

impl Ends {
    /// As far as the firing's forecast tells.
    #[must_use]
    pub fn of(snapshot: &Snapshot, clock: &KilnClock) -> Self {
        let Some(firing) = &snapshot.firing else { return Self::default() };
        let delay = match snapshot.decision.phase {
            Phase::SetForLater => firing.delay.since(snapshot.decision.at),
            Phase::Resting
            | Phase::Climbing
            | Phase::Soaking
            | Phase::SlowCooling
            | Phase::Staying
            | Phase::Cooling
            | Phase::CoolEnoughToOpen
            | Phase::Tripped => Millis::ZERO,
        };
        let (over, open) = if snapshot.decision.phase == Phase::SetForLater {
            (Some(firing.forecast.duration), firing.forecast.opens)
        } else {
            let (course, decision) = (&snapshot.course, &snapshot.decision);
            (course.until_over(&firing.forecast, decision), course.until_open(&firing.forecast, decision))
        };
        Self {
            heating: over.map(|span| clock.ahead(delay + span)),
            open: open.map(|span| clock.ahead(delay + span)),
        }
    }
}

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
        Phase::Cooling => format!("Cooling by itself, elements off: {chamber} now."),
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

fn finish(said: &mut String, ends: &Ends, now: &ZonedDateTime, decision: &Decision) {
    let open = ends.open.as_ref().map(|open| format!("cool enough to open about {}", told(open, now)));
    match (&ends.heating, open) {
        (Some(heating), Some(open)) if decision.phase != Phase::Cooling => {
            *said = format!("{said} Heating ends about {}, {open}.", told(heating, now));
        }
        (Some(heating), None) => *said = format!("{said} Heating ends about {}.", told(heating, now)),
        (_, Some(open)) => {
            let (first, rest) = open.split_at(1);
            *said = format!("{said} {}{rest}.", first.to_uppercase());
        }
        (None, None) => {}
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

fn climbing(snapshot: &Snapshot, scale: Scale, chamber: &str) -> String {
    use control::{Pace, Segment, Target};
    let decision = &snapshot.decision;
    let segment =
        snapshot.firing.as_ref().zip(decision.segment).and_then(|(firing, number)| {
            firing.schedule.programme.segments().get(usize::from(number)).copied()
        });
    let plan = match segment {
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
    use control::Segment;
    let decision = &snapshot.decision;
    let segment =
        snapshot.firing.as_ref().zip(decision.segment).and_then(|(firing, number)| {
            firing.schedule.programme.segments().get(usize::from(number)).copied()
        });
    match segment {
        Some(Segment::SlowCool { rate, to, .. }) => format!(
            "Cooling slowly to {} at {}: {chamber} now{}.",
            scale.say(to),
            scale.say_rate(rate),
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
