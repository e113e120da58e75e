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

/// A span as it should be written, from how people write it all the same: "10 mins", "1h30",
/// "2 hours", "1:30", "1,5 h"; `None` where it isn't clear what is meant.
pub(super) fn mend(text: &str) -> Option<String> {
    const WORDS: [(&str, &str); 20] = [
        ("d", "d"),
        ("day", "d"),
        ("days", "d"),
        ("h", "h"),
        ("hr", "h"),
        ("hrs", "h"),
        ("hour", "h"),
        ("hours", "h"),
        ("m", "min"),
        ("min", "min"),
        ("mins", "min"),
        ("min.", "min"),
        ("minute", "min"),
        ("minutes", "min"),
        ("s", "s"),
        ("sec", "s"),
        ("secs", "s"),
        ("second", "s"),
        ("seconds", "s"),
        (":", "h"),
    ];
    let mut rest = text.trim();
    let mut written: Vec<String> = Vec::new();
    while !rest.is_empty() {
        let ends = rest.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',')).unwrap_or(rest.len());
        let (number, after) = rest.split_at(ends);
        let after = after.trim_start();
        let ends = after.find(|c: char| c.is_ascii_digit()).unwrap_or(after.len());
        let (word, after) = after.split_at(ends);
        let word = word.trim().to_lowercase();
        let unit = match WORDS.iter().find(|(known, _)| *known == word) {
            Some((_, unit)) => *unit,
            // "1h30" and "1:30": what follows hours without a word is minutes.
            None if word.is_empty() && written.last().is_some_and(|last| last.ends_with('h')) => "min",
            None => return None,
        };
        written.push(format!("{} {unit}", number.replace(',', ".")));
        rest = after.trim_start();
    }
    let mended = written.join(" ");
    parse(&mended).map(|_| mended)
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
    fn times_written_another_way_are_mended_where_it_is_clear_what_is_meant() {
        for (text, mended) in [
            ("10 mins", Some("10 min")),
            ("1h30", Some("1 h 30 min")),
            ("1 h 20", Some("1 h 20 min")),
            ("1:30", Some("1 h 30 min")),
            ("2 Hours", Some("2 h")),
            ("1,5 h", Some("1.5 h")),
            ("90sec", Some("90 s")),
            ("half an hour", None),
            ("30", None),
            ("20 min 1 h", None),
            ("5 weeks", None),
            ("é", None),
        ] {
            assert_eq!(mend(text).as_deref(), mended, "{text}");
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
