//! The tables: each law on each reference kiln, and its median and 90th percentile on drawn ones.

use std::fmt;

use crate::case::Case;
use crate::law::LAWS;
use crate::schedule::Course;
use crate::track::{Figures, Track};

/// One firing by one law.
pub(crate) struct Fired {
    pub(crate) kiln: String,
    pub(crate) law: &'static str,
    pub(crate) figures: Figures,
    pub(crate) late_min: f64,
    ended: Option<String>,
    withheld_s: u64,
}

/// All laws on all of these kilns.
fn all(cases: &[Case]) -> Vec<Fired> {
    let each = cases.iter().flat_map(|case| LAWS.iter().map(move |law| (case, law)));
    each.map(|(case, law)| Fired::new(case, law.name, (law.fire)(case))).collect()
}

impl Fired {
    pub(crate) fn new(case: &Case, law: &'static str, track: Track) -> Self {
        let figures = track.figures();
        let planned_h = Course::from(case.spec.start_c).lasts_h();
        Self {
            kiln: case.name.clone(),
            law,
            figures,
            late_min: 60.0 * (figures.lasted_h - planned_h),
            ended: track.ended,
            withheld_s: track.withheld_s,
        }
    }

    /// Why it ended early, or for how long heat was withheld.
    pub(crate) fn remark(&self) -> String {
        let withheld =
            if self.withheld_s > 0 { format!("withheld {} s", self.withheld_s) } else { String::new() };
        self.ended.clone().unwrap_or(withheld)
    }
}

/// Every firing, a row each.
pub(crate) struct Each(Vec<Fired>);

impl Each {
    pub(crate) fn of(cases: &[Case]) -> Self {
        Self(all(cases))
    }
}

impl fmt::Display for Each {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| kiln | law | ramp RMS °C | slow cooling RMS °C | over in soaks °C | soak span °C | over anywhere °C | operations | late min | |"
        )?;
        writeln!(f, "| --- | --- |{} --- |", " ---: |".repeat(7))?;
        for fired in &self.0 {
            let figures = &fired.figures;
            writeln!(
                f,
                "| {} | {} | {:.2} | {} | {} | {} | {:.2} | {} | {:.0} | {} |",
                fired.kiln,
                fired.law,
                figures.climb_rms_c,
                known(figures.cooling_rms_c),
                known(figures.overshoot_c),
                known(figures.soak_span_c),
                figures.above_c,
                figures.operations,
                fired.late_min,
                fired.remark()
            )?;
        }
        Ok(())
    }
}

fn known(figure: Option<f64>) -> String {
    figure.map_or("–".to_owned(), |figure| format!("{figure:.2}"))
}

/// Each law's median and 90th percentile over kilns.
pub(crate) struct Spread(Vec<Fired>);

impl Spread {
    pub(crate) fn of(cases: &[Case]) -> Self {
        Self(all(cases))
    }
}

impl fmt::Display for Spread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| law, median (90th percentile) | ramp RMS °C | slow cooling RMS °C | over in soaks °C | soak span °C | operations | heat withheld | ended early |"
        )?;
        writeln!(f, "| --- |{}", " ---: |".repeat(7))?;
        for law in &LAWS {
            let fired: Vec<&Fired> = self.0.iter().filter(|fired| fired.law == law.name).collect();
            let spread = |of: fn(&Figures) -> Option<f64>| {
                let mut figures: Vec<f64> = fired.iter().filter_map(|fired| of(&fired.figures)).collect();
                figures.sort_by(f64::total_cmp);
                [50, 90].map(|percent| ranked(&figures, percent))
            };
            let fine = |of| {
                let [median, most] = spread(of).map(known);
                format!("{median} ({most})")
            };
            #[allow(clippy::cast_precision_loss, reason = "a relay makes thousands of operations, not 2⁵³")]
            let [median, most] = spread(|figures| Some(figures.operations as f64));
            let count = |what: fn(&Fired) -> bool| fired.iter().filter(|fired| what(fired)).count();
            writeln!(
                f,
                "| {} | {} | {} | {} | {} | {:.0} ({:.0}) | {} of {} | {} of {} |",
                law.name,
                fine(|figures| Some(figures.climb_rms_c)),
                fine(|figures| figures.cooling_rms_c),
                fine(|figures| figures.overshoot_c),
                fine(|figures| figures.soak_span_c),
                median.unwrap_or(0.0),
                most.unwrap_or(0.0),
                count(|fired| fired.withheld_s > 0),
                fired.len(),
                count(|fired| fired.ended.is_some()),
                fired.len()
            )?;
        }
        Ok(())
    }
}

/// The least of sorted figures that so many per cent do not exceed (nearest rank).
fn ranked(sorted: &[f64], percent: usize) -> Option<f64> {
    let rank = (sorted.len() * percent).div_ceil(100);
    sorted.get(rank.saturating_sub(1)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_are_the_nearest_from_above() {
        let twenty: Vec<f64> = (1..=20).map(f64::from).collect();
        assert_eq!((ranked(&twenty, 50), ranked(&twenty, 90)), (Some(10.0), Some(18.0)));
        assert_eq!((ranked(&[4.0], 90), ranked(&[], 50)), (Some(4.0), None));
    }
}
