//! The shelf of schedules in the data folder.

use std::fs;
use std::io::{self, Write};
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

    /// The name on the shelf of a schedule: one that is there, or a file elsewhere, of which a copy
    /// is put there so that the page can show what is fired. What is there stays as it is, and a
    /// file with errors, or one that this kiln cannot fire, is not copied.
    pub fn adopt(&self, path: &Path, kiln: &KilnFile) -> io::Result<String> {
        if !path.exists() {
            return self.named(path);
        }
        let name = path.file_name().and_then(|name| name.to_str()).filter(|name| is_name(name));
        let name = name.ok_or_else(|| {
            io::Error::other("a schedule's file name ends in .toml and does not begin with a dot")
        })?;
        let here = self.folder.join(name);
        let checked = schedule::load(path, Some(kiln)).map_err(|why| io::Error::other(why.to_string()))?;
        match fs::File::create_new(&here) {
            Ok(mut file) => file.write_all(checked.source.text().as_bytes())?,
            Err(why) if why.kind() == io::ErrorKind::AlreadyExists => {
                if fs::read(path)? != fs::read(&here)? {
                    return Err(io::Error::other(format!(
                        "the shelf has another schedule called {name} ({}): rename one of the two, \
                         or put yours in its place yourself",
                        here.display()
                    )));
                }
            }
            Err(why) => return Err(why),
        }
        Ok(name.to_owned())
    }

    /// The name of a schedule on the shelf, given with its ending or without.
    fn named(&self, path: &Path) -> io::Result<String> {
        let names = self.names()?;
        let asked = path.to_string_lossy();
        let found = names.iter().find(|name| **name == asked || name.strip_suffix(".toml") == Some(&asked));
        found.cloned().ok_or_else(|| {
            let there = if names.is_empty() { "nothing".to_owned() } else { names.join(", ") };
            io::Error::other(format!("there is no file {asked}; on the shelf are: {there}"))
        })
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
        let kiln = kiln();
        for name in shelf.names().expect("names") {
            if let Err(why) = shelf.load(&name, &kiln) {
                panic!("{name}: {why}");
            }
        }
    }

    fn kiln() -> KilnFile {
        crate::kilns::simulated().expect("the simulated kiln")
    }

    fn shelf() -> (tempfile::TempDir, Shelf) {
        let folder = tempfile::tempdir().expect("a folder");
        let shelf = Shelf::open(folder.path().join("shelf")).expect("a shelf");
        (folder, shelf)
    }

    #[test]
    fn a_file_from_elsewhere_never_takes_the_place_of_one_on_the_shelf() {
        let (folder, shelf) = shelf();
        let (_, bisque) = EXAMPLES[0];
        let mine = folder.path().join("bisque.toml");
        fs::write(&mine, bisque).expect("written");
        assert_eq!(shelf.adopt(&mine, &kiln()).expect("the same"), "bisque.toml");
        fs::write(&mine, bisque.replace("cone = \"04\"", "cone = \"05\"")).expect("written");
        let why = shelf.adopt(&mine, &kiln()).expect_err("another").to_string();
        assert!(why.contains("another schedule called bisque.toml") && why.contains("rename"), "{why}");
        let kept = fs::read_to_string(shelf.path("bisque.toml").expect("there")).expect("readable");
        assert_eq!(kept, bisque);
        let renamed = folder.path().join("mine.toml");
        fs::rename(&mine, &renamed).expect("renamed");
        assert_eq!(shelf.adopt(&renamed, &kiln()).expect("a new one"), "mine.toml");
        assert_eq!(
            fs::read(&renamed).expect("readable"),
            fs::read(shelf.path("mine.toml").expect("there")).expect("readable")
        );
    }

    #[test]
    fn a_file_with_errors_is_not_put_on_the_shelf() {
        let (folder, shelf) = shelf();
        let broken = folder.path().join("broken.toml");
        fs::write(&broken, "title = Broken\n").expect("written");
        let why = shelf.adopt(&broken, &kiln()).expect_err("broken").to_string();
        assert!(why.contains("broken.toml:1:9: "), "{why}");
        assert!(shelf.path("broken.toml").is_err());
        let hot = folder.path().join("hot.toml");
        fs::write(&hot, EXAMPLES[0].1.replace("to = 1056", "to = 1291")).expect("written");
        assert!(shelf.adopt(&hot, &kiln()).expect_err("too hot").to_string().contains("ceiling"));
        assert!(shelf.path("hot.toml").is_err());
    }

    #[test]
    fn a_schedule_on_the_shelf_is_found_by_its_name_and_a_stranger_is_told_what_is_there() {
        let (_folder, shelf) = shelf();
        assert_eq!(shelf.adopt(Path::new("bisque.toml"), &kiln()).expect("there"), "bisque.toml");
        assert_eq!(shelf.adopt(Path::new("bisque"), &kiln()).expect("there"), "bisque.toml");
        let why = shelf.adopt(Path::new("nosuch"), &kiln()).expect_err("not there").to_string();
        assert!(
            why.starts_with("there is no file nosuch; on the shelf are: bisque.toml, high-fire.toml, "),
            "{why}"
        );
    }
}
