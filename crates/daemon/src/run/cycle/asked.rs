//! What people asked since the last step.

use control::{ORDERS_MOST, Order, Outcome, Refusal};
use heapless::Vec;
use pyrometry::units::Millis;

use super::Cycle;
use crate::run::ask::{Answer, Ask, Lit};
use crate::run::guard::Guard;
use crate::run::unlit::Unlit;

/// Asks that are turned away by one shut-off: more than wait for a step, so whoever keeps asking
/// cannot keep the step.
const TURNED_AWAY_MOST: usize = 64;

pub(super) const SHUT_OFF: Unlit = Unlit::Because("Somebody has just shut off. Look again before lighting.");

/// What was asked, with the ways for the answers.
#[derive(Default)]
pub(super) struct Asked {
    /// In the order in which the controller is to take them.
    pub(super) orders: Vec<Order, ORDERS_MOST>,
    /// Whether the first of them is a shut-off, and how many presses it obeys; it is answered by
    /// the snapshot.
    pub(super) pressed: Option<u64>,
    answers: Vec<Answer<Outcome>, ORDERS_MOST>,
    /// Whoever cleared a latch that could not be read.
    cleared: Option<Answer<Outcome>>,
    lit: Option<(Lit, Answer<Lit>)>,
}

impl<G: Guard> Cycle<G> {
    /// Takes what was asked since the last step; lights what is to be lit. A shut-off comes before
    /// everything else.
    pub(super) fn asked(&mut self, at: Millis) -> Asked {
        let presses = self.parts.shut_off.presses();
        if presses > self.shut_off.presses {
            self.turn_away();
            let orders = [Order::ShutOff].into_iter().collect();
            return Asked { orders, pressed: Some(presses), ..Asked::default() };
        }
        if self.owes_shut_off {
            self.owes_shut_off = false;
            return Asked { orders: [Order::ShutOff].into_iter().collect(), ..Asked::default() };
        }
        let mut asked = Asked::default();
        while !asked.orders.is_full() && asked.lit.is_none() {
            match self.parts.asks.try_recv() {
                Ok(Ask::Order(Order::ClearTrip, answer)) if self.latch.unreadable.is_some() => {
                    tracing::warn!("a person cleared the latch that could not be read");
                    // The next `note_latch` writes it anew.
                    self.latch.unreadable = None;
                    asked.cleared = Some(answer);
                }
                // Undoing the shut-off would be a firing without a warden.
                Ok(Ask::Order(Order::CarryOn, answer)) if self.warden_is_lost() => {
                    let _gone = answer.send(Outcome::Refused(Refusal::NotInThisPhase));
                }
                Ok(Ask::Order(order, answer)) => {
                    let _fits = asked.orders.push(order);
                    let _fits = asked.answers.push(answer);
                }
                Ok(Ask::Silence(answer)) => {
                    let _gone = answer.send(self.signals.silence());
                }
                Ok(Ask::LightUp(lighting, answer)) => {
                    asked.lit = Some((self.light(*lighting, at), answer));
                }
                Err(_) => break,
            }
        }
        asked
    }

    /// Refuses what waits while somebody shuts off: what was asked before, a light-up or the undoing
    /// of an earlier shut-off, must not bring heat after it.
    fn turn_away(&mut self) {
        for ask in self.parts.asks.try_iter().take(TURNED_AWAY_MOST) {
            match ask {
                Ask::Order(_, answer) => {
                    let _gone = answer.send(Outcome::Refused(Refusal::NotInThisPhase));
                }
                Ask::LightUp(_, answer) => {
                    let _gone = answer.send(Err(SHUT_OFF));
                }
                Ask::Silence(answer) => {
                    let _gone = answer.send(self.signals.silence());
                }
            }
        }
    }
}

impl Asked {
    /// Whoever asked may be gone; what was done is in the record all the same.
    pub(super) fn answer(self, outcomes: &[Outcome]) {
        for (answer, outcome) in self.answers.into_iter().zip(outcomes) {
            let _gone = answer.send(*outcome);
        }
        if let Some(answer) = self.cleared {
            let _gone = answer.send(Outcome::Taken);
        }
        if let Some((lit, answer)) = self.lit {
            let _gone = answer.send(lit);
        }
    }
}
