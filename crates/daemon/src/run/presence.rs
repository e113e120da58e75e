//! SR-46: whether somebody shows to be at the kiln, by its button.

use pyrometry::units::Millis;

/// How long a press of the button counts: the way from the kiln to whatever lights it. Engineering
/// judgement.
pub const PRESS_COUNTS: Millis = Millis::from_minutes(2);

/// Whether somebody is at the kiln.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Presence {
    /// The button is not asked.
    NotAsked,
    /// The button is to be pressed first.
    Awaited,
    /// It was pressed just now.
    Shown,
}

/// The button at the kiln.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Button {
    /// It is held down.
    Pressed,
    /// Not pressed, not fitted, or not to be read: nobody has shown to be there.
    Free,
}

/// What a light-up asks of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PresenceAsked {
    /// That somebody shows to be there, where the kiln file has a button for it.
    AsTheKilnFileSays,
    /// Nothing.
    No,
}

/// Watches the button.
#[derive(Clone, Copy, Debug)]
pub(super) struct Watch {
    /// How long a press counts; `None` where no button is asked.
    counts: Option<Millis>,
    pressed: Option<Millis>,
    /// As it was last seen.
    button: Button,
}

impl Watch {
    pub(super) const fn new(counts: Option<Millis>) -> Self {
        // One that is found held down has not been pressed by anybody here.
        Self { counts, pressed: None, button: Button::Pressed }
    }

    /// Takes what the button says. Only going down is a press: one that stays down is stuck, taped or
    /// has a broken wire, and shows nobody.
    pub(super) fn see(&mut self, button: Button, at: Millis) {
        if (self.button, button) == (Button::Free, Button::Pressed) {
            self.pressed = Some(at);
        }
        self.button = button;
    }

    /// One press lights one firing.
    pub(super) const fn used(&mut self) {
        self.pressed = None;
    }

    pub(super) fn now(&self, at: Millis) -> Presence {
        match (self.counts, self.pressed) {
            (None, _) => Presence::NotAsked,
            (Some(counts), Some(pressed)) if at.since(pressed) <= counts => Presence::Shown,
            (Some(_), Some(_) | None) => Presence::Awaited,
        }
    }
}
