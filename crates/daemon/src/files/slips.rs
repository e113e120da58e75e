//! Slips of the pen that make a text no TOML, and what was meant.
//!
//! The parser's own words speak of TOML to people who know kilns; what stands here speaks of the
//! line they wrote.

/// What a person meant by the line in which the parser stopped.
pub(super) fn meant(text: &str, at: usize) -> String {
    let line = line_around(text, at);
    if line.contains(['“', '”', '„', '‘', '’', '«', '»']) {
        return "write straight quotes, \" and \", as a plain text editor has them".to_owned();
    }
    if line.starts_with('[') {
        return header(line);
    }
    let Some((key, value)) = line.split_once('=') else {
        return match line.split_once([':', ' ']) {
            Some((key, value)) if is_key(key) => {
                format!("write = between the two: {} = {}", key.trim(), value.trim())
            }
            Some(_) | None => "a line is `key = value`, a section begins with `[name]`".to_owned(),
        };
    };
    assignment(key.trim(), value.split('#').next().unwrap_or_default().trim())
}

/// What a person meant who gave the same key or section a second time.
pub(super) fn meant_once(text: &str, at: usize) -> String {
    let line = line_around(text, at);
    match line.split_once('=') {
        Some((key, _)) if !line.starts_with('[') => {
            format!("give {} once in each section; the next segment begins with [[segment]]", key.trim())
        }
        Some(_) | None => header(line),
    }
}

/// Whether the line is the head of a section.
pub(super) fn is_header(text: &str, at: usize) -> bool {
    line_around(text, at).starts_with('[')
}

fn is_key(text: &str) -> bool {
    !text.trim().is_empty() && text.trim().chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
}

fn line_around(text: &str, at: usize) -> &str {
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let end = start + line.len();
        if at < end || end == text.len() {
            return line.trim();
        }
        start = end;
    }
    ""
}

/// Sections that come several times.
const LISTS: [&str; 3] = ["segment", "bank", "probe"];

fn header(line: &str) -> String {
    let name: String = line.chars().filter(|c| c.is_alphanumeric() || *c == '_').collect();
    if LISTS.contains(&name.as_str()) {
        return format!("begin each one with [[{name}]], in two brackets on either side");
    }
    if line.starts_with("[[") {
        return format!("a section begins with [[{name}]] or [{name}]");
    }
    format!("write [{name}] once, with all its keys below it")
}

fn assignment(key: &str, value: &str) -> String {
    let number: String = value.chars().take_while(|c| c.is_ascii_digit() || "+-.,".contains(*c)).collect();
    let after_number = value[number.len()..].trim();
    if value.matches('"').count() % 2 == 1 {
        return "end what is in quotes with a second \" on the same line".to_owned();
    }
    if value.is_empty() {
        return format!("write what {key} is, behind the =");
    }
    if matches!(key, "fitted" | "calibrated") {
        return format!("write year-month-day without quotes: {key} = 2026-03-01");
    }
    if value.starts_with(char::is_alphabetic) {
        return format!("write words in quotes: {key} = \"{value}\"");
    }
    if number.contains(',') && after_number.is_empty() {
        return format!("write a point, not a comma: {key} = {}", number.replace(',', "."));
    }
    let has_leading_zero = number.len() > 1 && number.starts_with('0') && !number.contains('.');
    if key == "cone" && (has_leading_zero || !after_number.is_empty()) {
        return format!("write a cone in quotes, because 6 and 06 are different ones: cone = \"{value}\"");
    }
    if key == "to" && has_leading_zero {
        return format!("to go to a cone, write to = \"cone {number}\"");
    }
    if has_leading_zero {
        return format!("write no zero before the number: {key} = {}", number.trim_start_matches('0'));
    }
    if let Some(span) = super::time::mend(value).filter(|_| !after_number.is_empty()) {
        return format!("write a time in quotes: {key} = \"{span}\"");
    }
    if !number.is_empty() && !after_number.is_empty() {
        return format!("write the number alone: {key} = {number}; the file's scale says C or F");
    }
    format!("write what {key} is as a number, or as words in quotes")
}

/// The number in a text such as "150 °C/h", where a number alone is meant.
pub(super) fn number_alone(text: &str) -> Option<String> {
    const UNITS: [&str; 14] =
        ["", "c", "f", "k", "°", "°c", "°f", "/h", "c/h", "f/h", "k/h", "°/h", "°c/h", "°f/h"];
    let text = text.trim();
    let number: String = text.chars().take_while(|c| c.is_ascii_digit() || "+-.,".contains(*c)).collect();
    let unit = text[number.len()..].trim().to_lowercase().replace("hr", "h").replace(" per ", "/");
    let number = number.replace(',', ".");
    (UNITS.contains(&unit.as_str()) && number.parse::<f64>().is_ok()).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commonest_slips_are_answered_with_what_was_meant() {
        for (line, right) in [
            ("rate = 62,5", "write a point, not a comma: rate = 62.5"),
            ("cone = 06", "write a cone in quotes, because 6 and 06 are different ones: cone = \"06\""),
            ("to = 06", "to go to a cone, write to = \"cone 06\""),
            ("rate = 060", "write no zero before the number: rate = 60"),
            ("rate = 150C", "write the number alone: rate = 150; the file's scale says C or F"),
            ("soak = 30 min", "write a time in quotes: soak = \"30 min\""),
            ("soak = 1h30", "write a time in quotes: soak = \"1 h 30 min\""),
            ("title = Glaze # mine", "write words in quotes: title = \"Glaze\""),
            ("to = cone 6", "write words in quotes: to = \"cone 6\""),
            ("title = “Glaze”", "write straight quotes, \" and \", as a plain text editor has them"),
            ("title = \"Glaze", "end what is in quotes with a second \" on the same line"),
            ("rate: 60", "write = between the two: rate = 60"),
            ("soak 10 min", "write = between the two: soak = 10 min"),
            ("- 60", "a line is `key = value`, a section begins with `[name]`"),
            ("fitted = 01.03.2026", "write year-month-day without quotes: fitted = 2026-03-01"),
            ("rate =", "write what rate is, behind the ="),
            ("[segment]", "begin each one with [[segment]], in two brackets on either side"),
            ("[[segment]", "begin each one with [[segment]], in two brackets on either side"),
        ] {
            let text = format!("# é\n{line}\nto = 100\n");
            assert_eq!(meant(&text, text.find(line).unwrap() + line.len() - 1), right);
        }
        assert_eq!(meant_once("[kiln]\n", 0), "write [kiln] once, with all its keys below it");
        let right = "give rate once in each section; the next segment begins with [[segment]]";
        assert_eq!(meant_once("rate = 60\n", 0), right);
    }

    #[test]
    fn a_number_is_found_before_its_unit_and_nowhere_else() {
        assert_eq!(number_alone("150 °C/h").as_deref(), Some("150"));
        assert_eq!(number_alone("150C/hr").as_deref(), Some("150"));
        assert_eq!(number_alone("-62,5").as_deref(), Some("-62.5"));
        for text in ["fast", "150 W", "1.2.3", "", "C"] {
            assert_eq!(number_alone(text), None, "{text}");
        }
    }
}
