//! One segment: from its words to what the controller runs.

use control::{Pace, Segment, Target};
use pyrometry::cone::Cone;
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour, Millis, between};

use super::wire::SegmentSection;
use crate::files::leaf::{Goal, Rate};
use crate::files::problem::Problems;
use crate::files::scale::Scale;
use crate::files::wire::At;

/// No schedule may ask for more, whatever the kiln: above cone 14 and every `FeCrAl` element's use.
pub(super) const HOTTEST: Celsius = constant!(Celsius, 1400.0);
/// No target is colder: a kiln has no cooling of its own.
const COLDEST: Celsius = constant!(Celsius, 0.0);
/// No rate is steeper: small test kilns reach it, ware does not survive it (engineering judgement).
const STEEPEST: CelsiusPerHour = constant!(CelsiusPerHour, 1000.0);
/// No rate is gentler, °C/h: thick sculpture is dried at a few degrees an hour (common practice, no
/// source), and room to boiling would take four days at this one. What is smaller is mistyped.
const GENTLEST: CelsiusPerHour = constant!(CelsiusPerHour, 1.0);
/// A cone without `no_hotter_than` gets its end point at the segment's rate plus this. At 15 °C
/// above its end point a cone needs only minutes more by the rate law, and a thermocouple of
/// class 2 may be 9 °C out there (facts of IEC 60584-1), so less would often stop short.
const CONE_MARGIN: CelsiusDelta = constant!(CelsiusDelta, 15.0);
/// A cone without `at_most` may be waited for this long: the rate law gives a kiln that stalls
/// 20 °C low half an hour, and practice an hour for a whole cone.
pub(super) const CONE_WAIT: Millis = Millis::from_hours(2);

/// What holds for every segment of one file.
pub(super) struct Bounds {
    pub(super) scale: Scale,
    /// The kiln's ceiling, or [`HOTTEST`] where no kiln is given.
    pub(super) ceiling: Celsius,
    /// What to call that bound.
    pub(super) ceiling_is: String,
}

impl Bounds {
    fn temperature(
        &self,
        written: f64,
        key: &str,
        span: &std::ops::Range<usize>,
        problems: &mut Problems,
    ) -> Option<Celsius> {
        let found =
            self.scale.temperature(written).filter(|found| *found >= COLDEST && *found <= self.ceiling);
        if found.is_none() {
            let within = format!("{} to {}", self.scale.say(COLDEST), self.scale.say(self.ceiling));
            let right = format!("{within}, {}", self.ceiling_is);
            // A little too hot is too hot; far too hot for any kiln is another scale.
            let hint = if written > HOTTEST.c() { self.scale.hint(written, self.ceiling) } else { "" };
            let right = format!("{right}{hint}");
            problems.add(span, format!("{key} = {written} is out of bounds"), right);
        }
        found
    }

    fn rate(
        &self,
        written: f64,
        span: &std::ops::Range<usize>,
        problems: &mut Problems,
    ) -> Option<CelsiusPerHour> {
        let found = self.scale.rate(written);
        let size_c_per_h = found.map_or(f64::INFINITY, |rate| rate.c_per_h().abs());
        if size_c_per_h < GENTLEST.c_per_h() {
            let right = "at least 1 °C/h (1.8 °F/h), up or down: a smaller rate never gets there";
            problems.add(span, format!("rate = {written} is too small"), right);
            return None;
        }
        if size_c_per_h > STEEPEST.c_per_h() {
            let right = format!("at most {}, up or down", self.scale.say_rate(STEEPEST));
            problems.add(span, format!("rate = {written} is too steep"), right);
            return None;
        }
        found
    }
}

/// Compiles one segment.
pub(super) fn compile(
    section: &At<SegmentSection>,
    bounds: &Bounds,
    problems: &mut Problems,
) -> Option<Segment> {
    let found = &section.value;
    if let Some(watch) = &found.watch {
        refuse_beside_watch(found, problems);
        return Some(Segment::Watch { lasting: watch.value.0 });
    }
    let (Some(rate), Some(to)) = (&found.rate, &found.to) else {
        let missing = if found.rate.is_none() { "rate" } else { "to" };
        problems.add(
            &section.span,
            format!("this segment has no `{missing}`"),
            "a segment needs `rate` and `to`; or `watch` alone, for a time without heat",
        );
        return None;
    };
    let soak = found.soak.as_ref().map_or(Millis::ZERO, |soak| soak.value.0);
    match to.value {
        Goal::Temperature(written) => {
            refuse_cone_keys(found, problems);
            let goal = bounds.temperature(written, "to", &to.span, problems);
            travel(rate, goal, soak, bounds, problems)
        }
        Goal::Cone(cone) => to_cone(found, rate, cone, &to.span, bounds, problems)
            .map(|(pace, target)| Segment::Climb { pace, target, soak }),
    }
}

fn travel(
    rate: &At<Rate>,
    to: Option<Celsius>,
    soak: Millis,
    bounds: &Bounds,
    problems: &mut Problems,
) -> Option<Segment> {
    let climb = |pace| to.map(|to| Segment::Climb { pace, target: Target::Temperature(to), soak });
    match rate.value {
        Rate::FlatOut => climb(Pace::FlatOut),
        Rate::LetFall => to.map(|to| Segment::LetFall { to, soak }),
        Rate::PerHour(written) => {
            let rate = bounds.rate(written, &rate.span, problems)?;
            if written < 0.0 {
                to.map(|to| Segment::SlowCool { rate, to, soak })
            } else {
                climb(Pace::Rate(rate))
            }
        }
    }
}

fn to_cone(
    found: &SegmentSection,
    rate: &At<Rate>,
    cone: Cone,
    span: &std::ops::Range<usize>,
    bounds: &Bounds,
    problems: &mut Problems,
) -> Option<(Pace, Target)> {
    let pace = match rate.value {
        Rate::FlatOut => Some(Pace::FlatOut),
        Rate::PerHour(written) if written > 0.0 => bounds.rate(written, &rate.span, problems).map(Pace::Rate),
        Rate::PerHour(_) | Rate::LetFall => {
            problems.add(
                &rate.span,
                "a cone cannot be reached by cooling",
                "write a rate above zero, such as 60",
            );
            None
        }
    };
    let ends = end_point(cone, pace.unwrap_or(Pace::FlatOut))?;
    if ends > bounds.ceiling {
        let (scale, ceiling) = (bounds.scale, bounds.ceiling);
        let wrong = format!("cone {cone} ends at about {}, out of reach", scale.say(ends));
        problems.add(span, wrong, format!("{} is {}", bounds.ceiling_is, scale.say(ceiling)));
        return None;
    }
    let no_hotter_than = match &found.no_hotter_than {
        Some(bound) => bounds.temperature(bound.value.0, "no_hotter_than", &bound.span, problems),
        None => Some((ends + CONE_MARGIN).colder(bounds.ceiling)),
    };
    let at_most = found.at_most.as_ref().map_or(CONE_WAIT, |at_most| at_most.value.0);
    Some((pace?, Target::Cone { cone, no_hotter_than: no_hotter_than?, at_most }))
}

/// The cone's end point at the pace of the segment. Flat out is taken as the fastest rate that
/// the maker's chart has, and rates beyond the chart as its nearest.
pub(super) fn end_point(cone: Cone, pace: Pace) -> Option<Celsius> {
    let rate = match pace {
        Pace::Rate(rate) => between(rate.c_per_h(), 15.0, 150.0),
        Pace::FlatOut => 150.0,
    };
    let (ends, _) = pyrometry::heat_work::end_point(cone, CelsiusPerHour::new(rate)?).ok()?;
    Some(ends)
}

fn refuse_cone_keys(found: &SegmentSection, problems: &mut Problems) {
    let spans = [
        ("no_hotter_than", found.no_hotter_than.as_ref().map(|key| &key.span)),
        ("at_most", found.at_most.as_ref().map(|key| &key.span)),
    ];
    for (key, span) in spans {
        if let Some(span) = span {
            let right = format!(
                "remove it, or write a cone, such as to = \"cone 6\"; to hold a temperature write soak, not {key}"
            );
            problems.add(span, format!("{key} has no meaning without a cone"), right);
        }
    }
}

fn refuse_beside_watch(found: &SegmentSection, problems: &mut Problems) {
    let spans = [
        ("rate", found.rate.as_ref().map(|key| &key.span)),
        ("to", found.to.as_ref().map(|key| &key.span)),
        ("soak", found.soak.as_ref().map(|key| &key.span)),
        ("no_hotter_than", found.no_hotter_than.as_ref().map(|key| &key.span)),
        ("at_most", found.at_most.as_ref().map(|key| &key.span)),
    ];
    for (key, span) in spans {
        if let Some(span) = span {
            let right = "a watch gives no heat: remove one of the two, or write two segments";
            problems.add(span, format!("{key} beside watch"), right);
        }
    }
}
