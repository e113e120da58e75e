//! The shelf of schedules in the data folder.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::files::Checked;
use crate::files::LoadError;
use crate::files::kiln::KilnFile;
use crate::files::schedule::{self, Schedule};

/// What a new shelf begins with.
const EXAMPLES: [(&str, &str); 5] = [
    ("bisque.toml", include_str!("../../../config/schedules/bisque.toml")),
    ("high-fire.toml", include_str!("../../../config/schedules/high-fire.toml")),
    ("lustre.toml", include_str!("../../../config/schedules/lustre.toml")),
    ("mid-fire-glaze.toml", include_str!("../../../config/schedules/mid-fire-glaze.toml")),
    ("watch-only.toml", include_str!("../../../config/schedules/watch-only.toml")),
];

/// File systems allow 255 bytes; what is longer than this nobody reads on a phone.
const NAME_LONGEST: usize = 120;

/// The folder.
#[derive(Clone, Debug)]
pub struct Shelf {
    folder: PathBuf,
}

/// A schedule that is not on the shelf.
#[derive(Debug, thiserror::Error)]
pub enum ShelfError {
    /// A name that can be no file of ours.
    #[error("\"{0}\" is no name of a schedule: give the name of a file on the shelf, such as bisque.toml")]
    BadName(String),
    /// No such file.
    #[error("there is no schedule {0}")]
    Missing(String),
    /// It could not be read, or has errors.
    #[error(transparent)]
    Load(#[from] LoadError),
}

impl Shelf {
    /// Takes a folder; an empty one is given the examples.
    pub fn open(folder: PathBuf) -> io::Result<Self> {
        fs::create_dir_all(&folder)?;
        if fs::read_dir(&folder)?.next().is_none() {
            for (name, text) in EXAMPLES {
                fs::write(folder.join(name), text)?;
            }
        }
        if let Some(beside) = folder.parent() {
            // Where the examples' `#:schema` lines look for it, so that editors complete and check.
            fs::write(beside.join("schedule.schema.json"), schedule::json_schema())?;
        }
        Ok(Self { folder })
    }

    /// The names of the files, in order.
    pub fn names(&self) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in fs::read_dir(&self.folder)? {
            names.extend(entry?.file_name().into_string().ok().filter(|name| is_name(name)));
        }
        names.sort_unstable();
        Ok(names)
    }

    /// The file of that name.
    pub fn path(&self, name: &str) -> Result<PathBuf, ShelfError> {
        if !is_name(name) {
            return Err(ShelfError::BadName(name.to_owned()));
        }
        let path = self.folder.join(name);
        if path.is_file() { Ok(path) } else { Err(ShelfError::Missing(name.to_owned())) }
    }

    /// Loads and checks one.
    pub fn load(&self, name: &str, kiln: &KilnFile) -> Result<Checked<Schedule>, ShelfError> {
        Ok(schedule::load(&self.path(name)?, Some(kiln))?)
    }

    /// Puts a copy of a file on the shelf, so that the page can show what is fired; gives its name.
    pub fn adopt(&self, path: &Path) -> io::Result<String> {
        let name = path.file_name().and_then(|name| name.to_str()).filter(|name| is_name(name));
        let name = name.ok_or_else(|| {
            io::Error::other("a schedule's file name ends in .toml and does not begin with a dot")
        })?;
        let here = self.folder.join(name);
        if fs::canonicalize(path)? != fs::canonicalize(&here).unwrap_or_default() {
            fs::copy(path, here)?;
        }
        Ok(name.to_owned())
    }
}

/// A plain file name that ends in `.toml`.
fn is_name(name: &str) -> bool {
    let plain = |c: char| !c.is_control() && !matches!(c, '/' | '\\' | ':');
    let is_toml = Path::new(name).extension().is_some_and(|end| end == "toml");
    is_toml && name.len() <= NAME_LONGEST && !name.starts_with('.') && name.chars().all(plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sr_42_no_name_leads_off_the_shelf() {
        for name in
            ["../kiln.toml", "a/b.toml", "..\\x.toml", ".hidden.toml", "/etc/x.toml", ".toml", "", "x.txt"]
        {
            assert!(!is_name(name), "{name}");
        }
        assert!(is_name("Stoneware, thin ware.toml"));
    }

    #[test]
    fn a_new_shelf_begins_with_examples_that_can_be_fired() {
        let folder = tempfile::tempdir().expect("a folder");
        let shelf = Shelf::open(folder.path().to_owned()).expect("a shelf");
        assert_eq!(shelf.names().expect("names").len(), EXAMPLES.len());
        let kiln = crate::kilns::simulated().expect("the simulated kiln");
        for name in shelf.names().expect("names") {
            if let Err(why) = shelf.load(&name, &kiln) {
                panic!("{name}: {why}");
            }
        }
    }
}
