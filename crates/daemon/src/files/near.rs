//! The nearest word to one that was mistyped.

/// The candidate that differs least from `word`, if it differs little enough to be a slip: by at
/// most a third of its letters (one at least).
pub(super) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| (distance(&word, &candidate.to_lowercase()), candidate))
        .filter(|(distance, candidate)| *distance <= (candidate.chars().count() / 3).max(1))
        .filter(|(distance, candidate)| *distance < candidate.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// What potters also call a thing, and its key here.
const SYNONYMS: [(&str, &str); 18] = [
    ("fan", "vent"),
    ("hold", "soak"),
    ("dwell", "soak"),
    ("time", "soak"),
    ("ramp", "rate"),
    ("speed", "rate"),
    ("temp", "to"),
    ("temperature", "to"),
    ("target", "to"),
    ("name", "title"),
    ("unit", "scale"),
    ("units", "scale"),
    ("degrees", "scale"),
    ("segments", "segment"),
    ("type", "thermocouple"),
    ("max_temp", "ceiling"),
    ("watts", "rating_w"),
    ("volume", "volume_l"),
];

/// The known key that a word stands for.
pub(super) fn synonym<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let word = word.to_lowercase();
    let (_, key) = SYNONYMS.iter().find(|(other, key)| *other == word && known.contains(key))?;
    known.iter().copied().find(|candidate| candidate == key)
}

/// Letters inserted, deleted, exchanged, or two neighbours swapped (restricted
/// Damerau–Levenshtein distance).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    rows[0] = (0..=b.len()).collect();
    for i in 1..=a.len() {
        rows[i][0] = i;
        for j in 1..=b.len() {
            let exchanged = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = exchanged.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_its_word_and_a_stranger_finds_none() {
        let keys = ["rate", "to", "soak", "no_hotter_than", "at_most"];
        assert_eq!(nearest("raet", keys), Some("rate"));
        assert_eq!(nearest("no_hoter_then", keys), Some("no_hotter_than"));
        assert_eq!(nearest("Soak", keys), Some("soak"));
        assert_eq!(nearest("humidity", keys), None);
        assert_eq!(nearest("k", ["J", "K", "N"]), Some("K"));
        assert_eq!(synonym("Hold", &keys), Some("soak"));
        assert_eq!(synonym("hold", &["ceiling"]), None);
    }
}
