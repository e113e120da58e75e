//! The log: plain lines on standard error, as the service manager's journal likes them.

use std::io::{self, IsTerminal};

use tracing_subscriber::EnvFilter;

/// What is logged where nobody says otherwise by the variable `SAGGAR_LOG`.
const USUAL: &str = "info";

/// Starts the log.
pub fn start() {
    let filter = EnvFilter::try_from_env("SAGGAR_LOG").unwrap_or_else(|_| EnvFilter::new(USUAL));
    let lines = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr)
        .with_ansi(io::stderr().is_terminal())
        .with_target(false);
    // The journal notes the time of every line itself; it tells a service of it by this variable.
    if std::env::var_os("JOURNAL_STREAM").is_some() {
        lines.without_time().init();
    } else {
        lines.init();
    }
}
