//! What stands in the project for each requirement: code, tests, kept firings.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use syn::visit::Visit;
use whole_product_tests::{files, named, root};

use super::listed::named_in;

/// Requirement → where it stands.
pub(super) type Places = BTreeMap<String, BTreeSet<Place>>;

/// A file, and what in it; nothing when the file is meant.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Place {
    pub(super) file: String,
    pub(super) what: String,
}

fn put(places: &mut Places, requirement: String, file: &str, what: impl Into<String>) {
    places.entry(requirement).or_default().insert(Place { file: file.to_owned(), what: what.into() });
}

/// The interlocks' rows, by the requirement that each states.
pub(super) fn rows() -> Places {
    let mut rows = Rows::default();
    for path in files("crates/control/src/interlock", ".rs") {
        rows.file = named(&path);
        rows.visit_file(&parsed(&path));
    }
    rows.found
}

#[derive(Default)]
struct Rows {
    file: String,
    found: Places,
}

impl<'ast> Visit<'ast> for Rows {
    fn visit_expr_struct(&mut self, item: &'ast syn::ExprStruct) {
        if item.path.is_ident("Row") {
            let requirement = field(item, "requirement").and_then(text);
            let interlock = field(item, "interlock").and_then(variant);
            let (requirement, interlock) =
                requirement.zip(interlock).expect("a row names requirement and interlock");
            put(&mut self.found, requirement, &self.file, kebab(&interlock));
        }
        syn::visit::visit_expr_struct(self, item);
    }
}

fn field<'a>(item: &'a syn::ExprStruct, name: &str) -> Option<&'a syn::Expr> {
    item.fields
        .iter()
        .find(|field| matches!(&field.member, syn::Member::Named(ident) if ident == name))
        .map(|field| &field.expr)
}

fn text(expr: &syn::Expr) -> Option<String> {
    let syn::Expr::Lit(syn::ExprLit { lit: syn::Lit::Str(text), .. }) = expr else { return None };
    Some(text.value())
}

fn variant(expr: &syn::Expr) -> Option<String> {
    let syn::Expr::Path(path) = expr else { return None };
    path.path.segments.last().map(|segment| segment.ident.to_string())
}

/// `AboveCeiling` as people read it: `above-ceiling`.
fn kebab(variant: &str) -> String {
    let mut name = String::new();
    for letter in variant.chars() {
        if letter.is_uppercase() && !name.is_empty() {
            name.push('-');
        }
        name.extend(letter.to_lowercase());
    }
    name
}

/// Source that names a requirement in a comment. Tests and the campaign, which proves, are left out.
pub(super) fn code() -> Places {
    let mut found = Places::new();
    for path in files("crates", ".rs") {
        let file = named(&path);
        let proves = file.starts_with("crates/campaign/")
            || file.ends_with("/tests.rs")
            || !file.contains("/src/")
            || file.contains("/tests/");
        if proves {
            continue;
        }
        let text = fs::read_to_string(&path).expect("source is text");
        let shipped = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
        for comment in shipped.lines().filter_map(|line| line.split_once("//")) {
            for requirement in named_in(comment.1) {
                put(&mut found, requirement, &file, "");
            }
        }
    }
    found
}

/// Tests that carry a number: `sr_nn_…` in Rust, `test_sr_nn_…` in Python.
pub(super) fn tests() -> Places {
    let mut tests = Tests::default();
    for path in files(".", ".rs") {
        tests.file = named(&path);
        tests.visit_file(&parsed(&path));
    }
    for path in files("tests", ".py") {
        tests.file = named(&path);
        let text = fs::read_to_string(&path).expect("source is text");
        for name in text.lines().filter_map(|line| line.trim_start().strip_prefix("def test_")) {
            tests.note(name.split('(').next().unwrap_or_default(), "test_");
        }
    }
    tests.found
}

#[derive(Default)]
struct Tests {
    file: String,
    found: Places,
}

impl Tests {
    fn note(&mut self, name: &str, before: &str) {
        if let Some(number) = name.strip_prefix("sr_").and_then(|rest| rest.get(..2)) {
            put(&mut self.found, format!("SR-{number}"), &self.file, format!("{before}{name}"));
        }
    }
}

impl<'ast> Visit<'ast> for Tests {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        let is_test = |attribute: &syn::Attribute| {
            attribute.path().segments.last().is_some_and(|segment| segment.ident == "test")
        };
        if item.attrs.iter().any(is_test) {
            self.note(&item.sig.ident.to_string(), "");
        }
        syn::visit::visit_item_fn(self, item);
    }

    /// Property tests stand inside a macro, where only the text can be read.
    fn visit_macro(&mut self, item: &'ast syn::Macro) {
        let text = item.tokens.to_string();
        for piece in text.split("fn sr_").skip(1) {
            let name: String = piece.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            self.note(&format!("sr_{name}"), "");
        }
    }
}

/// Kept firings: `tests/traces/sr-nn-….expect.toml`.
pub(super) fn traces() -> Places {
    let mut found = Places::new();
    for path in files("tests/traces", ".expect.toml") {
        let file = named(&path);
        let name = file.trim_start_matches("tests/traces/").trim_end_matches(".expect.toml");
        assert!(root().join(format!("tests/traces/{name}.jsonl.gz")).exists(), "{file} lies beside no trace");
        if let Some(number) = name.strip_prefix("sr-").and_then(|rest| rest.get(..2)) {
            put(&mut found, format!("SR-{number}"), "tests/traces", name);
        }
    }
    found
}

fn parsed(path: &Path) -> syn::File {
    let text = fs::read_to_string(path).expect("source is text");
    syn::parse_file(&text).unwrap_or_else(|why| panic!("{}: {why}", named(path)))
}
