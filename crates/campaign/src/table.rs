//! The campaign's tables: what became of each fault, and of healthy firings.

use std::collections::BTreeMap;
use std::fmt;

use control::Interlock;

use crate::ill::{Claim, Kind, claim};
use crate::outcome::Outcome;

/// So many seeds are named beside a count.
const SEEDS_SHOWN: usize = 8;

/// Everything that came of a campaign, in the order of seeds.
pub(crate) struct Tables<'a> {
    pub(crate) outcomes: &'a [Outcome],
}

impl Tables<'_> {
    /// Whether nothing was missed, tripped falsely, or broken.
    pub(crate) fn is_good(&self) -> bool {
        self.outcomes
            .iter()
            .all(|outcome| !outcome.missed && outcome.false_trip.is_none() && outcome.broken.is_empty())
    }

    fn of(&self, kind: Kind) -> Row<'_> {
        Row { outcomes: self.outcomes.iter().filter(|outcome| outcome.kinds == [kind]).collect() }
    }
}

impl fmt::Display for Tables<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let steps: u64 = self.outcomes.iter().map(|outcome| outcome.steps).sum();
        let pairs =
            Row { outcomes: self.outcomes.iter().filter(|outcome| outcome.kinds.len() > 1).collect() };
        let healthy: Vec<&Outcome> =
            self.outcomes.iter().filter(|outcome| outcome.kinds.is_empty()).collect();
        writeln!(
            f,
            "{} firings, {steps} steps of 1 s: {} healthy, {} with two faults\n",
            self.outcomes.len(),
            healthy.len(),
            pairs.outcomes.len()
        )?;
        self.write_must(f, &pairs)?;
        self.write_others(f)?;
        write_healthy(f, self.outcomes, &healthy)?;
        self.write_failures(f)
    }
}

const HEAD: &str =
    "runs | tripped | missed | no chance | p50 s | p90 s | p99 s | longest s | over ceiling °C | found by";

impl Tables<'_> {
    fn write_must(&self, f: &mut fmt::Formatter<'_>, pairs: &Row<'_>) -> fmt::Result {
        writeln!(f, "| must trip | {HEAD} |\n| --- |{}", " --- |".repeat(10))?;
        for kind in Kind::ALL.into_iter().filter(|kind| claim(*kind) == Claim::MustTrip) {
            let row = self.of(kind);
            if !row.outcomes.is_empty() {
                writeln!(f, "| {} | {row} |", kind.name())?;
            }
        }
        if !pairs.outcomes.is_empty() {
            writeln!(f, "| two at once, of any kind | {pairs} |")?;
        }
        writeln!(f)
    }

    fn write_others(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| not claimed to trip | runs | tripped | p50 s | over ceiling °C | over plan °C | what shows it |\n| --- |{}",
            " --- |".repeat(6)
        )?;
        for kind in Kind::ALL {
            let why = match claim(kind) {
                Claim::MustTrip => continue,
                Claim::Bearable => "bearable: no danger comes of it",
                Claim::Unseen(by) => by,
            };
            let row = self.of(kind);
            if row.outcomes.is_empty() {
                continue;
            }
            let latencies = row.latencies_s();
            writeln!(
                f,
                "| {} | {} | {} | {} | {:.0} | {:.0} | {why} |",
                kind.name(),
                row.outcomes.len(),
                latencies.len(),
                percentile(&latencies, 50),
                row.worst(|outcome| outcome.over_ceiling_c),
                row.worst(|outcome| outcome.over_plan_c),
            )?;
        }
        writeln!(f)
    }

    fn write_failures(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for outcome in self.outcomes {
            let again = again(outcome);
            if outcome.missed {
                writeln!(f, "MISSED: {again}")?;
            }
            if let Some((second, interlock)) = outcome.false_trip {
                writeln!(f, "FALSE TRIP: {} at {second} s: {again}", interlock.name())?;
            }
            for broken in &outcome.broken {
                writeln!(f, "BROKEN: {} at {} s: {again}", broken.what, broken.second)?;
            }
        }
        Ok(())
    }
}

/// What fires it again in detail.
fn again(outcome: &Outcome) -> String {
    let kinds: Vec<&str> = outcome.kinds.iter().map(|kind| kind.name()).collect();
    let what = if kinds.is_empty() { "healthy".to_owned() } else { kinds.join(" + ") };
    format!("seed {} ({what})", outcome.seed)
}

/// The firings of one kind.
struct Row<'a> {
    outcomes: Vec<&'a Outcome>,
}

impl Row<'_> {
    fn latencies_s(&self) -> Vec<u64> {
        let mut latencies_s: Vec<u64> = self
            .outcomes
            .iter()
            .filter_map(|outcome| outcome.detection)
            .map(|found| found.latency_s)
            .collect();
        latencies_s.sort_unstable();
        latencies_s
    }

    fn worst(&self, of: impl Fn(&Outcome) -> f64) -> f64 {
        self.outcomes.iter().map(|outcome| of(outcome)).fold(f64::MIN, f64::max)
    }

    fn finders(&self) -> String {
        let mut finders: BTreeMap<Interlock, usize> = BTreeMap::new();
        for found in self.outcomes.iter().filter_map(|outcome| outcome.detection) {
            *finders.entry(found.by).or_default() += 1;
        }
        let mut finders: Vec<(Interlock, usize)> = finders.into_iter().collect();
        finders.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let named = finders.iter().take(4).map(|(interlock, count)| format!("{} {count}", interlock.name()));
        named.collect::<Vec<String>>().join(", ")
    }
}

impl fmt::Display for Row<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let latencies_s = self.latencies_s();
        let missed = self.outcomes.iter().filter(|outcome| outcome.missed).count();
        let no_chance =
            self.outcomes.iter().filter(|outcome| outcome.detection.is_none() && !outcome.had_chance).count();
        let [p50, p90, p99, longest] = [50, 90, 99, 100].map(|share| percentile(&latencies_s, share));
        write!(
            f,
            "{} | {} | {missed} | {no_chance} | {p50} | {p90} | {p99} | {longest} | {:.0} | {}",
            self.outcomes.len(),
            latencies_s.len(),
            self.worst(|outcome| outcome.over_ceiling_c),
            self.finders()
        )
    }
}

/// Of sorted numbers; 100 is the greatest. `–` where there is none.
fn percentile(sorted: &[u64], percent: usize) -> String {
    let rank = (sorted.len() * percent).div_ceil(100).max(1);
    sorted.get(rank - 1).map_or_else(|| "–".to_owned(), u64::to_string)
}

fn write_healthy(f: &mut fmt::Formatter<'_>, all: &[Outcome], healthy: &[&Outcome]) -> fmt::Result {
    let lit = all.len();
    writeln!(
        f,
        "| healthy firings ({}) | told | withheld | tripped (of all {lit}, before any fault) | seeds |\n| --- | --- | --- | --- | --- |",
        healthy.len()
    )?;
    for interlock in Interlock::ALL {
        let told = healthy.iter().filter(|outcome| outcome.told.contains(&interlock)).count();
        let withheld = healthy.iter().filter(|outcome| outcome.withheld.contains(&interlock)).count();
        let tripped: Vec<u64> = all
            .iter()
            .filter(|outcome| outcome.false_trip.is_some_and(|(_, by)| by == interlock))
            .map(|outcome| outcome.seed)
            .collect();
        if told + withheld + tripped.len() > 0 {
            let seeds: Vec<String> = tripped.iter().take(SEEDS_SHOWN).map(u64::to_string).collect();
            writeln!(
                f,
                "| {} | {told} | {withheld} | {} | {} |",
                interlock.name(),
                tripped.len(),
                seeds.join(" ")
            )?;
        }
    }
    writeln!(f)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentile_is_the_smallest_number_that_so_many_do_not_exceed() {
        let sorted: Vec<u64> = (1..=200).collect();
        assert_eq!(percentile(&sorted, 50), "100");
        assert_eq!(percentile(&sorted, 99), "198");
        assert_eq!(percentile(&sorted, 100), "200");
        assert_eq!(percentile(&[7], 50), "7");
        assert_eq!(percentile(&[], 50), "–");
    }
}
