//! What a careful colleague would say about a schedule that can be fired.

use control::{Pace, Segment, Target};
use pyrometry::constant;
use pyrometry::units::CelsiusPerHour;

use super::Schedule;
use super::segment::{CONE_WAIT, end_point};
use super::wire::{ScheduleFile, Vent};
use crate::files::kiln::KilnFile;
use crate::files::problem::Problems;
use crate::files::time;

/// The chart's middle rate, by which potters name a cone's temperature.
const CHART_RATE: CelsiusPerHour = constant!(CelsiusPerHour, 60.0);
/// Further than two average cones (median 22 °C a cone at 60 °C/h) from the cone it says it aims
/// at, a schedule is more likely mistyped than meant.
const AIM_MISSED_C: f64 = 45.0;

pub(super) fn schedule(
    file: &ScheduleFile,
    schedule: &Schedule,
    kiln: Option<&KilnFile>,
    notes: &mut Problems,
) {
    say_what_was_assumed(file, schedule, notes);
    compare_with_aim(file, schedule, notes);
    if let Some(kiln) = kiln {
        look_for_a_vent(file, kiln, notes);
    }
    say_what_a_vent_does_in_a_fall(file, schedule, notes);
}

/// Once for all segments that speak of it.
fn look_for_a_vent(file: &ScheduleFile, kiln: &KilnFile, notes: &mut Problems) {
    let says = file.segment.iter().find_map(|section| section.value.vent.as_ref());
    if let (Some(says), None) = (says, &kiln.signals.vent) {
        let wrong = format!("{} has no vent: its kiln file has no [vent], and this does nothing", kiln.name);
        notes.warn(&says.span, wrong, "air the kiln by hand as this firing needs it, or remove `vent`");
    }
}

fn say_what_a_vent_does_in_a_fall(file: &ScheduleFile, schedule: &Schedule, notes: &mut Problems) {
    for (planned, section) in schedule.segments.iter().zip(&file.segment) {
        let Some(says) = section.value.vent.as_ref().filter(|says| says.value == Vent::On) else { continue };
        if matches!(planned.segment, Segment::SlowCool { .. } | Segment::LetFall { .. }) {
            let wrong = "the vent runs in a fall: it draws cold air over hot ware, which may crack it";
            notes.note(&says.span, wrong, "write vent = \"off\" where the ware shall cool unhurried");
        }
    }
}

fn say_what_was_assumed(file: &ScheduleFile, schedule: &Schedule, notes: &mut Problems) {
    for (planned, section) in schedule.segments.iter().zip(&file.segment) {
        let Segment::Climb { target: Target::Cone { cone, no_hotter_than, .. }, .. } = planned.segment else {
            continue;
        };
        let span = section.value.to.as_ref().map_or(&section.span, |to| &to.span);
        if section.value.no_hotter_than.is_none() {
            let bound = schedule.scale.say(no_hotter_than);
            let wrong = format!("cone {cone} without no_hotter_than: the climb stops at {bound} and waits");
            notes.note(span, wrong, "write no_hotter_than to choose another bound");
        }
        if section.value.at_most.is_none() {
            let wrong = format!("cone {cone} without at_most: waits at most {} for it", time::say(CONE_WAIT));
            notes.note(span, wrong, "write at_most to choose another time");
        }
    }
}

fn compare_with_aim(file: &ScheduleFile, schedule: &Schedule, notes: &mut Problems) {
    let (Some(cone), Some(aim)) = (&file.cone, schedule.aim) else { return };
    let goes_to_cone = schedule.segments.iter().find_map(|planned| match planned.segment {
        Segment::Climb { target: Target::Cone { cone, .. }, .. } => Some(cone),
        Segment::Climb { .. }
        | Segment::SlowCool { .. }
        | Segment::LetFall { .. }
        | Segment::Watch { .. } => None,
    });
    if let Some(other) = goes_to_cone.filter(|other| *other != aim) {
        notes.warn(
            &cone.span,
            format!("aims at cone {aim}, but a segment goes to cone {other}"),
            "make them agree",
        );
        return;
    }
    let expected = end_point(aim, Pace::Rate(CHART_RATE));
    let (Some(hottest), Some(expected)) = (schedule.programme.hottest(), expected) else { return };
    if goes_to_cone.is_none() && (hottest - expected).c().abs() > AIM_MISSED_C {
        let (expected, hottest) = (schedule.scale.say(expected), schedule.scale.say(hottest));
        let wrong = format!("cone {aim} is about {expected}, but this schedule's hottest is {hottest}");
        notes.warn(&cone.span, wrong, "check the cone (6 and 06 are far apart) and the temperatures");
    }
}
