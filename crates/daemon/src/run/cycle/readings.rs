//! What one step reads of the board.

use control::{BANKS_MOST, Contact, Kiln, PROBES_MOST};
use heapless::Vec;
use pyrometry::amplifier::Report;
use pyrometry::constant;
use pyrometry::units::Amps;

use crate::run::off::TimedBoard;

/// What one step read.
pub(super) struct Readings {
    pub(super) reports: Vec<Report, PROBES_MOST>,
    pub(super) lid: Contact,
    pub(super) amps: Option<[Amps; BANKS_MOST]>,
}

impl Readings {
    pub(super) fn take(board: &mut dyn TimedBoard, kiln: &Kiln) -> Self {
        let lid = match board.lid_closed() {
            None => Contact::NotFitted,
            Some(Ok(true)) => Contact::Shut,
            Some(Ok(false)) => Contact::Open,
            Some(Err(_)) => Contact::Unreadable,
        };
        let mut amps = [constant!(Amps, 0.0); BANKS_MOST];
        let mut sensed = false;
        for (bank, place) in (0..kiln.banks.len()).zip(&mut amps) {
            if let Some(Ok(now)) = board.amps(bank) {
                (*place, sensed) = (now, true);
            }
        }
        Self {
            reports: (0..kiln.probes.len()).map(|probe| board.report(probe)).collect(),
            lid,
            amps: sensed.then_some(amps),
        }
    }
}
