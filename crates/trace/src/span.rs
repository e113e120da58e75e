//! Spans of time as people write and read them: `2 h 10 min`.

use pyrometry::units::Millis;

const UNITS_MS: [(&str, u64); 4] = [("h", 3_600_000), ("min", 60_000), ("s", 1000), ("ms", 1)];

/// Reads `2 h 10 min`, `45 s`; units from large to small, each at most once.
pub(crate) fn parse(text: &str) -> Option<Millis> {
    let mut units = UNITS_MS.iter();
    let mut words = text.split_whitespace().peekable();
    words.peek()?;
    let mut total: u64 = 0;
    while let Some(number) = words.next() {
        let number: u64 = number.parse().ok()?;
        let unit = words.next()?;
        let (_, factor) = units.find(|(name, _)| *name == unit)?;
        total = total.checked_add(number.checked_mul(*factor)?)?;
    }
    Some(Millis::new(total))
}

/// Writes it the same way: `2 h 10 min 5 s`.
pub(crate) fn in_words(span: Millis) -> String {
    let mut rest = span.ms();
    let mut words = Vec::new();
    for (name, factor) in UNITS_MS {
        let number = rest / factor;
        rest %= factor;
        if number > 0 {
            words.push(format!("{number} {name}"));
        }
    }
    if words.is_empty() { "0 s".to_owned() } else { words.join(" ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_is_read_as_it_is_written() {
        for text in ["2 h 10 min", "45 s", "0 s", "1 h 1 min 1 s 1 ms", "300 h"] {
            assert_eq!(parse(text).map(in_words).as_deref(), Some(text));
        }
    }

    #[test]
    fn what_is_no_span_is_refused() {
        for text in ["", "10", "min", "10 min 2 h", "1 min 1 min", "-5 s", "1.5 h", "99999999999999999 h"] {
            assert_eq!(parse(text), None, "{text}");
        }
    }
}
