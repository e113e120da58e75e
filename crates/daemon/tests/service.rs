//! The daemon as a service: what it tells its manager, and what starves the manager's watchdog.

mod common;
#[path = "common/held.rs"]
mod held;

use std::os::unix::net::UnixDatagram;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use common::{Daemon, saggar};
use held::Held;

/// How long anything may take on a busy machine before a test gives up.
const PATIENCE: Duration = Duration::from_mins(1);
const FED: &str = "WATCHDOG=1";

/// A service manager that only listens. The protocol is that of `sd_notify(3)`.
struct Manager {
    socket: UnixDatagram,
    path: PathBuf,
}

impl Manager {
    fn new(folder: &Path) -> Self {
        let path = folder.join("notify");
        Self { socket: UnixDatagram::bind(&path).expect("bound"), path }
    }

    /// Starts a daemon as its service, on a kiln in real time.
    fn start(&self, data: &Path) -> Daemon {
        let mut command = saggar();
        command.env("NOTIFY_SOCKET", &self.path).env("WATCHDOG_USEC", "10000000");
        Daemon::start_as(command, data, &["--speed", "1"])
    }

    /// What it hears next, within a time.
    fn hears(&self, within: Duration) -> Option<String> {
        self.socket.set_read_timeout(Some(within)).expect("a timeout");
        let mut room = [0; 2048];
        let count = self.socket.recv(&mut room).ok()?;
        Some(String::from_utf8_lossy(&room[..count]).into_owned())
    }

    /// Listens until it hears words that begin so.
    fn awaits(&self, begins: &str) -> String {
        let late = Instant::now() + PATIENCE;
        while Instant::now() < late {
            if let Some(heard) = self.hears(PATIENCE).filter(|heard| heard.starts_with(begins)) {
                return heard;
            }
        }
        panic!("never heard: {begins}");
    }

    /// How often the watchdog is fed in a while.
    fn feeds_within(&self, span: Duration) -> u32 {
        let end = Instant::now() + span;
        let mut feeds = 0;
        while let Some(left) = end.checked_duration_since(Instant::now()).filter(|left| !left.is_zero()) {
            feeds += u32::from(self.hears(left).as_deref() == Some(FED));
        }
        feeds
    }
}

#[test]
fn a_service_manager_hears_when_it_is_ready_what_the_kiln_does_and_when_it_ends() {
    let data = tempfile::tempdir().expect("a folder");
    let manager = Manager::new(data.path());
    let daemon = manager.start(&data.path().join("kiln"));
    manager.awaits("READY=1");
    assert_eq!(manager.awaits("STATUS="), "STATUS=The kiln rests at 20 °C.");
    assert!(daemon.terminate());
    manager.awaits("STOPPING=1");
    assert_eq!(manager.hears(Duration::from_millis(1)), None, "the end is the last it hears of");
}

#[test]
fn sr_34_a_loop_that_runs_feeds_the_watchdog_with_every_step() {
    let data = tempfile::tempdir().expect("a folder");
    let manager = Manager::new(data.path());
    let _daemon = manager.start(&data.path().join("kiln"));
    manager.awaits("READY=1");
    let feeds = manager.feeds_within(Duration::from_secs(6));
    assert!((5..=7).contains(&feeds), "{feeds} in 6 s");
}

#[test]
fn sr_34_a_control_thread_that_hangs_starves_the_watchdog_though_the_page_answers() {
    let data = tempfile::tempdir().expect("a folder");
    let manager = Manager::new(data.path());
    let daemon = manager.start(&data.path().join("kiln"));
    manager.awaits(FED);
    let held = Held::thread(daemon.id(), "control");
    // What was on its way when it was held; then nothing.
    manager.feeds_within(Duration::from_millis(200));
    assert_eq!(manager.feeds_within(Duration::from_secs(4)), 0);
    assert_eq!(daemon.now()["phase"], "resting", "the page shows the last step it was given");
    drop(held);
    manager.awaits(FED);
}

#[test]
fn sr_34_a_keeper_that_hangs_does_not_starve_it() {
    let data = tempfile::tempdir().expect("a folder");
    let manager = Manager::new(data.path());
    let daemon = manager.start(&data.path().join("kiln"));
    manager.awaits("READY=1");
    let _held = Held::thread(daemon.id(), "keeper");
    let feeds = manager.feeds_within(Duration::from_secs(4));
    assert!((3..=5).contains(&feeds), "{feeds} in 4 s");
}
