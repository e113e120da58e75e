//! How uncertain a kiln's readings are, in °C and in cones.

use std::ops::Range;

use jiff::civil::Date;
use pyrometry::amplifier::Sensor;
use pyrometry::constant;
use pyrometry::heat_work::{HeatWork, Spread};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::uncertainty::{Budget, Chain};
use pyrometry::units::{Celsius, CelsiusDelta, Millis};

use super::{KilnFile, ProbePart};
use crate::files::problem::{Checked, Problems, Source};

/// Where the electronics stand while a kiln is hot, for want of a measurement.
pub const BOX: Celsius = constant!(Celsius, 35.0);
/// Where uncertainty is told: a bisque and a stoneware glaze.
const TOLD_AT: [Celsius; 2] = [constant!(Celsius, 1000.0), constant!(Celsius, 1250.0)];
/// A probe whose day is not told counts as this old; older ones want replacing.
const OLD_DAYS: f64 = 730.0;

/// How uncertain a reading is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertain {
    /// The budget, its parts and their sum.
    pub budget: Budget,
    /// A ramp of 60 °C/h to there, as cones.
    pub cones: Spread,
}

impl ProbePart {
    /// The probe's way from junction to number, on a day.
    #[must_use]
    pub fn chain(&self, sensor: Sensor, today: Date) -> Chain {
        Chain {
            sensor,
            class: self.class.class(),
            lead: self.lead,
            drift: self.drift.unwrap_or_else(|| self.usual_drift(sensor.thermocouple, today)),
            calibrated_within: self.calibrated_within,
        }
    }

    /// How uncertain it is at a temperature, on a day.
    #[must_use]
    pub fn uncertain(&self, sensor: Sensor, at: Celsius, cold_junction: Celsius, today: Date) -> Uncertain {
        let budget = self.chain(sensor, today).budget(at, cold_junction);
        Uncertain { budget, cones: ramp_to(at).spread(budget.expanded()) }
    }

    /// What is allowed for age where the file says nothing, growing over two years to the whole.
    /// Engineering judgement: no published rate for base metal above 1000 °C in air was found; K is
    /// known to go 10 °C within tens to hundreds of hours near 1250 °C (from memory), N to resist
    /// better, platinum to keep within tenths to 1100 °C (sensor makers' manuals).
    fn usual_drift(&self, thermocouple: Thermocouple, today: Date) -> CelsiusDelta {
        let whole = match thermocouple {
            Thermocouple::B | Thermocouple::R | Thermocouple::S => constant!(CelsiusDelta, 1.0),
            Thermocouple::N => constant!(CelsiusDelta, 5.0),
            Thermocouple::E | Thermocouple::J | Thermocouple::K | Thermocouple::T => {
                constant!(CelsiusDelta, 10.0)
            }
        };
        // A calibration begins the age anew: what it found is in its own allowance.
        // A day still to come is a slip, and says nothing of the age.
        let known = [self.calibrated, self.fitted].into_iter().flatten().filter(|day| *day <= today);
        let Some(since) = known.max() else { return whole };
        let days = today.since(since).map_or(OLD_DAYS, |age| f64::from(age.get_days()));
        whole * (days.max(0.0) / OLD_DAYS).min(1.0)
    }
}

fn ramp_to(at: Celsius) -> HeatWork {
    let mut work = HeatWork::NONE;
    let cold = constant!(Celsius, 20.0);
    work.add(cold, Millis::ZERO);
    let hours = (at - cold).c() / 60.0;
    work.add(at, Millis::from_seconds_f64(hours * 3600.0).unwrap_or(Millis::ZERO));
    work
}

/// Adds to a kiln's remarks how uncertain each probe is on a day, in degrees and in cones.
pub fn say_uncertainty(checked: &mut Checked<KilnFile>, today: Date) {
    let mut notes = Problems::default();
    let kiln = &checked.value;
    let spans = section_spans(&checked.source);
    warn_of_days_to_come(kiln, &checked.source, &spans, today, &mut notes);
    for ((part, probe), span) in kiln.probes.iter().zip(&kiln.kiln.probes).zip(&spans) {
        let within: Vec<Celsius> = TOLD_AT.into_iter().filter(|at| *at <= kiln.ceiling).collect();
        let told_at = if within.is_empty() { vec![kiln.ceiling] } else { within };
        let told = told_at.into_iter().map(|at| (at, part.uncertain(probe.sensor, at, BOX, today)));
        let told: Vec<_> = told.collect();
        let each: Vec<String> = told.iter().map(|(at, uncertain)| say(*at, uncertain, kiln)).collect();
        let wrong = format!("probe \"{}\" reads within {} (95 %)", part.name, each.join("; "));
        let age = match (part.drift, part.fitted.or(part.calibrated)) {
            (None, None) => "; write fitted = and its day, and its age is counted",
            (Some(_), _) | (_, Some(_)) => "",
        };
        let right = told.last().map_or(String::new(), |(_, uncertain)| greatest(&uncertain.budget) + age);
        notes.note(span, wrong, right);
    }
    checked.remark(notes);
}

fn warn_of_days_to_come(
    kiln: &KilnFile,
    source: &Source,
    spans: &[Range<usize>],
    today: Date,
    notes: &mut Problems,
) {
    for (part, section) in kiln.probes.iter().zip(spans) {
        for (key, day) in [("fitted", part.fitted), ("calibrated", part.calibrated)] {
            if let Some(day) = day.filter(|day| *day > today) {
                let wrong = format!("{key} on {day}, which is still to come");
                let span = key_span(source, section, key);
                notes.warn(&span, wrong, "check the day; until then the probe counts as one of unknown age");
            }
        }
    }
}

/// The line of a key in the section that begins there; the section's own where it isn't found.
fn key_span(source: &Source, section: &Range<usize>, key: &str) -> Range<usize> {
    let mut start = section.end;
    let rest = source.text().get(start..).unwrap_or_default();
    for line in rest.split_inclusive('\n') {
        if line.trim_start().strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('=')) {
            return start..start + line.trim_end().len();
        }
        start += line.len();
    }
    section.clone()
}

fn say(at: Celsius, uncertain: &Uncertain, kiln: &KilnFile) -> String {
    let half = kiln.scale.say_difference(uncertain.budget.expanded());
    let at = kiln.scale.say(at);
    match uncertain.cones {
        Spread { least: Some(least), most: Some(most), .. } => {
            format!("±{half} at {at}, about ±{:.1} cone", 0.5 * (most - least))
        }
        Spread { .. } => format!("±{half} at {at}"),
    }
}

/// The two greatest parts of a budget, which are what can be bettered.
fn greatest(budget: &Budget) -> String {
    let mut parts = budget.parts().to_vec();
    parts.sort_by(|one, other| other.half_width.c().total_cmp(&one.half_width.c()));
    let named: Vec<String> = parts.iter().take(2).map(ToString::to_string).collect();
    format!("most of it: {}", named.join(", "))
}

/// The first lines of the `[[probe]]` sections.
fn section_spans(source: &Source) -> Vec<Range<usize>> {
    let mut start = 0;
    let mut spans = Vec::new();
    for line in source.text().split_inclusive('\n') {
        if line.trim_start().starts_with("[[probe]]") {
            spans.push(start..start + line.trim_end().len());
        }
        start += line.len();
    }
    spans
}
