//! From a hot junction to the amplifier's terminals: wire, terminal head, extension lead.
//!
//! ```text
//!   junction ── thermocouple wire ── head ── extension lead ── cold junction (amplifier)
//!   emf = ± [E(junction) − E(head)]        ± [E(head) − E(cold junction)]
//! ```
//! A right loop has both signs plus, and the head's temperature cancels out.

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millivolts};

/// Where the two wires touch each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Short {
    /// Between head (0) and junction (1).
    Upstream(f64),
    AtAmplifier,
}

/// How the loop is wired.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wiring {
    pub(crate) junction_sign: f64,
    pub(crate) extension_sign: f64,
    pub(crate) short: Option<Short>,
    /// The wire's type, when it is not what the chip was set to.
    pub(crate) actual: Option<Thermocouple>,
}

impl Default for Wiring {
    fn default() -> Self {
        Self { junction_sign: 1.0, extension_sign: 1.0, short: None, actual: None }
    }
}

/// The temperatures along the loop, °C, and what the chip takes its own end for.
#[derive(Clone, Copy, Debug)]
#[allow(clippy::struct_field_names, reason = "all are temperatures, and say their unit")]
pub(crate) struct Along {
    pub(crate) junction_c: f64,
    pub(crate) head_c: f64,
    pub(crate) cold_junction_c: f64,
    pub(crate) cold_junction_taken_c: f64,
}

impl Wiring {
    /// The junction temperature that a chip set to `set_to` sees in the loop; `None` when it is
    /// beyond what the type can give.
    pub(crate) fn apparent_c(
        &self,
        along: &Along,
        fitted: Thermocouple,
        set_to: Thermocouple,
    ) -> Option<f64> {
        let actual = self.actual.unwrap_or(fitted);
        let plain = Self { short: self.short, ..Self::default() };
        let as_taken = along.cold_junction_c == along.cold_junction_taken_c;
        let junction_c = match self.short {
            None => along.junction_c,
            Some(Short::Upstream(share)) => along.head_c + share * (along.junction_c - along.head_c),
            Some(Short::AtAmplifier) => return Some(along.cold_junction_taken_c),
        };
        if *self == plain && as_taken && actual == set_to {
            return Some(junction_c);
        }
        let [hot, head, cold] = [junction_c, along.head_c, along.cold_junction_c].map(|t| emf_mv(actual, t));
        let loop_mv = self.junction_sign * (hot - head) + self.extension_sign * (head - cold);
        let total = Millivolts::new(loop_mv + emf_mv(set_to, along.cold_junction_taken_c))?;
        set_to.junction(total).ok().map(Celsius::c)
    }
}

/// The emf of a temperature brought into the type's range: beyond it, the wire has molten.
fn emf_mv(of: Thermocouple, at_c: f64) -> f64 {
    let range = of.range();
    let held = Celsius::new(at_c).unwrap_or(*range.end()).hotter(*range.start()).colder(*range.end());
    of.emf(held).map_or(0.0, Millivolts::mv)
}
