//! The files a person edits: schedules and the kiln file.
//!
//! Both are TOML. Each is read into the shape it is written in (`wire`), checked as a whole, and
//! turned into the types that the rest of the program uses. A file with any error is refused, with
//! every error named at its line and column; remarks never refuse. Unknown keys are errors: a
//! mistyped limit must not be taken for no limit (SR-41).

pub mod kiln;
mod leaf;
mod near;
mod number;
mod problem;
mod scale;
pub mod schedule;
mod schema;
mod slips;
pub mod time;
mod wire;
mod words;

use std::io::Read;
use std::path::{Path, PathBuf};

use problem::Problems;

pub use problem::{Checked, Place, Problem, Refused, Source, Weight};
pub use scale::Scale;

/// A file larger than this is none of ours: 64 segments need 10 kB, the fullest kiln file 5 kB.
const LARGEST_BYTES: u64 = 256 * 1024;

/// Why a file could not be loaded.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// It could not be read.
    #[error("{}", unreadable_words(path, why))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// It has errors.
    #[error(transparent)]
    Refused(#[from] Refused),
}

fn unreadable_words(path: &Path, why: &std::io::Error) -> String {
    let path = path.display();
    let kind = why.kind();
    if kind == std::io::ErrorKind::NotFound {
        return format!("there is no file {path}");
    }
    if kind == std::io::ErrorKind::IsADirectory {
        return format!("{path} is a folder: name a file in it");
    }
    format!("cannot read {path}: {why}")
}

fn read_source(path: &Path) -> Result<Source, LoadError> {
    let unreadable = |why| LoadError::Unreadable { path: path.to_owned(), why };
    let mut bytes = Vec::new();
    // Read no further than that: a device or a pipe has no size to ask for.
    let file = std::fs::File::open(path).map_err(unreadable)?;
    file.take(LARGEST_BYTES + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() as u64 > LARGEST_BYTES {
        let why =
            format!("it is larger than {} kB, so it is no schedule and no kiln file", LARGEST_BYTES / 1024);
        return Err(unreadable(std::io::Error::other(why)));
    }
    Ok(decode(path.display().to_string(), &bytes)?)
}

/// Refuses a file of the other kind in one sentence, where every key of it would be an error.
fn refuse_other_kind(source: &Source, theirs: &str, ours: &str, problems: &mut Problems) {
    let begins = |section: &str| source.text().lines().any(|line| line.trim_start().starts_with(section));
    if begins(theirs) && !begins(ours) {
        let span = source.text().find(theirs).map_or(0..0, |start| start..start + theirs.len());
        let (what, wanted) =
            if ours == "[kiln]" { ("a schedule", "a kiln file") } else { ("a kiln file", "a schedule") };
        problems.add(&span, format!("this is {what}, not {wanted}"), format!("name {wanted} here"));
    }
}

/// The text of a file; where it is no UTF-8, an error at the first place that isn't.
fn decode(name: String, bytes: &[u8]) -> Result<Source, Refused> {
    match std::str::from_utf8(bytes) {
        // A byte-order mark is what some editors begin with.
        Ok(text) => Ok(Source::new(name, text.trim_start_matches('\u{feff}'))),
        Err(why) => {
            let mut problems = Problems::default();
            let at = why.valid_up_to();
            let right = if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
                "the file is in UTF-16: save it as UTF-8"
            } else {
                "save the file as UTF-8"
            };
            problems.add(&(at..at + 1), "a letter that is not in UTF-8", right);
            Err(Refused::new(Source::new(name, String::from_utf8_lossy(bytes)), problems))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_in_another_encoding_is_refused_at_its_first_foreign_letter() {
        // "é" in ISO 8859-1.
        let told =
            decode("x.toml".to_owned(), b"scale = \"C\"\ntitle = \"Caf\xe9\"\n").unwrap_err().to_string();
        assert!(
            told.starts_with("x.toml:2:13: a letter that is not in UTF-8; save the file as UTF-8\n"),
            "{told}"
        );
        let told = decode("x.toml".to_owned(), b"\xff\xfet\0i\0").unwrap_err().to_string();
        assert!(told.starts_with("x.toml:1:1: ") && told.contains("UTF-16"), "{told}");
        assert_eq!(decode("x.toml".to_owned(), "\u{feff}a".as_bytes()).unwrap().text(), "a");
    }

    #[test]
    fn a_file_of_the_other_kind_is_refused_in_one_sentence() {
        let glaze = include_str!("../../../../config/schedules/mid-fire-glaze.toml");
        let told = kiln::check(Source::new("glaze.toml", glaze)).unwrap_err();
        assert_eq!(told.problems().len(), 1);
        assert!(told.to_string().contains("this is a schedule, not a kiln file"), "{told}");
        let told = schedule::check(Source::new("kiln.toml", kiln::SIMULATED), None).unwrap_err();
        assert_eq!(told.problems().len(), 1);
        assert!(told.to_string().contains("this is a kiln file, not a schedule"), "{told}");
    }

    #[test]
    fn a_file_without_end_is_too_large_and_not_read_on() {
        let why = read_source(Path::new("/dev/zero")).unwrap_err().to_string();
        assert!(why.contains("larger than 256 kB"), "{why}");
    }
}
