//! The real program, started and watched from outside.
#![allow(dead_code, reason = "each test file uses the part it needs")]

use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// How long anything may take on a busy machine before a test gives up.
const PATIENCE: Duration = Duration::from_mins(1);

pub(crate) const CHECKS: [&str; 5] =
    ["cones-placed", "load-clear", "lid-shut", "nothing-burns", "within-call"];

/// The program, ready for arguments.
pub(crate) fn saggar() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_saggar"));
    command.env("TZ", "UTC").env_remove("JOURNAL_STREAM");
    command
}

/// Runs it to its end.
pub(crate) fn run(arguments: &[&str]) -> Output {
    saggar().args(arguments).stdin(Stdio::null()).output().expect("the program runs")
}

/// A file of the project's `config` folder.
pub(crate) fn config(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config").join(name)
}

/// A running daemon on a simulated kiln.
pub(crate) struct Daemon {
    child: Child,
    pub(crate) address: String,
}

/// An answer.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: Value,
}

impl Daemon {
    /// Starts one on a data folder and waits for its page.
    pub(crate) fn start(data: &Path, speed: &str) -> Self {
        Self::start_with(data, &["--speed", speed])
    }

    pub(crate) fn start_with(data: &Path, more: &[&str]) -> Self {
        Self::start_as(saggar(), data, more)
    }

    /// Starts one that may have so many files open at a time, connections among them.
    pub(crate) fn start_with_few_files(data: &Path, files: u32, more: &[&str]) -> Self {
        let mut shell = Command::new("sh");
        shell.env("TZ", "UTC").env_remove("JOURNAL_STREAM");
        shell.args(["-c", &format!("ulimit -n {files}; exec \"$0\" \"$@\""), env!("CARGO_BIN_EXE_saggar")]);
        Self::start_as(shell, data, more)
    }

    /// Starts one whose files can be kept from growing while it runs ([`Daemon::disk`]): the signal that
    /// would end it then is ignored, so that a write fails, as on a disk that takes no more.
    pub(crate) fn start_on_a_small_disk(data: &Path, more: &[&str]) -> Self {
        let mut shell = Command::new("sh");
        shell.env("TZ", "UTC").env_remove("JOURNAL_STREAM");
        shell.args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_saggar")]);
        Self::start_as(shell, data, more)
    }

    /// From now on no file of it grows beyond so many bytes, or `unlimited`.
    pub(crate) fn disk(&self, bytes: &str) {
        let (id, most) = (self.child.id().to_string(), format!("--fsize={bytes}:"));
        let limited = Command::new("prlimit").args(["--pid", &id, &most]).status().expect("prlimit runs");
        assert!(limited.success());
    }

    /// Starts one by a command that was made ready for it.
    pub(crate) fn start_as(mut command: Command, data: &Path, more: &[&str]) -> Self {
        let mut child = command
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(data)
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the daemon starts");
        let stdout = BufReader::new(child.stdout.take().expect("its output"));
        let page = stdout.lines().map_while(Result::ok).find_map(|line| {
            line.strip_prefix("Page at http://").map(|address| address.trim_end_matches('/').to_owned())
        });
        Self { child, address: page.expect("the daemon names its page") }
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], "")
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Answer {
        self.send("POST", path, &[("Content-Type", "application/json")], &body.to_string())
    }

    pub(crate) fn order(&self, order: &Value) -> Answer {
        self.post("/api/orders", &json!({ "order": order }))
    }

    pub(crate) fn light_up(&self, schedule: &str) -> Answer {
        self.post("/api/light-up", &json!({ "schedule": schedule, "confirmed": CHECKS }))
    }

    pub(crate) fn now(&self) -> Value {
        self.get("/api/now").body
    }

    /// A request with its headers as given; `Host` is the daemon's own unless given.
    pub(crate) fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut stream = TcpStream::connect(&self.address).expect("the daemon listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        let mut request = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        if !headers.iter().any(|(name, _)| *name == "Host") {
            write!(request, "Host: {}\r\n", self.address).expect("room");
        }
        for (name, value) in headers {
            write!(request, "{name}: {value}\r\n").expect("room");
        }
        write!(request, "Content-Length: {}\r\n\r\n{body}", body.len()).expect("room");
        stream.write_all(request.as_bytes()).expect("sent");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("answered");
        let (head, body) = answer.split_once("\r\n\r\n").expect("a head and a body");
        let status = head.split(' ').nth(1).and_then(|code| code.parse().ok()).expect("a status");
        let body = serde_json::from_str(body).unwrap_or(Value::String(body.to_owned()));
        Answer { status, head: head.to_lowercase(), body }
    }

    /// Waits until the kiln is as wanted.
    pub(crate) fn wait_until(&self, wanted: &str, holds: impl Fn(&Value) -> bool) -> Value {
        let late = Instant::now() + PATIENCE;
        loop {
            let now = self.now();
            if holds(&now) {
                return now;
            }
            assert!(Instant::now() < late, "never {wanted}: {now}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Its process.
    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    /// As the kernel kills: nothing of the program runs afterwards.
    pub(crate) fn kill(mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("gone");
    }

    /// As a service manager ends it; gives whether it ended well.
    pub(crate) fn terminate(self) -> bool {
        self.end_by("-TERM")
    }

    /// By a signal, such as `-HUP`.
    pub(crate) fn end_by(mut self, signal: &str) -> bool {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").args([signal, &id]).status().expect("kill runs").success());
        let late = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().expect("its state") {
                return status.success();
            }
            assert!(Instant::now() < late, "it does not end");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        let _gone = self.child.kill();
        let _gone = self.child.wait();
    }
}
