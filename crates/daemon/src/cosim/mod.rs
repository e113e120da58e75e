//! Co-simulation: the real controller in lock-step with a kiln model outside, a JSON object a line.

mod distinct;
mod session;
mod wire;

use std::io::{self, BufRead, Write};
use std::path::Path;

use insight::longest_forecast;
use trace::{TraceError, TraceFile};

use crate::files::kiln::KilnFile;
use crate::files::schedule::Schedule;
use crate::learning::Learned;
use crate::{heads, plant};

use session::Session;
pub use wire::Fault;

/// A line longer than this is none of ours: the fullest has four probes and eight orders.
const LINE_LONGEST: u64 = 64 * 1024;

/// How a run ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// At the end of the input; the summary was written.
    Whole,
    /// At a line that cannot be understood; the error was written.
    Malformed,
}

/// A run that could not go on.
#[derive(Debug, thiserror::Error)]
pub enum CosimError {
    /// Standard input or output.
    #[error("the other side is gone: {0}")]
    Stream(#[from] io::Error),
    /// The trace.
    #[error(transparent)]
    Trace(#[from] TraceError),
}

/// Runs until the end of the input.
pub fn run(
    kiln: &KilnFile,
    schedule: &Schedule,
    learned: Option<&Learned>,
    trace: Option<&Path>,
    input: impl BufRead,
    output: impl Write,
) -> Result<Ended, CosimError> {
    let forecast = longest_forecast(&kiln.kiln, &schedule.programme, plant::ambient(kiln));
    let setup = heads::setup(
        &kiln.kiln,
        &schedule.programme,
        forecast,
        learned.and_then(|learned| learned.model_of(&kiln.kiln)),
    );
    let trace = match trace {
        Some(path) => Some(TraceFile::create(path, &heads::head(kiln, &schedule.title, &setup))?),
        None => None,
    };
    let mut session = Session::new(kiln, setup, trace);
    let ended = converse(&mut session, input, output)?;
    session.close()?;
    Ok(ended)
}

fn converse(
    session: &mut Session<'_>,
    mut input: impl BufRead,
    mut output: impl Write,
) -> Result<Ended, CosimError> {
    let mut line = Vec::new();
    let mut answer = Vec::new();
    loop {
        line.clear();
        let read = io::Read::take(&mut input, LINE_LONGEST).read_until(b'\n', &mut line)?;
        answer.clear();
        let ended = if read == 0 {
            wire::write(&mut answer, &session.summary())?;
            Some(Ended::Whole)
        } else {
            match session.step(&line)? {
                Ok(said) => {
                    wire::write(&mut answer, &said)?;
                    None
                }
                Err(fault) => {
                    wire::write(&mut answer, &fault)?;
                    Some(Ended::Malformed)
                }
            }
        };
        output.write_all(&answer)?;
        output.flush()?;
        if let Some(ended) = ended {
            return Ok(ended);
        }
    }
}
