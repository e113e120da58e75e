//! Why a firing is not carried on, in a potter's words.

use pyrometry::units::{CelsiusDelta, Millis};

use crate::files::{Scale, time};
use crate::lighting::NotLit;

/// Why a firing is not carried on.
#[derive(Debug)]
pub enum NotCarriedOn {
    /// It had not begun.
    SetForLater,
    /// A person was holding the kiln.
    Staying,
    /// Nothing ran that asks for heat.
    NothingRuns,
    /// The program keeps falling over.
    StartedTooOften(usize),
    /// What was kept of it does not let it be known where it stood.
    Unreadable(String),
    /// The program has changed since.
    OtherBuild,
    /// The kiln file has changed since.
    KilnFileChanged,
    /// Nobody knows how long the power was gone.
    GapUnknown,
    /// It was gone too long.
    GapTooLong {
        /// For how long.
        gap: Millis,
        /// The longest.
        at_most: Millis,
    },
    /// The kiln has cooled too far.
    Dropped {
        /// By how much.
        by: CelsiusDelta,
        /// The most.
        at_most: CelsiusDelta,
    },
    /// It is hotter than it was, with everything off.
    Hotter(CelsiusDelta),
    /// The kiln cannot be read.
    Unread,
    /// It was not known when the firing ended.
    WasUnread,
    /// Somebody shut off meanwhile.
    ShutOff,
    /// Somebody lit another firing meanwhile.
    AnotherLit,
    /// A trip stood, or a latch that may have been one, and was cleared.
    HadTrip,
    /// Something had stayed energised, with nobody in control.
    PinsKept(String),
    /// The logbook knows of an order that what is left of the trace does not.
    OrderLost,
    /// It could not be lit like any other.
    NotLit(NotLit),
}

impl NotCarriedOn {
    /// For a potter, in the scale of their kiln.
    #[must_use]
    pub fn in_words(&self, scale: Scale) -> String {
        let plain = match self {
            Self::GapTooLong { gap, at_most } => {
                let (gap, at_most) = (time::say(*gap), time::say(*at_most));
                return format!("The power was gone for {gap}; the kiln file allows {at_most}.");
            }
            Self::Dropped { by, at_most } => {
                let (by, at_most) = (scale.say_difference(*by), scale.say_difference(*at_most));
                return format!("The kiln has cooled by {by} meanwhile; the kiln file allows {at_most}.");
            }
            Self::Hotter(by) => {
                let by = scale.say_difference(*by);
                return format!(
                    "The kiln is {by} hotter than it was, with everything off: is a relay stuck?"
                );
            }
            Self::StartedTooOften(starts) => {
                return format!(
                    "saggar was started {starts} times within 10 minutes: something is wrong with it or with \
                     the power."
                );
            }
            Self::PinsKept(names) => {
                return format!(
                    "This had stayed energised, with nobody in control: {names}. What the kiln was given in that time is \
                     not known."
                );
            }
            Self::Unreadable(why) => return format!("Where it stood cannot be known: {why}."),
            Self::NotLit(why) => return why.to_string(),
            Self::SetForLater => "It was set for later and had not begun: light it again.",
            Self::Staying => "Somebody was holding the kiln by hand: how it goes on is for them to say.",
            Self::NothingRuns => "No part of its schedule was running.",
            Self::OtherBuild => "saggar was changed meanwhile: whether it would go on alike is not known.",
            Self::KilnFileChanged => "The kiln file was changed meanwhile.",
            Self::GapUnknown => {
                "How long the power was gone cannot be known: the computer's clock is not, or was not, kept \
                 to the true time."
            }
            Self::Unread => "The kiln's temperature cannot be read.",
            Self::WasUnread => "The kiln's temperature could not be read when it ended.",
            Self::ShutOff => "Somebody shut off meanwhile.",
            Self::AnotherLit => "Somebody lit another firing meanwhile.",
            Self::HadTrip => {
                "A trip stood, or may have stood, and was cleared meanwhile: a firing is never carried on after \
                 one."
            }
            Self::OrderLost => {
                "Somebody gave an order just before it ended, which its record no longer holds: how it goes on is \
                 for them to say."
            }
        };
        plain.to_owned()
    }
}
