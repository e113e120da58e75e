//! From a schedule's words to a schedule that can be fired.

use control::{Pace, Programme, SEGMENTS_MOST, Segment, Target};
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis};

use super::direction::{self, down_no_colder};
use super::segment::{self, Bounds, HOTTEST};
use super::wire::{ScheduleFile, SegmentSection};
use super::{Planned, Schedule};
use crate::files::kiln::KilnFile;
use crate::files::problem::{Problems, Source};
use crate::files::time::{self, LONGEST_DAYS};
use crate::files::wire::At;

/// Where a kiln that nobody fired begins, for adding up times.
const ROOM: Celsius = constant!(Celsius, 20.0);

pub(super) fn schedule(
    file: &ScheduleFile,
    source: &Source,
    kiln: Option<&KilnFile>,
    problems: &mut Problems,
) -> Option<Schedule> {
    let scale = file.scale.value;
    let bounds = Bounds {
        scale,
        ceiling: kiln.map_or(HOTTEST, |kiln| kiln.ceiling.colder(HOTTEST)),
        ceiling_is: kiln.map_or_else(
            || "the hottest any schedule may ask for".to_owned(),
            |kiln| format!("the ceiling of {}", kiln.name),
        ),
    };
    let sections = &file.segment;
    if let Some(first_too_many) = sections.get(SEGMENTS_MOST) {
        let right = format!("at most {SEGMENTS_MOST}; this file has {}", sections.len());
        problems.add(&first_too_many.span, "too many segments", right);
        return None;
    }
    let compiled: Vec<Option<Segment>> =
        sections.iter().map(|section| segment::compile(section, &bounds, problems)).collect();
    direction::refuse_wrong_ways(&compiled, sections, scale, problems);
    let segments: Vec<Segment> = compiled.into_iter().collect::<Option<_>>()?;
    refuse_too_long(&segments, sections, kiln, problems);
    let programme = Programme::new(segments.iter().copied().collect()).ok()?;
    let planned = segments.iter().zip(sections).map(|(segment, section)| Planned {
        segment: *segment,
        remind: section.value.remind.as_ref().map(|text| text.value.0.clone()),
        vent: section.value.vent.as_ref().map(|vent| vent.value),
        line: source.place(section.span.start).line,
    });
    Some(Schedule {
        title: file.title.value.0.clone(),
        scale,
        aim: file.cone.as_ref().map(|cone| cone.value.0),
        segments: planned.collect(),
        programme,
    })
}

fn refuse_too_long(
    segments: &[Segment],
    sections: &[At<SegmentSection>],
    kiln: Option<&KilnFile>,
    problems: &mut Problems,
) {
    let longest = Millis::from_hours(24 * LONGEST_DAYS);
    let (longest, whose) = match kiln {
        Some(kiln) if kiln.firing_longest < longest => {
            (kiln.firing_longest, format!("the longest firing of {}", kiln.name))
        }
        _ => (longest, "the longest any schedule may last".to_owned()),
    };
    let mut at = ROOM;
    let mut sum = Millis::ZERO;
    for (segment, section) in segments.iter().zip(sections) {
        let was_within = sum <= longest;
        sum += least_time(segment, at);
        at = segment.hottest().unwrap_or(at);
        if was_within && sum > longest {
            let wrong = format!("the schedule takes at least {} to the end of this segment", time::say(sum));
            problems.add(&section.span, wrong, format!("{whose} is {}", time::say(longest)));
        }
    }
}

/// The least time a segment can take: what no rate is given for counts nothing.
fn least_time(segment: &Segment, from: Celsius) -> Millis {
    match *segment {
        Segment::Climb { pace, target, soak } => climb(pace, target, from) + soak,
        Segment::SlowCool { rate, to, soak } => ramp((from - to).c(), rate) + soak,
        Segment::LetFall { soak, .. } => soak,
        Segment::Watch { lasting } => lasting,
    }
}

fn climb(pace: Pace, target: Target, from: Celsius) -> Millis {
    match (pace, target) {
        (Pace::Rate(rate), Target::Temperature(to)) => ramp((to - from).c(), rate),
        (Pace::Rate(rate), Target::Cone { cone, no_hotter_than, .. }) => {
            let to = down_no_colder(cone).unwrap_or(from).colder(no_hotter_than);
            ramp((to - from).c(), rate)
        }
        (Pace::FlatOut, Target::Temperature(_) | Target::Cone { .. }) => Millis::ZERO,
    }
}

/// How long so many degrees take; a way that is behind already takes no time.
fn ramp(way_c: f64, rate: CelsiusPerHour) -> Millis {
    let hours = (way_c / rate.c_per_h().abs()).max(0.0);
    // Too long to be counted is longer than any firing.
    Millis::from_seconds_f64(hours * 3600.0).unwrap_or(Millis::from_hours(24 * (LONGEST_DAYS + 1)))
}
