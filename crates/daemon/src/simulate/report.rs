//! The result of a simulated firing in words, and as JSON.

use std::fmt;

use control::Phase;
use pyrometry::units::{Celsius, Millis};
use serde::Serialize;

use super::{Job, Outcome};
use crate::files::{Scale, time};
use crate::words;

/// The result, ready to be told.
#[derive(Clone, Debug, Serialize)]
pub struct FiringReport {
    title: String,
    kiln: String,
    #[serde(skip)]
    scale: Scale,
    phase: &'static str,
    schedule_s: f64,
    cool_enough_s: Option<f64>,
    hottest_c: Option<f64>,
    tracking_rms_c: Option<f64>,
    tracking_worst_c: f64,
    overshoot_c: f64,
    ware_core_at_peak_c: Option<f64>,
    ware_behind_c: Option<f64>,
    ware_hottest_c: Option<f64>,
    energy_kwh: f64,
    relay_operations: Vec<Relay>,
    waited_s: f64,
    cone: Option<String>,
    cone_ordinal: Option<f64>,
    cones: String,
    trips: Vec<Tripped>,
    took_s: f64,
    times_real: f64,
}

#[derive(Clone, Debug, Serialize)]
struct Relay {
    bank: String,
    operations: u64,
}

#[derive(Clone, Debug, Serialize)]
struct Tripped {
    trip: &'static str,
    at_s: f64,
}

impl FiringReport {
    /// Puts numbers and names together.
    #[must_use]
    pub fn new(job: &Job<'_>, outcome: &Outcome) -> Self {
        let tally = &outcome.tally;
        let took_s = outcome.took.as_secs_f64();
        let cooled = outcome.phase == Phase::CoolEnoughToOpen;
        let names = job.kiln.banks.iter().map(|bank| bank.name.clone());
        Self {
            title: job.schedule.title.clone(),
            kiln: job.kiln.name.clone(),
            scale: job.schedule.scale,
            phase: outcome.phase.name(),
            schedule_s: tally.schedule_lasted().seconds(),
            cool_enough_s: cooled.then(|| tally.lasted().seconds()),
            hottest_c: tally.peak().map(Celsius::c),
            tracking_rms_c: tally.tracking_rms_c(),
            tracking_worst_c: tally.tracking_worst_c(),
            overshoot_c: tally.overshoot_c(),
            ware_core_at_peak_c: outcome.ware.map(|ware| ware.core.c()),
            ware_behind_c: outcome.ware.map(|ware| ware.behind_c),
            ware_hottest_c: outcome.ware.map(|ware| ware.hottest.c()),
            energy_kwh: outcome.energy.j() / 3.6e6,
            relay_operations: names
                .zip(tally.operations())
                .map(|(bank, operations)| Relay { bank, operations: *operations })
                .collect(),
            waited_s: tally.waited().seconds(),
            cone: tally.cone().and_then(words::cone_reached),
            cone_ordinal: tally.cone(),
            cones: outcome.cones.to_string(),
            trips: tally
                .trips()
                .map(|(trip, at)| Tripped { trip: trip.name(), at_s: at.seconds() })
                .collect(),
            took_s,
            times_real: tally.lasted().seconds() / took_s,
        }
    }

    /// Whether the schedule ran to its end.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.trips.is_empty() && self.cool_enough_s.is_some()
    }

    fn say(&self, temperature_c: f64) -> String {
        Celsius::new(temperature_c).map_or(String::new(), |temperature| self.scale.say(temperature))
    }
}

fn span(seconds: f64) -> String {
    // To the minute: nobody plans a firing by the second.
    let minutes = Millis::from_seconds_f64(seconds).map_or(0, |span| (span.ms() + 30_000) / 60_000);
    time::say(Millis::from_minutes(minutes))
}

impl fmt::Display for FiringReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let scale = self.scale.name();
        writeln!(f, "{} in {} (simulated)", self.title, self.kiln)?;
        for trip in &self.trips {
            writeln!(f, "  TRIPPED         {} after {}", trip.trip, span(trip.at_s))?;
        }
        write!(f, "  schedule        {}", span(self.schedule_s))?;
        match self.cool_enough_s {
            Some(cool_s) => writeln!(f, ", cool enough to open after {}", span(cool_s))?,
            None => writeln!(f, ", ended {}", self.phase)?,
        }
        if let Some(hottest_c) = self.hottest_c {
            write!(f, "  hottest         {}", self.say(hottest_c))?;
            match &self.cone {
                Some(_) => writeln!(f, "; cones: {}", self.cones)?,
                None => writeln!(f)?,
            }
        }
        if let Some(rms_c) = self.tracking_rms_c {
            let (rms, worst) = (self.scale.degrees(rms_c), self.scale.degrees(self.tracking_worst_c));
            writeln!(
                f,
                "  tracking        {rms:.2} °{scale} RMS in climbs after the first hour, {worst:.1} °{scale} at worst"
            )?;
        }
        writeln!(f, "  overshoot       {:.1} °{scale} at the soaks", self.scale.degrees(self.overshoot_c))?;
        if let (Some(core_c), Some(behind_c), Some(hottest_c)) =
            (self.ware_core_at_peak_c, self.ware_behind_c, self.ware_hottest_c)
        {
            let (core, hottest) = (self.say(core_c), self.say(hottest_c));
            let behind = behind(self.scale.degrees(behind_c), scale);
            writeln!(
                f,
                "  ware            {core} at its core when the junction was hottest, {behind}; {hottest} at most"
            )?;
        }
        writeln!(f, "  energy          {:.1} kWh", self.energy_kwh)?;
        let relays: Vec<String> = self
            .relay_operations
            .iter()
            .map(|relay| format!("{} {}", relay.bank, relay.operations))
            .collect();
        writeln!(f, "  relay closings  {}", relays.join(", "))?;
        let share = 100.0 * self.waited_s / self.schedule_s.max(1.0);
        writeln!(f, "  waiting         {} ({share:.1} % of the schedule)", span(self.waited_s))?;
        write!(f, "  speed           {:.0} × real time ({:.2} s)", self.times_real, self.took_s)
    }
}

/// How far the ware is from the junction, in words: behind as a rule, ahead in a nearly empty kiln.
fn behind(degrees: f64, scale: &str) -> String {
    let rounded = degrees.round();
    if rounded >= 1.0 {
        format!("{rounded:.0} °{scale} behind")
    } else if rounded <= -1.0 {
        format!("{:.0} °{scale} ahead", -rounded)
    } else {
        "as hot as it".to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::behind;

    #[test]
    fn the_ware_is_behind_ahead_or_as_hot_and_never_minus_nothing() {
        assert_eq!(behind(2.4, "C"), "2 °C behind");
        assert_eq!(behind(-2.0, "C"), "2 °C ahead");
        assert_eq!(behind(-0.3, "F"), "as hot as it");
    }
}
