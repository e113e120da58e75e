//! The thread around the cycle: when to step, when to sample in between, and when to end.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};
use std::time::Instant;

use super::cycle::{Cycle, Step};
use super::guard::Guard;
use super::pace::{Pace, Rhythm, Turn};
use super::priority::ask_for_precedence;
use crate::service::Watchdog;

/// The running thread.
#[derive(Debug)]
pub struct ControlThread {
    thread: JoinHandle<()>,
    stop: Stop,
}

/// Asks the thread to end.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<AtomicBool>);

impl ControlThread {
    /// Starts it. When it ends, for whatever reason, everything is off. Each whole step, and nothing
    /// else, feeds the service manager's watchdog (SR-34).
    pub fn start<G: Guard + Send + 'static>(
        mut cycle: Cycle<G>,
        pace: Pace,
        mut watchdog: Watchdog,
    ) -> std::io::Result<Self> {
        let stop = Stop::default();
        let stopped = stop.clone();
        let thread = thread::Builder::new().name("control".to_owned()).spawn(move || {
            if let Pace::Real = pace {
                ask_for_precedence();
            }
            let mut rhythm = Rhythm::begin(pace, Instant::now());
            while !stopped.0.load(Ordering::Acquire) {
                let now = Instant::now();
                match rhythm.turn(now) {
                    Turn::Wait(wait) => thread::park_timeout(wait),
                    Turn::Sample => {
                        cycle.sample();
                        rhythm.sampled(now.elapsed());
                    }
                    Turn::Step => {
                        let due = rhythm.due();
                        cycle.note_lateness(rhythm.late_worst());
                        let step = cycle.step(rhythm.step(now));
                        rhythm.done(due, Instant::now());
                        if step == Step::Whole {
                            watchdog.feed(now);
                        }
                    }
                }
            }
        })?;
        Ok(Self { thread, stop })
    }

    /// Switches everything off and waits for the thread to end.
    pub fn end(self) {
        self.stop.0.store(true, Ordering::Release);
        self.thread.thread().unpark();
        if self.thread.join().is_err() {
            tracing::error!("the control thread had panicked");
        }
    }

    /// Whether it has ended by itself, which only a panic can bring about.
    #[must_use]
    pub fn has_died(&self) -> bool {
        self.thread.is_finished()
    }
}
