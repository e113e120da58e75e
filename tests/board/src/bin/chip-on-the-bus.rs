//! Is a bus device with an amplifier chip alone behind it, in real time.
//!
//! `chip-on-the-bus DEVICE CHIP TYPE JUNCTION`: the device's name, such as `spidev0.1`; chip and
//! thermocouple type; the file that says what is at the wire's end, in °C or `broken`.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use std::{env, thread};

use emulated_board::chip::Kind;
use emulated_board::cuse::Device;
use emulated_board::held::{Held, Junction};
use pyrometry::thermocouple::Thermocouple;

/// Between two looks at the file: about a chip's conversion.
const LOOK: Duration = Duration::from_millis(50);

struct Wanted {
    device: String,
    kind: Kind,
    wire: Thermocouple,
    junction: PathBuf,
}

fn wanted() -> Option<Wanted> {
    let words: Vec<String> = env::args().skip(1).collect();
    let [device, kind, wire, junction] = words.as_slice() else { return None };
    Some(Wanted {
        device: device.clone(),
        kind: Kind::parse(kind)?,
        wire: Thermocouple::parse(wire)?,
        junction: junction.into(),
    })
}

fn held(chip: &Mutex<Held>) -> MutexGuard<'_, Held> {
    chip.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The chip converts for as long as the program lives.
fn go_on(chip: &Mutex<Held>, file: &Path) -> Result<(), Box<dyn Error>> {
    let mut junction = Junction::told(file)?.ok_or("nothing is said of the junction")?;
    let mut before = Instant::now();
    loop {
        thread::sleep(LOOK);
        junction = Junction::told(file)?.unwrap_or(junction);
        let now = Instant::now();
        held(chip).pass(now.duration_since(before), junction);
        before = now;
    }
}

fn run(wanted: Wanted) -> Result<(), Box<dyn Error>> {
    let chip = Arc::new(Mutex::new(Held::new(wanted.kind, wanted.wire)));
    let mut device = Device::make(&wanted.device)?;
    let converting = Arc::clone(&chip);
    thread::spawn(move || {
        if let Err(why) = go_on(&converting, &wanted.junction) {
            // A chip that stands still would answer for ever with its last temperature.
            eprintln!("chip-on-the-bus: {why}");
            std::process::exit(1);
        }
    });
    device.serve(|call| held(&chip).call(call))?;
    Ok(())
}

fn main() -> ExitCode {
    let Some(wanted) = wanted() else {
        eprintln!("usage: chip-on-the-bus DEVICE CHIP TYPE JUNCTION");
        return ExitCode::from(2);
    };
    match run(wanted) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("chip-on-the-bus: {why}");
            ExitCode::FAILURE
        }
    }
}
