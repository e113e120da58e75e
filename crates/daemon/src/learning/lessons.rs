//! What firings have taught of the kiln so far, for whoever lights one, and how more is learned.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::{fs, io, thread};

use control::{Kiln, KilnModel};

use super::Learned;
use crate::store::{self, DataFolder};

/// What is known of a kiln beyond its file.
#[derive(Clone, Debug, PartialEq)]
pub enum Known {
    /// Nothing: no firing has taught anything yet.
    Nothing,
    /// What a firing taught.
    Taught {
        /// The kiln by it.
        model: KilnModel,
        /// The trace it is from.
        from: String,
    },
    /// Nothing: what firings taught cannot be used, for this reason.
    Unusable(String),
}

impl Known {
    /// The model by which the kiln is regulated; `None` where the kiln file's guess serves.
    #[must_use]
    pub fn model(&self) -> Option<KilnModel> {
        match self {
            Self::Taught { model, .. } => Some(*model),
            Self::Nothing | Self::Unusable(_) => None,
        }
    }

    /// The kiln by which people are told what a schedule will do in it. What a firing is held to goes by
    /// the kiln file's alone.
    #[must_use]
    pub fn as_told(&self, by_the_file: &Kiln) -> Kiln {
        Kiln { model: self.model().unwrap_or(by_the_file.model), ..by_the_file.clone() }
    }

    /// By what people are told what a schedule will do, by name.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Taught { .. } => "earlier-firing",
            Self::Nothing | Self::Unusable(_) => "kiln-file",
        }
    }

    /// Why what firings taught is not used, for whoever plans the next; `None` where nothing is wrong.
    #[must_use]
    pub fn trouble(&self) -> Option<String> {
        match self {
            Self::Unusable(why) => Some(format!(
                "What firings taught of this kiln cannot be used: {why}. The next firing teaches it anew."
            )),
            Self::Nothing | Self::Taught { .. } => None,
        }
    }

    /// By what a firing is regulated, in words.
    #[must_use]
    pub fn told(&self) -> String {
        match self {
            Self::Nothing => {
                "It is regulated by the kiln file: no firing has taught anything of this kiln yet.".to_owned()
            }
            Self::Taught { from, .. } => format!("It is regulated by what {from} taught of this kiln."),
            Self::Unusable(why) => format!(
                "It is regulated by the kiln file: what firings taught of this kiln cannot be used: {why}."
            ),
        }
    }
}

/// What firings have taught of the kiln, shared by those who use it and the one who learns.
#[derive(Clone, Debug)]
pub struct Lessons {
    path: PathBuf,
    since_start: Arc<AtomicU64>,
}

impl Lessons {
    /// Those kept in a data folder.
    #[must_use]
    pub fn in_folder(folder: &Path) -> Self {
        Self { path: DataFolder::learned(folder), since_start: Arc::default() }
    }

    /// How many firings have taught something since the program started.
    #[must_use]
    pub fn since_start(&self) -> u64 {
        self.since_start.load(Ordering::Acquire)
    }

    /// What is known of a kiln. Blocks on the disk.
    #[must_use]
    pub fn known_of(&self, kiln: &Kiln) -> Known {
        let known = match fs::read_to_string(&self.path) {
            Ok(text) => known_by(&text, kiln).unwrap_or_else(Known::Unusable),
            Err(why) if why.kind() == io::ErrorKind::NotFound => Known::Nothing,
            Err(why) => Known::Unusable(why.to_string()),
        };
        if let Known::Unusable(why) = &known {
            tracing::warn!(%why, "what firings taught of the kiln cannot be used");
        }
        known
    }

    /// Learns from a firing that ended, on a thread of its own: it takes seconds on a small board. What
    /// was learned before stays where this firing teaches nothing.
    pub(crate) fn learn_aside(&self, trace: PathBuf) {
        let lessons = self.clone();
        let learn = move || lessons.learn(&trace);
        if let Err(why) = thread::Builder::new().name("learning".to_owned()).spawn(learn) {
            tracing::warn!(%why, "nothing was learned from the firing");
        }
    }

    fn learn(&self, trace: &Path) {
        let learned = match Learned::from_trace(trace) {
            Ok(learned) => learned,
            Err(why) => return tracing::info!("nothing was learned from {}: {why}", trace.display()),
        };
        tracing::info!("{}", learned.told());
        match learned.written().and_then(|text| store::replace(&self.path, &text)) {
            Ok(()) => {
                self.since_start.fetch_add(1, Ordering::Release);
            }
            Err(why) => tracing::warn!(%why, "what was learned of the kiln was not kept"),
        }
    }
}

fn known_by(text: &str, kiln: &Kiln) -> Result<Known, String> {
    let learned = Learned::parse(text)?;
    if !learned.is_of(kiln) {
        return Err("it is of another kiln than this kiln file's, whose banks or walls differ".to_owned());
    }
    let model = learned.model_of(kiln).ok_or("no kiln can be as it says")?;
    Ok(Known::Taught { model, from: learned.from })
}
