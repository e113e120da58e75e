//! Importing a plain log of time and temperature as a trace of inputs.

use std::io::{Read, Write};

use control::Contact;
use csv::StringRecord;
use heapless::Vec;
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::constant;
use pyrometry::units::{Celsius, Millis};

use crate::error::TraceError;
use crate::head::Head;
use crate::step::Seen;
use crate::writer::TraceWriter;

const TIME: &str = "time_s";
const TEMPERATURE: &str = "temp_c";
const COLD_JUNCTION: &str = "cold_junction_c";
// A workshop's; engineering judgement: a log in degrees is already compensated for its cold junction.
const ROOM: Celsius = constant!(Celsius, 25.0);

/// What was imported.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Imported {
    /// How many rows.
    pub steps: u64,
    /// How many of them had no temperature; they became answers with no value.
    pub blanks: u64,
    /// The longest time between two rows; a controller calls readings stale after 5 s.
    pub longest_gap: Millis,
}

/// Why a log can't be imported.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// The log has one temperature, the kiln another number of probes.
    #[error("a log of one temperature needs a kiln of one probe; this kiln has {probes}")]
    Probes {
        /// How many the head's kiln has.
        probes: usize,
    },
    /// A column that must be there isn't.
    #[error(
        "line 1: there is no column {column}; the first line must name the columns {TIME} and {TEMPERATURE}"
    )]
    NoColumn {
        /// Which.
        column: &'static str,
    },
    /// A row that can't be understood.
    #[error("line {line}: {reason}")]
    Row {
        /// Which line of the file, counted from one.
        line: u64,
        /// What is wrong.
        reason: String,
    },
    /// The trace can't be written.
    #[error(transparent)]
    Trace(#[from] TraceError),
}

/// Imports a CSV log with the columns `time_s` and `temp_c`, optionally `cold_junction_c` (else
/// 25 °C); others are left aside.
///
/// Times count from the first row. A temperature is taken as what the setup's amplifier would
/// report, so give the setup a linearising one when the log's temperatures are true.
pub fn import_csv(log: impl Read, head: &Head, sink: impl Write) -> Result<Imported, ImportError> {
    let probes = head.setup.kiln.probes.len();
    if probes != 1 {
        return Err(ImportError::Probes { probes });
    }
    let mut rows = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(log);
    let columns = Columns::find(rows.headers().map_err(|cause| unreadable(&cause))?)?;
    let mut writer = TraceWriter::new(sink, head)?;
    let mut imported = Imported { steps: 0, blanks: 0, longest_gap: Millis::ZERO };
    let mut clock = Clock::default();
    let mut row = StringRecord::new();
    while rows.read_record(&mut row).map_err(|cause| unreadable(&cause))? {
        let fault = |reason| ImportError::Row { line: row.position().map_or(0, csv::Position::line), reason };
        let (at, gap) = clock.read(cell(&row, columns.time)).map_err(fault)?;
        let report = columns.report(&row).map_err(fault)?;
        imported.steps += 1;
        imported.blanks += u64::from(report.said == Said::Nothing);
        imported.longest_gap = imported.longest_gap.max(gap);
        writer.input(&Seen {
            at,
            probes: Vec::from_iter([report]),
            lid: Contact::NotFitted,
            contactor: Contact::NotFitted,
            amps: [None; control::BANKS_MOST],
            orders: Vec::new(),
            forecast: None,
        })?;
    }
    Ok(imported)
}

struct Columns {
    time: usize,
    temperature: usize,
    cold_junction: Option<usize>,
}

impl Columns {
    fn find(headers: &StringRecord) -> Result<Self, ImportError> {
        // Spreadsheets put a byte-order mark before the first name.
        let place = |column| headers.iter().position(|name| name.trim_start_matches('\u{feff}') == column);
        let need = |column| place(column).ok_or(ImportError::NoColumn { column });
        Ok(Self { time: need(TIME)?, temperature: need(TEMPERATURE)?, cold_junction: place(COLD_JUNCTION) })
    }

    fn report(&self, row: &StringRecord) -> Result<Report, String> {
        let text = cell(row, self.temperature);
        if text.is_empty() {
            return Ok(Report::single(Said::Nothing, ChipFaults::NO_ANSWER));
        }
        let junction = celsius(TEMPERATURE, text)?;
        let cold_junction = match self.cold_junction.map(|column| cell(row, column)) {
            None | Some("") => ROOM,
            Some(text) => celsius(COLD_JUNCTION, text)?,
        };
        Ok(Report::single(Said::Reading { junction, cold_junction }, ChipFaults::NONE))
    }
}

/// A short row has blanks where its cells are missing.
fn cell(row: &StringRecord, column: usize) -> &str {
    row.get(column).unwrap_or("")
}

fn celsius(column: &str, text: &str) -> Result<Celsius, String> {
    let number: f64 = text.parse().map_err(|_| format!("{column} {text:?} is no number"))?;
    Celsius::new(number).ok_or_else(|| format!("{column} {text} is no temperature: −273.15 to 3000 °C"))
}

/// Turns the log's times into times since its first row.
#[derive(Default)]
struct Clock {
    first_s: Option<f64>,
    last: Millis,
}

impl Clock {
    /// The row's time, and how long after the row before.
    fn read(&mut self, text: &str) -> Result<(Millis, Millis), String> {
        let seconds: f64 = text.parse().map_err(|_| format!("{TIME} {text:?} is no number"))?;
        let Some(first_s) = self.first_s else {
            if !seconds.is_finite() {
                return Err(format!("{TIME} {text} is no time"));
            }
            self.first_s = Some(seconds);
            return Ok((Millis::ZERO, Millis::ZERO));
        };
        let at = Millis::from_seconds_f64(seconds - first_s)
            .filter(|at| *at > self.last)
            .ok_or_else(|| format!("{TIME} {text} is not later than the row before"))?;
        let gap = at.since(self.last);
        self.last = at;
        Ok((at, gap))
    }
}

fn unreadable(cause: &csv::Error) -> ImportError {
    let line = cause.position().map_or(1, csv::Position::line);
    ImportError::Row { line, reason: cause.to_string() }
}
