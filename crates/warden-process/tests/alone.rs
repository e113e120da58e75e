//! The warden's program without a daemon: beats by hand, pins off, ownership.

use std::io::{Read, Write};
use std::os::fd::OwnedFd;
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use hal::pins::{Pin, Pins as _, SimulatedPins};
use hal::{Level, Signal};
use warden::{Beat, Distrust, Frame, Permission, Stages, WORD_BYTES, Word};

/// How long anything may take on a busy machine before a test gives up.
const PATIENCE: Duration = Duration::from_secs(20);

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_saggar-warden"))
}

struct Stand {
    folder: tempfile::TempDir,
    pins: SimulatedPins,
    warden: Child,
    line: UnixStream,
}

fn start(pins: &Path) -> (Child, UnixStream) {
    let (line, theirs) = UnixStream::pair().expect("a pair");
    line.set_read_timeout(Some(PATIENCE)).expect("a timeout");
    let child = program()
        .arg("--pins")
        .arg(pins)
        .stdin(Stdio::from(OwnedFd::from(theirs)))
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    (child, line)
}

impl Stand {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("pins");
        let pins = SimulatedPins::open(&path).expect("pins");
        let (warden, line) = start(&path);
        let mut stand = Self { folder, pins, warden, line };
        assert_eq!(stand.word().distrust, Some(Distrust::NotArmed));
        stand
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("pins")
    }

    fn word(&mut self) -> Word {
        let mut bytes = [0; WORD_BYTES];
        self.line.read_exact(&mut bytes).expect("an answer");
        Word::from_bytes(&bytes).expect("whole")
    }

    fn send(&mut self, frame: Frame) -> Word {
        self.line.write_all(&frame.to_bytes()).expect("sent");
        self.word()
    }

    fn close(&mut self) {
        self.send(Frame::Arm);
        assert_eq!(self.send(beat(1)).contactor, Level::On);
        self.pins.drive(Pin::Bank(0), Level::On).expect("driven");
    }

    fn ended(&mut self) -> Option<i32> {
        let late = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.warden.try_wait().expect("its state") {
                return status.code();
            }
            assert!(Instant::now() < late, "it does not end");
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

impl Drop for Stand {
    fn drop(&mut self) {
        let _gone = self.warden.kill();
        let _gone = self.warden.wait();
    }
}

fn beat(sequence: u32) -> Frame {
    let stages = Stages { read: sequence, decided: sequence, acted: sequence, recorded: sequence };
    Frame::Beat(Beat { sequence, permission: Permission::Granted, stages })
}

fn pins_off(path: &Path) -> Output {
    program().arg("--pins-off").arg(path).stdin(Stdio::null()).output().expect("it runs")
}

#[test]
fn sr_30_beats_close_the_contactor_and_two_and_a_half_seconds_of_silence_open_it() {
    let mut stand = Stand::new();
    stand.close();
    let silent = Instant::now();
    let word = stand.word();
    let lasted = silent.elapsed();
    assert_eq!((word.contactor, word.distrust), (Level::Off, Some(Distrust::Silence)));
    assert!(lasted >= Duration::from_millis(2_400) && lasted < Duration::from_secs(3), "{lasted:?}");
    assert_eq!(stand.pins.not_off().len(), 0, "the banks too");
    assert_eq!(stand.send(beat(2)).contactor, Level::Off, "it is latched");
    stand.send(Frame::Arm);
    assert_eq!(stand.send(beat(3)).contactor, Level::On, "until armed anew");
}

#[test]
fn sr_30_bytes_that_are_no_frame_open_it_and_end_the_warden() {
    let mut stand = Stand::new();
    stand.close();
    let mut wrong = beat(2).to_bytes();
    wrong[9] ^= 1;
    stand.line.write_all(&wrong).expect("sent");
    assert_eq!(stand.word().distrust, Some(Distrust::Garbled));
    assert_eq!(stand.ended(), Some(1));
    assert_eq!(stand.pins.not_off().len(), 0);
}

#[test]
fn sr_30_a_frame_that_comes_in_two_pieces_is_heard_as_one() {
    let mut stand = Stand::new();
    stand.close();
    let bytes = beat(2).to_bytes();
    stand.line.write_all(&bytes[..7]).expect("sent");
    std::thread::sleep(Duration::from_millis(150));
    stand.line.write_all(&bytes[7..]).expect("sent");
    let word = stand.word();
    assert_eq!((word.heard, word.contactor), (2, Level::On));
}

#[test]
fn sr_30_the_end_of_the_line_opens_it_at_once() {
    let mut stand = Stand::new();
    stand.close();
    stand.line.shutdown(std::net::Shutdown::Both).expect("closed");
    assert_eq!(stand.ended(), Some(0));
    assert_eq!(stand.pins.not_off().len(), 0);
}

#[test]
fn sr_43_a_second_warden_is_refused_and_the_first_guards_on() {
    let mut stand = Stand::new();
    stand.close();
    let (second, _line) = start(&stand.path());
    // Beats go on meanwhile: the second waits up to 3 s for an owner that is about to go.
    let second = std::thread::spawn(move || second.wait_with_output().expect("it ends"));
    for number in 2.. {
        assert_eq!(stand.send(beat(number)).contactor, Level::On);
        if second.is_finished() {
            break;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    let said = second.join().expect("ended");
    assert_eq!(said.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&said.stderr).contains("another warden owns"), "{said:?}");
}

#[test]
fn sr_43_a_warden_waits_for_one_that_is_about_to_go_and_then_stands_guard() {
    let mut stand = Stand::new();
    let (mut second, mut line) = start(&stand.path());
    // Long enough that it has found the contactor taken, short enough that it still waits.
    std::thread::sleep(Duration::from_millis(500));
    assert!(second.try_wait().expect("its state").is_none(), "it waits");
    stand.line.shutdown(std::net::Shutdown::Both).expect("closed");
    assert_eq!(stand.ended(), Some(0));
    let mut bytes = [0; WORD_BYTES];
    line.read_exact(&mut bytes).expect("an answer");
    assert_eq!(Word::from_bytes(&bytes).expect("whole").distrust, Some(Distrust::NotArmed));
    drop(line);
    assert!(second.wait().expect("gone").success());
}

#[test]
fn sr_43_a_warden_in_place_of_one_that_was_killed_owns_the_contactor_and_opens_it() {
    let mut stand = Stand::new();
    stand.close();
    stand.warden.kill().expect("killed");
    stand.warden.wait().expect("gone");
    assert_eq!(stand.pins.level(Pin::Contactor), Ok(Level::On), "the pin outlives its owner");
    (stand.warden, stand.line) = start(&stand.path());
    let word = stand.word();
    assert_eq!((word.found, word.contactor), (Level::On, Level::Off));
    assert_eq!(stand.pins.level(Pin::Contactor), Ok(Level::Off));
}

#[test]
fn sr_32_pins_that_outlived_everybody_are_driven_off_by_the_helper_however_often_it_runs() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("pins");
    let mut pins = SimulatedPins::open(&path).expect("pins");
    for pin in [Pin::Contactor, Pin::Bank(1)] {
        pins.drive(pin, Level::On).expect("driven");
    }
    let first = pins_off(&path);
    let said = String::from_utf8_lossy(&first.stderr);
    assert!(
        first.status.success() && said.contains("the contactor was") && said.contains("bank 2 was"),
        "{said}"
    );
    assert_eq!(pins.not_off().len(), 0);
    let again = pins_off(&path);
    assert!(again.status.success() && again.stderr.is_empty(), "{again:?}");
    assert!(pins_off(&folder.path().join("none")).status.success());
    assert!(!folder.path().join("none").exists());
}

#[test]
fn the_helper_quietens_buzzer_and_vent_and_leaves_a_lamp_that_says_hot() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("pins");
    let mut pins = SimulatedPins::open(&path).expect("pins");
    for signal in Signal::ALL {
        pins.drive(Pin::Signal(signal), Level::On).expect("driven");
    }
    let helped = pins_off(&path);
    assert!(helped.status.success() && helped.stderr.is_empty(), "nothing heated: {helped:?}");
    let levels = Signal::ALL.map(|signal| pins.level(Pin::Signal(signal)));
    assert_eq!(levels, [Ok(Level::Off), Ok(Level::On), Ok(Level::Off)]);
}

#[test]
fn the_helper_says_pull_the_breaker_where_it_cannot_drive() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = pins_off(folder.path());
    assert_eq!(said.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&said.stderr).contains("pull the breaker"), "{said:?}");
}

#[test]
fn sr_30_the_helper_opens_the_contactor_of_a_living_warden_until_armed_anew() {
    let mut stand = Stand::new();
    stand.close();
    assert!(pins_off(&stand.path()).status.success());
    assert_eq!(stand.word().distrust, Some(Distrust::PinUnsound));
    assert_eq!(stand.send(beat(2)).contactor, Level::Off);
    assert_eq!(stand.pins.not_off().len(), 0);
}

#[test]
fn a_terminal_or_a_pipe_is_no_line_to_a_daemon() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = program()
        .arg("--pins")
        .arg(folder.path().join("pins"))
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    assert_eq!(said.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&said.stderr).contains("no line to the daemon"), "{said:?}");
}
