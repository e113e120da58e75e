//! The warden's program with a limit probe: a file of readings, a bus that hangs, limit files that are wrong.

use std::fs;
use std::io::{Read, Write};
use std::os::fd::OwnedFd;
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use hal::Level;
use hal::pins::{Pin, Pins as _, SimulatedPins};
use warden::{Beat, Distrust, Frame, LimitFinding, Permission, Stages, WORD_BYTES, Word};

/// How long anything may take on a busy machine before a test gives up.
const PATIENCE: Duration = Duration::from_secs(40);
const LIMIT: &str =
    "ceiling-c 1280\namplifier MAX31856\nthermocouple K\nreadings limit-readings\nmains-hz 50\n";

fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_saggar-warden"));
    command.arg("--pins").arg(folder.join("pins")).arg("--limit").arg(folder.join("limit"));
    command
}

/// A warden whose beats come about ten a second.
struct Stand {
    folder: tempfile::TempDir,
    pins: SimulatedPins,
    warden: Child,
    line: UnixStream,
    beats: u32,
}

impl Stand {
    fn new(reading: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("limit-readings"), reading).expect("written");
        Self::on(folder)
    }

    fn on(folder: tempfile::TempDir) -> Self {
        fs::write(folder.path().join("limit"), LIMIT).expect("written");
        let pins = SimulatedPins::open(&folder.path().join("pins")).expect("pins");
        let (line, theirs) = UnixStream::pair().expect("a pair");
        line.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        let warden =
            program(folder.path()).stdin(Stdio::from(OwnedFd::from(theirs))).spawn().expect("it starts");
        let mut stand = Self { folder, pins, warden, line, beats: 0 };
        assert_eq!(stand.word().distrust, Some(Distrust::NotArmed));
        stand
    }

    fn reads(&self, reading: &str) {
        let path = self.folder.path().join("limit-readings");
        let fresh = path.with_extension("new");
        fs::write(&fresh, reading).expect("written");
        fs::rename(&fresh, &path).expect("put in place whole");
    }

    fn word(&mut self) -> Word {
        let mut bytes = [0; WORD_BYTES];
        self.line.read_exact(&mut bytes).expect("an answer");
        Word::from_bytes(&bytes).expect("whole")
    }

    /// Sends a frame; gives the answer that has heard it, and not a word said meanwhile.
    fn send(&mut self, frame: Frame) -> Word {
        self.line.write_all(&frame.to_bytes()).expect("sent");
        loop {
            let word = self.word();
            if word.heard == self.beats {
                return word;
            }
        }
    }

    fn arm(&mut self) {
        self.send(Frame::Arm);
    }

    fn beat(&mut self) -> Word {
        self.beats += 1;
        let count = self.beats;
        let stages = Stages { read: count, decided: count, acted: count, recorded: count };
        self.send(Frame::Beat(Beat { sequence: count, permission: Permission::Granted, stages }))
    }

    /// Beats on until the warden says what is waited for; gives its word and how long it took.
    fn beat_until(&mut self, holds: impl Fn(&Word) -> bool) -> (Word, Duration) {
        let began = Instant::now();
        loop {
            let word = self.beat();
            if holds(&word) {
                return (word, began.elapsed());
            }
            assert!(began.elapsed() < PATIENCE, "never: {word:?}");
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    fn close(&mut self) {
        self.arm();
        assert_eq!(self.beat().contactor, Level::On);
        self.pins.drive(Pin::Bank(0), Level::On).expect("driven");
    }
}

impl Drop for Stand {
    fn drop(&mut self) {
        let _gone = self.warden.kill();
        let _gone = self.warden.wait();
    }
}

fn finding(word: &Word) -> LimitFinding {
    word.limit.expect("it has one").finding
}

#[test]
fn sr_37_three_readings_above_the_ceiling_open_and_a_new_arming_counts_only_ten_degrees_below() {
    let mut stand = Stand::new("1280");
    stand.close();
    assert_eq!(finding(&stand.beat()), LimitFinding::Within, "at the ceiling");
    stand.reads("1281.5");
    let (word, took) = stand.beat_until(|word| word.contactor == Level::Off);
    assert_eq!(word.distrust, Some(Distrust::AboveLimit));
    assert!(took > Duration::from_millis(1_500) && took < Duration::from_secs(6), "three seconds: {took:?}");
    assert_eq!(stand.pins.not_off(), [], "the banks too");
    stand.arm();
    assert_eq!(stand.beat().distrust, Some(Distrust::AboveLimit), "still hot");
    stand.reads("1270");
    stand.beat_until(|word| {
        word.limit.is_some_and(|limit| limit.latest.is_some_and(|read| read.is_ok_and(|t| t.c() == 1270.0)))
    });
    stand.arm();
    assert_eq!(stand.beat().distrust, Some(Distrust::AboveLimit), "at the margin");
    stand.reads("1269");
    stand.beat_until(|word| finding(word) == LimitFinding::Within);
    assert_eq!(stand.beat().contactor, Level::Off, "latched until armed anew");
    stand.close();
}

#[test]
fn sr_37_ten_seconds_of_an_open_circuit_open_and_a_shorter_one_does_not() {
    let mut stand = Stand::new("900");
    stand.close();
    stand.reads("open");
    stand.beat_until(|word| word.limit.is_some_and(|limit| limit.latest.is_some_and(|read| read.is_err())));
    let until = Instant::now() + Duration::from_secs(3);
    while Instant::now() < until {
        assert_eq!(stand.beat().contactor, Level::On, "borne");
        std::thread::sleep(Duration::from_millis(100));
    }
    stand.reads("901");
    stand.beat_until(|word| word.limit.is_some_and(|limit| limit.latest.is_some_and(|read| read.is_ok())));
    stand.reads("open");
    let (word, took) = stand.beat_until(|word| word.contactor == Level::Off);
    assert_eq!((word.distrust, finding(&word)), (Some(Distrust::LimitBlind), LimitFinding::Blind));
    assert!(took > Duration::from_secs(8) && took < Duration::from_secs(13), "{took:?}");
    stand.arm();
    assert_eq!(stand.beat().contactor, Level::Off, "an arming sees nothing either");
    stand.reads("901");
    stand.beat_until(|word| finding(word) == LimitFinding::Within);
    stand.close();
}

/// A named pipe that nobody writes keeps its reader waiting, as a bus that hangs does.
#[test]
fn sr_37_a_bus_that_hangs_keeps_the_warden_from_nothing_and_is_blind_after_ten_seconds() {
    let mut stand = Stand::new("900");
    stand.close();
    let path = stand.folder.path().join("limit-readings");
    fs::remove_file(&path).expect("removed");
    assert!(Command::new("mkfifo").arg(&path).status().expect("mkfifo runs").success());
    let (word, took) = stand.beat_until(|word| word.contactor == Level::Off);
    assert_eq!(word.distrust, Some(Distrust::LimitBlind));
    assert!(took > Duration::from_secs(8) && took < Duration::from_secs(13), "{took:?}");
    stand.line.shutdown(std::net::Shutdown::Both).expect("closed");
    let late = Instant::now() + PATIENCE;
    while stand.warden.try_wait().expect("its state").is_none() {
        assert!(Instant::now() < late, "it does not end");
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn sr_37_a_probe_that_was_never_read_never_lets_the_contactor_close_and_is_told_as_blind_after_ten_seconds() {
    let mut stand = Stand::new("no-answer");
    stand.arm();
    let word = stand.beat();
    assert_eq!((word.contactor, finding(&word)), (Level::Off, LimitFinding::Unread));
    let (word, _) = stand.beat_until(|word| finding(word) == LimitFinding::Blind);
    assert_eq!((word.contactor, word.distrust), (Level::Off, Some(Distrust::LimitBlind)));
}

#[test]
fn sr_37_what_the_limit_probe_finds_is_told_without_being_asked() {
    let mut stand = Stand::new("20");
    stand.reads("1300");
    let word = stand.word();
    assert_eq!((finding(&word), word.distrust), (LimitFinding::Above, Some(Distrust::NotArmed)));
}

fn ended(folder: &Path, limit: &str) -> Output {
    fs::write(folder.join("limit"), limit).expect("written");
    program(folder).stdin(Stdio::null()).output().expect("it runs")
}

#[test]
fn sr_37_a_limit_file_that_is_wrong_or_names_no_bus_keeps_the_warden_from_starting_and_says_why() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("pins");
    let mut pins = SimulatedPins::open(&path).expect("pins");
    let says = |limit: &str, code: i32, words: &str| {
        let output = ended(folder.path(), limit);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{said}");
        assert!(said.contains(words), "{said}");
    };
    says(
        &LIMIT.replace("1280", "hot"),
        2,
        "limit, line 1: `ceiling-c hot` cannot be understood; write the ceiling",
    );
    assert_eq!(pins.not_off(), []);
    pins.drive(Pin::Contactor, Level::On).expect("driven");
    says(&LIMIT.replace("readings limit-readings", "spi 250 9"), 1, "/dev/spidev250.9 cannot be used");
    assert_eq!(pins.level(Pin::Contactor), Ok(Level::Off), "what was closed is opened before");
}

/// `/dev/null` is no GPIO chip, so that such pins can only be named, not opened; the limit file is asked first.
#[test]
fn sr_37_readings_from_a_file_are_refused_beside_pins_that_are_not_simulated() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("pins"), "computer linux /dev/null\ncontactor 25 high\nbank 22 high\n")
        .expect("written");
    let output = ended(folder.path(), LIMIT);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        output.status.code() == Some(2) && said.contains("`readings` are for a simulated kiln"),
        "{said}"
    );
}

#[test]
fn arguments_that_are_none_of_the_wardens_are_answered_with_its_usage() {
    for arguments in [
        ["--limit", "pins"].as_slice(),
        &["--pins", "pins", "--ceiling", "limit"],
        &["--pins-off", "pins", "--limit", "limit"],
        &["--pins"],
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let mut command = Command::new(env!("CARGO_BIN_EXE_saggar-warden"));
        let output = command.current_dir(&folder).args(arguments).output().expect("it runs");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.code() == Some(2) && said.contains("Usage:"), "{arguments:?}: {said}");
        assert!(!folder.path().join("pins").exists(), "{arguments:?}");
    }
}
