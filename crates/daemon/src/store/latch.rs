//! The latch on disk: a trip that nobody has cleared survives restart and power loss.
//!
//! One small file: a line of JSON and a line with its CRC-32, replaced as a whole. A file that
//! cannot be read, or that is missing where a logbook says there must be one, is never taken for
//! "no trip" (SR-41).
//!
//! What the next write needs is open beforehand: a program that has run out of files, because
//! somebody opens connections to it, can still note a trip.

use std::fs;
use std::io;
use std::path::PathBuf;

use control::Finding;
use serde::{Deserialize, Serialize};
use trace::wire;

use super::replacement::Replacement;
use super::sealed::{seal, unseal};

const FORMAT: &str = "saggar-latch";
const VERSION: u32 = 1;

/// What the latch says.
#[derive(Clone, Debug, PartialEq)]
pub enum Latched {
    /// No trip waits to be cleared.
    Clear,
    /// This one does.
    Trip(Finding),
    /// It cannot be known.
    Unreadable(String),
}

/// The file.
#[derive(Debug)]
pub struct Latch {
    path: PathBuf,
    spare: Option<Replacement>,
}

#[derive(Serialize, Deserialize)]
struct Written {
    format: String,
    version: u32,
    trip: Option<wire::Finding>,
}

impl Latch {
    /// The latch at a path.
    #[must_use]
    pub fn at(path: PathBuf) -> Self {
        Self { path, spare: None }
    }

    /// Makes a clear latch in a data folder that is used for the first time.
    pub fn begin(&mut self) -> io::Result<()> {
        if self.path.exists() { Ok(()) } else { self.write(None) }
    }

    /// What it says.
    #[must_use]
    pub fn read(&self) -> Latched {
        match fs::read_to_string(&self.path) {
            Ok(text) => parse(&text).map_or_else(Latched::Unreadable, |trip| match trip {
                Some(trip) => Latched::Trip(trip),
                None => Latched::Clear,
            }),
            Err(why) => Latched::Unreadable(why.to_string()),
        }
    }

    /// Opens what the next write needs, as far as that can be done now.
    pub fn prepare(&mut self) {
        if self.spare.is_none() {
            self.spare =
                Replacement::of(&self.path).inspect_err(|why| tracing::warn!(%why, "no spare latch")).ok();
        }
    }

    /// Writes it anew.
    pub fn write(&mut self, trip: Option<Finding>) -> io::Result<()> {
        let written =
            Written { format: FORMAT.to_owned(), version: VERSION, trip: trip.map(wire::Finding::from) };
        let line = serde_json::to_string(&written)?;
        let text = seal(&line);
        let written = match self.spare.take() {
            // Somebody may have taken the spare out of the folder: then a fresh one.
            Some(spare) => spare.put(&text).or_else(|_| Replacement::of(&self.path)?.put(&text)),
            None => Replacement::of(&self.path)?.put(&text),
        };
        self.prepare();
        written
    }
}

fn parse(text: &str) -> Result<Option<Finding>, String> {
    let written: Written = serde_json::from_str(unseal(text)?).map_err(|why| why.to_string())?;
    if written.format != FORMAT || written.version != VERSION {
        return Err(format!("it is of another kind: {} version {}", written.format, written.version));
    }
    Ok(written.trip.map(Finding::from))
}

#[cfg(test)]
mod tests {
    use control::{Evidence, Interlock, Severity};
    use pyrometry::units::Millis;

    use super::*;

    fn trip() -> Finding {
        Finding {
            interlock: Interlock::AboveCeiling,
            severity: Severity::Trip,
            part: Some(control::Part::Probe(1)),
            evidence: Evidence { seen: 1291.25, bound: 1290.0, lasted: Millis::from_seconds(3) },
        }
    }

    fn latch() -> (tempfile::TempDir, Latch) {
        let folder = tempfile::tempdir().expect("a folder");
        let latch = Latch::at(folder.path().join("latch"));
        (folder, latch)
    }

    #[test]
    fn a_trip_is_read_back_as_it_was_written() {
        let (_folder, mut latch) = latch();
        latch.write(Some(trip())).expect("written");
        assert_eq!(latch.read(), Latched::Trip(trip()));
        latch.write(None).expect("written");
        assert_eq!(latch.read(), Latched::Clear);
    }

    #[test]
    fn a_spare_that_somebody_took_away_does_not_lose_the_next_write() {
        let (folder, mut latch) = latch();
        latch.prepare();
        fs::remove_file(folder.path().join("latch.new")).expect("the spare");
        latch.write(Some(trip())).expect("written afresh");
        assert_eq!(latch.read(), Latched::Trip(trip()));
    }

    #[test]
    fn a_missing_latch_is_not_taken_for_no_trip() {
        let (_folder, latch) = latch();
        assert!(matches!(latch.read(), Latched::Unreadable(_)));
    }

    #[test]
    fn every_flipped_bit_and_every_cut_is_noticed() {
        let (_folder, mut latch) = latch();
        latch.write(Some(trip())).expect("written");
        let whole = fs::read(&latch.path).expect("bytes");
        for at in 0..whole.len() {
            for bit in 0..8 {
                let mut flipped = whole.clone();
                flipped[at] ^= 1 << bit;
                fs::write(&latch.path, &flipped).expect("written");
                let read = latch.read();
                // The checksum's hexadecimal letters mean the same in either case; line ends may be CR LF.
                let same = read == Latched::Trip(trip());
                let harmless = same && at >= whole.len() - 10;
                assert!(harmless || matches!(read, Latched::Unreadable(_)), "byte {at} bit {bit}: {read:?}");
            }
            // The last line's end carries nothing.
            if at < whole.len() - 1 {
                fs::write(&latch.path, &whole[..at]).expect("written");
                assert!(matches!(latch.read(), Latched::Unreadable(_)), "cut at {at}");
            }
        }
    }
}
