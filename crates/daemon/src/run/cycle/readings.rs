//! What one step reads of the board.

use control::{BANKS_MOST, Contact, Kiln, PROBES_MOST};
use heapless::Vec;
use pyrometry::amplifier::Report;
use pyrometry::units::Amps;

use crate::run::off::TimedBoard;

/// What one step read.
pub(super) struct Readings {
    pub(super) reports: Vec<Report, PROBES_MOST>,
    pub(super) lid: Contact,
    /// Of each bank; `None` where there is no sensor or it could not be read.
    pub(super) amps: [Option<Amps>; BANKS_MOST],
}

impl Readings {
    pub(super) fn take(board: &mut dyn TimedBoard, kiln: &Kiln) -> Self {
        let lid = match board.lid_closed() {
            None => Contact::NotFitted,
            Some(Ok(true)) => Contact::Shut,
            Some(Ok(false)) => Contact::Open,
            Some(Err(_)) => Contact::Unreadable,
        };
        let mut amps = [None; BANKS_MOST];
        for (bank, place) in (0..kiln.banks.len()).zip(&mut amps) {
            *place = board.amps(bank).and_then(Result::ok);
        }
        Self { reports: (0..kiln.probes.len()).map(|probe| board.report(probe)).collect(), lid, amps }
    }
}
