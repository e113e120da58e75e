//! Every name a trace spells out, in kebab-case.

use std::fmt;
use std::marker::PhantomData;

use control::{Certainty, ClimbEnd, Closeness, Contact, Interlock, Phase, Severity, SwitchKind};
use pyrometry::amplifier::Amplifier;
use pyrometry::cone::Cone;
use pyrometry::thermocouple::Thermocouple;
use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Something known in files by one name.
pub trait Name: Copy + 'static {
    /// What it is, for messages: "phase".
    const WHAT: &'static str;
    /// Its name.
    fn name(self) -> &'static str;
    /// Which one that name means.
    fn named(name: &str) -> Option<Self>;
}

/// Gives an enum its names. The match has no other arm, so a new variant needs a name to compile.
macro_rules! names {
    ($what:literal, $of:ident { $($variant:ident $name:literal),* $(,)? }) => {
        impl Name for $of {
            const WHAT: &'static str = $what;
            fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }
            fn named(name: &str) -> Option<Self> {
                match name { $($name => Some(Self::$variant),)* _ => None }
            }
        }
    };
}

names!("contact", Contact { NotFitted "not-fitted", Shut "shut", Open "open", Unreadable "unreadable" });
names!("closeness of switching", Closeness { Sparing "sparing", Close "close" });
names!("kind of switch", SwitchKind { Mechanical "mechanical", SolidState "solid-state" });
names!("certainty", Certainty { Guessed "guessed", Fitted "fitted" });
names!("severity", Severity { Notice "notice", Withhold "withhold", Trip "trip" });
names!(
    "end of a climb",
    ClimbEnd {
        Temperature "temperature",
        ConeDown "cone-down",
        ConeNotDown "cone-not-down",
        Ordered "ordered",
    }
);
names!("thermocouple type", Thermocouple { B "B", E "E", J "J", K "K", N "N", R "R", S "S", T "T" });
/// Takes over the names an enum of ours already has.
macro_rules! own_names {
    ($what:literal, $of:ident) => {
        impl Name for $of {
            const WHAT: &'static str = $what;
            fn name(self) -> &'static str {
                $of::name(self)
            }
            fn named(name: &str) -> Option<Self> {
                Self::ALL.into_iter().find(|known| $of::name(*known) == name)
            }
        }
    };
}

own_names!("phase", Phase);
own_names!("interlock", Interlock);
own_names!("amplifier", Amplifier);

/// A cone travels by its trade number, `"022"`, `"6"`, `"5½"`; `"5.5"` is read as well.
impl Name for Cone {
    const WHAT: &'static str = "cone";
    fn name(self) -> &'static str {
        Self::name(self)
    }
    fn named(name: &str) -> Option<Self> {
        Self::parse(name)
    }
}

/// A value that travels by its name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Named<T>(pub T);

impl<T: Name> Serialize for Named<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.name())
    }
}

impl<'de, T: Name> Deserialize<'de> for Named<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_str(NameVisitor(PhantomData))
    }
}

struct NameVisitor<T>(PhantomData<T>);

impl<T: Name> Visitor<'_> for NameVisitor<T> {
    type Value = Named<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the name of a {}", T::WHAT)
    }

    fn visit_str<E: Error>(self, name: &str) -> Result<Self::Value, E> {
        T::named(name).map(Named).ok_or_else(|| E::custom(format_args!("no {} is called {name:?}", T::WHAT)))
    }
}
