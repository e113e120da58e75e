//! Thermocouple types and their reference functions.

/// A letter-designated thermocouple type (IEC 60584-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Thermocouple {
    /// Platinum-30 % rhodium / platinum-6 % rhodium.
    B,
    /// Nickel-chromium / copper-nickel.
    E,
    /// Iron / copper-nickel.
    J,
    /// Nickel-chromium / nickel-aluminium.
    K,
    /// Nickel-chromium-silicon / nickel-silicon.
    N,
    /// Platinum-13 % rhodium / platinum.
    R,
    /// Platinum-10 % rhodium / platinum.
    S,
    /// Copper / copper-nickel.
    T,
}
