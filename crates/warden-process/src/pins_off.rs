//! Every pin off, with nobody's help: for the service's stop hook, and for a person in doubt.

use std::path::Path;
use std::process::ExitCode;

use hal::pins::{self, Pin};

use crate::start::say;

/// Drives every pin that heats off and tells what was on; then buzzer and vent, which cannot hurt by
/// failing. A lamp that says hot stays lit: nobody here knows better. Doing it again changes nothing.
///
/// Needs neither warden nor daemon. A warden that lives finds its pin moved, and stays open until a
/// new arming; a daemon that lives drives its banks anew with its next step.
pub(crate) fn pins_off(path: &Path) -> ExitCode {
    if !path.exists() {
        say(&format_args!("there are no pins at {}: nothing to drive off", path.display()));
        return ExitCode::SUCCESS;
    }
    let driven = pins::open(path).map(|mut pins| (pins.not_off(), pins.all_off(), pins.quieten()));
    match driven {
        Ok((were_on, Ok(()), quietened)) => {
            for pin in were_on {
                say(&format_args!("{} was not off: driven off", name(pin)));
            }
            if quietened.is_err() {
                say(&"the pin of buzzer or vent could not be driven");
            }
            ExitCode::SUCCESS
        }
        Ok((_, Err(_), _)) => danger(&"a pin could not be driven"),
        Err(why) => danger(&why),
    }
}

fn danger(why: &dyn std::fmt::Display) -> ExitCode {
    say(&format_args!("the kiln may still be energised: pull the breaker ({why})"));
    ExitCode::FAILURE
}

fn name(pin: Pin) -> String {
    match pin {
        Pin::Bank(bank) => format!("bank {}", u16::from(bank) + 1),
        Pin::Heartbeat => "the heartbeat".to_owned(),
        Pin::Contactor => "the contactor".to_owned(),
        Pin::Signal(signal) => format!("the {}", signal.name()),
    }
}
