//! What a schedule's soaks and coolings are worth in cones, and what will be unloaded.
//!
//! Heat-work goes on at the peak and on the way down: a schedule whose climb ends on its cone is
//! unloaded most of a cone hotter when it then soaks and cools slowly.

use std::ops::Range;

use control::Segment;
use insight::{Forecast, SegmentForecast};
use pyrometry::cone::Cone;
use pyrometry::units::Millis;

use super::{Planned, Schedule};
use crate::files::problem::{Checked, Problems, Source};
use crate::files::time;

/// Less than this is not told: 2 °C, the maker's batch tolerance, is about a tenth of a cone.
const WORTH_TELLING: f64 = 0.1;
/// An aim missed by more is told how to be met: where the cone said, to the half, is another one.
const MISSED: f64 = 0.25;

/// Adds to a schedule's remarks what soaks and coolings add, and the cone as unloaded, by its
/// forecast in the kiln of that name.
pub fn price(checked: &mut Checked<Schedule>, forecast: &Forecast, kiln: &str) {
    let mut notes = Problems::default();
    let (schedule, source) = (&checked.value, &checked.source);
    for (planned, told) in schedule.segments.iter().zip(&forecast.segments) {
        price_segment(planned, told, &line_span(source, planned.line), &mut notes);
    }
    if let (Some(planned), Some(told)) = (schedule.segments.last(), forecast.segments.last()) {
        let adds = added(told.cone_ends, forecast.cone);
        tell("the fall at the end", adds, forecast.cone, &line_span(source, planned.line), &mut notes);
    }
    if let Some(unloaded) = forecast.cone {
        say_unloaded(schedule, source, unloaded, kiln, &mut notes);
    }
    checked.remark(notes);
}

fn price_segment(planned: &Planned, told: &SegmentForecast, span: &Range<usize>, notes: &mut Problems) {
    let (what, from) = match planned.segment {
        Segment::Climb { soak, .. } if soak > Millis::ZERO => {
            (format!("the {} soak", time::say(soak)), told.cone_arrives)
        }
        Segment::Climb { .. } | Segment::Watch { .. } => return,
        Segment::SlowCool { .. } => ("slow cooling".to_owned(), told.cone_begins),
        Segment::LetFall { .. } => ("this fall".to_owned(), told.cone_begins),
    };
    tell(&what, added(from, told.cone_ends), told.cone_ends, span, notes);
}

/// What was added, where there was a cone before: below 022 there is nothing to count from.
fn added(before: Option<f64>, after: Option<f64>) -> Option<f64> {
    before.zip(after).map(|(before, after)| after - before).filter(|added| *added >= WORTH_TELLING)
}

fn tell(what: &str, adds: Option<f64>, by_then: Option<f64>, span: &Range<usize>, notes: &mut Problems) {
    if let (Some(adds), Some(by_then)) = (adds, by_then) {
        let wrong = format!("{what} adds about {adds:.1} cone");
        notes.note(span, wrong, format!("about cone {} by its end", about(by_then)));
    }
}

fn say_unloaded(schedule: &Schedule, source: &Source, unloaded: f64, kiln: &str, notes: &mut Problems) {
    let span = line_span(source, aim_line(source));
    let wrong = format!("unloaded at about cone {} in {kiln}", about(unloaded));
    let right = match schedule.aim {
        Some(aim) if (unloaded - aim.ordinal()).abs() <= MISSED => "as it aims".to_owned(),
        None => "write cone = \"…\" to have it compared with an aim".to_owned(),
        Some(aim) => {
            let (which, opposite) =
                if unloaded > aim.ordinal() { ("hotter", "lower") } else { ("cooler", "raise") };
            let right = format!(
                "that is {which} than cone {aim}: {opposite} the peak, or end the climb on the cone, to = \"cone {aim}\""
            );
            return notes.warn(&span, wrong, right);
        }
    };
    notes.note(&span, wrong, right);
}

/// A continuous cone as potters say it, to the half.
fn about(ordinal: f64) -> String {
    let half = (ordinal * 2.0).round() / 2.0;
    let named = |wanted: f64| Cone::ALL.into_iter().find(|cone| (cone.ordinal() - wanted).abs() < 0.1);
    if let Some(cone) = named(half) {
        return cone.to_string();
    }
    match (named(half - 0.5), named(half + 0.5)) {
        // 5½ lies between 5 and 6, but 05½ between 06 and 05: it is called after the larger number.
        (Some(cooler), Some(_)) if half > 1.0 => format!("{cooler}½"),
        (Some(_), Some(hotter)) if half < 0.0 => format!("{hotter}½"),
        (Some(cooler), Some(hotter)) => format!("{cooler} to {hotter}"),
        (Some(only), None) | (None, Some(only)) => only.to_string(),
        (None, None) => format!("{ordinal:.1}"),
    }
}

/// The line with the aim; the first where there is none.
fn aim_line(source: &Source) -> usize {
    let is_aim = |line: &str| {
        line.trim_start().strip_prefix("cone").is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    source.text().lines().position(is_aim).map_or(1, |index| index + 1)
}

/// The stretch of a line, counted from one.
pub(super) fn line_span(source: &Source, line: usize) -> Range<usize> {
    let before = source.text().split_inclusive('\n').take(line.saturating_sub(1));
    let start: usize = before.map(str::len).sum();
    let length = source.text().get(start..).and_then(|rest| rest.lines().next()).map_or(0, str::len);
    start..start + length
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{kiln, schedule};

    fn priced(text: &str) -> String {
        let kiln = kiln::check(Source::new("kiln.toml", kiln::SIMULATED)).unwrap().value;
        let mut checked = schedule::check(Source::new("glaze.toml", text), Some(&kiln)).unwrap();
        let room = pyrometry::constant!(pyrometry::units::Celsius, 20.0);
        let forecast = insight::forecast(&kiln.kiln, &checked.value.programme, room);
        price(&mut checked, &forecast, &kiln.name);
        checked.remarks()
    }

    /// By the law (its table of holds): 15 min at the end point after 60 °C/h add 0.46 to 0.67 cone
    /// at 6, and slow cooling at 83 °C/h from there adds most of one.
    #[test]
    fn a_soak_and_a_slow_cooling_are_priced_and_the_aim_they_miss_is_told() {
        insta::assert_snapshot!(priced(concat!(
            "title = \"Glaze\"\nscale = \"C\"\ncone = \"6\"\n",
            "[[segment]]\nrate = 150\nto = 1100\n",
            "[[segment]]\nrate = 60\nto = 1222\nsoak = \"15 min\"\n",
            "[[segment]]\nrate = -83\nto = 760\n",
        )));
    }

    #[test]
    fn a_climb_that_ends_on_its_cone_is_unloaded_as_it_aims() {
        let remarks = priced(include_str!("../../../../../config/schedules/mid-fire-glaze.toml"));
        assert!(remarks.contains("unloaded at about cone 6 in Simulated kiln; as it aims"), "{remarks}");
    }

    #[test]
    // 08 is −7 and 07 is −6, so −6.4 is half a cone short of 07.
    fn cones_are_said_to_the_half_as_potters_call_them() {
        let said = [6.2, 6.3, -4.4, -6.4, 0.4, 0.3, 14.0, -21.0, 5.6].map(about);
        assert_eq!(said, ["6", "6½", "05½", "07½", "01 to 1", "01 to 1", "14", "022", "5½"]);
    }
}
