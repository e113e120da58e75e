//! Where a kiln can't keep up with a schedule, by its forecast.

use insight::{Arrival, Forecast};

use super::Schedule;
use super::price::line_span;
use crate::files::kiln::KilnFile;
use crate::files::problem::{Checked, Problems};
use crate::files::{Scale, time};

/// Whether a schedule's every target is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// All of them, be it late.
    Whole,
    /// The kiln stalls below one.
    Stalls,
}

/// Whether the kiln of a forecast gets everywhere.
#[must_use]
pub fn reach(forecast: &Forecast) -> Reach {
    let stalls = |arrival| matches!(arrival, Arrival::Never(_));
    if forecast.segments.iter().any(|told| stalls(told.arrival)) { Reach::Stalls } else { Reach::Whole }
}

/// How a segment, counted from one, falls short of what is written; `None` when it doesn't.
#[must_use]
pub fn falls_short(number: usize, arrival: Arrival, scale: Scale) -> Option<String> {
    match arrival {
        Arrival::AsWritten => None,
        Arrival::Late(by) => Some(format!(
            "Segment {number}: this kiln cannot climb that fast; the schedule waits {} for it.",
            time::say(by)
        )),
        Arrival::Never(at) => Some(format!(
            "Segment {number}: this kiln stalls at about {} and does not get there.",
            scale.say(at)
        )),
        Arrival::ConeNotDown(at) => Some(format!(
            "Segment {number}: at {} its cone is not down when the time to wait for it is over.",
            scale.say(at)
        )),
    }
}

/// Adds to a schedule's remarks where that kiln can't keep up, and whether its longest firing ends
/// the schedule early.
pub fn warn_of_reach(checked: &mut Checked<Schedule>, forecast: &Forecast, kiln: &KilnFile) {
    let mut notes = Problems::default();
    let (schedule, source) = (&checked.value, &checked.source);
    for ((number, planned), told) in (1..).zip(&schedule.segments).zip(&forecast.segments) {
        let span = line_span(source, planned.line);
        if let Some(wrong) = falls_short(number, told.arrival, schedule.scale) {
            let right = match told.arrival {
                Arrival::AsWritten | Arrival::Late(_) => "write a smaller rate, or let it wait",
                Arrival::Never(_) => "choose a lower target: it would wait there until a person ends it",
                Arrival::ConeNotDown(_) => "raise at_most or no_hotter_than, or choose a lower cone",
            };
            notes.warn(&span, wrong.trim_end_matches('.'), right);
        }
        if told.begins <= kiln.firing_longest && told.ends > kiln.firing_longest {
            let longest = time::say(kiln.firing_longest);
            let wrong =
                format!("in {} the longest firing, {longest}, is over before this segment", kiln.name);
            notes.warn(&span, wrong, "the kiln would shut off here: shorten the schedule");
        }
    }
    checked.remark(notes);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::problem::Source;
    use crate::files::{kiln, schedule};

    fn judged(text: &str, kiln_text: &str) -> (Reach, Checked<Schedule>) {
        let kiln = kiln::check(Source::new("kiln.toml", kiln_text)).unwrap().value;
        let mut checked = schedule::check(Source::new("glaze.toml", text), Some(&kiln)).unwrap();
        let room = pyrometry::constant!(pyrometry::units::Celsius, 20.0);
        let forecast = insight::forecast(&kiln.kiln, &checked.value.programme, room);
        warn_of_reach(&mut checked, &forecast, &kiln);
        (reach(&forecast), checked)
    }

    const TO_1250: &str = "title = \"A\"\nscale = \"C\"\n[[segment]]\nrate = 150\nto = 1250\n";

    #[test]
    fn a_kiln_too_weak_for_the_schedule_is_warned_of_with_where_it_stalls() {
        let weak = kiln::SIMULATED.replace("rating_w = 5000", "rating_w = 1500");
        let (reach, checked) = judged(TO_1250, &weak);
        assert_eq!((reach, checked.warnings()), (Reach::Stalls, 1), "{}", checked.remarks());
        let remarks = checked.remarks();
        assert!(
            remarks.starts_with("glaze.toml:3:1: warning: Segment 1: this kiln stalls at about "),
            "{remarks}"
        );
        let (reach, checked) = judged(TO_1250, kiln::SIMULATED);
        assert_eq!((reach, checked.warnings()), (Reach::Whole, 0), "{}", checked.remarks());
    }

    #[test]
    fn a_schedule_longer_in_this_kiln_than_its_longest_firing_is_warned_of() {
        let short = kiln::SIMULATED
            .replace("\"48 h\"", "\"8 h 30 min\"")
            .replace("rating_w = 5000", "rating_w = 2600");
        let (_, checked) = judged(TO_1250, &short);
        assert!(
            checked.remarks().contains("the longest firing, 8 h 30 min, is over before"),
            "{}",
            checked.remarks()
        );
    }
}
