//! The heartbeat's pin, where an outside relay is fitted that only its edges keep closed.

use super::parts::whole;
use super::pins::{Role, Used};
use super::wire::KilnSections;

/// The pin as one of the file's outputs. Neither of its levels energises anything.
pub(super) fn output(file: &KilnSections) -> Option<Used<'_>> {
    let section = file.heartbeat.as_ref()?;
    Some(Used { what: "the heartbeat".to_owned(), pin: &section.value.pin, active: None, role: Role::Beats })
}

/// The pin's number, where one is fitted.
pub(super) fn pin(file: &KilnSections) -> Option<u16> {
    whole(file.heartbeat.as_ref()?.value.pin.value.0)
}
