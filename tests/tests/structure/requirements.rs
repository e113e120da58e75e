//! Every requirement of `docs/safety.md` that isn't listed as open has a test where it fires and
//! one where its nearest legal neighbour doesn't.

use std::collections::BTreeMap;
use std::fs;

use syn::visit::Visit;
use whole_product_tests::{files, named, root};

#[derive(Default)]
struct Tests {
    file: String,
    /// Requirement → tests that name it.
    found: BTreeMap<String, Vec<String>>,
}

impl<'ast> Visit<'ast> for Tests {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        let name = item.sig.ident.to_string();
        if let Some(number) = name.strip_prefix("sr_").and_then(|rest| rest.get(..2)) {
            let tests = self.found.entry(format!("SR-{number}")).or_default();
            tests.push(format!("{}: {name}", self.file));
        }
        syn::visit::visit_item_fn(self, item);
    }

    /// Property tests stand inside a macro, where only the text can be read.
    fn visit_macro(&mut self, item: &'ast syn::Macro) {
        let text = item.tokens.to_string();
        for piece in text.split("fn sr_").skip(1) {
            let name: String = piece.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            if let Some(number) = name.get(..2) {
                let tests = self.found.entry(format!("SR-{number}")).or_default();
                tests.push(format!("{}: sr_{name}", self.file));
            }
        }
    }
}

/// The requirements in `docs/safety.md`: headings `### SR-nn …`, open ones marked `(open)`.
fn requirements() -> Vec<(String, bool)> {
    let text = fs::read_to_string(root().join("docs/safety.md")).expect("docs/safety.md");
    text.lines()
        .filter_map(|line| line.strip_prefix("### "))
        .filter(|heading| heading.starts_with("SR-"))
        .map(|heading| (heading.chars().take(5).collect(), heading.contains("(open")))
        .collect()
}

#[test]
fn every_requirement_that_is_not_open_has_its_two_tests() {
    let mut tests = Tests::default();
    for path in files(".", ".rs") {
        let text = fs::read_to_string(&path).expect("source is text");
        tests.file = named(&path);
        tests.visit_file(&syn::parse_file(&text).expect("source is Rust"));
    }
    let listed = requirements();
    assert!(listed.len() >= 10, "docs/safety.md lists its requirements as `### SR-nn`");
    let mut gaps = Vec::new();
    for (requirement, open) in &listed {
        let of_it = tests.found.get(requirement).map_or(&[][..], Vec::as_slice);
        println!("{requirement}{}", if *open { " (open)" } else { "" });
        for test in of_it {
            println!("    {test}");
        }
        if !open && of_it.len() < 2 {
            gaps.push(requirement.clone());
        }
    }
    for requirement in tests.found.keys() {
        assert!(
            listed.iter().any(|(known, _)| known == requirement),
            "{requirement} is tested but not listed"
        );
    }
    assert!(gaps.is_empty(), "without a firing test and a neighbour's test: {gaps:?}");
}
