//! What people ask of the control thread, and how the answer goes back.

use control::{Order, Outcome, Setup};
use tokio::sync::oneshot;
use trace::TraceFile;

use super::cycle::Silenced;
use super::firing::FiringSheet;
use super::presence::PresenceAsked;
use super::unlit::Unlit;

/// How an answer goes back. Whoever asked may have gone away meanwhile.
pub type Answer<T> = oneshot::Sender<T>;

/// Whether a firing was lit, or why not.
pub type Lit = Result<(), Unlit>;

/// Something asked.
#[derive(Debug)]
pub enum Ask {
    /// An order to the firing under way.
    Order(Order, Answer<Outcome>),
    /// A light-up, with everything slow about it already done.
    LightUp(Box<Lighting>, Answer<Lit>),
    /// That the buzzer be silent. No order to the firing: the trip stands.
    Silence(Answer<Silenced>),
}

/// A firing ready to begin.
#[derive(Debug)]
pub struct Lighting {
    /// What people read about it.
    pub sheet: FiringSheet,
    /// What the controller is made from, the latch aside.
    pub setup: Setup,
    /// Its trace, with the head written.
    pub trace: TraceFile,
    /// Whether somebody has to show to be at the kiln.
    pub presence: PresenceAsked,
    /// Presses of the shut-off that whoever lights it knew of: one that came since is obeyed.
    pub presses_known: u64,
}
