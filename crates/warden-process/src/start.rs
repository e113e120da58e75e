//! From the arguments to the post, and from the post to the exit code.

use std::ffi::OsString;
use std::fmt::Display;
use std::io::{IsTerminal, Write};
use std::os::fd::AsFd;
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use hal::pins::{self, NotOwned, Pins, Wiring};

use crate::limit_file::{LimitFile, Place};
use crate::limit_probe::LimitProbe;
use crate::line::{Ended, stand_guard};
use crate::pins_off::pins_off;
use crate::post::Post;
use crate::safety_pins::SharedPins;
use crate::{GUARD, LIMIT, NAME};

/// The exit code when another warden owns the contactor.
pub const CONTACTOR_TAKEN: u8 = 3;
/// The exit code when arguments or limit file cannot be understood.
const BAD_INPUT: u8 = 2;
const PINS_OFF: &str = "--pins-off";
/// An earlier warden whose daemon has just died is gone within its own longest silence.
const OWNER_LEAVES_WITHIN: Duration = Duration::from_secs(3);
/// Between two tries to take the contactor.
const TRY_AGAIN: Duration = Duration::from_millis(20);

const HELP: &str = "\
Usage: saggar-warden --pins FILE [--limit FILE]   guards the contactor; beats come on standard input
       saggar-warden --pins-off FILE              drives every pin off and ends

Saggar starts its warden by itself. `--pins-off` is for a service's stop hook, or for a person in
doubt; it works when everything else is dead. It is no isolation: before hands or tools go into kiln
or box, isolator off, locked, proved dead.";

/// The warden's program, from its arguments without the program's name.
pub fn run(arguments: impl Iterator<Item = OsString>) -> ExitCode {
    let arguments: Vec<OsString> = arguments.collect();
    match arguments.as_slice() {
        [what, path] if what == GUARD => guard(Path::new(path), None),
        [what, path, more, limit] if what == GUARD && more == LIMIT => {
            guard(Path::new(path), Some(Path::new(limit)))
        }
        [what, path] if what == PINS_OFF => pins_off(Path::new(path)),
        _ => {
            say(&HELP);
            ExitCode::from(BAD_INPUT)
        }
    }
}

fn guard(path: &Path, limit: Option<&Path>) -> ExitCode {
    let limit = match limit.map(|limit| limit_file(limit, path)).transpose() {
        Ok(limit) => limit,
        Err(why) => {
            say(&why);
            return ExitCode::from(BAD_INPUT);
        }
    };
    let mut pins = match pins::open(path) {
        Ok(pins) => pins,
        Err(why) => return failed(&format_args!("cannot open the pins at {}: {why}", path.display())),
    };
    if let Err(why) = own(&mut *pins) {
        say(&why);
        return ExitCode::from(match why {
            NotOwned::Taken => CONTACTOR_TAKEN,
            NotOwned::System(_) => 1,
        });
    }
    let pins = SharedPins::new(pins);
    switch_off_on_panic(&pins);
    let Ok(post) = Post::take(pins, limit.as_ref().map(|limit| limit.ceiling)) else {
        return failed(&"the contactor's pin cannot be driven or read");
    };
    let probe = match limit.map(LimitProbe::start).transpose() {
        Ok(probe) => probe,
        Err(why) => return failed(&format_args!("the limit probe's bus: {why}")),
    };
    match the_line() {
        Ok(line) => match stand_guard(post, line, probe.as_ref()) {
            Ended::LineClosed => ExitCode::SUCCESS,
            Ended::Garbled => failed(&"what arrived was no beat"),
            Ended::LineFailed => failed(&"the line to the daemon failed"),
        },
        Err(why) => failed(&format_args!("no line to the daemon on standard input: {why}")),
    }
}

/// The limit file. Readings that are only written guard no kiln of iron and brick.
fn limit_file(path: &Path, pins: &Path) -> Result<LimitFile, String> {
    let file = LimitFile::read(path).map_err(|why| why.to_string())?;
    if matches!(file.place, Place::Readings(_)) && !matches!(Wiring::read(pins), Ok(None)) {
        return Err(format!(
            "limit file {}: `readings` are for a simulated kiln, and these pins are real; say where the \
             amplifier is, such as: spi 0 1",
            path.display()
        ));
    }
    Ok(file)
}

fn own(pins: &mut dyn Pins) -> Result<(), NotOwned> {
    let late = Instant::now() + OWNER_LEAVES_WITHIN;
    loop {
        match pins.own_contactor() {
            Err(NotOwned::Taken) if Instant::now() < late => std::thread::sleep(TRY_AGAIN),
            owned => return owned,
        }
    }
}

/// The release build aborts on a panic, which drops nothing.
fn switch_off_on_panic(pins: &SharedPins) {
    let pins = pins.clone();
    std::panic::set_hook(Box::new(move |_| pins.off_in_a_panic()));
}

fn the_line() -> std::io::Result<UnixStream> {
    let stdin = std::io::stdin();
    if stdin.is_terminal() {
        return Err(std::io::Error::other("it is a terminal; `saggar serve` starts its warden by itself"));
    }
    let line = UnixStream::from(stdin.as_fd().try_clone_to_owned()?);
    // Tells a socket from a file or a pipe, which have no peer.
    line.peer_addr()?;
    Ok(line)
}

fn failed(why: &dyn Display) -> ExitCode {
    say(why);
    ExitCode::FAILURE
}

/// On standard error, only ever while the contactor is open: whoever reads there may not read on.
pub(crate) fn say(words: &dyn Display) {
    let _unread = writeln!(std::io::stderr().lock(), "{NAME}: {words}");
}
