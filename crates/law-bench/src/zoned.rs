//! Kilns of several zones, and how far apart their zones are fired.

use std::fmt;

use control::Closeness;
use fastrand::Rng;
use kiln_sim::{BankSpec, KilnSpec, ProbeSpec, Ware};

use crate::case::{Case, LITRES, RELAY, Told, WALL_M, told};
use crate::fire::{Begun, fire, fire_again};
use crate::table::Fired;

const KILNS_DRAWN: u64 = 8;

/// What a zoned kiln's zones are given.
struct Zoned {
    /// Each zone's power, W, from the top.
    zones_w: &'static [f64],
    /// Banks a zone.
    banks: usize,
}

/// The reference kilns of two to four zones: of even power, weaker at the ends where more is lost, and
/// with one zone that can't keep up.
fn references() -> [Case; 4] {
    [
        zoned("two-zones", &Zoned { zones_w: &[5750.0, 5750.0], banks: 2 }),
        zoned("three-zones", &Zoned { zones_w: &[4200.0, 3100.0, 4200.0], banks: 1 }),
        zoned("four-zones", &Zoned { zones_w: &[3400.0, 2600.0, 2600.0, 3400.0], banks: 1 }),
        zoned("weak-below", &Zoned { zones_w: &[5000.0, 4000.0, 2400.0], banks: 1 }),
    ]
}

fn zoned(name: &str, zoned: &Zoned) -> Case {
    let spec = KilnSpec {
        ware: Ware { mass_kg: 40.0, area_m2: 1.6, core_lag_s: 240.0 },
        chamber_l: LITRES,
        zones: zoned.zones_w.len(),
        probes: each(zoned.zones_w, |zone, _| ProbeSpec { zone, noise_c: 0.0, ..ProbeSpec::default() }),
        banks: zoned
            .zones_w
            .iter()
            .enumerate()
            .flat_map(|(zone, power_w)| {
                #[allow(clippy::cast_precision_loss, reason = "at most eight banks")]
                let rated_w = power_w / zoned.banks as f64;
                vec![BankSpec { zone, rated_w }; zoned.banks]
            })
            .collect(),
        ..KilnSpec::default()
    };
    let file = Told { chamber_l: LITRES, wall_m: WALL_M, load_kg: 40.0 };
    Case { name: name.to_owned(), ..told(7, spec, &file, RELAY) }
}

/// A kiln of two to four zones drawn from a seed: their powers up to a quarter off from even, more or less
/// open to each other, probes of their own, half to double of the load told.
fn drawn(seed: u64) -> Case {
    let mut chance = Rng::with_seed(seed);
    let zones = chance.usize(2..=4);
    let mut between = |low: f64, high: f64| low + (high - low) * chance.f64();
    let mass_kg = 10.0 * libm::pow(8.0, between(0.0, 1.0));
    let litres = (mass_kg * between(2.5, 5.0)).clamp(60.0, 300.0);
    let side_m = libm::cbrt(litres / 1000.0);
    #[allow(clippy::cast_precision_loss, reason = "at most four zones")]
    let zone_w = (6.0 * side_m * side_m * 5_000.0 + mass_kg * 60.0) * between(1.1, 1.5) / zones as f64;
    let powers_w: Vec<f64> = (0..zones).map(|_| zone_w * between(0.75, 1.25)).collect();
    let spec = KilnSpec {
        chamber_l: litres,
        ware: Ware { mass_kg, area_m2: mass_kg * between(0.03, 0.06), core_lag_s: between(90.0, 600.0) },
        zones,
        zone_opening: between(0.1, 0.5),
        mains_v: 230.0 * between(0.95, 1.05),
        probes: each(&powers_w, |zone, _| ProbeSpec {
            zone,
            lag_s: 5.0 * libm::pow(6.0, between(0.0, 1.0)),
            noise_c: 0.5 * libm::pow(between(0.0, 1.0), 3.0),
            ..ProbeSpec::default()
        }),
        banks: each(&powers_w, |zone, rated_w| BankSpec { zone, rated_w }),
        ..KilnSpec::default()
    };
    let load_kg = mass_kg * libm::pow(2.0, between(-1.0, 1.0));
    let file = Told { chamber_l: litres, wall_m: WALL_M, load_kg };
    Case { name: format!("{zones} zones, drawn-{seed}"), ..told(seed, spec, &file, RELAY) }
}

fn each<T>(powers_w: &[f64], mut part: impl FnMut(usize, f64) -> T) -> Vec<T> {
    powers_w.iter().enumerate().map(|(zone, power_w)| part(zone, *power_w)).collect()
}

/// How far apart zones are: a row a firing.
pub(crate) struct Apart(Vec<Fired>);

impl Apart {
    pub(crate) fn measured() -> Self {
        let cases = references().into_iter().chain((0..KILNS_DRAWN).map(drawn));
        let fired = cases.flat_map(|case| {
            let first = fire(&case, Begun::default(), |_, _| {});
            let second = fire_again(&case, Closeness::Sparing);
            let close = fire_again(&case, Closeness::Close);
            [("sparing, first", first), ("sparing, second", second), ("close, second", close)]
                .map(|(law, track)| Fired::new(&case, law, track))
        });
        Self(fired.collect())
    }
}

impl fmt::Display for Apart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| kiln | firing | apart in climbs °C | apart in slow cooling °C | apart at soaks' ends °C | ramp RMS °C | over in soaks °C | operations | late min | |"
        )?;
        writeln!(f, "| --- | --- |{} --- |", " ---: |".repeat(7))?;
        for fired in &self.0 {
            let figures = &fired.figures;
            writeln!(
                f,
                "| {} | {} | {:.1} | {:.1} | {:.1} | {:.2} | {:.2} | {} | {:.0} | {} |",
                fired.kiln,
                fired.law,
                figures.climbs_apart_c,
                figures.coolings_apart_c,
                figures.soaks_end_apart_c,
                figures.climb_rms_c,
                figures.overshoot_c.unwrap_or(f64::NAN),
                figures.operations,
                fired.late_min,
                fired.remark()
            )?;
        }
        Ok(())
    }
}
