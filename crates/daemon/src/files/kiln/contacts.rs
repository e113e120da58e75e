//! Contacts: what the board senses besides temperatures, and how a person shows to be there.

use hal::{ClosedAt, Sensed};

use super::parts::whole;
use super::wire::{ContactSection, KilnSections};
use super::words::PresenceWord;
use super::{Board, ContactPart, ContactPin, Presence};
use crate::files::problem::{Problems, Told};
use crate::files::wire::At;

/// Every [[contact]] section.
pub(super) fn sections(file: &KilnSections) -> &[At<ContactSection>] {
    file.contact.as_deref().unwrap_or_default()
}

/// What a contact senses, as the lint and the clashes of pins name it.
pub(super) const fn name(sensed: Sensed) -> &'static str {
    match sensed {
        Sensed::Lid => "the lid's contact",
        Sensed::Contactor => "the contactor's mirror contact",
        Sensed::PresenceButton => "the presence button",
    }
}

/// Every contact, each thing sensed once.
pub(super) fn contacts(
    file: &KilnSections,
    board: &Board,
    problems: &mut Problems,
) -> Result<Vec<ContactPart>, Told> {
    let mut parts: Vec<ContactPart> = Vec::new();
    let mut told = Ok(());
    for section in sections(file) {
        let senses = &section.value.senses;
        let sensed = senses.value.sensed();
        if parts.iter().any(|earlier| earlier.sensed == sensed) {
            let wrong = format!("a second contact that senses \"{}\"", senses.value.name());
            problems.add(&senses.span, wrong, "remove one of the two");
            told = Err(Told);
            continue;
        }
        match pin(section, board, problems) {
            Ok(pin) => parts.push(ContactPart { sensed, pin }),
            Err(Told) => told = Err(Told),
        }
    }
    told.map(|()| parts)
}

/// Where a contact is connected. On a real board it must be said.
fn pin(
    section: &At<ContactSection>,
    board: &Board,
    problems: &mut Problems,
) -> Result<Option<ContactPin>, Told> {
    let found = &section.value;
    match (&found.pin, &found.closed_at) {
        (Some(pin), Some(closed_at)) => {
            Ok(whole(pin.value.0).map(|pin| ContactPin { pin, closed_at: closed_at.value.closed_at() }))
        }
        (None, None) if matches!(board, Board::Simulated(_)) => Ok(None),
        _ => {
            let what = name(found.senses.value.sensed());
            let wrong = format!("where {what} is connected is not fully said");
            problems.add(&found.senses.span, wrong, "give pin and closed_at; there is no default for either");
            Err(Told)
        }
    }
}

/// How a person shows to be at the kiln: with a button by the button, else by the checklist.
pub(super) fn presence(
    file: &KilnSections,
    contacts: &[ContactPart],
    problems: &mut Problems,
) -> Result<Presence, Told> {
    let has_button = contacts.iter().any(|part| part.sensed == Sensed::PresenceButton);
    let Some(section) = &file.light_up else {
        return Ok(if has_button { Presence::Button } else { Presence::Checklist });
    };
    let word = &section.value.presence;
    match word.value {
        PresenceWord::Button if !has_button => {
            let right = "add a [[contact]] that senses \"presence button\", or write \"checklist\"";
            problems.add(&word.span, "presence by a button, and no contact that senses one", right);
            Err(Told)
        }
        PresenceWord::Button => Ok(Presence::Button),
        PresenceWord::Checklist => Ok(Presence::Checklist),
        PresenceWord::NotAsked => Ok(Presence::NotAsked),
    }
}

/// What a careful colleague would say about them. A pin that is pulled up reads high when its wire
/// breaks; that must not look like a kiln that may be lit.
pub(super) fn note(file: &KilnSections, presence: Presence, contacts: &[ContactPart], notes: &mut Problems) {
    for (section, part) in sections(file).iter().zip(contacts) {
        let Some(closed_at) = &section.value.closed_at else { continue };
        let (wrong, right) = match (part.sensed, closed_at.value.closed_at()) {
            (Sensed::Lid, ClosedAt::High) => (
                "a broken wire at the lid's contact reads as a lid that is shut",
                "use a contact to ground that closes with the lid, closed_at = \"low\"",
            ),
            (Sensed::PresenceButton, ClosedAt::High) => (
                "a broken wire at the presence button reads as somebody who keeps pressing it",
                "use a button to ground that closes when pressed, closed_at = \"low\"",
            ),
            // IEC 60947-4-1, annex F: a mirror contact is normally closed (from memory).
            (Sensed::Contactor, ClosedAt::Low) => (
                "a broken wire at the mirror contact reads as a contactor that is open, and a normally open contact need not tell of a welded one",
                "use the normally closed mirror contact to ground: the contactor closed is then closed_at = \"high\"",
            ),
            (Sensed::Lid | Sensed::PresenceButton, ClosedAt::Low) | (Sensed::Contactor, ClosedAt::High) => {
                continue;
            }
        };
        notes.warn(&closed_at.span, wrong, right);
    }
    if let (Some(section), Presence::NotAsked) = (&file.light_up, presence) {
        let right = "write \"checklist\", or fit a button: whoever lights a kiln looks at it first";
        notes.warn(&section.value.presence.span, "a firing is lit though nobody may be at the kiln", right);
    }
}
