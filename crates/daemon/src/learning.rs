//! What firings teach of the kiln: a model is fitted to the trace of each that ended, and the next is
//! regulated by it.
//!
//! It is kept as ratios to the model that the kiln file guesses, in the data folder's file `learned`.
//! Without it, or where it is damaged or belongs to another kiln, the guess serves and that is told: nothing
//! depends on it but how closely a firing follows its schedule, and what people are told to expect.
//! Interlocks and their bounds keep to the guess.

mod lessons;

use std::io;
use std::path::Path;

use control::{Kiln, KilnModel};
use insight::{NotFitted, Stretches};
use pyrometry::units::{Duty, Millis};
use serde::{Deserialize, Serialize};
use trace::{Step, TraceError, TraceReader};

use crate::store::{seal, unseal};

pub use lessons::{Known, Lessons};

/// A fit worse than this, as a share of full power, explains the firing no better than a guess would.
const RESIDUAL_MOST_SHARE: f64 = 0.03;

/// What is not recorded for longer is not followed: only what came before is learned from.
const HOLE: Millis = Millis::from_seconds(60);

/// What firings have taught of one kiln.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Learned {
    /// The trace it is from.
    from: String,
    /// Which kiln it is of.
    of: Likeness,
    /// Each parameter over the kiln file's guess.
    ratios: Vec<(String, f64)>,
    /// Root mean square of what the model leaves unexplained, as a share of full power.
    residual_share: f64,
}

/// By what a kiln is known again: what its guessed model is made from, but for the load.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Likeness {
    banks_w: Vec<f64>,
    wall_area_m2: f64,
    wall_thickness_m: f64,
    brick_kg_per_m3: f64,
    conductivity_ratio: f64,
}

/// Why nothing was learned from a firing.
#[derive(Debug, thiserror::Error)]
pub enum NotLearned {
    /// The trace cannot be read.
    #[error(transparent)]
    Trace(#[from] TraceError),
    /// It is a trace of no firing.
    #[error("it is the trace of a kiln at rest")]
    AtRest,
    /// Something was wrong in it.
    #[error("the firing tripped: what failed in it is no part of the kiln")]
    Tripped,
    /// The firing shows too little.
    #[error(
        "it is shorter than two hours or never reached 300 °C (572 °F): that shows too little of the kiln"
    )]
    TooLittle,
    /// No kiln explains it.
    #[error("no kiln's behaviour explains its readings by its duties")]
    Unexplained,
}

impl Likeness {
    fn of(kiln: &Kiln) -> Self {
        let model = kiln.model.parameters();
        Self {
            banks_w: kiln.banks.iter().map(|bank| bank.power.w()).collect(),
            wall_area_m2: model.wall_area_m2,
            wall_thickness_m: model.wall_thickness_m,
            brick_kg_per_m3: model.brick_kg_per_m3,
            conductivity_ratio: model.conductivity_ratio,
        }
    }
}

impl Learned {
    /// Learns from a firing's trace.
    pub fn from_trace(path: &Path) -> Result<Self, NotLearned> {
        let mut reader = TraceReader::open(path)?;
        let setup = reader.head().setup.clone();
        if setup.firing.is_none() {
            return Err(NotLearned::AtRest);
        }
        let mut told = Told { kiln: &setup.kiln, stretches: Stretches::default(), last: None };
        while let Some(step) = reader.next_step()? {
            if !told.take(&step)? {
                break;
            }
        }
        let fit = insight::fit(&setup.kiln, told.stretches.samples()).map_err(|why| match why {
            NotFitted::TooLittle => NotLearned::TooLittle,
            NotFitted::NoKiln => NotLearned::Unexplained,
        })?;
        if !(fit.residual_share < RESIDUAL_MOST_SHARE && fit.residual_share <= fit.residual_before_share) {
            return Err(NotLearned::Unexplained);
        }
        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        let ratios = fit.parameters.iter().map(|fitted| (fitted.field.to_owned(), fitted.ratio)).collect();
        Ok(Self { from: name, of: Likeness::of(&setup.kiln), ratios, residual_share: fit.residual_share })
    }

    /// Whether it was learned of this kiln.
    #[must_use]
    pub fn is_of(&self, kiln: &Kiln) -> bool {
        self.of == Likeness::of(kiln)
    }

    /// The model of a kiln by what was learned; `None` where it was learned of another kiln.
    #[must_use]
    pub fn model_of(&self, kiln: &Kiln) -> Option<KilnModel> {
        let ratios = self.ratios.iter().map(|(field, ratio)| (field.as_str(), *ratio));
        self.is_of(kiln).then(|| insight::as_fitted(&kiln.model, ratios)).flatten()
    }

    /// As it is kept.
    pub fn written(&self) -> io::Result<String> {
        Ok(seal(&serde_json::to_string(self)?))
    }

    /// As it was kept; what is wrong, in words.
    pub fn parse(text: &str) -> Result<Self, String> {
        serde_json::from_str(unseal(text)?).map_err(|why| why.to_string())
    }

    /// In a potter's words.
    #[must_use]
    pub fn told(&self) -> String {
        let ratio = |field: &str| {
            self.ratios.iter().find(|(named, _)| named == field).map_or(1.0, |(_, ratio)| *ratio)
        };
        format!(
            "learned from {}: the load is {:.1} times what the kiln file makes of it, the wall conducts {:.1} times; \
             {:.1} % of full power is left unexplained",
            self.from,
            ratio("ware_j_per_k"),
            ratio("conductivity_ratio"),
            100.0 * self.residual_share
        )
    }
}

/// A firing's steps as its trace tells them, gathered into stretches.
struct Told<'a> {
    kiln: &'a Kiln,
    stretches: Stretches,
    /// Time of the last step, and how the banks were left by it.
    last: Option<(Millis, Duty)>,
}

impl Told<'_> {
    /// Takes a step; gives whether there is more to follow.
    fn take(&mut self, step: &Step) -> Result<bool, NotLearned> {
        let Some(decided) = &step.decided else { return Ok(true) };
        if decided.trip.is_some() {
            return Err(NotLearned::Tripped);
        }
        let drawn = Duty::limited(self.kiln.drawn(&decided.banks).w() / self.kiln.rated().w());
        let (then, given) = self.last.replace((decided.at, drawn)).unwrap_or((decided.at, drawn));
        let span = decided.at.since(then);
        if span > HOLE {
            return Ok(false);
        }
        if let Some(chamber) = decided.chamber {
            self.stretches.take(chamber, given, span);
        }
        Ok(true)
    }
}
