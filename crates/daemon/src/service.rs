//! The service manager's door: readiness, a sentence of status, and the watchdog's food (SR-34).
//!
//! The protocol is that of `sd_notify(3)`: words in a datagram to the socket that the environment's
//! `NOTIFY_SOCKET` names, a path or, after an `@`, an abstract name. Nothing here waits for the
//! manager, and a manager that does not listen changes nothing.

use std::ffi::{OsStr, OsString};
use std::io;
use std::os::linux::net::SocketAddrExt;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::net::{SocketAddr, UnixDatagram};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// The watchdog is fed no more often than this: a simulated kiln's steps may be a thousand times as
/// many as a real one's. Less than a real step, so that each of those feeds it.
const FEED_LEAST: Duration = Duration::from_millis(500);
const SOCKET: &str = "NOTIFY_SOCKET";
const WATCHDOG: &str = "WATCHDOG_USEC";
const WATCHED: &str = "WATCHDOG_PID";

/// The service manager, where one listens.
#[derive(Clone, Debug, Default)]
pub struct ServiceManager {
    socket: Option<Arc<UnixDatagram>>,
    /// Whether it watches this process.
    watches: bool,
}

/// What the manager is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum News<'a> {
    /// Everything runs; the watchdog is awake from now on.
    Ready,
    /// What the kiln is doing, in a sentence.
    Status(&'a str),
    /// The end, in order, has begun.
    Ending,
}

impl ServiceManager {
    /// The one whose environment this is. What cannot be reached is told to the log and done without.
    #[must_use]
    pub fn found() -> Self {
        let Some(name) = std::env::var_os(SOCKET) else { return Self::default() };
        Self::at(&name, watches(std::env::var_os(WATCHDOG), std::env::var_os(WATCHED), std::process::id()))
    }

    fn at(name: &OsStr, watches: bool) -> Self {
        match connect(name) {
            Ok(socket) => Self { socket: Some(Arc::new(socket)), watches },
            Err(why) => {
                tracing::warn!(%why, "the service manager cannot be told anything");
                Self::default()
            }
        }
    }

    /// Tells it something.
    pub fn tell(&self, news: News<'_>) {
        match news {
            News::Ready => self.send("READY=1"),
            // A line feed would begin another word of the protocol.
            News::Status(sentence) => self.send(&format!("STATUS={}", sentence.replace('\n', " "))),
            News::Ending => self.send("STOPPING=1"),
        }
    }

    /// What feeds its watchdog, for the control thread alone.
    #[must_use]
    pub fn watchdog(&self) -> Watchdog {
        let manager = if self.watches { self.clone() } else { Self::default() };
        Watchdog { manager, fed: None }
    }

    fn send(&self, words: &str) {
        if let Some(socket) = &self.socket {
            // A manager that does not read, or is gone, is no reason to do anything else.
            let _unheard = socket.send(words.as_bytes());
        }
    }
}

/// The service manager's watchdog: it ends a program that does not feed it (SR-34).
#[derive(Debug, Default)]
pub struct Watchdog {
    manager: ServiceManager,
    fed: Option<Instant>,
}

impl Watchdog {
    /// A whole step was done. Nothing else may call this: whatever else still runs in a program whose
    /// control thread hangs must not keep it alive.
    pub fn feed(&mut self, now: Instant) {
        if self.fed.is_none_or(|fed| now.saturating_duration_since(fed) >= FEED_LEAST) {
            self.fed = Some(now);
            self.manager.send("WATCHDOG=1");
        }
    }
}

/// `WATCHDOG_USEC` asks for food; `WATCHDOG_PID`, where set, says whose.
fn watches(usec: Option<OsString>, pid: Option<OsString>, own: u32) -> bool {
    let number = |text: OsString| text.to_str()?.parse::<u64>().ok();
    let asked = usec.and_then(number).is_some_and(|usec| usec > 0);
    asked && pid.is_none_or(|pid| number(pid) == Some(u64::from(own)))
}

fn connect(name: &OsStr) -> io::Result<UnixDatagram> {
    let address = match name.as_bytes().strip_prefix(b"@") {
        Some(name) => SocketAddr::from_abstract_name(name)?,
        None => SocketAddr::from_pathname(name)?,
    };
    let socket = UnixDatagram::unbound()?;
    socket.connect_addr(&address)?;
    socket.set_nonblocking(true)?;
    Ok(socket)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(manager: &UnixDatagram) -> Vec<String> {
        manager.set_nonblocking(true).expect("a socket");
        let mut words = Vec::new();
        let mut room = [0; 256];
        while let Ok(count) = manager.recv(&mut room) {
            words.push(String::from_utf8_lossy(&room[..count]).into_owned());
        }
        words
    }

    /// The words are those of the manual page `sd_notify(3)` of systemd 252.
    #[test]
    fn the_manager_hears_the_words_of_its_manual_on_a_path_and_on_an_abstract_name() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("notify");
        let hidden = format!("saggar-test-{}", std::process::id());
        let abstract_name = SocketAddr::from_abstract_name(&hidden).expect("a name");
        for (manager, name) in [
            (UnixDatagram::bind(&path).expect("bound"), path.clone().into_os_string()),
            (UnixDatagram::bind_addr(&abstract_name).expect("bound"), format!("@{hidden}").into()),
        ] {
            let told = ServiceManager::at(&name, true);
            told.tell(News::Ready);
            told.tell(News::Status("The kiln rests.\nWATCHDOG=1"));
            told.watchdog().feed(Instant::now());
            told.tell(News::Ending);
            assert_eq!(
                heard(&manager),
                ["READY=1", "STATUS=The kiln rests. WATCHDOG=1", "WATCHDOG=1", "STOPPING=1"]
            );
        }
    }

    #[test]
    fn sr_34_a_real_kilns_every_step_feeds_and_a_hurrying_one_feeds_twice_a_second_at_most() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("notify");
        let manager = UnixDatagram::bind(&path).expect("bound");
        let feeds_in_ten_s = |step: Duration| {
            let mut watchdog = ServiceManager::at(path.as_os_str(), true).watchdog();
            let began = Instant::now();
            let steps = u32::try_from(Duration::from_secs(10).as_millis() / step.as_millis()).expect("few");
            let fed = |number| {
                watchdog.feed(began + step * number);
                heard(&manager).len()
            };
            (0..steps).map(fed).sum::<usize>()
        };
        assert_eq!(feeds_in_ten_s(Duration::from_secs(1)), 10);
        assert_eq!(feeds_in_ten_s(Duration::from_millis(900)), 11);
        assert_eq!(feeds_in_ten_s(Duration::from_millis(10)), 20);
    }

    #[test]
    fn a_watchdog_that_is_not_asked_for_or_is_another_process_s_is_not_fed() {
        let text = |text: &str| Some(OsString::from(text));
        assert!(watches(text("10000000"), None, 7));
        assert!(watches(text("10000000"), text("7"), 7));
        for (usec, pid) in [(None, None), (text("0"), None), (text("soon"), None), (text("1"), text("8"))] {
            assert!(!watches(usec.clone(), pid.clone(), 7), "{usec:?} {pid:?}");
        }
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("notify");
        let manager = UnixDatagram::bind(&path).expect("bound");
        ServiceManager::at(path.as_os_str(), false).watchdog().feed(Instant::now());
        assert!(heard(&manager).is_empty());
    }

    #[test]
    fn a_manager_that_reads_nothing_or_is_not_there_holds_nobody_up() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("notify");
        ServiceManager::at(path.as_os_str(), true).tell(News::Ready);
        let _deaf = UnixDatagram::bind(&path).expect("bound");
        let told = ServiceManager::at(path.as_os_str(), true);
        for _ in 0..10_000 {
            told.tell(News::Status("The kiln rests at 20 °C."));
        }
    }
}
