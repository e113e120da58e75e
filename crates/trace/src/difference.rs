//! Whether two decisions are the same to the bit, and where they aren't.

use std::fmt;

use control::{Decision, Evidence, Finding};
use pyrometry::units::Millis;
use serde_json::{Map, Value};

use crate::span;
use crate::wire::{Did, Quantity};

/// The first step at which a replay decided otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The line of the trace, counted from one.
    pub line: u64,
    /// The time of the step.
    pub at: Millis,
    /// Every field that differs in that step, by its name in the file.
    pub fields: Vec<FieldDifference>,
}

/// One field, recorded and recomputed, as the file spells it; "nothing" where it was left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldDifference {
    /// Its name in the file.
    pub field: String,
    /// What the trace says.
    pub recorded: String,
    /// What this software decides.
    pub recomputed: String,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "first difference in line {}, at {}:", self.line, span::in_words(self.at))?;
        for (number, field) in self.fields.iter().enumerate() {
            let comma = if number == 0 { "" } else { ";" };
            let FieldDifference { field, recorded, recomputed } = field;
            write!(f, "{comma} {field} was recorded as {recorded}, recomputed as {recomputed}")?;
        }
        Ok(())
    }
}

/// Compares two decisions about the observation of time `at`.
pub(crate) fn first_difference(
    recorded: &Decision,
    recomputed: &Decision,
    line: u64,
    at: Millis,
) -> Option<Difference> {
    if recorded.same_bits(recomputed) {
        return None;
    }
    let (recorded, recomputed) = (spelt(recorded, at), spelt(recomputed, at));
    let mut names: Vec<&String> = recorded.keys().chain(recomputed.keys()).collect();
    names.sort_unstable();
    names.dedup();
    let text =
        |fields: &Map<String, Value>, name| fields.get(name).map_or("nothing".to_owned(), Value::to_string);
    let fields = names
        .into_iter()
        .map(|name| (name, text(&recorded, name), text(&recomputed, name)))
        .filter(|(_, recorded, recomputed)| recorded != recomputed)
        .map(|(name, recorded, recomputed)| FieldDifference { field: name.clone(), recorded, recomputed })
        .collect();
    Some(Difference { line, at, fields })
}

fn spelt(decision: &Decision, at: Millis) -> Map<String, Value> {
    match serde_json::to_value(Did::of(decision, at)) {
        Ok(Value::Object(fields)) => fields,
        Ok(_) | Err(_) => Map::new(),
    }
}

/// Sameness to the bit. Zeros of different sign differ; all NaN are one, as they are in a trace.
trait SameBits {
    fn same_bits(&self, other: &Self) -> bool;
}

impl SameBits for f64 {
    fn same_bits(&self, other: &Self) -> bool {
        self.to_bits() == other.to_bits() || (self.is_nan() && other.is_nan())
    }
}

macro_rules! by_number {
    ($($unit:ident),*) => {$(
        impl SameBits for pyrometry::units::$unit {
            fn same_bits(&self, other: &Self) -> bool {
                self.number().same_bits(&other.number())
            }
        }
    )*};
}
by_number!(Celsius, CelsiusDelta, Duty);

macro_rules! by_equality {
    ($($exact:ty),*) => {$(
        impl SameBits for $exact {
            fn same_bits(&self, other: &Self) -> bool {
                self == other
            }
        }
    )*};
}
by_equality!(
    bool,
    u8,
    Millis,
    control::Phase,
    control::Interlock,
    control::Severity,
    control::Part,
    control::Outcome,
    control::ClimbEnd
);

/// Compares field by field; naming every field makes a forgotten one an error.
macro_rules! by_fields {
    ($of:ident { $($field:ident),* $(,)? }) => {
        impl SameBits for $of {
            fn same_bits(&self, other: &Self) -> bool {
                let Self { $($field),* } = self;
                $($field.same_bits(&other.$field))&&*
            }
        }
    };
}
by_fields!(Evidence { seen, bound, lasted });
by_fields!(Finding { interlock, severity, part, evidence });
by_fields!(Decision {
    at,
    phase,
    segment,
    setpoint,
    junctions,
    chamber,
    lag,
    duty,
    banks,
    permission,
    waiting,
    trip,
    withheld,
    refuses_light_up,
    notices,
    cone,
    climb_end,
    outcomes,
});

impl<T: SameBits> SameBits for Option<T> {
    fn same_bits(&self, other: &Self) -> bool {
        match (self, other) {
            (Some(a), Some(b)) => a.same_bits(b),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        }
    }
}

impl<T: SameBits> SameBits for [T] {
    fn same_bits(&self, other: &Self) -> bool {
        self.len() == other.len() && self.iter().zip(other).all(|(a, b)| a.same_bits(b))
    }
}

impl<T: SameBits, const N: usize> SameBits for [T; N] {
    fn same_bits(&self, other: &Self) -> bool {
        self.as_slice().same_bits(other.as_slice())
    }
}

impl<T: SameBits, const N: usize> SameBits for heapless::Vec<T, N> {
    fn same_bits(&self, other: &Self) -> bool {
        self.as_slice().same_bits(other.as_slice())
    }
}
