//! What `docs/safety.md` lists.

use std::fs;

use whole_product_tests::root;

/// A requirement's place in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// It has to be shown.
    Owed,
    /// The page says that it is not yet shown.
    Open,
}

/// One heading `### SR-nn …`.
#[derive(Debug)]
pub(super) struct Requirement {
    /// `SR-nn`.
    pub(super) number: String,
    pub(super) title: String,
    pub(super) state: State,
}

fn page() -> String {
    fs::read_to_string(root().join("docs/safety.md")).expect("docs/safety.md is text")
}

/// The requirements, in the page's order.
pub(super) fn requirements() -> Vec<Requirement> {
    page().lines().filter_map(|line| requirement(line.strip_prefix("### ")?)).collect()
}

fn requirement(heading: &str) -> Option<Requirement> {
    let (number, title) = heading.split_once(' ').filter(|(number, _)| is_number(number))?;
    let (title, state) = match title.strip_suffix(" (open)") {
        Some(title) => (title, State::Open),
        None => (title, State::Owed),
    };
    Some(Requirement { number: number.to_owned(), title: title.to_owned(), state })
}

fn is_number(word: &str) -> bool {
    word.len() == 5
        && word.strip_prefix("SR-").is_some_and(|digits| digits.bytes().all(|b| b.is_ascii_digit()))
}

/// The principles, as rows name them: `principle 4`.
pub(super) fn principles() -> Vec<String> {
    let page = page();
    let section = page.split("## Principles").nth(1).and_then(|rest| rest.split("\n## ").next());
    section
        .expect("docs/safety.md has its principles")
        .lines()
        .filter_map(|line| line.split_once(". **"))
        .map(|(number, _)| format!("principle {number}"))
        .collect()
}

/// Every `SR-nn` in a text.
pub(super) fn named_in(text: &str) -> Vec<String> {
    text.match_indices("SR-")
        .filter_map(|(at, _)| text.get(at..at + 5))
        .filter(|word| is_number(word))
        .map(str::to_owned)
        .collect()
}

#[test]
fn headings_numbers_and_principles_are_read_as_they_are_written() {
    let open = requirement("SR-33 Heartbeat pin (open)").expect("a requirement");
    assert_eq!(
        (open.number.as_str(), open.title.as_str(), open.state),
        ("SR-33", "Heartbeat pin", State::Open)
    );
    assert_eq!(requirement("SR-01 Open thermocouple").map(|owed| owed.state), Some(State::Owed));
    assert!(requirement("SR-x1 No number").is_none());
    assert_eq!(named_in("SR-01 to SR-07, not SR-x"), ["SR-01", "SR-07"]);
    assert!(principles().contains(&"principle 4".to_owned()), "{:?}", principles());
}
