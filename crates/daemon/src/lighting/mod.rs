//! Lighting a firing: everything slow about it, done before the control thread is asked.

mod checklist;
mod parts;
mod plausible;

use std::hash::{DefaultHasher, Hasher};
use std::sync::mpsc::TrySendError;
use std::sync::{Arc, PoisonError};

use control::{Firing, Setup, Start};
use insight::Forecast;
use pyrometry::units::{Celsius, Millis};
use tokio::sync::oneshot;
use trace::TraceFile;

use crate::files::schedule::Schedule;
use crate::files::{Checked, LoadError, Refused};
use crate::learning::Known;
use crate::run::{Ask, FiringSheet, LightUp, Lighting, PresenceAsked, Snapshot, Unlit};
use crate::schedules::ShelfError;
use crate::store::{DataFolder, Event, EventKind, LastSeen, NewFiring, StoreError};
use crate::web::House;
use crate::{clock, heads, plant};
use plausible::{Left, Read};

pub use checklist::{checklist, missing};
pub use parts::{Changes, Parts, TypeChanged};

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
    Unconfirmed(Vec<String>),
    /// A probe reads what cannot be.
    #[error("{0}")]
    Implausible(String),
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

/// What a proving firing is for, and how it is done (SR-10).
pub const PROVING_ADVICE: [&str; 3] = [
    "This is a proving firing. Fire the kiln empty or with bisque, not with glazed ware you care for.",
    "Place witness cones, stay near, and compare them with the temperatures and cones shown here.",
    "If they disagree, end the firing: the thermocouple, its type or its leads are not what the kiln file says.",
];

/// Somebody who wants a firing lit.
#[derive(Clone, Copy, Debug)]
pub enum By<'a> {
    /// A person who has confirmed these of the checklist, and shows to be at the kiln as its file says.
    Confirming(&'a [String]),
    /// The command that starts the program with a firing. On a simulated kiln alone, where nothing can
    /// get hot: it confirms everything, and says so.
    StartCommand,
}

/// What is to be lit.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// The schedule's name on the shelf.
    pub file: &'a str,
    /// The edition of it that was looked at; whoever names none has not looked.
    pub edition: Option<&'a str>,
    /// How long until heating begins.
    pub delay: Millis,
    /// Who asks.
    pub by: By<'a>,
}

/// What is new about this kiln's parts since a firing ran to its end with them. Blocks on the disk.
pub fn changes(house: &House) -> Result<Changes, StoreError> {
    let proven = house.logbook.parts_proven(house.simulated.is_some())?;
    // What cannot be read proves nothing.
    let proven = proven.and_then(|text| serde_json::from_str(&text).ok());
    Ok(Parts::of(&house.kiln).since(proven.as_ref()))
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

/// Lights a firing of a schedule on the shelf; gives its number. Blocks on the disk.
pub fn light(house: &House, wanted: &Wanted<'_>) -> Result<i64, NotLit> {
    let presses_known = house.shut_off.presses();
    let changes = changes(house)?;
    if let By::Confirming(confirmed) = wanted.by {
        let missing = missing(&checklist(&house.kiln, &changes), confirmed);
        if !missing.is_empty() {
            return Err(NotLit::Unconfirmed(missing));
        }
    }
    let checked = house.shelf.load(wanted.file, &house.kiln)?;
    if wanted.edition.is_some_and(|seen| edition(checked.source.text()) != seen) {
        return Err(NotLit::Changed);
    }
    light_checked(house, wanted, &checked, &changes, presses_known)
}

/// The kiln as it is, where it may be lit and its probes read what can be.
pub(crate) fn ready(house: &House) -> Result<Arc<Snapshot>, NotLit> {
    const UNREAD: Unlit = Unlit::Because("The kiln has not been read yet.");
    let snapshot = house.snapshots.borrow().clone().ok_or(NotLit::NotNow(UNREAD))?;
    if let LightUp::Refused(why) = snapshot.light_up {
        return Err(NotLit::NotNow(why));
    }
    refuse_implausible(house, &snapshot)?;
    Ok(snapshot)
}

fn light_checked(
    house: &House,
    wanted: &Wanted<'_>,
    checked: &Checked<Schedule>,
    changes: &Changes,
    presses_known: u64,
) -> Result<i64, NotLit> {
    const TOO_HOT: Unlit = Unlit::Because(
        "The kiln is hotter than anything this schedule asks for: let it cool, or choose another.",
    );
    let snapshot = ready(house)?;
    let found_at = snapshot.decision.chamber.unwrap_or_else(|| plant::ambient(&house.kiln));
    let programme = &checked.value.programme;
    if !programme.begins_at(found_at, house.kiln.kiln.open_below) {
        return Err(NotLit::NotNow(TOO_HOT));
    }
    let kiln = &house.kiln.kiln;
    let forecast = insight::longest_forecast(kiln, programme, found_at);
    let known = house.lessons.known_of(kiln);
    let firing =
        Firing { programme: programme.clone(), delay: wanted.delay, forecast, learned: known.model() };
    let id = kindle(
        house,
        Kindling {
            file: wanted.file,
            schedule: checked,
            setup: Setup { kiln: kiln.clone(), firing: Some(firing), start: Start::default() },
            forecast: insight::forecast(&known.as_told(kiln), programme, found_at),
            parts: serde_json::to_string(&Parts::of(&house.kiln)).ok(),
            proving: (!changes.proving.is_empty()).then(|| changes.proving.join(" ")),
            presence: match wanted.by {
                By::Confirming(_) => PresenceAsked::AsTheKilnFileSays,
                By::StartCommand => PresenceAsked::No,
            },
            presses_known,
            carries_on: None,
            known: &known,
        },
    )?;
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
    pub(crate) schedule: &'a Checked<Schedule>,
    /// What its controller is made from.
    pub(crate) setup: Setup,
    /// What people are told to expect.
    pub(crate) forecast: Forecast,
    /// The parts it is fired with, as the logbook keeps them.
    pub(crate) parts: Option<String>,
    /// Why it is a proving firing, in words.
    pub(crate) proving: Option<String>,
    /// Whether somebody must show to be at the kiln.
    pub(crate) presence: PresenceAsked,
    /// Presses of the shut-off that whoever lights it knew of.
    pub(crate) presses_known: u64,
    /// The firing that it carries on.
    pub(crate) carries_on: Option<i64>,
    /// What is known of the kiln.
    pub(crate) known: &'a Known,
}

/// Begins the record of a firing and has it lit; gives its number. Blocks on the disk.
pub(crate) fn kindle(house: &House, kindling: Kindling<'_>) -> Result<i64, NotLit> {
    const TOO_BUSY: Unlit = Unlit::Because("The kiln is too busy to answer; try again.");
    let regulated_by = kindling.known.told();
    let lighting = prepare(house, kindling)?;
    let id = lighting.sheet.id;
    let (answer, answered) = oneshot::channel();
    let ask = Ask::LightUp(Box::new(lighting), answer);
    let lit = match house.asks.try_send(ask) {
        Ok(()) => answered.blocking_recv().unwrap_or(Err(TOO_BUSY)),
        Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => Err(TOO_BUSY),
    };
    match lit {
        Ok(()) => {
            note(house, id, "regulated-by", regulated_by);
            Ok(id)
        }
        Err(why) => {
            discard(house, id);
            Err(NotLit::NotNow(why))
        }
    }
}

/// Notes something about a firing in the logbook. Blocks on the disk.
pub(crate) fn note(house: &House, firing: i64, name: &str, words: String) {
    let noted = house.logbook.note(&Event {
        firing: Some(firing),
        time: house.clock.now_written(),
        at_s: None,
        kind: EventKind::Record,
        name: name.to_owned(),
        words,
    });
    if let Err(why) = noted {
        tracing::error!(%why, "the logbook does not say this of firing {firing}");
    }
}

/// Begins the record of a firing, and makes everything that it needs.
fn prepare(house: &House, kindling: Kindling<'_>) -> Result<Lighting, StoreError> {
    let Kindling { file, schedule: checked, setup, forecast, parts, proving, carries_on, .. } = kindling;
    let schedule = &checked.value;
    let started = clock::written(&house.clock.now());
    let id = house.logbook.begin(&NewFiring {
        title: schedule.title.clone(),
        schedule: file.to_owned(),
        schedule_text: checked.source.text().to_owned(),
        aim: schedule.aim.map(|cone| cone.to_string()),
        simulated: house.simulated.is_some(),
        started: started.clone(),
        parts,
        proving: proving.clone(),
        carries_on,
    })?;
    let head = heads::head_at(&house.kiln, &schedule.title, &setup, started.clone());
    let path = DataFolder::trace(&house.folder, id);
    let trace = TraceFile::create(&path, &head).inspect_err(|_| discard(house, id))?;
    let sheet = FiringSheet {
        id,
        file: file.to_owned(),
        schedule: Arc::new(schedule.clone()),
        forecast: Arc::new(forecast),
        delay: setup.firing.as_ref().map_or(Millis::ZERO, |firing| firing.delay),
        started,
        proving,
    };
    Ok(Lighting { sheet, setup, trace, presence: kindling.presence, presses_known: kindling.presses_known })
}

/// Refuses where a probe reads what cannot be true of this kiln.
fn refuse_implausible(house: &House, snapshot: &Snapshot) -> Result<(), NotLit> {
    let left = house.logbook.last_seen(house.known_after)?.and_then(|seen| left(&seen, house));
    let probes = house.kiln.kiln.probes.iter().zip(&snapshot.reports);
    for ((probe, report), number) in probes.zip(0..) {
        // One that cannot be measured now refuses as a sensor.
        let Ok(measured) = probe.sensor.measure(report) else { continue };
        let Some(cold_junction) = measured.cold_junction else { continue };
        let read = Read { junction: measured.junction, cold_junction };
        if let Some(why) = plausible::why_not(&house.kiln, number, read, left) {
            return Err(NotLit::Implausible(why));
        }
    }
    Ok(())
}

/// Where the record leaves the kiln; `None` where its end is still to come, by this computer's clock.
fn left(seen: &LastSeen, house: &House) -> Option<Left> {
    let ended: jiff::Timestamp = seen.ended.parse().ok()?;
    let ago = house.clock.now().timestamp().duration_since(ended);
    let ago = Millis::new(u64::try_from(ago.as_millis()).ok()?);
    Some(Left { at: Celsius::new(seen.last_c)?, ago })
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
