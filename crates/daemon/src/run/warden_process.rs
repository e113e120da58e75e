//! The warden in a process of its own, as the control thread holds it.
//!
//! Nothing here waits for the warden: beats go out and answers come in without blocking. What the
//! contactor is, is known from the last answer; an answer that stays away means that nobody is there
//! to open it, and the heat goes.

use std::io::{ErrorKind, Read, Write};
use std::os::fd::OwnedFd;
use std::os::unix::net::UnixStream;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use hal::Level;
use hal::pins::{self, Pin, Pins};
use pyrometry::units::Millis;
use warden::{Beat, Frame, LimitNow, Permission, WORD_BYTES, Word};

use super::guard::{Guard, Lost, Standing};

/// A beat that has gone unanswered for longer than this has no warden behind it. Less than a step:
/// the step after the unanswered one notices, at the latest 2 s after the warden stopped (SR-31
/// allows 3).
const ANSWER_LONGEST: Duration = Duration::from_millis(800);
/// A simulated kiln that runs faster than real time sends no more than 100 beats a real second:
/// the warden lives in real time, and its line holds some 200 messages.
const BEAT_LEAST: Duration = Duration::from_millis(10);
/// How long a simulated kiln waits for its warden. Engineering judgement: a busy computer's scheduler.
const SIMULATED_WAITS: Duration = Duration::from_millis(200);
/// How long a starting warden may take: it waits up to 3 s for the contactor of one that is going.
const START_LONGEST: Duration = Duration::from_secs(10);
/// How long one may take to go when its line is closed, before it is ended.
const GOES_WITHIN: Duration = Duration::from_millis(500);

/// Why there is no warden.
#[derive(Debug, thiserror::Error)]
pub enum WardenError {
    /// Another one lives.
    #[error("another warden holds this kiln's contactor: end the saggar it belongs to")]
    Taken,
    /// It ended before it stood guard.
    #[error("the warden did not start ({0}): without it nothing is fired")]
    NotStarted(ExitStatus),
    /// It says something else than this version does.
    #[error("the warden does not speak as this version does: without it nothing is fired")]
    Garbled,
    /// Processes, sockets, files.
    #[error("the warden cannot be started: {0}")]
    System(#[from] std::io::Error),
}

/// A running warden.
pub struct WardenProcess {
    child: Child,
    line: UnixStream,
    /// To open the contactor when its owner is lost; never to close it.
    pins: Box<dyn Pins>,
    sequence: u32,
    sent: Option<(Instant, Permission)>,
    /// Since when nothing was answered, while something is to be.
    unanswered: Option<Instant>,
    word: Word,
    inbox: [u8; WORD_BYTES],
    filled: usize,
    lost: Option<Lost>,
    /// How long a step may wait for the answer to a change of permission; a real kiln's never does.
    waits: Duration,
}

impl std::fmt::Debug for WardenProcess {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("WardenProcess")
            .field("word", &self.word)
            .field("lost", &self.lost)
            .finish_non_exhaustive()
    }
}

impl WardenProcess {
    /// Starts a warden over the pins that a file names, with the limit probe that another one names, and
    /// waits until it stands guard with the contactor open.
    ///
    /// In a process group of its own: a Ctrl-C is for the daemon, which takes its leave in order.
    pub fn start(program: &Path, wiring: &Path, limit: Option<&Path>) -> Result<Self, WardenError> {
        let (mut line, theirs) = UnixStream::pair()?;
        let mut child = Command::new(program)
            .arg0(warden_process::NAME)
            .arg(warden_process::GUARD)
            .arg(wiring)
            .args(limit.into_iter().flat_map(|limit| [Path::new(warden_process::LIMIT), limit]))
            .stdin(Stdio::from(OwnedFd::from(theirs)))
            .stdout(Stdio::null())
            .process_group(0)
            .spawn()?;
        let mut first = [0; WORD_BYTES];
        line.set_read_timeout(Some(START_LONGEST))?;
        if let Err(why) = line.read_exact(&mut first) {
            // Whatever it is doing, it does not stand guard.
            child.kill()?;
            let status = child.wait()?;
            return Err(match (status.code(), why.kind()) {
                (Some(code), _) if code == i32::from(warden_process::CONTACTOR_TAKEN) => WardenError::Taken,
                (_, ErrorKind::UnexpectedEof) => WardenError::NotStarted(status),
                (_, _) => WardenError::System(why),
            });
        }
        let word = Word::from_bytes(&first).map_err(|_| WardenError::Garbled)?;
        line.set_nonblocking(true)?;
        Ok(Self {
            child,
            line,
            pins: pins::open(wiring)?,
            sequence: 0,
            sent: None,
            unanswered: None,
            word,
            inbox: [0; WORD_BYTES],
            filled: 0,
            lost: None,
            waits: Duration::ZERO,
        })
    }

    /// For a simulated kiln that runs faster than real time and senses its contactor: the warden
    /// lives in real time, so the kiln's time stands still until it has answered.
    #[must_use]
    pub fn waited_for(mut self) -> Self {
        self.waits = SIMULATED_WAITS;
        self
    }

    /// Reads answers until the latest beat's has come, or for as long as a step may wait.
    fn await_answer(&mut self, now: Instant) {
        while self.lost.is_none() && self.word.heard != self.sequence && now.elapsed() < self.waits {
            std::thread::sleep(Duration::from_micros(200));
            self.read_answers();
        }
    }

    /// The contactor as the warden found it: on, where its pin had outlived an owner (SR-32).
    #[must_use]
    pub fn found(&self) -> Level {
        self.word.found
    }

    /// Its process.
    #[must_use]
    pub fn process(&self) -> u32 {
        self.child.id()
    }

    fn read_answers(&mut self) {
        while self.lost.is_none() {
            match self.line.read(&mut self.inbox[self.filled..]) {
                Ok(0) => self.lose(Lost::Ended),
                Ok(count) => {
                    self.filled += count;
                    if self.filled == WORD_BYTES {
                        self.filled = 0;
                        self.take_answer();
                    }
                }
                Err(why) if why.kind() == ErrorKind::WouldBlock => return,
                Err(why) if why.kind() == ErrorKind::Interrupted => {}
                Err(_) => self.lose(Lost::Ended),
            }
        }
    }

    fn take_answer(&mut self) {
        match Word::from_bytes(&self.inbox) {
            Ok(word) => {
                if word.distrust != self.word.distrust {
                    tracing::info!(distrust = ?word.distrust, contactor = ?word.contactor, "the warden");
                }
                self.word = word;
                self.unanswered = None;
            }
            Err(_) => self.lose(Lost::Garbled),
        }
    }

    fn send(&mut self, frame: Frame, now: Instant) {
        if self.lost.is_some() {
            return;
        }
        match self.line.write(&frame.to_bytes()) {
            Ok(count) if count == warden::FRAME_BYTES => {
                self.unanswered.get_or_insert(now);
            }
            // The line is full, or took half: the warden has not read for as long as it holds.
            Ok(_) => self.lose(Lost::Silent),
            Err(why) if why.kind() == ErrorKind::WouldBlock => self.lose(Lost::Silent),
            Err(_) => self.lose(Lost::Ended),
        }
    }

    /// Takes leave of a warden that cannot be relied on, for good. It is ended first: one that was
    /// only stopped would otherwise close the contactor once more with the beats it finds waiting.
    fn lose(&mut self, how: Lost) {
        self.lost = Some(how);
        tracing::error!(?how, "the warden is lost: all heat is off until saggar is started anew");
        self.end();
    }

    fn end(&mut self) {
        if let Err(why) = self.child.kill() {
            tracing::error!(%why, "the warden cannot be ended");
        }
        self.open();
    }

    fn open(&mut self) {
        if self.pins.drive(Pin::Contactor, Level::Off).is_err() {
            tracing::error!("the contactor's pin cannot be driven");
        }
    }
}

impl Guard for WardenProcess {
    fn arm(&mut self, _at: Millis) {
        self.send(Frame::Arm, Instant::now());
    }

    fn hear(&mut self, beat: Beat, _at: Millis) -> Level {
        let now = Instant::now();
        self.read_answers();
        if self.lost.is_none() && self.unanswered.is_some_and(|since| now - since > ANSWER_LONGEST) {
            self.lose(Lost::Silent);
        }
        if self.lost.is_some() {
            // Again with every step, until nothing of it can be left.
            self.open();
            return Level::Off;
        }
        let due = |(at, permission)| now - at >= BEAT_LEAST || permission != beat.permission;
        if self.sent.is_none_or(due) {
            self.sequence = self.sequence.wrapping_add(1);
            self.send(Frame::Beat(Beat { sequence: self.sequence, ..beat }), now);
            let before = self.sent.replace((now, beat.permission)).map(|(_, permission)| permission);
            if before != Some(beat.permission) {
                self.await_answer(now);
            }
        }
        if self.lost.is_some() { Level::Off } else { self.word.contactor }
    }

    fn standing(&self) -> Standing {
        match (self.lost, self.word.distrust) {
            (Some(lost), _) => Standing::Lost(lost),
            (None, Some(distrust)) => Standing::Distrusts(distrust),
            (None, None) => Standing::Trusts,
        }
    }

    fn limit(&self) -> Option<LimitNow> {
        self.word.limit
    }
}

impl Drop for WardenProcess {
    /// The end of the line is the order to open and go.
    fn drop(&mut self) {
        let _closed = self.line.shutdown(std::net::Shutdown::Both);
        let late = Instant::now() + GOES_WITHIN;
        while let Ok(None) = self.child.try_wait() {
            if Instant::now() > late {
                self.end();
                let _ended = self.child.wait();
                break;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        self.open();
    }
}
