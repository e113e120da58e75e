//! What the whole-product tests share: where the project is, and what source files it has.

use std::fs;
use std::path::{Path, PathBuf};

/// The project's root.
///
/// # Panics
/// When this package is not in a folder of the project, which cannot be.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the project").to_path_buf()
}

/// Every file below a folder of the project whose name ends so, built and fetched ones left out.
///
/// # Panics
/// When a folder cannot be read.
#[must_use]
pub fn files(below: &str, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(below)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("the folder can be read") {
            let path = entry.expect("the entry can be read").path();
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            if path.is_dir() && !matches!(name.as_str(), "target" | "node_modules" | ".git") {
                folders.push(path);
            } else if name.ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// A file's path as people name it: from the project's root.
#[must_use]
pub fn named(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).display().to_string()
}
