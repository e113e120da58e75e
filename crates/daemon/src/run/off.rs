//! The board as the control thread holds it, and the ways in which everything goes off.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use hal::Board;
use pyrometry::units::Millis;

/// A board and, for a simulated one, its time.
pub trait TimedBoard: Board + Send {
    /// Lets time pass, once before each step's reading. A real kiln does this by itself, and listens.
    fn pass(&mut self, span: Millis);
}

/// A board that can be switched off from a panic. Nobody ever waits for the lock: besides the
/// control thread only the panic hook asks for it, and gives up when it is taken.
#[derive(Clone)]
pub struct SharedBoard(Arc<Mutex<Box<dyn TimedBoard>>>);

impl std::fmt::Debug for SharedBoard {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("SharedBoard")
    }
}

impl SharedBoard {
    /// Takes a board, and switches everything off.
    #[must_use]
    pub fn new(mut board: Box<dyn TimedBoard>) -> Self {
        board.all_off();
        Self(Arc::new(Mutex::new(board)))
    }

    /// The board, for the time of a read or a write.
    pub fn hold(&self) -> MutexGuard<'_, Box<dyn TimedBoard>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Makes any panic of any thread switch the board off before the program ends.
///
/// A panic inside the board itself finds the lock taken; then only the warden helps.
pub fn switch_off_on_panic(board: &SharedBoard) {
    let board = board.clone();
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        match board.0.try_lock() {
            Ok(mut board) => board.all_off(),
            Err(std::sync::TryLockError::Poisoned(poisoned)) => poisoned.into_inner().all_off(),
            Err(std::sync::TryLockError::WouldBlock) => {}
        }
        usual(panic);
    }));
}
