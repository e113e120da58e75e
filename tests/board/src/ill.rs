//! What is wrong between chip and thermocouple, told from outside while everything runs.
//!
//! A word in a file, read anew at every look, so that a shell script needs nothing but `echo`.

use std::fs;
use std::io::{Error, ErrorKind, Result};
use std::path::Path;

/// What is wrong. One thing at a time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ill {
    /// Nothing.
    #[default]
    Nothing,
    /// The thermocouple's wire is broken.
    OpenCircuit,
    /// The chip has no supply; when it has one again, it begins as after any power-up.
    NoSupply,
    /// The line from the chip stands at ground.
    LineLow,
    /// The line from the chip stands at the supply.
    LineHigh,
    /// The bus itself fails: each transfer ends with an error.
    TransfersFail,
}

const WORDS: [(&str, Ill); 6] = [
    ("nothing", Ill::Nothing),
    ("open-circuit", Ill::OpenCircuit),
    ("no-supply", Ill::NoSupply),
    ("line-low", Ill::LineLow),
    ("line-high", Ill::LineHigh),
    ("transfers-fail", Ill::TransfersFail),
];

impl Ill {
    /// What a word says.
    #[must_use]
    pub fn parse(word: &str) -> Option<Self> {
        WORDS.into_iter().find(|(known, _)| *known == word.trim()).map(|(_, ill)| ill)
    }

    /// What the file says. No file, or an empty one as while it is being written: nothing new, so `None`.
    pub fn told(file: &Path) -> Result<Option<Self>> {
        let text = match fs::read_to_string(file) {
            Ok(text) => text,
            Err(why) if why.kind() == ErrorKind::NotFound => return Ok(None),
            Err(why) => return Err(why),
        };
        if text.trim().is_empty() {
            return Ok(None);
        }
        let known = WORDS.map(|(word, _)| word).join(", ");
        let unknown = || Error::new(ErrorKind::InvalidData, format!("{text:?} is none of {known}"));
        Self::parse(&text).map(Some).ok_or_else(unknown)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_word_is_its_own_ill_and_another_word_is_none() {
        for (word, ill) in WORDS {
            assert_eq!(Ill::parse(&format!("{word}\n")), Some(ill));
        }
        assert_eq!(Ill::parse("broken"), None);
    }
}
