//! Reading: plain or compressed, one line at a time, a torn end accepted.

use std::fmt;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::path::Path;

use flate2::read::MultiGzDecoder;
use serde::de::DeserializeOwned;

use crate::error::TraceError;
use crate::head::Head;
use crate::step::Step;
use crate::wire::Line;

const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b]; // RFC 1952, 2.3.1
const LINE_LONGEST: u64 = 1 << 20; // fifty times the largest head; without it a damaged file could fill memory
const CHUNK: usize = 1 << 16;

/// How a trace ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// With a whole line.
    Whole,
    /// In the middle of a line, as a power cut or a kill leaves it. The line is not counted.
    Torn {
        /// Which line.
        line: u64,
    },
}

/// Streams a trace.
pub struct TraceReader<'a> {
    source: Box<dyn BufRead + 'a>,
    /// The present line; kept, so that no line allocates.
    line: Vec<u8>,
    number: u64,
    head: Head,
    ending: Option<Ending>,
}

impl fmt::Debug for TraceReader<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("TraceReader")
            .field("number", &self.number)
            .field("ending", &self.ending)
            .finish_non_exhaustive()
    }
}

impl TraceReader<'static> {
    /// Opens a file and reads the head.
    pub fn open(path: &Path) -> Result<Self, TraceError> {
        Self::new(File::open(path)?)
    }
}

impl<'a> TraceReader<'a> {
    /// Reads the head. Whether the trace is compressed is seen from its first bytes.
    pub fn new(mut source: impl Read + 'a) -> Result<Self, TraceError> {
        let mut magic = Vec::new();
        source.by_ref().take(GZIP_MAGIC.len() as u64).read_to_end(&mut magic)?;
        let packed = magic == GZIP_MAGIC;
        let whole = Cursor::new(magic).chain(source);
        let mut source: Box<dyn BufRead + 'a> = if packed {
            Box::new(BufReader::with_capacity(
                CHUNK,
                MultiGzDecoder::new(BufReader::with_capacity(CHUNK, whole)),
            ))
        } else {
            Box::new(BufReader::with_capacity(CHUNK, whole))
        };
        let mut line = Vec::new();
        match fill(&mut *source, &mut line).map_err(|reason| TraceError::Line { line: 1, reason })? {
            Filled::Nothing => return Err(TraceError::Empty),
            Filled::Whole | Filled::Cut => {}
        }
        let head = Head::from_json(&line)?;
        Ok(Self { source, line, number: 1, head, ending: None })
    }

    /// The head.
    #[must_use]
    pub const fn head(&self) -> &Head {
        &self.head
    }

    /// The number of the line last read; the head is line 1.
    #[must_use]
    pub const fn line(&self) -> u64 {
        self.number
    }

    /// How the trace ended, once it was read to the end.
    #[must_use]
    pub const fn ending(&self) -> Option<Ending> {
        self.ending
    }

    /// The next step; `None` at the end.
    pub fn next_step(&mut self) -> Result<Option<Step>, TraceError> {
        let Some(line) = self.next_wire::<Line>()? else { return Ok(None) };
        match Step::try_from(line) {
            Ok(step) => Ok(Some(step)),
            Err(fault) => Err(self.damaged(fault.to_string())),
        }
    }

    /// The next line, read as whatever part of it is wanted.
    pub(crate) fn next_wire<T: DeserializeOwned>(&mut self) -> Result<Option<T>, TraceError> {
        if self.ending.is_some() {
            return Ok(None);
        }
        let filled = match fill(&mut *self.source, &mut self.line) {
            Ok(filled) => filled,
            Err(reason) => {
                self.number += 1;
                return Err(self.damaged(reason));
            }
        };
        if let Filled::Nothing = filled {
            self.ending = Some(Ending::Whole);
            return Ok(None);
        }
        self.number += 1;
        let line = self.line.strip_suffix(b"\n").unwrap_or(&self.line);
        match (serde_json::from_slice(line), filled) {
            (Ok(line), _) => Ok(Some(line)),
            (Err(_), Filled::Cut) => {
                self.ending = Some(Ending::Torn { line: self.number });
                Ok(None)
            }
            (Err(cause), Filled::Whole | Filled::Nothing) => Err(self.damaged(by_column(&cause))),
        }
    }

    /// Reading stops for good at the first damage: what follows could not be replayed anyway.
    fn damaged(&mut self, reason: String) -> TraceError {
        self.ending = Some(Ending::Torn { line: self.number });
        TraceError::Line { line: self.number, reason }
    }
}

impl Iterator for TraceReader<'_> {
    type Item = Result<Step, TraceError>;

    fn next(&mut self) -> Option<Self::Item> {
        self.next_step().transpose()
    }
}

/// What the parser of one line says, with its column; its own count of lines would only mislead.
fn by_column(cause: &serde_json::Error) -> String {
    let words = cause.to_string();
    let place = format!(" at line {} column {}", cause.line(), cause.column());
    format!("{}, in column {}", words.strip_suffix(&place).unwrap_or(&words), cause.column())
}

enum Filled {
    /// The source has ended.
    Nothing,
    /// A line with its end.
    Whole,
    /// The source ended before the line did.
    Cut,
}

fn fill(source: &mut dyn BufRead, line: &mut Vec<u8>) -> Result<Filled, String> {
    line.clear();
    match source.take(LINE_LONGEST).read_until(b'\n', line) {
        Ok(0) => Ok(Filled::Nothing),
        Ok(_) if line.ends_with(b"\n") => Ok(Filled::Whole),
        Ok(length) if length as u64 == LINE_LONGEST => Err(format!("longer than {LINE_LONGEST} bytes")),
        Ok(_) => Ok(Filled::Cut),
        // A compressed file that was cut short.
        Err(cause) if cause.kind() == io::ErrorKind::UnexpectedEof => Ok(Filled::Cut),
        Err(cause) => Err(format!("can't be read: {cause}")),
    }
}
