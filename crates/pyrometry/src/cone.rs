//! Pyrometric cones: their numbers and order.

/// A cone number, 022 (coolest) to 14 (hottest), half cones included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cone(u8);
