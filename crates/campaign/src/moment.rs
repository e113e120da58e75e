//! One step of a firing, as the checks and the teller see it: the controller's side and the truth.

use control::{Contact, Decision, Kiln, Order};
use pyrometry::amplifier::Report;

/// What went in, what came out, and how things really are.
#[derive(Clone, Copy)]
pub(crate) struct Moment<'a> {
    pub(crate) second: u64,
    pub(crate) kiln: &'a Kiln,
    pub(crate) reports: &'a [Report],
    pub(crate) lid: Contact,
    pub(crate) orders: &'a [Order],
    pub(crate) decision: &'a Decision,
    pub(crate) truth: Truth,
}

/// True temperatures before the step's decision took effect, each of the hottest zone.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Truth {
    pub(crate) junction_c: f64,
    pub(crate) ware_c: f64,
    pub(crate) box_c: f64,
    /// What the elements drew in the second before.
    pub(crate) drawn_w: f64,
}

impl Truth {
    /// The chamber as hot as its hottest but the elements.
    pub(crate) fn chamber_c(&self) -> f64 {
        self.junction_c.max(self.ware_c)
    }
}
