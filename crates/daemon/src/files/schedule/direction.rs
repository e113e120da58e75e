//! Which way each segment goes: a climb from below its target, a cooling from above.
//!
//! A segment that goes the wrong way is not fired as anybody meant it: the kiln is there already,
//! so it is passed over, and with it a drying or a slow cooling.

use control::{Pace, Programme, ProgrammeFault, Segment, Target};
use pyrometry::cone::Cone;
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour};

use super::segment::end_point;
use super::wire::SegmentSection;
use crate::files::leaf::Rate;
use crate::files::problem::Problems;
use crate::files::scale::Scale;
use crate::files::wire::At;

/// The slowest rate of the maker's chart, where a cone ends coldest.
const CHART_SLOWEST: CelsiusPerHour = constant!(CelsiusPerHour, 15.0);
/// Long soaks may bring a cone down two cones (median 22 °C a cone) below where the chart's slowest
/// ramp ends, but not further (engineering judgement).
const SOAKED_DOWN: CelsiusDelta = constant!(CelsiusDelta, 45.0);

/// Colder than this no schedule brings the cone down.
pub(super) fn down_no_colder(cone: Cone) -> Option<Celsius> {
    Some(end_point(cone, Pace::Rate(CHART_SLOWEST))? - SOAKED_DOWN)
}

/// Judges each segment against the last one that has a temperature, by the programme's own rules
/// and by two more: nothing cools before anything climbed, and no climb goes below a cone.
pub(super) fn refuse_wrong_ways(
    compiled: &[Option<Segment>],
    sections: &[At<SegmentSection>],
    scale: Scale,
    problems: &mut Problems,
) {
    if let Some((segment, section)) = first_with_temperature(compiled, sections) {
        refuse_cold_cooling(segment, &section.value, problems);
    }
    let mut before: Option<Segment> = None;
    for (segment, section) in compiled.iter().zip(sections) {
        let Some(segment) = segment else {
            before = None;
            continue;
        };
        let pair = before.into_iter().chain([*segment]).collect();
        let span = section.value.to.as_ref().map_or(&section.span, |to| &to.span);
        if let Err(fault) = Programme::new(pair) {
            let from =
                before.and_then(|before| before.hottest()).map_or(String::new(), |from| scale.say(from));
            let (wrong, right) = in_words(fault, &from);
            problems.add(span, wrong, right);
        } else if let Some(cone) = before.and_then(|before| cone_above(&before, segment)) {
            let wrong = format!("this segment climbs, but the one before it ends hotter, at cone {cone}");
            problems.add(span, wrong, HOW_TO_COOL);
        }
        if segment.hottest().is_some() {
            before = Some(*segment);
        }
    }
}

const HOW_TO_COOL: &str = "to cool, write a negative rate, such as -60, or \"let fall\"";

/// The first segment that is no watch, if it could be compiled.
fn first_with_temperature<'a>(
    compiled: &[Option<Segment>],
    sections: &'a [At<SegmentSection>],
) -> Option<(Segment, &'a At<SegmentSection>)> {
    let is_watch = |segment: &Option<Segment>| matches!(segment, Some(Segment::Watch { .. }));
    let (segment, section) = compiled.iter().zip(sections).find(|(segment, _)| !is_watch(segment))?;
    Some(((*segment)?, section))
}

/// In a cold kiln a cooling is over before it begins.
fn refuse_cold_cooling(segment: Segment, found: &SegmentSection, problems: &mut Problems) {
    let Some(rate) = &found.rate else { return };
    let right = match (segment, rate.value) {
        (Segment::SlowCool { .. }, Rate::PerHour(written)) => {
            format!("write the rate without minus? rate = {}", -written)
        }
        (Segment::SlowCool { .. } | Segment::LetFall { .. }, _) => {
            "begin with a segment that climbs, such as rate = 60".to_owned()
        }
        (Segment::Climb { .. } | Segment::Watch { .. }, _) => return,
    };
    let wrong = "this segment cools, but nothing before it heats: a cold kiln would pass it over";
    problems.add(&rate.span, wrong, right);
}

/// The cone that a climb would have to go down from.
fn cone_above(before: &Segment, segment: &Segment) -> Option<Cone> {
    let Segment::Climb { target: Target::Cone { cone, .. }, .. } = before else { return None };
    let Segment::Climb { target, .. } = segment else { return None };
    let (Target::Temperature(to) | Target::Cone { no_hotter_than: to, .. }) = *target;
    down_no_colder(*cone).filter(|least| to < *least).map(|_| *cone)
}

fn in_words(fault: ProgrammeFault, from: &str) -> (String, &'static str) {
    match fault {
        ProgrammeFault::ClimbsDownwards { .. } => {
            (format!("this segment climbs, but the one before it ends hotter, at {from}"), HOW_TO_COOL)
        }
        ProgrammeFault::CoolsUpwards { .. } => (
            format!("this segment cools, but the one before it ends colder, at {from}"),
            "to climb, write the rate without minus",
        ),
        ProgrammeFault::RateOfWrongSign { .. } => ("the rate has the wrong sign".to_owned(), "turn its sign"),
        ProgrammeFault::Empty => ("no segment".to_owned(), "write at least one [[segment]]"),
    }
}
