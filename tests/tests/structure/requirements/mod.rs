//! Every requirement of `docs/safety.md` that isn't listed as open stands in code, has a test where
//! it fires and one where its nearest legal neighbour doesn't; and `docs/traceability.md` shows it.

mod found;
mod listed;
mod page;

use std::collections::BTreeSet;
use std::fs;

use found::Places;
use listed::{Requirement, State};
use whole_product_tests::root;

/// A firing test and a neighbour's.
const TESTS_LEAST: usize = 2;

/// Everything there is to show for the requirements.
struct Evidence {
    requirements: Vec<Requirement>,
    principles: Vec<String>,
    rows: Places,
    code: Places,
    tests: Places,
    traces: Places,
}

impl Evidence {
    fn gather() -> Self {
        Self {
            requirements: listed::requirements(),
            principles: listed::principles(),
            rows: found::rows(),
            code: found::code(),
            tests: found::tests(),
            traces: found::traces(),
        }
    }

    /// What is missing, and what stands for a requirement that nobody listed.
    fn gaps(&self) -> Vec<String> {
        let count = |places: &Places, number: &str| places.get(number).map_or(0, BTreeSet::len);
        let mut gaps = Vec::new();
        for Requirement { number, .. } in self.requirements.iter().filter(|of| of.state == State::Owed) {
            if count(&self.code, number) + count(&self.rows, number) == 0 {
                gaps.push(format!("{number}: no row states it and no comment in code names it"));
            }
            let tests = count(&self.tests, number);
            if tests < TESTS_LEAST {
                gaps.push(format!("{number}: {tests} tests; one that fires and its neighbour's are needed"));
            }
        }
        let is_listed = |number: &String| self.requirements.iter().any(|known| known.number == *number);
        for row in self.rows.keys().filter(|row| !is_listed(row) && !self.principles.contains(row)) {
            gaps.push(format!("{row}: an interlock's row states it, docs/safety.md does not list it"));
        }
        for (what, places) in [("code", &self.code), ("a test", &self.tests), ("a trace", &self.traces)] {
            for number in places.keys().filter(|number| !is_listed(number)) {
                gaps.push(format!("{number}: {what} names it, docs/safety.md does not list it"));
            }
        }
        gaps
    }
}

#[test]
fn every_requirement_that_is_not_open_has_its_code_and_its_two_tests() {
    let evidence = Evidence::gather();
    println!("{}", page::table(&evidence));
    assert!(evidence.requirements.len() >= 10, "docs/safety.md lists its requirements as `### SR-nn`");
    assert!(evidence.rows.len() >= 10, "each interlock's row states its requirement");
    let gaps = evidence.gaps();
    assert!(gaps.is_empty(), "requirements without evidence:\n{}", gaps.join("\n"));
}

#[test]
fn a_gap_is_found_wherever_something_is_missing_or_unknown() {
    let takes = |take: fn(&mut Evidence)| {
        let mut evidence = Evidence::gather();
        take(&mut evidence);
        evidence.gaps().join("\n")
    };
    assert!(takes(|_| {}).is_empty());
    assert!(takes(|all| drop(all.tests.remove("SR-20"))).contains("SR-20: 0 tests"));
    assert!(takes(|all| drop(all.code.remove("SR-43"))).contains("SR-43: no row"));
    assert!(takes(|all| all.principles.clear()).contains("principle 4: an interlock's row"));
    let unlisted = takes(|all| all.requirements.retain(|of| of.number != "SR-20"));
    for what in ["an interlock's row", "code names", "a test names", "a trace names"] {
        assert!(unlisted.contains(&format!("SR-20: {what}")), "{unlisted}");
    }
}

/// `SAGGAR_WRITE_TRACEABILITY=1 cargo test -p whole-product-tests --test structure` rewrites it.
#[test]
fn the_page_of_requirements_code_and_tests_is_current() {
    let path = root().join("docs/traceability.md");
    let text = page::page(&Evidence::gather());
    if std::env::var_os("SAGGAR_WRITE_TRACEABILITY").is_some() {
        fs::write(&path, &text).expect("the page can be written");
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == text, "docs/traceability.md is stale: {}", page::REWRITE);
}
