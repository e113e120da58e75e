//! The simulated kiln from outside: whole firings, and every fault.

mod common;
mod firing;
mod power_faults;
mod probe_faults;
