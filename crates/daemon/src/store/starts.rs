//! When the program was started last: a program that keeps falling over must not keep lighting the
//! kiln (SR-40).
//!
//! A small file with a line for each start, the oldest first: its time in ms since 1970-01-01T00:00Z, or
//! `unknown` until the computer's clock can be relied on. It is replaced as a whole.

use std::fs;
use std::io;
use std::path::PathBuf;
use std::time::Instant;

use pyrometry::units::Millis;

use super::replacement::Replacement;
use crate::clock::Wall;

/// Starts within this time count together. Engineering judgement.
const COUNTED_WITHIN: Millis = Millis::from_minutes(10);
/// Starts that are kept: more than are ever asked for.
const KEPT: usize = 8;
const UNKNOWN: &str = "unknown";

/// The file, and this start.
#[derive(Clone, Debug)]
pub struct Starts {
    path: PathBuf,
    started: Instant,
    /// Why the starts before this one are not known.
    lost: Option<String>,
}

impl Starts {
    /// The file at a path, for a program that starts now.
    #[must_use]
    pub fn at(path: PathBuf) -> Self {
        Self { path, started: Instant::now(), lost: None }
    }

    /// Makes it in a data folder that is used for the first time.
    pub fn begin(&self) -> io::Result<()> {
        self.write(&[])
    }

    /// Notes this start. A file that is missing or makes no sense is made anew, but says nothing of the
    /// starts before.
    pub fn note(&mut self, wall: Wall) {
        let mut starts = self.read().unwrap_or_else(|why| {
            self.lost = Some(why);
            Vec::new()
        });
        starts.push(wall.dated_ms());
        let noted = self.write(&starts[starts.len().saturating_sub(KEPT)..]);
        self.lost = self.lost.take().or(noted.err().map(|why| why.to_string()));
    }

    /// Dates this start by a clock that can be relied on, however long after it.
    pub fn date(&self, wall: Wall) -> Result<(), String> {
        let mut starts = self.read()?;
        let since_ms = u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX);
        let started_ms = wall.dated_ms().map(|now_ms| now_ms.saturating_sub(since_ms));
        if let Some(last) = starts.last_mut().filter(|last| last.is_none()) {
            *last = started_ms;
            self.write(&starts).map_err(|why| why.to_string())?;
        }
        Ok(())
    }

    /// How often the program was started lately, this time counted; or why that cannot be known.
    ///
    /// A start whose time is unknown was lately, unless one after it was long ago.
    pub fn lately(&self, wall: Wall) -> Result<usize, String> {
        if let Some(lost) = &self.lost {
            return Err(lost.clone());
        }
        Ok(self.read()?.iter().rev().take_while(|start| !is_long_ago(**start, wall)).count())
    }

    fn read(&self) -> Result<Vec<Option<u64>>, String> {
        parse(&fs::read_to_string(&self.path).map_err(|why| why.to_string())?)
    }

    fn write(&self, starts: &[Option<u64>]) -> io::Result<()> {
        let lines = starts.iter().map(|start| start.map_or(UNKNOWN.to_owned(), |ms| ms.to_string()) + "\n");
        Replacement::of(&self.path)?.put(&lines.collect::<String>())
    }
}

/// Whether a start is known to be long past.
fn is_long_ago(start: Option<u64>, wall: Wall) -> bool {
    let times = start.zip(wall.dated_ms());
    times.and_then(|(start, now)| now.checked_sub(start)).is_some_and(|ago| ago > COUNTED_WITHIN.ms())
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
    use std::path::Path;

    use jiff::{SignedDuration, Timestamp};

    use super::*;

    fn wall(minutes: i64) -> Wall {
        Wall { now: Timestamp::UNIX_EPOCH + SignedDuration::from_mins(1000 + minutes), is_true: true }
    }

    fn untrue(minutes: i64) -> Wall {
        Wall { is_true: false, ..wall(minutes) }
    }

    fn folder() -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("starts");
        Starts::at(path.clone()).begin().expect("a disk");
        (folder, path)
    }

    fn started(path: &Path, wall: Wall) -> Starts {
        let mut starts = Starts::at(path.to_owned());
        starts.note(wall);
        starts
    }

    #[test]
    fn sr_40_starts_within_ten_minutes_count_together_and_older_ones_do_not() {
        let (_folder, path) = folder();
        for (minutes, lately) in [(0, 1), (5, 2), (10, 3), (16, 2)] {
            assert_eq!(started(&path, wall(minutes)).lately(wall(minutes)), Ok(lately), "{minutes} min");
        }
    }

    #[test]
    fn sr_40_a_start_whose_time_is_unknown_or_lies_ahead_may_have_been_just_now() {
        let (_folder, path) = folder();
        started(&path, untrue(0));
        started(&path, wall(900));
        assert_eq!(started(&path, wall(60)).lately(wall(60)), Ok(3));
    }

    #[test]
    fn sr_40_an_unknown_start_before_one_that_was_long_ago_was_so_too() {
        let (_folder, path) = folder();
        started(&path, untrue(0));
        started(&path, wall(0));
        assert_eq!(started(&path, wall(60)).lately(wall(60)), Ok(1));
    }

    #[test]
    fn sr_40_a_start_is_dated_once_the_clock_is_kept_true() {
        let (_folder, path) = folder();
        let starts = started(&path, untrue(0));
        starts.date(untrue(1)).expect("nothing to say yet");
        assert_eq!(fs::read_to_string(&path).expect("text"), "unknown\n");
        starts.date(wall(2)).expect("dated");
        assert_eq!(started(&path, wall(60)).lately(wall(60)), Ok(1), "the first was an hour ago");
    }

    #[test]
    fn sr_40_starts_that_cannot_be_read_are_not_taken_for_none() {
        let (_folder, path) = folder();
        fs::write(&path, "17\nx\n").expect("written");
        let starts = started(&path, wall(0));
        assert_eq!(starts.lately(wall(0)), Err("line 2 is no time: \"x\"".to_owned()));
        assert_eq!(started(&path, wall(1)).lately(wall(1)), Ok(2), "and begin anew with that one");
        fs::remove_file(&path).expect("lost");
        assert!(started(&path, wall(2)).lately(wall(2)).is_err());
    }
}
