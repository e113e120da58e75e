//! `docs/traceability.md`: requirement, code, tests, kept firings.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::Evidence;
use super::found::{Place, Places};
use super::listed::State;

/// The command that makes the page anew.
pub(super) const REWRITE: &str =
    "SAGGAR_WRITE_TRACEABILITY=1 cargo test -p whole-product-tests --test structure";

/// The whole page.
pub(super) fn page(evidence: &Evidence) -> String {
    let mut text = format!(
        "# Requirements, code and tests\n\n\
         Made from `docs/safety.md` and the source; not to be edited. A test holds it to them, and fails \
         where a requirement that is not open lacks code or its two tests. To make it anew:\n\
         ```sh\n{REWRITE}\n```\n\
         Code is an interlock's row that states the requirement, or a file whose comments name it. A test \
         shows software on simulated parts; it replaces none of the protection that `docs/safety.md` leaves \
         to hardware and people.\n\n{}",
        table(evidence)
    );
    for requirement in &evidence.requirements {
        let open = if requirement.state == State::Open { " (open)" } else { "" };
        let _ = write!(text, "\n## {} {}{open}\n", requirement.number, requirement.title);
        for (what, found) in [
            ("Code", code(evidence, &requirement.number)),
            ("Tests", of(&evidence.tests, &requirement.number)),
        ] {
            section(&mut text, what, &found);
        }
        section(&mut text, "Kept firings", &of(&evidence.traces, &requirement.number));
    }
    text
}

/// One line a requirement, with counts.
pub(super) fn table(evidence: &Evidence) -> String {
    let mut text =
        String::from("| requirement | | code | tests | kept firings |\n| --- | --- | --- | --- | --- |\n");
    for requirement in &evidence.requirements {
        let number = &requirement.number;
        let open = if requirement.state == State::Open { "open" } else { "" };
        let _ = writeln!(
            text,
            "| {number} {} | {open} | {} | {} | {} |",
            requirement.title,
            code(evidence, number).keys().count(),
            of(&evidence.tests, number).values().map(Vec::len).sum::<usize>(),
            of(&evidence.traces, number).values().map(Vec::len).sum::<usize>(),
        );
    }
    text
}

/// File → what in it.
type ByFile<'a> = BTreeMap<&'a str, Vec<&'a str>>;

fn of<'a>(places: &'a Places, number: &str) -> ByFile<'a> {
    let mut files = ByFile::new();
    for Place { file, what } in places.get(number).into_iter().flatten() {
        files.entry(file).or_default().extend((!what.is_empty()).then_some(what.as_str()));
    }
    files
}

fn code<'a>(evidence: &'a Evidence, number: &str) -> ByFile<'a> {
    let mut files = of(&evidence.code, number);
    for (file, interlocks) in of(&evidence.rows, number) {
        files.entry(file).or_default().extend(interlocks);
    }
    files
}

fn section(text: &mut String, what: &str, found: &ByFile<'_>) {
    if found.is_empty() {
        return;
    }
    let _ = write!(text, "\n{what}:\n");
    for (file, names) in found {
        let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
        let colon = if names.is_empty() { "" } else { ": " };
        let _ = writeln!(text, "- `{file}`{colon}{}", names.join(", "));
    }
}
