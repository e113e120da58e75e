//! Writing: the head first, then one `write` a line.
//!
//! A line reaches the operating system whole or not at all, as far as the program is concerned: a
//! killed process loses the line in progress and nothing else. What a power cut may take is
//! decided by how often the caller calls [`TraceFile::sync`].

use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use control::{Decision, Observation};

use crate::error::TraceError;
use crate::finish::{compress, sync_folder};
use crate::head::Head;
use crate::step::Seen;
use crate::wire::Line;

/// Writes a trace to anything.
#[derive(Debug)]
pub struct TraceWriter<W> {
    sink: W,
    /// The line being made; kept, so that no line allocates.
    line: Vec<u8>,
    spoilt: bool,
    /// Steps that could not be kept since the last whole line.
    lost: u64,
    /// The time of day of the next line.
    clock_ms: Option<u64>,
}

impl<W: Write> TraceWriter<W> {
    /// Begins a trace by writing its head.
    pub fn new(sink: W, head: &Head) -> Result<Self, TraceError> {
        let mut writer = Self { sink, line: head.to_json()?, spoilt: false, lost: 0, clock_ms: None };
        writer.write_line()?;
        Ok(writer)
    }

    /// Adds what a step saw and decided.
    pub fn step(&mut self, observation: &Observation<'_>, decision: &Decision) -> Result<(), TraceError> {
        // What no controller takes is refused, not lost.
        let seen = Seen::try_from(observation)?;
        let clock_ms = self.clock_ms.take();
        let written = self.add(&Line { clock_ms, ..Line::of(&seen, Some(decision), self.lost) });
        self.count(written)
    }

    /// Adds what a step saw, with no decision.
    pub fn input(&mut self, seen: &Seen) -> Result<(), TraceError> {
        let clock_ms = self.clock_ms.take();
        let written = self.add(&Line { clock_ms, ..Line::of(seen, None, self.lost) });
        self.count(written)
    }

    /// Says in the next line that so many steps before it are not in the trace.
    pub fn lose(&mut self, steps: u64) {
        self.lost += steps;
    }

    /// Dates the next step: ms since 1970-01-01T00:00Z. Kept as given: nothing here reads a clock.
    pub fn date(&mut self, clock_ms: Option<u64>) {
        self.clock_ms = clock_ms;
    }

    /// What the trace was written to.
    pub fn into_inner(self) -> W {
        self.sink
    }

    /// The next whole line says how many came to nothing before it.
    fn count(&mut self, written: Result<(), TraceError>) -> Result<(), TraceError> {
        self.lost = if written.is_ok() { 0 } else { self.lost + 1 };
        written
    }

    fn add(&mut self, line: &Line) -> Result<(), TraceError> {
        if self.spoilt {
            return Err(TraceError::Spoilt);
        }
        self.line.clear();
        serde_json::to_writer(&mut self.line, line).map_err(std::io::Error::from)?;
        self.write_line()
    }

    fn write_line(&mut self) -> Result<(), TraceError> {
        self.line.push(b'\n');
        // Part of the line may be out: another behind it would make damage in the middle, not at the end.
        self.spoilt = true;
        self.sink.write_all(&self.line)?;
        self.spoilt = false;
        Ok(())
    }
}

/// Writes a trace to a file of its own.
///
/// A full disk costs the lines that didn't fit and spoils none: the partly written line is taken
/// back, the next one is tried afresh, and the first that fits says how many are missing before it.
#[derive(Debug)]
pub struct TraceFile {
    writer: TraceWriter<File>,
    path: PathBuf,
    /// Bytes of whole lines.
    length: u64,
}

impl TraceFile {
    /// Begins a trace in a new file, `NAME.jsonl`; an existing one is never overwritten.
    pub fn create(path: &Path, head: &Head) -> Result<Self, TraceError> {
        let file = OpenOptions::new().append(true).create_new(true).open(path)?;
        let begun = Self::begin(file, path, head);
        if begun.is_err() {
            // A file without a head would only stand in the way of the next attempt.
            let _ = fs::remove_file(path);
        }
        begun
    }

    fn begin(file: File, path: &Path, head: &Head) -> Result<Self, TraceError> {
        let writer = TraceWriter::new(file, head)?;
        writer.sink.sync_all()?;
        sync_folder(path)?;
        let length = writer.line.len() as u64;
        Ok(Self { writer, path: path.to_owned(), length })
    }

    /// Adds what a step saw and decided.
    pub fn step(&mut self, observation: &Observation<'_>, decision: &Decision) -> Result<(), TraceError> {
        let written = self.writer.step(observation, decision);
        match &written {
            Ok(()) => self.length += self.writer.line.len() as u64,
            Err(_) if self.writer.spoilt => self.take_back(),
            Err(_) => {}
        }
        written
    }

    /// Says in the next line that so many steps before it are not in the trace.
    pub fn lose(&mut self, steps: u64) {
        self.writer.lose(steps);
    }

    /// Dates the next step: ms since 1970-01-01T00:00Z.
    pub fn date(&mut self, clock_ms: Option<u64>) {
        self.writer.date(clock_ms);
    }

    /// How many steps are missing since the last whole line.
    #[must_use]
    pub const fn lost(&self) -> u64 {
        self.writer.lost
    }

    /// Forces to the disk what was written so far. May block for long on a slow card. A file that is
    /// no longer where it was begun still takes lines, which nobody would ever find.
    pub fn sync(&self) -> Result<(), TraceError> {
        self.writer.sink.sync_data()?;
        let ours = self.writer.sink.metadata()?;
        match fs::metadata(&self.path) {
            Ok(there) if (there.dev(), there.ino()) == (ours.dev(), ours.ino()) => Ok(()),
            Ok(_) | Err(_) => Err(TraceError::Gone),
        }
    }

    /// Ends the trace and compresses it to `NAME.jsonl.gz`, whose path it returns.
    ///
    /// Takes seconds on a small board: not for the control thread.
    pub fn finish(self) -> Result<PathBuf, TraceError> {
        self.writer.sink.sync_all()?;
        Ok(compress(&self.path)?)
    }

    /// Where it is written.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Cuts off a partly written line; if even that fails, the writer stays spoilt.
    fn take_back(&mut self) {
        if self.writer.sink.set_len(self.length).is_ok() {
            self.writer.spoilt = false;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reader::{Ending, TraceReader};

    /// A trace just begun, and a step to write into it.
    fn begun(path: &Path) -> (TraceFile, Seen, Decision) {
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/version-1.jsonl");
        let mut sample = TraceReader::open(&sample).expect("a trace");
        let file = TraceFile::create(path, sample.head()).expect("a disk");
        let step = sample.next_step().expect("readable").expect("a step");
        (file, step.seen, step.decided.expect("decided"))
    }

    #[test]
    fn a_partly_written_line_is_taken_back_and_the_next_one_is_whole() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("firing.jsonl");
        let (mut file, seen, decision) = begun(&path);
        file.step(&seen.observation(), &decision).expect("a disk");

        // What a full disk leaves behind.
        file.writer.sink.write_all(b"{\"at_ms\":1000,\"sa").expect("a disk");
        file.writer.spoilt = true;
        file.take_back();
        file.step(&seen.observation(), &decision).expect("a disk");

        let mut reader = TraceReader::open(&path).expect("a trace");
        assert_eq!(reader.by_ref().filter_map(Result::ok).count(), 2);
        assert_eq!(reader.ending(), Some(Ending::Whole));
    }

    #[test]
    fn the_first_line_after_a_full_disk_says_how_many_are_missing_before_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("firing.jsonl");
        let (mut file, seen, decision) = begun(&path);
        let write = |file: &mut TraceFile| file.step(&seen.observation(), &decision);
        write(&mut file).expect("a disk");

        let full = OpenOptions::new().write(true).open("/dev/full").expect("a device that is always full");
        let disk = std::mem::replace(&mut file.writer.sink, full);
        for _ in 0..3 {
            write(&mut file).expect_err("full");
        }
        file.writer.sink = disk;
        file.take_back();
        write(&mut file).expect("room again");
        write(&mut file).expect("room still");

        let lost: Vec<u64> =
            TraceReader::open(&path).expect("a trace").map(|step| step.expect("whole").lost).collect();
        assert_eq!(lost, [0, 3, 0]);
    }
}
