//! Spans of time as people write them: "30 min", "1 h 20 min", "90 s", "2 d".

use pyrometry::units::Millis;

/// The longest span a file may give, and the longest firing: the slowest drying and cooling of
/// large work stays well below it (engineering judgement).
pub(super) const LONGEST_DAYS: u64 = 14;

/// The same as a regular expression, for the schema.
pub(super) const PATTERN: &str = r"^\s*(\d+(\.\d+)?\s*(d|h|min|s)\s*)+$";

const UNITS: [(&str, f64); 4] = [("d", 86400.0), ("h", 3600.0), ("min", 60.0), ("s", 1.0)];

/// Reads a span: numbers with units, the larger unit first, each at most once.
#[must_use]
pub fn parse(text: &str) -> Option<Millis> {
    let mut rest = text.trim();
    let mut units = UNITS.iter();
    let mut seconds = 0.0;
    if rest.is_empty() {
        return None;
    }
    while !rest.is_empty() {
        let number_ends = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
        let (number, after) = rest.split_at(number_ends);
        let after = after.trim_start();
        let unit_ends = after.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(after.len());
        let (unit, after) = after.split_at(unit_ends);
        // `units` moves on, so a unit that comes again or out of order is not found.
        let (_, factor) = units.find(|(name, _)| *name == unit)?;
        if !number.starts_with(|c: char| c.is_ascii_digit()) {
            return None;
        }
        seconds += number.parse::<f64>().ok()? * factor;
        rest = after.trim_start();
    }
    Millis::from_seconds_f64(seconds)
}

/// Writes a span in hours and minutes (days from two on, seconds below one hour).
#[must_use]
pub fn say(span: Millis) -> String {
    let seconds = span.ms().div_ceil(1000);
    let (days, hours) =
        if seconds >= 2 * 86400 { (seconds / 86400, seconds % 86400 / 3600) } else { (0, seconds / 3600) };
    let (minutes, left) = (seconds % 3600 / 60, if seconds < 3600 { seconds % 60 } else { 0 });
    let parts: Vec<String> = [(days, "d"), (hours, "h"), (minutes, "min"), (left, "s")]
        .into_iter()
        .filter(|(amount, _)| *amount > 0)
        .map(|(amount, unit)| format!("{amount} {unit}"))
        .collect();
    if parts.is_empty() { "0 s".to_owned() } else { parts.join(" ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_people_write_them() {
        for (text, seconds) in [
            ("30 min", 1800),
            ("1 h 20 min", 4800),
            ("90 s", 90),
            ("2h", 7200),
            ("1.5 h", 5400),
            ("2 d", 172_800),
        ] {
            assert_eq!(parse(text), Some(Millis::from_seconds(seconds)), "{text}");
        }
    }

    #[test]
    fn times_without_unit_out_of_order_or_negative_are_none() {
        for text in
            ["", "30", "min", "20 min 1 h", "1 h 1 h", "-5 min", "1:20", "half an hour", ". h", "1 h 20"]
        {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn times_are_written_short() {
        assert_eq!(say(Millis::from_minutes(80)), "1 h 20 min");
        assert_eq!(say(Millis::from_seconds(90)), "1 min 30 s");
        assert_eq!(say(Millis::from_hours(50)), "2 d 2 h");
        assert_eq!(say(Millis::ZERO), "0 s");
    }
}
