//! Files of at most 400 lines and functions that fit a screen.

use std::fs;

use syn::spanned::Spanned;
use syn::visit::Visit;
use whole_product_tests::{files, named};

const FILE_LINES_MOST: usize = 400;
const FUNCTION_LINES_MOST: usize = 60;

#[test]
fn no_source_file_is_longer_than_four_hundred_lines() {
    let mut long = Vec::new();
    for ending in [".rs", ".js", ".mjs", ".css", ".html", ".py", ".sh"] {
        for path in files(".", ending) {
            let lines = fs::read_to_string(&path).expect("source is text").lines().count();
            if lines > FILE_LINES_MOST {
                long.push(format!("{}: {lines} lines", named(&path)));
            }
        }
    }
    assert!(long.is_empty(), "one idea a file, at most {FILE_LINES_MOST} lines:\n{}", long.join("\n"));
}

struct Functions {
    file: String,
    long: Vec<String>,
}

impl Functions {
    fn measure(&mut self, name: &syn::Ident, block: &syn::Block) {
        let lines = block.span().end().line - block.span().start().line + 1;
        if lines > FUNCTION_LINES_MOST {
            self.long.push(format!("{}: fn {name} has {lines} lines", self.file));
        }
    }
}

impl<'ast> Visit<'ast> for Functions {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.measure(&item.sig.ident, &item.block);
        syn::visit::visit_item_fn(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.measure(&item.sig.ident, &item.block);
        syn::visit::visit_impl_item_fn(self, item);
    }
}

#[test]
fn every_function_fits_a_screen() {
    let mut long = Vec::new();
    for path in files(".", ".rs") {
        let text = fs::read_to_string(&path).expect("source is text");
        let file = syn::parse_file(&text).unwrap_or_else(|e| panic!("{}: {e}", named(&path)));
        let mut functions = Functions { file: named(&path), long: Vec::new() };
        functions.visit_file(&file);
        long.append(&mut functions.long);
    }
    assert!(long.is_empty(), "at most {FUNCTION_LINES_MOST} lines:\n{}", long.join("\n"));
}
