//! Decimation where the data is: what a screen of so many columns can show, and no more.
//!
//! Each column keeps the least and the greatest of what falls into it, so that a spike of one
//! second is seen on a curve of fourteen hours.

use serde::Serialize;

use crate::curve::Sample;

/// The least and the greatest value in one column.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Extremes {
    /// The least.
    pub least: f32,
    /// The greatest.
    pub greatest: f32,
}

/// What one column of the screen shows.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Column {
    /// The time of its first sample, s.
    pub from_s: f32,
    /// The time of its last sample, s.
    pub to_s: f32,
    /// The setpoint, °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setpoint_c: Option<Extremes>,
    /// The chamber, °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chamber_c: Option<Extremes>,
    /// The duty, 0 to 1.
    pub duty: Extremes,
}

/// Brings samples, in the order of time, to at most so many columns of equal width in time.
///
/// A column without a sample is left out, so a gap stays a gap. No columns at all give nothing.
#[must_use]
pub fn decimate(samples: &[Sample], columns: usize) -> Vec<Column> {
    let (Some(first), Some(last)) = (samples.first(), samples.last()) else { return Vec::new() };
    let Some(rightmost) = columns.checked_sub(1) else { return Vec::new() };
    let scale = Scale { from_s: first.at_s, span_s: last.at_s - first.at_s, rightmost };
    let mut shown: Vec<(usize, Column)> = Vec::with_capacity(columns.min(samples.len()));
    for sample in samples {
        let place = scale.column(sample.at_s);
        match shown.last_mut() {
            // Not `==`: a sample out of order joins the column that is being filled.
            Some((current, column)) if *current >= place => column.take(sample),
            Some(_) | None => shown.push((place, Column::of(sample))),
        }
    }
    shown.into_iter().map(|(_, column)| column).collect()
}

struct Scale {
    from_s: f32,
    span_s: f32,
    rightmost: usize,
}

impl Scale {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a place from 0 to 1 times the number of columns; `as` saturates at 0"
    )]
    fn column(&self, at_s: f32) -> usize {
        if self.span_s <= 0.0 {
            return 0;
        }
        let place = (at_s - self.from_s) / self.span_s * (self.rightmost + 1) as f32;
        (place as usize).min(self.rightmost)
    }
}

impl Column {
    fn of(sample: &Sample) -> Self {
        Self {
            from_s: sample.at_s,
            to_s: sample.at_s,
            setpoint_c: sample.setpoint_c.map(Extremes::of),
            chamber_c: sample.chamber_c.map(Extremes::of),
            duty: Extremes::of(sample.duty),
        }
    }

    fn take(&mut self, sample: &Sample) {
        self.to_s = self.to_s.max(sample.at_s);
        widen(&mut self.setpoint_c, sample.setpoint_c);
        widen(&mut self.chamber_c, sample.chamber_c);
        self.duty.take(sample.duty);
    }
}

fn widen(extremes: &mut Option<Extremes>, value: Option<f32>) {
    let Some(value) = value else { return };
    match extremes {
        Some(extremes) => extremes.take(value),
        None => *extremes = Some(Extremes::of(value)),
    }
}

impl Extremes {
    const fn of(value: f32) -> Self {
        Self { least: value, greatest: value }
    }

    const fn take(&mut self, value: f32) {
        self.least = self.least.min(value);
        self.greatest = self.greatest.max(value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hour_by_hour(seconds: u16) -> Vec<Sample> {
        let sample = |second: u16| Sample {
            at_s: f32::from(second),
            setpoint_c: Some(f32::from(second) / 50.0),
            chamber_c: Some(20.0),
            duty: 0.5,
        };
        (0..seconds).map(sample).collect()
    }

    #[test]
    fn a_spike_of_one_second_is_seen_wherever_it_falls() {
        for spike in [0_usize, 1, 777, 25_000, 49_998, 49_999] {
            let mut samples = hour_by_hour(50_000);
            samples[spike].chamber_c = Some(1300.0);
            samples[spike].duty = 0.0;
            let columns = decimate(&samples, 360);
            assert_eq!(columns.len(), 360);
            let hot = columns.iter().filter(|column| column.chamber_c.is_some_and(|c| c.greatest == 1300.0));
            assert_eq!(hot.count(), 1, "spike at {spike} s");
            assert!(columns.iter().any(|column| column.duty.least == 0.0));
        }
    }

    #[test]
    fn every_sample_lies_within_its_column() {
        let samples = hour_by_hour(12_345);
        let columns = decimate(&samples, 97);
        for sample in &samples {
            let home = columns.iter().find(|column| (column.from_s..=column.to_s).contains(&sample.at_s));
            let seen = home.and_then(|column| column.setpoint_c).expect("a column holds it");
            let setpoint = sample.setpoint_c.expect("set above");
            assert!(seen.least <= setpoint && setpoint <= seen.greatest);
        }
    }

    #[test]
    fn a_gap_stays_a_gap() {
        let mut samples = hour_by_hour(1000);
        samples.retain(|sample| !(400.0..600.0).contains(&sample.at_s));
        let columns = decimate(&samples, 100);
        assert_eq!(columns.len(), 80);
        assert!(columns.iter().all(|column| column.to_s < 400.0 || column.from_s >= 600.0));
    }

    #[test]
    fn nothing_and_next_to_nothing_are_drawn_too() {
        assert_eq!(decimate(&[], 100), []);
        assert_eq!(decimate(&hour_by_hour(10), 0), []);
        assert_eq!(decimate(&hour_by_hour(1), 100).len(), 1);
        assert_eq!(decimate(&hour_by_hour(10), 1).len(), 1);
        assert_eq!(decimate(&hour_by_hour(10), 100).len(), 10);
    }

    #[test]
    fn a_lost_reading_does_not_hide_the_others_of_its_column() {
        let mut samples = hour_by_hour(10);
        samples[0].chamber_c = None;
        let columns = decimate(&samples, 1);
        assert_eq!(columns[0].chamber_c, Some(Extremes { least: 20.0, greatest: 20.0 }));
    }
}
