//! The data folder: where everything is kept, owned by one daemon at a time.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use super::StoreError;

/// How long a starting daemon waits for the lock: whoever only looks who has it holds it for a moment.
/// Engineering judgement: thousands of times as long.
const PATIENCE: Duration = Duration::from_secs(2);
const BETWEEN_TRIES: Duration = Duration::from_millis(10);

/// Whether a daemon owns a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Owner {
    /// One runs on it.
    Daemon,
    /// None does: what is open in the logbook was cut off.
    Nobody,
}

/// The folder, locked for as long as this value lives (SR-43).
#[derive(Debug)]
pub struct DataFolder {
    path: PathBuf,
    _lock: File,
}

impl DataFolder {
    /// Makes the folder where needed and takes it.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        for folder in [path, &Self::traces(path), &path.join("schedules")] {
            fs::create_dir_all(folder)
                .map_err(StoreError::io(format!("cannot make the folder {}", folder.display())))?;
        }
        let lock = Self::lock(path)?;
        Ok(Self { path: path.to_owned(), _lock: lock })
    }

    fn lock(path: &Path) -> Result<File, StoreError> {
        let name = Self::lock_file(path);
        let doing = format!("cannot lock {}", name.display());
        let lock = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&name)
            .map_err(StoreError::io(doing.clone()))?;
        let late = Instant::now() + PATIENCE;
        loop {
            match lock.try_lock() {
                Ok(()) => return Ok(lock),
                Err(TryLockError::WouldBlock) if Instant::now() < late => thread::sleep(BETWEEN_TRIES),
                Err(TryLockError::WouldBlock) => {
                    return Err(StoreError::Taken { folder: path.display().to_string() });
                }
                Err(TryLockError::Error(why)) => return Err(StoreError::Io { what: doing, why }),
            }
        }
    }

    fn lock_file(path: &Path) -> PathBuf {
        path.join("lock")
    }

    /// Who owns a folder now. The kernel takes the lock back from a daemon that dies, whatever ends it.
    pub fn owner(path: &Path) -> Result<Owner, StoreError> {
        let name = Self::lock_file(path);
        let cannot = |why| StoreError::Io {
            what: format!("cannot see whether saggar runs, by {}", name.display()),
            why,
        };
        let lock = match File::open(&name) {
            Ok(lock) => lock,
            Err(why) if why.kind() == ErrorKind::NotFound => return Ok(Owner::Nobody),
            Err(why) => return Err(cannot(why)),
        };
        match lock.try_lock_shared() {
            Ok(()) => Ok(Owner::Nobody),
            Err(TryLockError::WouldBlock) => Ok(Owner::Daemon),
            Err(TryLockError::Error(why)) => Err(cannot(why)),
        }
    }

    /// The folder.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The logbook's file.
    #[must_use]
    pub fn logbook(path: &Path) -> PathBuf {
        path.join("logbook.sqlite")
    }

    /// Where what firings teach of the kiln is kept.
    #[must_use]
    pub fn learned(path: &Path) -> PathBuf {
        path.join("learned")
    }

    /// Where the latch is kept.
    #[must_use]
    pub fn latch(&self) -> PathBuf {
        self.path.join("latch")
    }

    /// When the program was started last.
    #[must_use]
    pub fn starts(&self) -> PathBuf {
        self.path.join("starts")
    }

    /// The pins of a simulated kiln.
    #[must_use]
    pub fn pins(&self) -> PathBuf {
        self.path.join("pins")
    }

    /// Where schedules are kept.
    #[must_use]
    pub fn schedules(&self) -> PathBuf {
        self.path.join("schedules")
    }

    /// Where traces are kept.
    #[must_use]
    pub fn traces(path: &Path) -> PathBuf {
        path.join("traces")
    }

    /// The plain trace of a firing; compressed, its name gets `.gz` added.
    #[must_use]
    pub fn trace(path: &Path, firing: i64) -> PathBuf {
        Self::traces(path).join(format!("firing-{firing:06}.jsonl"))
    }

    /// The highest number of a firing whose trace lies there; zero without any.
    pub fn latest_trace(path: &Path) -> std::io::Result<i64> {
        let mut latest = 0;
        for entry in fs::read_dir(Self::traces(path))? {
            let name = entry?.file_name();
            let number =
                name.to_str().and_then(|name| name.strip_prefix("firing-")?.split('.').next()?.parse().ok());
            latest = latest.max(number.unwrap_or(0));
        }
        Ok(latest)
    }

    /// The trace of a firing as it lies there now, plain or compressed.
    #[must_use]
    pub fn trace_found(path: &Path, firing: i64) -> PathBuf {
        let plain = Self::trace(path, firing);
        if plain.exists() { plain } else { plain.with_extension("jsonl.gz") }
    }
}

/// Where data is kept when a person names no folder: the user's state folder as the XDG base
/// directory specification has it, or `saggar-data` here where there is no home.
#[must_use]
pub fn usual_folder() -> PathBuf {
    let named = |name| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    match (named("XDG_STATE_HOME").filter(|path| path.is_absolute()), named("HOME")) {
        (Some(state), _) => state.join("saggar"),
        (None, Some(home)) => home.join(".local").join("state").join("saggar"),
        (None, None) => PathBuf::from("saggar-data"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_its_daemons_from_its_start_to_its_end_and_before_and_after_nobodys() {
        let folder = tempfile::tempdir().expect("a folder");
        let owner = || DataFolder::owner(folder.path()).expect("seen");
        assert_eq!(owner(), Owner::Nobody);
        let taken = DataFolder::open(folder.path()).expect("taken");
        assert_eq!((owner(), owner()), (Owner::Daemon, Owner::Daemon));
        drop(taken);
        assert_eq!(owner(), Owner::Nobody);
    }

    #[test]
    fn sr_43_somebody_who_only_looks_keeps_no_daemon_from_its_folder_and_a_daemon_does() {
        let folder = tempfile::tempdir().expect("a folder");
        drop(DataFolder::open(folder.path()).expect("made"));
        let look = File::open(DataFolder::lock_file(folder.path())).expect("there");
        look.lock_shared().expect("looked at");
        let looks = thread::spawn(move || {
            thread::sleep(BETWEEN_TRIES);
            drop(look);
        });
        let _first = DataFolder::open(folder.path()).expect("taken, a little later");
        looks.join().expect("done");
        assert!(matches!(DataFolder::open(folder.path()), Err(StoreError::Taken { .. })));
    }
}
