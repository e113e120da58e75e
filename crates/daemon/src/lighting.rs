//! Lighting a firing: everything slow about it, done before the control thread is asked.

use std::hash::{DefaultHasher, Hasher};
use std::sync::mpsc::TrySendError;
use std::sync::{Arc, PoisonError};

use control::{Firing, Setup, Start};
use insight::Forecast;
use pyrometry::units::Millis;
use tokio::sync::oneshot;
use trace::TraceFile;

use crate::files::schedule::Schedule;
use crate::files::{Checked, LoadError, Refused};
use crate::run::{Ask, FiringSheet, LightUp, Lighting, Unlit};
use crate::schedules::ShelfError;
use crate::store::{DataFolder, NewFiring, StoreError};
use crate::web::{Check, House};
use crate::{clock, heads, plant};

/// What a person is asked before a light-up: never what is sensed, and never more than five things.
pub const CHECKLIST: [Check; 5] = [
    Check { id: "cones-placed", text: "Witness cones are in place, where you can see them" },
    Check { id: "load-clear", text: "Nothing touches elements or thermocouple, and shelves stand firm" },
    Check { id: "lid-shut", text: "Lid or door is shut, and the vent is as this firing needs it" },
    Check { id: "nothing-burns", text: "Nothing that burns is near the kiln, and the room is aired" },
    Check { id: "within-call", text: "Somebody stays within call while it fires, as your local rules ask" },
];

/// Why nothing was lit.
#[derive(Debug, thiserror::Error)]
pub enum NotLit {
    /// The schedule is not there.
    #[error("{0}")]
    NoSchedule(ShelfError),
    /// The schedule has errors.
    #[error(transparent)]
    Problems(Refused),
    /// The file is not the one that was looked at.
    #[error("The schedule has changed since you looked at it: look again.")]
    Changed,
    /// The kiln does not take a firing now.
    #[error("{0}")]
    NotNow(Unlit),
    /// Not everything on the checklist was confirmed.
    #[error("Look at the kiln first: not everything on the checklist is confirmed.")]
    Unconfirmed(Vec<&'static str>),
    /// The record of it cannot be begun (SR-44).
    #[error("No record of this firing can be kept, so it is not lit: {0}")]
    NoRecord(#[from] StoreError),
}

impl From<ShelfError> for NotLit {
    fn from(cause: ShelfError) -> Self {
        match cause {
            ShelfError::Load(LoadError::Refused(refused)) => Self::Problems(refused),
            ShelfError::Load(_) | ShelfError::BadName(_) | ShelfError::Missing(_) => Self::NoSchedule(cause),
        }
    }
}

/// Which ids of the checklist are not among the confirmed.
#[must_use]
pub fn missing(confirmed: &[String]) -> Vec<&'static str> {
    let wanted = CHECKLIST.iter().map(|check| check.id);
    wanted.filter(|id| !confirmed.iter().any(|confirmed| confirmed == id)).collect()
}

/// Tells one text of a schedule from another: a change in it changes its edition.
///
/// Compared within one build alone; after an update a page left open is asked to look again.
#[must_use]
pub fn edition(text: &str) -> String {
    let mut hasher = DefaultHasher::new();
    hasher.write(text.as_bytes());
    format!("{:016x}", hasher.finish())
}

/// Lights a firing of a schedule on the shelf as it is now; gives its number. Blocks on the disk.
pub fn light(house: &House, file: &str, delay: Millis) -> Result<i64, NotLit> {
    light_checked(house, file, house.shelf.load(file, &house.kiln)?, delay)
}

/// The same for somebody who looked at an edition of it: only that one is lit.
pub fn light_as_seen(house: &House, file: &str, seen: &str, delay: Millis) -> Result<i64, NotLit> {
    let checked = house.shelf.load(file, &house.kiln)?;
    if edition(checked.source.text()) != seen {
        return Err(NotLit::Changed);
    }
    light_checked(house, file, checked, delay)
}

fn light_checked(
    house: &House,
    file: &str,
    checked: Checked<Schedule>,
    delay: Millis,
) -> Result<i64, NotLit> {
    const UNREAD: Unlit = Unlit::Because("The kiln has not been read yet.");
    const TOO_HOT: Unlit = Unlit::Because(
        "The kiln is hotter than anything this schedule asks for: let it cool, or choose another.",
    );
    let snapshot = house.snapshots.borrow().clone().ok_or(NotLit::NotNow(UNREAD))?;
    if let LightUp::Refused(why) = snapshot.light_up {
        return Err(NotLit::NotNow(why));
    }
    let found_at = snapshot.decision.chamber.unwrap_or_else(|| plant::ambient(&house.kiln));
    let programme = &checked.value.programme;
    if !programme.begins_at(found_at, house.kiln.kiln.open_below) {
        return Err(NotLit::NotNow(TOO_HOT));
    }
    let forecast = insight::forecast(&house.kiln.kiln, programme, found_at);
    let longest = insight::longest_forecast(&house.kiln.kiln, programme, found_at);
    let firing = Firing { programme: programme.clone(), delay, forecast: longest };
    let setup = Setup { kiln: house.kiln.kiln.clone(), firing: Some(firing), start: Start::default() };
    let id = kindle(house, Kindling { file, schedule: checked, setup, forecast, carries_on: None })?;
    // Whoever lights has read what became of the last one.
    *house.interrupted.lock().unwrap_or_else(PoisonError::into_inner) = None;
    Ok(id)
}

/// Everything a firing is lit with.
#[derive(Debug)]
pub(crate) struct Kindling<'a> {
    /// The schedule's file name.
    pub(crate) file: &'a str,
    /// The schedule.
    pub(crate) schedule: Checked<Schedule>,
    /// What its controller is made from.
    pub(crate) setup: Setup,
    /// What people are told to expect.
    pub(crate) forecast: Forecast,
    /// The firing that it carries on.
    pub(crate) carries_on: Option<i64>,
}

/// Begins the record of a firing and has it lit; gives its number. Blocks on the disk.
pub(crate) fn kindle(house: &House, kindling: Kindling<'_>) -> Result<i64, NotLit> {
    const TOO_BUSY: Unlit = Unlit::Because("The kiln is too busy to answer; try again.");
    let Kindling { file, schedule: checked, setup, forecast, carries_on } = kindling;
    let delay = setup.firing.as_ref().map_or(Millis::ZERO, |firing| firing.delay);
    let started = clock::written(&house.clock.now());
    let id = house.logbook.begin(&NewFiring {
        title: checked.value.title.clone(),
        schedule: file.to_owned(),
        schedule_text: checked.source.text().to_owned(),
        aim: checked.value.aim.map(|cone| cone.to_string()),
        simulated: house.simulated.is_some(),
        started: started.clone(),
        carries_on,
    })?;
    let head = heads::head_at(&house.kiln, &checked.value.title, &setup, started.clone());
    let path = DataFolder::trace(&house.folder, id);
    let trace =
        TraceFile::create(&path, &head).inspect_err(|_| discard(house, id)).map_err(StoreError::from)?;
    let sheet = FiringSheet {
        id,
        file: file.to_owned(),
        schedule: Arc::new(checked.value),
        forecast: Arc::new(forecast),
        delay,
        started,
    };
    let (answer, answered) = oneshot::channel();
    let ask = Ask::LightUp(Box::new(Lighting { sheet, setup, trace }), answer);
    let lit = match house.asks.try_send(ask) {
        Ok(()) => answered.blocking_recv().unwrap_or(Err(TOO_BUSY)),
        Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => Err(TOO_BUSY),
    };
    match lit {
        Ok(()) => Ok(id),
        Err(why) => {
            discard(house, id);
            Err(NotLit::NotNow(why))
        }
    }
}

/// Takes back what was begun for a firing that was not lit.
fn discard(house: &House, id: i64) {
    if let Err(why) = house.logbook.discard(id) {
        tracing::error!(%why, "firing {id} was not lit but stays in the logbook");
    }
    let trace = DataFolder::trace(&house.folder, id);
    if trace.exists()
        && let Err(why) = std::fs::remove_file(&trace)
    {
        tracing::error!(%why, "firing {id} was not lit but its trace stays");
    }
}
