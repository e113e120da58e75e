//! What people and wires do to a healthy firing: orders, a lid lifted for a moment, a lost sample.

use control::Order;
use kiln_sim::{Fault, Input, KilnSpec, ProbeFault, Timed};
use pyrometry::units::Millis;

use crate::chance::Chance;

/// Lost samples closer together than this are a fault of the bus, not chance.
const LOST_APART_S: u64 = 60;

/// However short the power was away, the kiln is only looked at for this long before it is carried on.
const LOOKED_AT_S: u64 = 15;

/// All of it, in order of time.
#[derive(Clone, Debug, Default)]
pub(crate) struct Doings {
    /// Second and order.
    pub(crate) orders: Vec<(u64, Order)>,
    /// Seconds in which the controller is not called.
    pub(crate) missed_steps: Vec<u64>,
    /// Lost samples.
    pub(crate) timed: Vec<Timed>,
    /// Second and length of a lifted lid: done only where the kiln is not too hot for it.
    pub(crate) lid_lifted: Vec<(u64, u64)>,
    /// From when on the power goes as soon as a firing runs that could be carried on, and for how long.
    pub(crate) power_lost: Option<(u64, u64)>,
}

impl Doings {
    /// Each kind of doing is in some firings and not in others, so that none hides behind another.
    pub(crate) fn draw(chance: &mut Chance, spec: &KilnSpec, told: Millis) -> Self {
        let lasting_s = told.ms() / 1000 + 1;
        let mut doings = Self::default();
        if chance.happens(0.3) {
            for _ in 0..chance.count(1, 3) {
                doings.order(chance, lasting_s);
            }
            doings.orders.sort_by_key(|(at_s, _)| *at_s);
        }
        if chance.happens(0.2) {
            doings.missed_steps = (0..chance.count(1, 8)).map(|_| chance.count(10, lasting_s)).collect();
            doings.missed_steps.sort_unstable();
            // Two in a row are a silence that opens the contactor (SR-30).
            doings.missed_steps.dedup_by(|later, earlier| *later <= *earlier + 1);
        }
        if chance.happens(0.3) {
            let mut onsets_s: Vec<u64> =
                (0..chance.count(1, 10)).map(|_| chance.count(10, lasting_s)).collect();
            onsets_s.sort_unstable();
            onsets_s.dedup_by(|later, earlier| *later < *earlier + LOST_APART_S);
            doings.timed =
                onsets_s.into_iter().map(|onset_s| lost_sample(onset_s, chance.count(1, 2))).collect();
        }
        if spec.lid_contact == Input::Fitted && chance.happens(0.2) {
            doings.lid_lifted.push((chance.count(10, lasting_s), chance.count(5, 90)));
        }
        if chance.happens(0.12) {
            doings.power_lost = Some((chance.count(30, lasting_s), chance.count(LOOKED_AT_S, 1200)));
        }
        doings
    }

    fn order(&mut self, chance: &mut Chance, lasting_s: u64) {
        let at_s = chance.count(60, lasting_s);
        match chance.count(0, 5) {
            0 => {
                self.orders.push((at_s, Order::Stay));
                self.orders.push((at_s + chance.count(60, 3600), Order::CarryOn));
            }
            1 => {
                self.orders.push((at_s, Order::ShutOff));
                self.orders.push((at_s + chance.count(1, 500), Order::CarryOn));
            }
            2 => {
                let minutes = u16::try_from(chance.count(5, 40)).unwrap_or(5);
                self.orders.push((at_s, Order::AddMinutes(minutes)));
            }
            3 => self.orders.push((at_s, Order::NextSegment)),
            4 => self.orders.push((at_s, Order::EndClimb)),
            _ => {
                self.orders.push((at_s, Order::Stay));
                let minutes = u16::try_from(chance.count(5, 40)).unwrap_or(5);
                self.orders.push((at_s + 30, Order::AddMinutes(minutes)));
                self.orders.push((at_s + chance.count(60, 3600), Order::CarryOn));
            }
        }
    }
}

/// One or two samples without an answer; a third in a row would be a fault.
fn lost_sample(onset_s: u64, lasting_s: u64) -> Timed {
    Timed {
        onset: Millis::from_seconds(onset_s),
        until: Some(Millis::from_seconds(onset_s + lasting_s)),
        fault: Fault::Probe(0, ProbeFault::ChipDead),
    }
}
