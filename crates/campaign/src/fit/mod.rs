//! The fit: how far healthy firings go towards each bound of the interlocks.
//!
//! A bound stands right when healthy kilns stay clear of it and a fault does not. What faults do is in
//! the campaign's other tables; here is the healthy side, with the firing that went furthest.

mod measure;

use std::fmt;

pub(crate) use measure::{Measures, Quantity};

/// The furthest of each quantity in one healthy firing.
pub(crate) struct Furthest {
    pub(crate) seed: u64,
    pub(crate) most: [f64; Quantity::ALL.len()],
}

/// What all of them show.
pub(crate) struct Fit<'a> {
    pub(crate) firings: &'a [Furthest],
}

impl fmt::Display for Fit<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{} healthy firings\n", self.firings.len())?;
        writeln!(
            f,
            "| what | half of them at most | 99 % | all | seed of the furthest | bound | interlock |"
        )?;
        writeln!(f, "|{}", " --- |".repeat(7))?;
        for quantity in Quantity::ALL {
            let (what, interlock, bound) = quantity.words();
            let mut all: Vec<(f64, u64)> = self
                .firings
                .iter()
                .map(|firing| (firing.most[quantity as usize], firing.seed))
                .filter(|(most, _)| most.is_finite())
                .collect();
            all.sort_by(|a, b| a.0.total_cmp(&b.0));
            let percentile = |percent: usize| all.get(all.len().saturating_sub(1) * percent / 100);
            let (Some(half), Some(most_of), Some(furthest)) = (percentile(50), percentile(99), all.last())
            else {
                writeln!(f, "| {what} | – | – | – | – | {bound} | {interlock} |")?;
                continue;
            };
            writeln!(
                f,
                "| {what} | {:.2} | {:.2} | {:.2} | {} | {bound} | {interlock} |",
                half.0, most_of.0, furthest.0, furthest.1
            )?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::{Case, Wanted};
    use crate::firing::fire;
    use crate::ill::Kind;

    fn furthest(wanted: Wanted, seed: u64) -> Furthest {
        let case = Case::draw(seed, wanted);
        let mut measures = Measures::new(&case);
        fire(&case, |moment| measures.look(moment));
        Furthest { seed, most: *measures.most() }
    }

    fn of(furthest: &Furthest, quantity: Quantity) -> f64 {
        furthest.most[quantity as usize]
    }

    #[test]
    fn a_healthy_firing_stays_within_its_bounds_and_a_welded_one_does_not() {
        for seed in 1..5 {
            let healthy = furthest(Wanted::Healthy, seed);
            assert!(of(&healthy, Quantity::TimeOverForecast) < 1.25, "{seed}");
            assert!(of(&healthy, Quantity::AbovePlanForAMinute) < 50.0, "{seed}");
        }
        let mut welded = (50_000..50_010).map(|seed| furthest(Wanted::Only(Kind::AllRelaysWelded), seed));
        assert!(welded.any(|firing| of(&firing, Quantity::RiseWithAllOff) > 3.0));
    }

    #[test]
    fn the_table_names_the_seed_that_went_furthest() {
        let mut firings = [furthest(Wanted::Healthy, 3), furthest(Wanted::Healthy, 4)];
        firings[1].most = [1000.0; Quantity::ALL.len()];
        let table = Fit { firings: &firings }.to_string();
        assert_eq!(table.matches("| 1000.00 | 4 |").count(), Quantity::ALL.len(), "{table}");
    }
}
