//! The points of a calibration, as written and as a correction.

use std::borrow::Cow;
use std::ops::Range;

use pyrometry::calibration::{self, Calibration, Override, POINTS_MOST, Point, Refusal};
use pyrometry::units::CelsiusDelta;
use schemars::{JsonSchema, Schema, SchemaGenerator};

use super::wire::{CalibrationPoint, ProbeSection};
use crate::files::problem::Problems;
use crate::files::scale::Scale;
use crate::files::wire::{At, Field, Node, Wire};

/// A list of points.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::files) struct CalibrationPoints(Vec<At<CalibrationPoint>>);

impl Wire for CalibrationPoints {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        Field::found(node, problems).map(Self)
    }
}

impl JsonSchema for CalibrationPoints {
    fn schema_name() -> Cow<'static, str> {
        "CalibrationPoints".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = <Vec<At<CalibrationPoint>> as Field>::schema(generator);
        schema.insert("maxItems".to_owned(), POINTS_MOST.into());
        schema
    }
}

/// Everything that is added to a probe's readings; `None` when it is refused.
pub(super) fn calibration(
    section: &ProbeSection,
    scale: Scale,
    problems: &mut Problems,
) -> Option<Calibration> {
    let offset = match &section.offset {
        Some(written) => difference(written.value.0, &written.span, scale, problems)?,
        None => CelsiusDelta::ZERO,
    };
    let points = points(section, scale, problems)?;
    let allowance = match &section.correction_allowed_by {
        Some(_) => Override::Recorded,
        None => Override::None,
    };
    // Each part alone may be any size: what is judged is their sum.
    let sum = Calibration::piecewise(&points, Override::Recorded).and_then(|over_temperature| {
        over_temperature.and(Calibration::offset(offset, Override::Recorded)?, allowance)
    });
    let sum = sum.map_err(|refusal| refuse(section, refusal, scale, problems)).ok()?;
    let day = section.calibrated.as_ref().and_then(|day| calibration_day(day.value.0));
    Some(day.map_or(sum, |day| sum.dated(day)))
}

fn points(section: &ProbeSection, scale: Scale, problems: &mut Problems) -> Option<Vec<Point>> {
    let Some(written) = &section.calibration else { return Some(Vec::new()) };
    if section.calibrated.is_none() {
        let right = "add calibrated = and the day, such as 2026-10-01: thermocouples age";
        problems.add(&written.span, "a calibration without its day", right);
    }
    let read = written.value.0.iter().map(|point| {
        let At { value: CalibrationPoint { at, add }, span } = point;
        let add = difference(add.value.0, &add.span, scale, problems);
        let at = scale.temperature(at.value.0);
        if at.is_none() {
            problems.add(span, "no temperature a kiln can have", "write what the probe reads there");
        }
        Some(Point { at: at?, add: add? })
    });
    let read: Vec<Option<Point>> = read.collect();
    read.into_iter().collect()
}

fn difference(
    written: f64,
    span: &Range<usize>,
    scale: Scale,
    problems: &mut Problems,
) -> Option<CelsiusDelta> {
    let difference = scale.difference(written);
    if difference.is_none() {
        problems.add(span, "no difference of temperatures", "write what is added, such as -3");
    }
    difference
}

fn refuse(section: &ProbeSection, refusal: Refusal, scale: Scale, problems: &mut Problems) {
    let list = section.calibration.as_ref();
    let whole = list.map(|list| &list.span).or(section.offset.as_ref().map(|offset| &offset.span));
    let whole = whole.unwrap_or(&section.name.span).clone();
    let at_point = |point: usize| {
        list.and_then(|list| list.value.0.get(point)).map_or(whole.clone(), |point| point.span.clone())
    };
    let (span, wrong, right) = match refusal {
        Refusal::TooManyPoints => {
            (whole, refusal.to_string(), "leave out those that lie on the line between others")
        }
        Refusal::NotRising { point } => {
            (at_point(point), refusal.to_string(), "write the points coldest first")
        }
        Refusal::TooSteep { point } => {
            (at_point(point), refusal.to_string(), "check the numbers: no thermocouple changes so fast")
        }
        Refusal::TooMuch { correction } => (
            whole,
            format!("a correction of {} is beyond 25 °C (45 °F)", scale.say_difference(correction)),
            "a thermocouple so far out wants replacing; else write correction_allowed_by = \"who, when, why\"",
        ),
    };
    problems.add(&span, wrong, right);
}

fn calibration_day(date: jiff::civil::Date) -> Option<calibration::Day> {
    let (year, month, day) = (date.year(), date.month(), date.day());
    calibration::Day::new(u16::try_from(year).ok()?, u8::try_from(month).ok()?, u8::try_from(day).ok()?)
}
