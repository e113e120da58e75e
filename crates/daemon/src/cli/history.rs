//! A log of time and temperature, read row by row and never held whole.

use std::io::{BufRead, Read};

use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Millis};

const TIME: &str = "time_s";
const TEMPERATURE: &str = "temp_c";

/// A line longer than this is no row; it bounds what a file of no lines can take.
const LINE_LONGEST: u64 = 64 * 1024;

/// What a temperature history did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct History {
    /// The work of its straight lines from row to row.
    pub(super) work: HeatWork,
    /// How many rows.
    pub(super) rows: u64,
    /// From the first row to the last.
    pub(super) lasted: Millis,
    /// The longest time between two rows.
    pub(super) longest_gap: Millis,
}

/// Why a log can't be read.
#[derive(Debug, thiserror::Error)]
pub(super) enum BadLog {
    /// A line that can't be understood.
    #[error("line {line}: {reason}")]
    Line {
        /// Which, counted from one.
        line: u64,
        /// What is wrong.
        reason: String,
    },
    /// A header with nothing below it, or nothing at all.
    #[error("line {line}: the file ends without a row of {what}")]
    Empty {
        /// Its last line.
        line: u64,
        /// What was expected.
        what: &'static str,
    },
}

/// Which cells of a row matter.
struct Columns {
    time: usize,
    temperature: usize,
}

/// Reads a CSV log with the columns `time_s` and `temp_c`, named by its first line; others are
/// left aside. Times must rise.
pub(super) fn read(log: impl BufRead) -> Result<History, BadLog> {
    let mut lines = Lines { log, number: 0, bytes: Vec::new() };
    let Some(header) = lines.next_filled()? else {
        return Err(BadLog::Empty { line: lines.number.max(1), what: "column names" });
    };
    let columns = Columns::find(&header).map_err(|reason| lines.fault(reason))?;
    let mut history = None;
    while let Some(row) = lines.next_filled()? {
        columns.take(&row, &mut history).map_err(|reason| lines.fault(reason))?;
    }
    match history {
        Some((history, _)) => Ok(history),
        None => Err(BadLog::Empty { line: lines.number, what: "time and temperature" }),
    }
}

impl Columns {
    fn find(header: &str) -> Result<Self, String> {
        // Spreadsheets put a byte-order mark before the first name.
        let place = |column| cells(header.trim_start_matches('\u{feff}')).position(|name| name == column);
        let need = |column| {
            place(column).ok_or_else(|| {
                format!(
                    "there is no column {column}; the first line must name the columns {TIME} and {TEMPERATURE}, separated by commas"
                )
            })
        };
        Ok(Self { time: need(TIME)?, temperature: need(TEMPERATURE)? })
    }

    /// Takes a row into the history so far, which comes with the time of its first row.
    fn take(&self, row: &str, so_far: &mut Option<(History, f64)>) -> Result<(), String> {
        let at_s = number(row, self.time, TIME)?;
        let read_c = number(row, self.temperature, TEMPERATURE)?;
        let temperature = Celsius::new(read_c)
            .ok_or_else(|| format!("{TEMPERATURE} {read_c} is no temperature: −273.15 to 3000 °C"))?;
        let Some((history, first_s)) = so_far else {
            let mut work = HeatWork::NONE;
            work.add(temperature, Millis::ZERO);
            let history = History { work, rows: 1, lasted: Millis::ZERO, longest_gap: Millis::ZERO };
            *so_far = Some((history, at_s));
            return Ok(());
        };
        let at = Millis::from_seconds_f64(at_s - *first_s)
            .filter(|at| *at > history.lasted)
            .ok_or_else(|| format!("{TIME} {at_s} is not later than the row before"))?;
        let span = at.since(history.lasted);
        history.work.add(temperature, span);
        history.rows += 1;
        history.lasted = at;
        history.longest_gap = history.longest_gap.max(span);
        Ok(())
    }
}

fn number(row: &str, column: usize, name: &str) -> Result<f64, String> {
    let text = cells(row).nth(column).unwrap_or("");
    if text.is_empty() {
        return Err(format!("there is no {name}"));
    }
    let number: Option<f64> = text.parse().ok();
    number.filter(|number| number.is_finite()).ok_or_else(|| format!("{name} {text:?} is no number"))
}

/// The cells of a line, without the blanks and quotes around them. A comma in quotes divides none.
fn cells(line: &str) -> impl Iterator<Item = &str> {
    let mut quoted = false;
    let divides = move |letter| {
        quoted ^= letter == '"';
        letter == ',' && !quoted
    };
    line.split(divides).map(|cell| {
        let cell = cell.trim();
        cell.strip_prefix('"').and_then(|cell| cell.strip_suffix('"')).unwrap_or(cell).trim()
    })
}

/// The lines of a log with their numbers.
struct Lines<R> {
    log: R,
    number: u64,
    bytes: Vec<u8>,
}

impl<R: BufRead> Lines<R> {
    /// The next line that isn't blank; `None` at the end.
    fn next_filled(&mut self) -> Result<Option<String>, BadLog> {
        loop {
            self.bytes.clear();
            let read = self.log.by_ref().take(LINE_LONGEST).read_until(b'\n', &mut self.bytes);
            self.number += 1;
            let read = read.map_err(|why| self.fault(why.to_string()))?;
            if read == 0 {
                self.number -= 1;
                return Ok(None);
            }
            if read as u64 == LINE_LONGEST && !self.bytes.ends_with(b"\n") {
                return Err(self.fault("too long for a row".to_owned()));
            }
            // Columns that are left aside may be in whatever encoding.
            let line = String::from_utf8_lossy(&self.bytes);
            if !cells(&line).all(str::is_empty) {
                return Ok(Some(line.into_owned()));
            }
        }
    }

    fn fault(&self, reason: String) -> BadLog {
        BadLog::Line { line: self.number, reason }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn why(log: &str) -> String {
        read(log.as_bytes()).unwrap_err().to_string()
    }

    /// Orton's chart: cone 6 is down at 1222 °C at 60 °C/h; two rows make the whole ramp.
    #[test]
    fn a_ramp_of_two_rows_reaches_its_cone_whatever_else_the_file_holds() {
        let plain = read("time_s,temp_c\n0,22\n72000,1222\n".as_bytes()).unwrap();
        assert!((plain.work.reached().unwrap() - 6.0).abs() < 1e-9);
        assert_eq!((plain.rows, plain.lasted), (2, Millis::from_hours(20)));
        let decorated = "\u{feff}note, \"temp_c\" ,time_s,\r\n\r\n\"by hand, cold\",22,1000\r\n , ,\r\nx,1222,73000,7\r\n\r\n";
        assert_eq!(read(decorated.as_bytes()).unwrap(), plain);
    }

    #[test]
    fn a_bad_row_is_named_by_its_line_and_reason() {
        let head = "time_s,temp_c\r\n\r\n0,20\r\n";
        assert_eq!(why(&format!("{head}60\r\n")), "line 4: there is no temp_c");
        assert_eq!(why(&format!("{head}60,hot\r\n")), "line 4: temp_c \"hot\" is no number");
        assert_eq!(why(&format!("{head}60,nan\r\n")), "line 4: temp_c \"nan\" is no number");
        assert_eq!(
            why(&format!("{head}60,3001\r\n")),
            "line 4: temp_c 3001 is no temperature: −273.15 to 3000 °C"
        );
        assert_eq!(why(&format!("{head}0,21\r\n")), "line 4: time_s 0 is not later than the row before");
        assert_eq!(why(&format!("{head}-1,21\r\n")), "line 4: time_s -1 is not later than the row before");
    }

    #[test]
    fn a_log_without_header_or_rows_is_no_log() {
        assert!(why("0,20\n60,21\n").starts_with("line 1: there is no column time_s;"));
        assert!(why("time_s;temp_c\n").starts_with("line 1: there is no column time_s;"));
        assert_eq!(why("time_s,temp_c\n"), "line 1: the file ends without a row of time and temperature");
        assert_eq!(why(""), "line 1: the file ends without a row of column names");
        assert_eq!(why(&"0".repeat(200_000)), "line 1: too long for a row");
    }
}
