//! A small file replaced as a whole: a new one, synced, renamed over the old one, so that a power cut
//! leaves the old or the new one.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The next file while it is still empty, and the folder to be synced after it.
#[derive(Debug)]
pub(super) struct Replacement {
    path: PathBuf,
    file: File,
    folder: File,
}

impl Replacement {
    /// Opens everything that replacing the file at a path needs.
    pub(super) fn of(path: &Path) -> io::Result<Self> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        Ok(Self {
            path: path.to_owned(),
            file: File::create(fresh(path))?,
            folder: File::open(folder.unwrap_or(Path::new(".")))?,
        })
    }

    /// Puts it in the old one's place with this text.
    pub(super) fn put(mut self, text: &str) -> io::Result<()> {
        self.file.write_all(text.as_bytes())?;
        self.file.sync_all()?;
        fs::rename(fresh(&self.path), &self.path)?;
        // A renamed file is on the disk only once its folder is.
        self.folder.sync_all()
    }
}

fn fresh(path: &Path) -> PathBuf {
    path.with_extension("new")
}
