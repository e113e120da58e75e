//! What one step reads of the board.

use control::{BANKS_MOST, Contact, Kiln, PROBES_MOST};
use hal::{PinFault, Sensed};
use heapless::Vec;
use pyrometry::amplifier::Report;
use pyrometry::units::Amps;

use crate::run::off::TimedBoard;
use crate::run::presence::Button;

/// What one step read.
pub(super) struct Readings {
    pub(super) reports: Vec<Report, PROBES_MOST>,
    pub(super) lid: Contact,
    pub(super) contactor: Contact,
    pub(super) button: Button,
    /// Of each bank; `None` where there is no sensor or it could not be read.
    pub(super) amps: [Option<Amps>; BANKS_MOST],
}

impl Readings {
    pub(super) fn take(board: &mut dyn TimedBoard, kiln: &Kiln) -> Self {
        let mut amps = [None; BANKS_MOST];
        for (bank, place) in (0..kiln.banks.len()).zip(&mut amps) {
            *place = board.amps(bank).and_then(Result::ok);
        }
        Self {
            reports: (0..kiln.probes.len()).map(|probe| board.report(probe)).collect(),
            lid: contact(board.is_closed(Sensed::Lid)),
            contactor: contact(board.is_closed(Sensed::Contactor)),
            button: button(board.is_closed(Sensed::PresenceButton)),
            amps,
        }
    }
}

/// A contact as the controller sees it.
pub(crate) fn contact(closed: Option<Result<bool, PinFault>>) -> Contact {
    match closed {
        None => Contact::NotFitted,
        Some(Ok(true)) => Contact::Shut,
        Some(Ok(false)) => Contact::Open,
        Some(Err(PinFault)) => Contact::Unreadable,
    }
}

fn button(closed: Option<Result<bool, PinFault>>) -> Button {
    match closed {
        Some(Ok(true)) => Button::Pressed,
        None | Some(Ok(false) | Err(PinFault)) => Button::Free,
    }
}
