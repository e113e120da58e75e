//! What a controller is made from, and the head that a trace of it begins with.

use control::{Expected, Firing, Kiln, KilnModel, Programme, Setup, Start};
use pyrometry::units::Millis;
use trace::{Head, Software};

use crate::clock;
use crate::files::kiln::{Board, KilnFile};

/// The build: two builds of this name decide alike, bit for bit.
pub const BUILD: &str = env!("SAGGAR_BUILD");

/// This program, as traces name it.
#[must_use]
pub fn software() -> Software {
    Software {
        name: "saggar".to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        build: BUILD.to_owned(),
    }
}

/// A firing that is lit at the first step, in a kiln with no trip, regulated by what earlier ones taught.
#[must_use]
pub fn setup(kiln: &Kiln, programme: &Programme, forecast: Expected, learned: Option<KilnModel>) -> Setup {
    Setup {
        kiln: kiln.clone(),
        firing: Some(Firing { programme: programme.clone(), delay: Millis::ZERO, forecast, learned }),
        start: Start::default(),
    }
}

/// The head of a trace that begins now.
#[must_use]
pub fn head(kiln: &KilnFile, title: &str, setup: &Setup) -> Head {
    head_at(kiln, title, setup, clock::written(&jiff::ZonedDateTime::now()))
}

/// The head of a trace that begins at a time of day.
#[must_use]
pub fn head_at(kiln: &KilnFile, title: &str, setup: &Setup, started: String) -> Head {
    Head {
        software: software(),
        kiln: kiln.name.clone(),
        probes: kiln.probes.iter().map(|probe| probe.name.clone()).collect(),
        banks: kiln.banks.iter().map(|bank| bank.name.clone()).collect(),
        title: title.to_owned(),
        simulated: matches!(kiln.board, Board::Simulated(_)),
        started,
        setup: setup.clone(),
    }
}
