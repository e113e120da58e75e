//! What can go wrong when results are written.

use std::path::{Path, PathBuf};

/// Nothing but files can fail here.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Fault {
    #[error("{}: cannot be written: {source}", path.display())]
    Write { path: PathBuf, source: std::io::Error },
    #[error("{}: cannot be written: {source}", path.display())]
    Row { path: PathBuf, source: csv::Error },
    #[error("{}: cannot be drawn: {what}", path.display())]
    Drawing { path: PathBuf, what: String },
}

/// The folder, made if it is not there.
pub(crate) fn folder(path: &Path) -> Result<(), Fault> {
    std::fs::create_dir_all(path).map_err(|source| Fault::Write { path: path.to_owned(), source })
}
