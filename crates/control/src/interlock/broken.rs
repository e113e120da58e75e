//! SR-01: an open thermocouple, or a reading off its scale.

use pyrometry::amplifier::SensorFault;

use super::flagged::{Flagged, Repeats};
use super::recent::Sample;
use super::row::{Patience, Row, WithoutHeat};
use crate::finding::{Interlock, Severity};

/// SR-01: one flag can be a glitch on the wire, a few in ten seconds are not. Engineering judgement.
const REPEATS: Repeats = Repeats { in_a_row: 3, in_ten: 5 };

pub(crate) const ROW: Row = Row {
    requirement: "SR-01",
    interlock: Interlock::BrokenThermocouple,
    condition: "the chip reports an open circuit or the value is off the scale; 3 in a row or 5 in 10 s trip",
    worst: Severity::Trip,
    clears: "ten samples without the complaint",
    look_at: &[
        "the terminals at the amplifier and in the head",
        "the thermocouple itself: a broken bead",
        "the extension lead",
        "the thermocouple type set in the kiln file",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(f, "the thermocouple is open or off its scale in {:.0} of the last 10 samples.", evidence.seen)
    },
};

/// The check, with no complaint yet.
pub(crate) fn check() -> Flagged {
    Flagged::new(concerns, REPEATS)
}

const fn concerns(fault: SensorFault) -> Sample {
    match fault {
        SensorFault::Open | SensorFault::OutOfRange => Sample::Bad,
        SensorFault::Short | SensorFault::NoAnswer => Sample::Good,
    }
}
