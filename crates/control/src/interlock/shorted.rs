//! SR-02: a thermocouple wire on ground or on the supply.

use pyrometry::amplifier::SensorFault;

use super::flagged::{Flagged, Repeats};
use super::recent::Sample;
use super::row::{Patience, Row, WithoutHeat};
use crate::finding::{Interlock, Severity};

/// SR-02: as SR-01.
const REPEATS: Repeats = Repeats { in_a_row: 3, in_ten: 5 };

pub(crate) const ROW: Row = Row {
    requirement: "SR-02",
    interlock: Interlock::ShortedThermocouple,
    condition: "the chip reports a short to ground or supply, or a frame only a shorted input can give; 3 in a row or 5 in 10 s trip",
    worst: Severity::Trip,
    clears: "ten samples without the complaint",
    look_at: &[
        "bare wires touching the case, each other or the kiln shell",
        "a cracked protection tube or insulator (hot ceramics leak)",
        "moisture in the head or the lead",
        "the amplifier",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "a thermocouple wire touches ground or supply in {:.0} of the last 10 samples.",
            evidence.seen
        )
    },
};

/// The check, with no complaint yet.
pub(crate) fn check() -> Flagged {
    Flagged::new(concerns, REPEATS)
}

const fn concerns(fault: SensorFault) -> Sample {
    match fault {
        SensorFault::Short => Sample::Bad,
        SensorFault::Open | SensorFault::OutOfRange | SensorFault::NoAnswer => Sample::Good,
    }
}
