//! The forecast of what is left of a schedule, made anew after an order that changed it (SR-25).
//!
//! It is made beside the control thread, which never waits for it; until it comes, only the kiln
//! file's longest firing bounds the firing.

use std::sync::mpsc::{Receiver, sync_channel};

use control::{Decision, Expected, Kiln, Order, Outcome, Programme};

/// A forecast that is being made, if one is.
#[derive(Debug, Default)]
pub(super) struct Anew(Option<Receiver<Expected>>);

impl Anew {
    /// Has one made when an order of this step asks for it; a later one takes an earlier one's place.
    pub(super) fn ask(&mut self, kiln: &Kiln, programme: &Programme, orders: &[Order], decision: &Decision) {
        if !is_asked_for(orders, decision) {
            return;
        }
        let (kiln, programme, decision) = (kiln.clone(), programme.clone(), decision.clone());
        let (made, comes) = sync_channel(1);
        let make = move || {
            if let Some(left) = insight::longest_left(&kiln, &programme, &decision) {
                // Whoever asked may have asked again since.
                let _unwanted = made.send(left);
            }
        };
        match std::thread::Builder::new().name("forecast".to_owned()).spawn(make) {
            Ok(_runs_by_itself) => self.0 = Some(comes),
            Err(why) => tracing::warn!(%why, "no new forecast: the longest firing alone bounds this one"),
        }
    }

    /// The forecast, in the step in which it has come.
    pub(super) fn take(&mut self) -> Option<Expected> {
        let left = self.0.as_ref()?.try_recv().ok()?;
        self.0 = None;
        Some(left)
    }
}

/// Whether an order of this step changed what is left of the schedule.
pub(crate) fn is_asked_for(orders: &[Order], decision: &Decision) -> bool {
    let changed = |(order, outcome): (&Order, &Outcome)| {
        matches!(order, Order::NextSegment | Order::EndClimb | Order::CarryOn) && *outcome == Outcome::Taken
    };
    decision.segment.is_some() && orders.iter().zip(&decision.outcomes).any(changed)
}
