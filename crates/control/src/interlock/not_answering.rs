//! SR-03: a dead amplifier or bus, or a chip that lost its configuration.

use pyrometry::amplifier::SensorFault;

use super::flagged::{Flagged, Repeats};
use super::recent::Sample;
use super::row::{Patience, Row, WithoutHeat};
use crate::finding::{Interlock, Severity};

/// SR-03: three failures; five in ten seconds as in SR-01, so that every second answer is not enough to fire on. Engineering judgement.
const REPEATS: Repeats = Repeats { in_a_row: 3, in_ten: 5 };

pub(crate) const ROW: Row = Row {
    requirement: "SR-03",
    interlock: Interlock::AmplifierNotAnswering,
    condition: "frames that no chip sends, a read error, or a configuration that is not the one written; 3 in a row or 5 in 10 s trip",
    worst: Severity::Trip,
    clears: "ten samples without the complaint",
    look_at: &[
        "the plug and wires between computer and amplifier",
        "the supply of the amplifier",
        "interference from relays: routing and shielding",
        "the chip-select pin in the kiln file",
        "the amplifier",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(f, "the amplifier did not answer as it should in {:.0} of the last 10 samples.", evidence.seen)
    },
};

/// The check, with no complaint yet.
pub(crate) fn check() -> Flagged {
    Flagged::new(concerns, REPEATS)
}

const fn concerns(fault: SensorFault) -> Sample {
    match fault {
        SensorFault::NoAnswer => Sample::Bad,
        SensorFault::Open | SensorFault::Short | SensorFault::OutOfRange => Sample::Good,
    }
}
