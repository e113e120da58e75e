//! How far the kiln may be from what is read, for the page.

use jiff::civil::Date;
use pyrometry::heat_work::Spread;
use pyrometry::units::{Celsius, CelsiusDelta};

use super::Uncertainty;
use crate::files::kiln::{BOX, KilnFile};
use crate::run::Snapshot;

/// The chamber's, and what it makes of the cone; `None` while nothing is read.
///
/// Probes of one make err alike, so their mean counts as no better than the least certain of them.
/// The cone is judged by the hottest so far: there its work was done.
pub(super) fn uncertainty(kiln: &KilnFile, snapshot: &Snapshot, today: Date) -> Option<Uncertainty> {
    let chamber = snapshot.decision.chamber?;
    let hottest = snapshot.heat_work.hottest().unwrap_or(chamber);
    let cones = match snapshot.heat_work.spread(widest(kiln, snapshot, hottest, today)) {
        Spread { least: Some(least), likely: Some(likely), most: Some(most) } => {
            Some([least, likely, most].map(hundredth))
        }
        Spread { .. } => None,
    };
    let c = widest(kiln, snapshot, chamber, today).c();
    Some(Uncertainty { c: (c * 10.0).round() / 10.0, cones })
}

fn widest(kiln: &KilnFile, snapshot: &Snapshot, at: Celsius, today: Date) -> CelsiusDelta {
    let parts = kiln.probes.iter().zip(&kiln.kiln.probes).zip(&snapshot.reports);
    let each = parts.map(|((part, probe), report)| {
        let measured = probe.sensor.measure(report).ok();
        let cold_junction = measured.and_then(|measured| measured.cold_junction).unwrap_or(BOX);
        part.chain(probe.sensor, today).budget(at, cold_junction).expanded()
    });
    each.fold(CelsiusDelta::ZERO, |widest, next| if next > widest { next } else { widest })
}

fn hundredth(ordinal: f64) -> f64 {
    (ordinal * 100.0).round() / 100.0
}
