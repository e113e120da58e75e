//! When the program was started last: a program that keeps falling over must not keep lighting the
//! kiln (SR-40).
//!
//! A small file with a line for each start: its time in ms since 1970-01-01T00:00Z, or `unknown` where the
//! computer's clock could not be relied on. It is replaced as a whole, as the latch is.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use pyrometry::units::Millis;

use crate::clock::Wall;

/// Starts within this time count together. Engineering judgement.
const COUNTED_WITHIN: Millis = Millis::from_minutes(10);
/// Starts that are kept: more than are ever asked for.
const KEPT: usize = 8;
const UNKNOWN: &str = "unknown";

/// The file.
#[derive(Clone, Debug)]
pub struct Starts(PathBuf);

/// How often the program was started lately, this time counted; or why that cannot be known.
pub type StartsLately = Result<usize, String>;

impl Starts {
    /// The file at a path.
    #[must_use]
    pub const fn at(path: PathBuf) -> Self {
        Self(path)
    }

    /// Makes it in a data folder that is used for the first time.
    pub fn begin(&self) -> io::Result<()> {
        self.write(&[])
    }

    /// Notes this start. A file that is missing or makes no sense is made anew, but says nothing of the
    /// starts before.
    pub fn note(&self, wall: Wall) -> StartsLately {
        let before = fs::read_to_string(&self.0).map_err(|why| why.to_string()).and_then(|text| parse(&text));
        let mut starts = before.clone().unwrap_or_default();
        starts.push(wall.dated_ms());
        let kept = &starts[starts.len().saturating_sub(KEPT)..];
        self.write(kept).map_err(|why| why.to_string())?;
        before.map(|_| kept.iter().filter(|start| is_late(**start, wall)).count())
    }

    fn write(&self, starts: &[Option<u64>]) -> io::Result<()> {
        let fresh = self.0.with_extension("new");
        let mut file = File::create(&fresh)?;
        for start in starts {
            match start {
                Some(ms) => writeln!(file, "{ms}")?,
                None => writeln!(file, "{UNKNOWN}")?,
            }
        }
        file.sync_all()?;
        fs::rename(&fresh, &self.0)?;
        File::open(self.0.parent().unwrap_or(Path::new(".")))?.sync_all()
    }
}

/// Whether a start cannot be shown to be long past.
fn is_late(start: Option<u64>, wall: Wall) -> bool {
    match (start, wall.dated_ms()) {
        (Some(start), Some(now)) => now.checked_sub(start).is_none_or(|ago| ago <= COUNTED_WITHIN.ms()),
        (_, _) => true,
    }
}

fn parse(text: &str) -> Result<Vec<Option<u64>>, String> {
    let read = |(number, line): (usize, &str)| match line {
        UNKNOWN => Ok(None),
        ms => ms.parse().map(Some).map_err(|_| format!("line {} is no time: {line:?}", number + 1)),
    };
    text.lines().enumerate().map(read).collect()
}

#[cfg(test)]
mod tests {
    use jiff::{SignedDuration, Timestamp};

    use super::*;

    fn wall(minutes: i64) -> Wall {
        Wall { now: Timestamp::UNIX_EPOCH + SignedDuration::from_mins(1000 + minutes), is_true: true }
    }

    fn starts() -> (tempfile::TempDir, Starts) {
        let folder = tempfile::tempdir().expect("a folder");
        let starts = Starts::at(folder.path().join("starts"));
        starts.begin().expect("a disk");
        (folder, starts)
    }

    #[test]
    fn sr_40_starts_within_ten_minutes_count_together_and_older_ones_do_not() {
        let (_folder, starts) = starts();
        assert_eq!(starts.note(wall(0)), Ok(1));
        assert_eq!(starts.note(wall(5)), Ok(2));
        assert_eq!(starts.note(wall(10)), Ok(3));
        assert_eq!(starts.note(wall(16)), Ok(2), "of the first two is one 16 min old, one 11");
    }

    #[test]
    fn sr_40_a_start_whose_time_was_unknown_or_lies_ahead_may_have_been_just_now() {
        let (_folder, starts) = starts();
        assert_eq!(starts.note(Wall { is_true: false, ..wall(0) }), Ok(1));
        assert_eq!(starts.note(wall(900)), Ok(2));
        assert_eq!(starts.note(wall(60)), Ok(3));
    }

    #[test]
    fn sr_40_starts_that_cannot_be_read_are_not_taken_for_none() {
        let (folder, starts) = starts();
        fs::write(folder.path().join("starts"), "17\nx\n").expect("written");
        assert_eq!(starts.note(wall(0)), Err("line 2 is no time: \"x\"".to_owned()));
        assert_eq!(starts.note(wall(1)), Ok(2), "and begin anew with that one");
        fs::remove_file(folder.path().join("starts")).expect("lost");
        assert!(starts.note(wall(2)).is_err());
    }
}
