//! Pages of the manual name only files that exist.

use std::fs;

use whole_product_tests::{files, named, root};

#[test]
fn every_file_a_page_names_exists() {
    let mut pages = files("docs", ".md");
    pages.extend(["README.md", "DEVELOPERS.md"].map(|name| root().join(name)));
    let mut missing = Vec::new();
    for page in pages {
        let text = fs::read_to_string(&page).expect("a page is text");
        for name in text.split('`').skip(1).step_by(2) {
            let is_a_path = ["crates/", "docs/", "config/", "tests/", "systemd/", ".ci/"]
                .iter()
                .any(|folder| name.starts_with(folder));
            if is_a_path && !name.contains(['*', '<', ' ', '{', '…']) && !root().join(name).exists() {
                missing.push(format!("{}: {name}", named(&page)));
            }
        }
    }
    assert!(missing.is_empty(), "pages name files that don't exist:\n{}", missing.join("\n"));
}
