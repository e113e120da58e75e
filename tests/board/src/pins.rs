//! The levels of pins as the board's kernel shows them, whoever drives them: the table of its pin
//! controller in debugfs, which reads the level register.

use std::fs;
use std::io::{Error, ErrorKind, Result};
use std::path::Path;

/// Which of these pins are high.
pub fn high<const N: usize>(table: &Path, pins: [u8; N]) -> Result<[bool; N]> {
    let text = fs::read_to_string(table)?;
    let mut levels = [false; N];
    for (level, pin) in levels.iter_mut().zip(pins) {
        *level = in_table(&text, pin).ok_or_else(|| {
            Error::new(ErrorKind::InvalidData, format!("no level of pin {pin} in {}", table.display()))
        })?;
    }
    Ok(levels)
}

/// Whether a pin is high: `pin 17 (gpio17) function gpio_out in hi; irq 0 (none)`.
fn in_table(text: &str, pin: u8) -> Option<bool> {
    let begins = format!("pin {pin} ");
    let line = text.lines().find(|line| line.starts_with(&begins))?;
    let level = line.split_once(" in ")?.1;
    match level.get(..2)? {
        "hi" => Some(true),
        "lo" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_of_the_table_is_found_by_its_whole_number() {
        let text = "registered pins: 54\n\
            pin 1 (gpio1) function gpio_in in lo; irq 0 (none)\n\
            pin 17 (gpio17) function gpio_out in hi; irq 0 (none)\n";
        assert_eq!(
            (in_table(text, 1), in_table(text, 17), in_table(text, 7)),
            (Some(false), Some(true), None)
        );
    }
}
