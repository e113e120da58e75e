//! Outputs that would stay as they are if the programs that drive them died (SR-32), as people are told.
//!
//! It is told and refuses nothing: daemon and warden each take all heat when the other dies, whatever the
//! kernel does with the dead one's pins, and the service's stop hook does when both do (`docs/warden.md`).
//! A Raspberry Pi driven past its kernel is no better, and has no cure.

use std::path::Path;

use hal::gpio::{AfterItsProgram, after_its_program};

use super::{Board, KilnFile, Line};
use crate::files::problem::{Checked, Problems, Source};

/// Where the board maker's systems keep the kernel's command line, all of it in one line (Raspberry Pi's
/// documentation, kernel command line).
const COMMAND_LINE: &str = "/boot/firmware/cmdline.txt";

/// A kiln on a computer whose kernel leaves pins as they were driven.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outliving {
    outputs: String,
    cure: &'static str,
}

impl Outliving {
    /// What is said where it is not known.
    pub const NOT_KNOWN: &str =
        "this computer's kernel does not say whether a pin stays as it is when its program dies";

    /// This kiln's outputs, where they stay on.
    #[must_use]
    pub fn of(kiln: &KilnFile, after: AfterItsProgram) -> Option<Self> {
        match after {
            AfterItsProgram::Stays { cure } => Some(Self { outputs: outputs(kiln), cure }),
            AfterItsProgram::IsLetGo | AfterItsProgram::NotKnown => None,
        }
    }

    /// What was found, as a sentence.
    #[must_use]
    pub fn seen(&self) -> String {
        format!("This {}.", self.kernel())
    }

    /// What changes it, as a sentence.
    #[must_use]
    pub fn cure(&self) -> String {
        format!("Add {}.", self.addition())
    }

    fn kernel(&self) -> String {
        format!(
            "computer's kernel leaves a pin as it is when the program that drives it dies. What was on would \
             stay on until another program takes it off: {}",
            self.outputs
        )
    }

    fn addition(&self) -> String {
        format!(
            "{} to the one line of {COMMAND_LINE}, with a space before it, and start the computer anew: then \
             such a pin is let go, and the resistor at each relay's driver takes it off",
            self.cure
        )
    }
}

impl KilnFile {
    /// What this computer's kernel makes of its pins when saggar dies; `None` where it is not by the kernel
    /// that they are driven.
    #[must_use]
    pub fn after_its_program(&self) -> Option<AfterItsProgram> {
        match &self.board {
            Board::Linux { gpio_chip } => Some(after_its_program(Path::new(gpio_chip))),
            Board::Simulated(_) | Board::RaspberryPi => None,
        }
    }
}

/// Every output with the level that energises it.
fn outputs(kiln: &KilnFile) -> String {
    let contactor = kiln.contactor.map(|line| ("the contactor".to_owned(), line));
    let banks = kiln.banks.iter().filter_map(|bank| Some((format!("bank \"{}\"", bank.name), bank.line?)));
    let signals = kiln.signals.lines().map(|(signal, line)| (format!("the {}", signal.name()), line));
    let each = contactor.into_iter().chain(banks).chain(signals);
    let each = each.map(|(what, Line { pin, active })| format!("{what} (line {pin}, {})", active.name()));
    each.collect::<Vec<_>>().join(", ")
}

/// Adds to a kiln's remarks what this computer's kernel makes of its pins.
pub fn say_outliving(checked: &mut Checked<KilnFile>) {
    if let Some(after) = checked.value.after_its_program() {
        say(checked, after);
    }
}

fn say(checked: &mut Checked<KilnFile>, after: AfterItsProgram) {
    let mut notes = Problems::default();
    let span = chip_span(&checked.source);
    match (after, Outliving::of(&checked.value, after)) {
        (_, Some(outliving)) => {
            let (wrong, right) = (outliving.kernel(), outliving.addition());
            notes.warn(&span, format!("this {wrong}"), format!("add {right}"));
        }
        (AfterItsProgram::NotKnown, None) => notes.note(
            &span,
            Outliving::NOT_KNOWN,
            "count on it that it does: `docs/warden.md` says what stands against that",
        ),
        (AfterItsProgram::IsLetGo | AfterItsProgram::Stays { .. }, None) => {}
    }
    checked.remark(notes);
}

/// The line that names the chip; the file's head where it isn't found.
fn chip_span(source: &Source) -> std::ops::Range<usize> {
    let mut start = 0;
    for line in source.text().split_inclusive('\n') {
        if line.trim_start().starts_with("gpio_chip") {
            return start..start + line.trim_end().len();
        }
        start += line.len();
    }
    0..0
}

#[cfg(test)]
mod tests {
    use super::super::tests::{REAL, checked, real_with};
    use super::*;

    const STAYS: AfterItsProgram = AfterItsProgram::Stays { cure: "driver.parameter=n" };

    fn on_linux(more: &str) -> Checked<KilnFile> {
        let text =
            real_with("kind = \"raspberry-pi\"", "kind = \"linux\"\ngpio_chip = \"/dev/gpiochip-none\"");
        checked(&(text + more)).unwrap_or_else(|refused| panic!("{refused}"))
    }

    fn remarks(after: AfterItsProgram) -> String {
        let mut kiln = on_linux("");
        assert_eq!(kiln.remarks(), "");
        say(&mut kiln, after);
        kiln.remarks()
    }

    #[test]
    fn sr_32_pins_that_stay_are_named_with_their_levels_and_the_exact_cure() {
        let kiln = on_linux("[vent]\npin = 18\nactive = \"low\"\nfrom = 60\nto = 700\n").value;
        let outliving = Outliving::of(&kiln, STAYS).expect("told");
        assert!(
            outliving.seen().ends_with(
                "takes it off: the contactor (line 25, high), bank \"top\" (line 22, high), bank \"middle\" \
                 (line 23, high), bank \"bottom\" (line 24, high), the vent (line 18, low)."
            ),
            "{}",
            outliving.seen()
        );
        let told = crate::attention::pins_outlive(&outliving);
        let said = (told.name, told.severity, told.seen, told.done);
        let (seen, cure) = (outliving.seen(), outliving.cure());
        assert_eq!(said, ("pins-outlive-saggar", "notice", seen, cure.clone()));
        assert!(
            cure.starts_with("Add driver.parameter=n to the one line of /boot/firmware/cmdline.txt"),
            "{cure}"
        );
    }

    #[test]
    fn sr_32_check_warns_of_pins_that_stay_at_the_line_of_the_chip() {
        let told = remarks(STAYS);
        assert!(told.contains("warning: this computer's kernel leaves a pin as it is"), "{told}");
        assert!(
            told.contains("the contactor (line 25, high)") && told.contains("; add driver.parameter=n to"),
            "{told}"
        );
        assert!(told.contains("| gpio_chip = \"/dev/gpiochip-none\""), "{told}");
    }

    #[test]
    fn sr_32_check_says_so_where_nothing_is_known_and_nothing_where_pins_are_let_go() {
        let told = remarks(AfterItsProgram::NotKnown);
        assert!(told.starts_with("note: this computer's kernel does not say"), "{told}");
        assert_eq!(remarks(AfterItsProgram::IsLetGo), "");
        let kiln = on_linux("").value;
        for after in [AfterItsProgram::NotKnown, AfterItsProgram::IsLetGo] {
            assert_eq!(Outliving::of(&kiln, after), None);
        }
    }

    #[test]
    fn sr_32_the_kernel_is_asked_only_where_it_drives_the_pins() {
        let mut chip = on_linux("");
        assert_eq!(chip.value.after_its_program(), Some(AfterItsProgram::NotKnown), "there is no such chip");
        say_outliving(&mut chip);
        assert!(chip.remarks().contains("does not say"), "{}", chip.remarks());
        for text in [REAL, super::super::SIMULATED] {
            let mut kiln = checked(text).unwrap_or_else(|refused| panic!("{refused}"));
            assert_eq!(kiln.value.after_its_program(), None);
            say_outliving(&mut kiln);
            assert_eq!(kiln.remarks(), "");
        }
    }
}
