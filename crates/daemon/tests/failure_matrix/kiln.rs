//! A kiln under fire with its daemon and its warden, watched from its pins alone.

use std::cell::{Cell, RefCell};
use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use hal::Level;
use hal::pins::{Pin, Pins as _, SimulatedPins};
use nix::sys::signal::{Signal, kill};
use nix::unistd::Pid;
use serde_json::Value;

use crate::common::Daemon;
use crate::held::Held;

/// How long anything may take on a busy machine before a test gives up.
pub(crate) const PATIENCE: Duration = Duration::from_mins(1);
/// Between two looks at the pins.
const LOOK: Duration = Duration::from_millis(1);

/// The warden's process. A stopped one would outlast the test, so it is ended with this value.
struct WardenPid(Pid);

/// A kiln that heats, at real speed: a step a second, as a real one.
pub(crate) struct Kiln {
    /// Let go before the daemon is waited for: its end is not told while a thread of it is held.
    held: Cell<Option<Held>>,
    data: tempfile::TempDir,
    pub(crate) daemon: Daemon,
    warden: WardenPid,
    pins: RefCell<SimulatedPins>,
}

impl Kiln {
    /// Starts one, lit flat out, and waits until contactor and bank are closed.
    pub(crate) fn heating() -> Self {
        let data = tempfile::tempdir().expect("a folder");
        let schedule = data.path().join("flat-out.toml");
        let text = "title = \"Flat out\"\nscale = \"C\"\n[[segment]]\nrate = \"flat out\"\nto = 900\n";
        fs::write(&schedule, text).expect("written");
        let more = ["--speed", "1", "--alight", schedule.to_str().expect("a path")];
        let kiln = Self::started(Daemon::start_with(data.path(), &more), data);
        kiln.wait_until("it heats", Self::heats);
        kiln
    }

    /// Starts a daemon on the same kiln once more, after the one before is gone.
    pub(crate) fn started_anew(self) -> Self {
        let Self { data, daemon, .. } = self;
        daemon.kill();
        Self::started(Daemon::start(data.path(), "1"), data)
    }

    fn started(daemon: Daemon, data: tempfile::TempDir) -> Self {
        let warden = WardenPid(child_of(daemon.id()));
        let pins = RefCell::new(SimulatedPins::open(&data.path().join("pins")).expect("pins"));
        Self { held: Cell::new(None), data, daemon, warden, pins }
    }

    pub(crate) fn data(&self) -> PathBuf {
        self.data.path().to_owned()
    }

    pub(crate) fn pins_path(&self) -> PathBuf {
        self.data.path().join("pins")
    }

    /// Whether current flows: contactor and a bank closed.
    pub(crate) fn heats(&self) -> bool {
        let on: Vec<Pin> = self.pins.borrow_mut().not_off();
        on.first() == Some(&Pin::Contactor) && on.len() > 1
    }

    pub(crate) fn contactor(&self) -> Level {
        self.pins.borrow_mut().level(Pin::Contactor).expect("readable")
    }

    pub(crate) fn all_is_off(&self) -> bool {
        self.pins.borrow_mut().not_off().is_empty()
    }

    pub(crate) fn wait_until(&self, wanted: &str, holds: impl Fn(&Self) -> bool) {
        let late = Instant::now() + PATIENCE;
        while !holds(self) {
            assert!(Instant::now() < late, "never: {wanted}");
            std::thread::sleep(LOOK);
        }
    }

    /// Watches for a while that something holds all the time.
    pub(crate) fn holds_for(&self, span: Duration, what: &str, holds: impl Fn(&Self) -> bool) {
        let end = Instant::now() + span;
        while Instant::now() < end {
            assert!(holds(self), "not all the time: {what}");
            std::thread::sleep(LOOK);
        }
    }

    /// Edges of the heartbeat's pin in a while, as an outside relay sees them.
    pub(crate) fn edges_within(&self, span: Duration) -> u32 {
        let level = || self.pins.borrow_mut().level(Pin::Heartbeat).expect("readable");
        let (end, mut edges, mut before) = (Instant::now() + span, 0, level());
        while Instant::now() < end {
            let now = level();
            edges += u32::from(now != before);
            before = now;
            std::thread::sleep(LOOK);
        }
        edges
    }

    pub(crate) fn signal_daemon(&self, signal: Signal) {
        kill(self.daemon_pid(), signal).expect("signalled");
    }

    pub(crate) fn signal_warden(&self, signal: Signal) {
        kill(self.warden.0, signal).expect("signalled");
    }

    /// Holds the control thread alone, as a debugger does; page and keeper live on. To be
    /// called by the thread that will drop this kiln.
    pub(crate) fn hold_control_thread(&self) {
        self.held.set(Some(Held::thread(self.daemon.id(), "control")));
    }

    pub(crate) fn daemon_pid(&self) -> Pid {
        Pid::from_raw(i32::try_from(self.daemon.id()).expect("a process"))
    }

    /// Whether the warden's process is there, other than as a remnant nobody has asked about yet.
    pub(crate) fn warden_lives(&self) -> bool {
        self.warden.lives()
    }

    /// The names of what needs attention.
    pub(crate) fn attention(&self) -> Vec<String> {
        let now = self.daemon.now();
        let names = now["attention"].as_array().expect("a list").iter();
        names.filter_map(|attention| attention["name"].as_str().map(str::to_owned)).collect()
    }

    pub(crate) fn now(&self) -> Value {
        self.daemon.now()
    }
}

impl WardenPid {
    fn lives(&self) -> bool {
        fs::read_to_string(format!("/proc/{}/stat", self.0))
            .is_ok_and(|stat| !stat.contains(") Z ") && !stat.contains(") X "))
    }
}

impl Drop for WardenPid {
    fn drop(&mut self) {
        if self.lives() {
            let _gone = kill(self.0, Signal::SIGKILL);
        }
    }
}

/// The one process whose parent is this one.
fn child_of(parent: u32) -> Pid {
    let processes = fs::read_dir("/proc").expect("processes");
    processes
        .filter_map(|entry| entry.ok()?.file_name().to_str()?.parse::<i32>().ok())
        .find(|process| {
            fs::read_to_string(format!("/proc/{process}/stat")).is_ok_and(|stat| {
                let after_name = stat.rsplit(") ").next().unwrap_or_default();
                after_name.split(' ').nth(1) == Some(&parent.to_string())
            })
        })
        .map(Pid::from_raw)
        .expect("the daemon has a warden")
}
