//! Is `/dev/spidev0.0` with an amplifier chip and a small kiln behind it, in real time.
//!
//! `kiln-on-the-bus CHIP TYPE PINS BANK CONTACTOR ILL`: chip and thermocouple type; the kernel's table
//! of pins; those of the bank's relay and of the contactor; the file that says what is wrong. The junction's true temperature goes into a file beside the latter, `junction`.

use std::error::Error;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use std::{env, fs, thread};

use emulated_board::chip::Kind;
use emulated_board::cuse::Device;
use emulated_board::ill::Ill;
use emulated_board::kiln::Bench;
use emulated_board::pins;
use pyrometry::thermocouple::Thermocouple;

/// Between two looks at the pins: about a chip's conversion.
const LOOK: Duration = Duration::from_millis(50);

struct Wanted {
    kind: Kind,
    wire: Thermocouple,
    pins: PathBuf,
    bank: u8,
    contactor: u8,
    ill: PathBuf,
}

fn wanted() -> Option<Wanted> {
    let words: Vec<String> = env::args().skip(1).collect();
    let [kind, wire, pins, bank, contactor, ill] = words.as_slice() else { return None };
    Some(Wanted {
        kind: Kind::parse(kind)?,
        wire: Thermocouple::parse(wire)?,
        pins: pins.into(),
        bank: bank.parse().ok()?,
        contactor: contactor.parse().ok()?,
        ill: ill.into(),
    })
}

fn held(bench: &Mutex<Bench>) -> MutexGuard<'_, Bench> {
    bench.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The kiln goes on for as long as the program does. Time that a busy machine took from it is caught up.
fn go_on(bench: &Mutex<Bench>, wanted: &Wanted) -> Result<(), Box<dyn Error>> {
    let (start, mut gone) = (Instant::now(), Duration::ZERO);
    let true_junction = wanted.ill.with_file_name("junction");
    loop {
        thread::sleep(LOOK);
        // In whole milliseconds, as the kiln counts: what is left over counts the next time.
        let now = Duration::from_millis(u64::try_from(start.elapsed().as_millis())?);
        let [bank, contactor] = pins::high(&wanted.pins, [wanted.bank, wanted.contactor])?;
        let told = Ill::told(&wanted.ill)?;
        let junction = {
            let mut bench = held(bench);
            if let Some(ill) = told {
                bench.suffer(ill);
            }
            bench.pass(now.saturating_sub(gone), bank, contactor);
            bench.junction()
        };
        gone = now;
        fs::write(&true_junction, format!("{:.2}\n", junction.c()))?;
    }
}

fn run(wanted: Wanted) -> Result<(), Box<dyn Error>> {
    let bench = Arc::new(Mutex::new(Bench::new(wanted.kind, wanted.wire)?));
    let mut device = Device::make("spidev0.0")?;
    let kiln = Arc::clone(&bench);
    thread::spawn(move || {
        if let Err(why) = go_on(&kiln, &wanted) {
            // A kiln that stands still would answer for ever with its last temperature.
            eprintln!("kiln-on-the-bus: {why}");
            std::process::exit(1);
        }
    });
    device.serve(|call| held(&bench).call(call))?;
    Ok(())
}

fn main() -> ExitCode {
    let Some(wanted) = wanted() else {
        eprintln!("usage: kiln-on-the-bus CHIP TYPE PINS BANK CONTACTOR ILL");
        return ExitCode::from(2);
    };
    match run(wanted) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("kiln-on-the-bus: {why}");
            ExitCode::FAILURE
        }
    }
}
