//! Carrying a firing on after the power, or the program, ended it (SR-40).
//!
//! The kiln has come back off and stays off until everything here has been asked; whatever is in
//! doubt leaves it off. What is lit in the end is lit as any firing is, through the same door, and has
//! its own number, trace and row in the logbook.

mod state;
mod why;

use std::sync::{Arc, PoisonError};

use control::{Carried, Firing, PROBES_MOST, Setup, Start};
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusDelta, Millis};

use crate::clock::Wall;
use crate::files::kiln::Outage;
use crate::files::time;
use crate::lighting::{self, Kindling};
use crate::run::{PresenceAsked, Snapshot};
use crate::store::{self, Became, Event, EventKind, FiringRow, Interrupted, LastStep, Starts};
use crate::web::House;
use state::{State, gap, may_go_on};

pub use why::NotCarriedOn;

/// How long the kiln is only looked at first: the time after which a reading is stale for good (SR-03),
/// so a sensor that cannot guide a firing has shown itself.
const LOOKED_AT_FOR: Millis = Millis::from_seconds(15);
/// With so many starts within ten minutes nothing is carried on.
const STARTS_TOO_MANY: usize = 3;
/// A kiln that was off is not hotter than it was by more than this: what its elements and walls still
/// give to the thermocouple. Engineering judgement.
const HOTTER_AT_MOST: CelsiusDelta = constant!(CelsiusDelta, 15.0);

/// What is known about a firing before the kiln itself is looked at.
struct Ready {
    id: i64,
    /// The one whose trace tells where it stood.
    row: FiringRow,
    last: Option<LastStep>,
    state: State,
    starts: Starts,
    gap_at_most: Millis,
    drop_at_most: CelsiusDelta,
}

/// What a start owes: the firing that was ended carried on, or told why not, where the kiln file asks for
/// it; and this start dated, once the computer's clock can be relied on.
pub async fn after_start(house: Arc<House>, interrupted: Option<Interrupted>, starts: Starts) {
    if let (Some(interrupted), Outage::CarryOn { gap_at_most, drop_at_most }) =
        (interrupted, house.kiln.outage)
    {
        let asked = Asked { interrupted, starts: starts.clone(), gap_at_most, drop_at_most };
        carry_on(&house, asked).await;
    }
    let mut snapshots = house.snapshots.clone();
    if snapshots.wait_for(|_| house.clock.wall().is_true).await.is_ok() {
        let wall = house.clock.wall();
        let dated = tokio::task::spawn_blocking(move || starts.date(wall)).await;
        if let Ok(Err(why)) = dated {
            tracing::warn!(%why, "this start cannot be noted");
        }
    }
}

/// What is asked of a firing that was ended.
struct Asked {
    interrupted: Interrupted,
    starts: Starts,
    gap_at_most: Millis,
    drop_at_most: CelsiusDelta,
}

async fn carry_on(house: &Arc<House>, asked: Asked) {
    let (id, gap_at_most) = (asked.interrupted.id, asked.gap_at_most);
    let reading = Arc::clone(house);
    let ready = tokio::task::spawn_blocking(move || make_ready(&reading, asked));
    let ready = ready.await.unwrap_or_else(|why| Err(NotCarriedOn::Unreadable(why.to_string())));
    let mut snapshots = house.snapshots.clone();
    let looked_at = |snapshot: &Option<Arc<Snapshot>>| {
        let looked = |snapshot: &Arc<Snapshot>| {
            is_looked_at(snapshot.decision.at, snapshot.sensor_for, house.clock.wall(), gap_at_most)
        };
        somebody_chose(house).is_some() || snapshot.as_ref().is_some_and(looked)
    };
    if snapshots.wait_for(looked_at).await.is_err() {
        return;
    }
    let lighting = Arc::clone(house);
    let decided = tokio::task::spawn_blocking(move || {
        let lit = ready.and_then(|ready| look_and_light(&lighting, &ready));
        decide(&lighting, id, lit)
    });
    match decided.await {
        Ok(decided) => became(house, decided),
        Err(why) => tracing::error!(%why, "what becomes of firing {id} could not be decided"),
    }
}

/// What a person has done since the start that leaves nothing to decide.
fn somebody_chose(house: &House) -> Option<NotCarriedOn> {
    let told = house.interrupted.lock().unwrap_or_else(PoisonError::into_inner);
    if told.is_none() {
        return Some(NotCarriedOn::AnotherLit);
    }
    (house.shut_off.presses() > 0).then_some(NotCarriedOn::ShutOff)
}

/// Whether the kiln was looked at for long enough. Boards without a clock battery learn the time a while
/// after they wake: that is waited for, but no longer than any gap may be. So is a sensor that may have
/// had a glitch, for as long as one that is at fault takes to show itself.
fn is_looked_at(at: Millis, sensor_for: Millis, wall: Wall, gap_at_most: Millis) -> bool {
    let is_glitch = sensor_for > Millis::ZERO && sensor_for < LOOKED_AT_FOR;
    at >= LOOKED_AT_FOR && (wall.is_true || at >= gap_at_most) && !is_glitch
}

/// Everything that can be asked without the kiln. Takes a while: the firing is replayed.
fn make_ready(house: &House, asked: Asked) -> Result<Ready, NotCarriedOn> {
    let Asked { interrupted: Interrupted { id, last, .. }, starts, gap_at_most, drop_at_most } = asked;
    let (row, last) = where_it_stood(house, id, last)?;
    may_go_on(last)?;
    let state = State::read(&house.kiln, &house.folder, &row)?;
    Ok(Ready { id, row, last, state, starts, gap_at_most, drop_at_most })
}

/// The firing whose trace tells where it stood: its own, or, where the power went again before a step of
/// it was kept, that of the one it carries on.
fn where_it_stood(
    house: &House,
    id: i64,
    last: Option<LastStep>,
) -> Result<(FiringRow, Option<LastStep>), NotCarriedOn> {
    let row = kept(house.logbook.firing(id))?;
    let row = row.ok_or_else(|| NotCarriedOn::Unreadable("it is not in the logbook".to_owned()))?;
    let lost =
        |event: &Event| event.kind == EventKind::Order && event.at_s > last.map(|last| last.at.seconds());
    if kept(house.logbook.events(id))?.iter().any(lost) {
        return Err(NotCarriedOn::OrderLost);
    }
    match (last, row.firing.carries_on) {
        (None, Some(earlier)) if earlier < id => {
            let earlier_row = kept(house.logbook.firing(earlier))?;
            let last = earlier_row.and_then(|row| store::last_step(&house.folder, &row));
            where_it_stood(house, earlier, last)
        }
        (Some(_) | None, _) => Ok((row, last)),
    }
}

fn kept<T>(read: Result<T, store::StoreError>) -> Result<T, NotCarriedOn> {
    read.map_err(|why| NotCarriedOn::Unreadable(why.to_string()))
}

/// Notes what became of the firing that was ended, and closes it.
fn decide(house: &House, id: i64, lit: Result<CarriedOn, NotCarriedOn>) -> Became {
    let decided = match lit {
        Ok(lit) => {
            note_carried_on(house, id, &lit);
            Became::CarriedOn(lit)
        }
        Err(why) => {
            let why = why.in_words(house.kiln.scale);
            note(house, id, "not-carried-on", format!("It is not carried on. {why}"));
            Became::NotCarriedOn(why)
        }
    };
    if let Err(why) = store::close_interrupted(&house.folder, &house.logbook, |row| row.id == id) {
        tracing::error!(%why, "firing {id} stays open in the logbook");
    }
    decided
}

/// The firing that carries on, as it was lit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarriedOn {
    /// Its number.
    pub firing: i64,
    /// Where the kiln was found.
    pub found_at: Celsius,
    /// How long the power was gone.
    pub gap: Millis,
}

fn not_too_often(starts: Result<usize, String>) -> Result<(), NotCarriedOn> {
    match starts {
        Ok(starts) if starts >= STARTS_TOO_MANY => Err(NotCarriedOn::StartedTooOften(starts)),
        Ok(_) => Ok(()),
        Err(why) => {
            Err(NotCarriedOn::Unreadable(format!("when saggar was started last is not known, {why}")))
        }
    }
}

/// The last questions, which the kiln itself answers; then it is lit.
fn look_and_light(house: &House, ready: &Ready) -> Result<CarriedOn, NotCarriedOn> {
    if let Some(chosen) = somebody_chose(house) {
        return Err(chosen);
    }
    let snapshot = lighting::ready(house).map_err(NotCarriedOn::NotLit)?;
    if snapshot.had_trip {
        return Err(NotCarriedOn::HadTrip);
    }
    let kept = snapshot.kept.names();
    if !kept.is_empty() {
        return Err(NotCarriedOn::PinsKept(kept.join(", ")));
    }
    let found_at = snapshot.decision.chamber.ok_or(NotCarriedOn::Unread)?;
    let wall = house.clock.wall();
    not_too_often(ready.starts.lately(wall))?;
    let gap = gap(ready.last, wall, ready.gap_at_most)?;
    let carried = ready.state.carried(gap)?;
    near_enough(carried.chamber, found_at, ready.drop_at_most)?;
    let were = ready.last.map_or([None; PROBES_MOST], |last| last.junctions);
    each_near_enough(were, snapshot.decision.junctions, ready.drop_at_most)?;
    let firing = light(house, ready, &carried, found_at)?;
    Ok(CarriedOn { firing, found_at, gap })
}

fn near_enough(was: Celsius, found_at: Celsius, at_most: CelsiusDelta) -> Result<(), NotCarriedOn> {
    if was - found_at > at_most {
        return Err(NotCarriedOn::Dropped { by: was - found_at, at_most });
    }
    if found_at - was > HOTTER_AT_MOST {
        return Err(NotCarriedOn::Hotter(found_at - was));
    }
    Ok(())
}

/// Of each probe: where there are several, one that fell must not hide behind the others.
fn each_near_enough(
    were: [Option<Celsius>; PROBES_MOST],
    found_at: [Option<Celsius>; PROBES_MOST],
    at_most: CelsiusDelta,
) -> Result<(), NotCarriedOn> {
    let mut both = were.into_iter().zip(found_at).filter_map(|(was, found_at)| was.zip(found_at));
    both.try_for_each(|(was, found_at)| near_enough(was, found_at, at_most))
}

fn light(house: &House, ready: &Ready, carried: &Carried, found_at: Celsius) -> Result<i64, NotCarriedOn> {
    let (kiln, schedule) = (&house.kiln.kiln, &ready.state.schedule);
    let programme = &schedule.value.programme;
    let known = house.lessons.known_of(kiln);
    let firing = Firing {
        programme: programme.clone(),
        delay: Millis::ZERO,
        forecast: insight::longest_carried(kiln, programme, carried, found_at),
        learned: known.model(),
    };
    let start = Start { latched: None, carried: Some(*carried) };
    let kindling = Kindling {
        file: &ready.row.firing.schedule,
        schedule,
        setup: Setup { kiln: kiln.clone(), firing: Some(firing), start },
        forecast: insight::forecast_carried(&known.as_told(kiln), programme, carried, found_at),
        parts: ready.row.firing.parts.clone(),
        proving: ready.row.firing.proving.clone(),
        // Whoever lit it was there; nobody need be when the power returns, or it could not.
        presence: PresenceAsked::No,
        presses_known: 0, // any since the start is meant for it
        carries_on: Some(ready.id),
        known: &known,
    };
    lighting::kindle(house, kindling).map_err(NotCarriedOn::NotLit)
}

fn note_carried_on(house: &House, earlier: i64, lit: &CarriedOn) {
    let found_at = house.kiln.scale.say(lit.found_at);
    let gap = time::say(lit.gap);
    let on = format!("It is carried on as firing {}, from {found_at}, {gap} after it ended.", lit.firing);
    note(house, earlier, "carried-on", on);
    let from = format!("It carries on firing {earlier}, from {found_at}, {gap} after that ended.");
    note(house, lit.firing, "carries-on", from);
}

fn note(house: &House, firing: i64, name: &str, words: String) {
    tracing::warn!("firing {firing}: {words}");
    lighting::note(house, firing, name, words);
}

/// What the page says of the firing that was ended. Lighting has cleared it; carrying on says it anew.
fn became(house: &House, became: Became) {
    let mut told = house.interrupted.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(told) = told.as_mut() {
        told.became = became;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(c: f64) -> Celsius {
        Celsius::new(c).expect("a temperature")
    }

    #[test]
    fn sr_40_a_kiln_as_far_down_as_allowed_is_carried_on_and_one_a_little_further_is_not() {
        let at_most = constant!(CelsiusDelta, 100.0);
        assert!(near_enough(c(900.0), c(800.0), at_most).is_ok());
        assert!(matches!(near_enough(c(900.0), c(799.9), at_most), Err(NotCarriedOn::Dropped { .. })));
        assert!(near_enough(c(900.0), c(915.0), at_most).is_ok());
        assert!(matches!(near_enough(c(900.0), c(915.1), at_most), Err(NotCarriedOn::Hotter(_))));
    }

    #[test]
    fn sr_40_a_clock_that_comes_true_late_is_waited_for_as_long_as_a_gap_may_be() {
        let wall = |is_true| Wall { now: jiff::Timestamp::UNIX_EPOCH, is_true };
        let gap_at_most = Millis::from_minutes(15);
        let looked_at = |seconds, is_true| {
            is_looked_at(Millis::from_seconds(seconds), Millis::ZERO, wall(is_true), gap_at_most)
        };
        assert!(!looked_at(14, true), "the kiln first");
        assert!(looked_at(15, true));
        assert!(!looked_at(899, false));
        assert!(looked_at(900, false), "then it is told that nobody knows");
    }

    #[test]
    fn sr_40_a_glitch_as_it_is_decided_loses_no_firing_and_a_sensor_that_stays_at_fault_is_not_waited_for() {
        let wall = Wall { now: jiff::Timestamp::UNIX_EPOCH, is_true: true };
        let looked_at = |seconds, sensor_s| {
            let [at, sensor_for] = [seconds, sensor_s].map(Millis::from_seconds);
            is_looked_at(at, sensor_for, wall, Millis::from_minutes(15))
        };
        assert!(!looked_at(15, 1) && !looked_at(29, 14), "it may clear");
        assert!(looked_at(16, 0), "it has cleared");
        assert!(looked_at(15, 15) && looked_at(40, 15), "it shows what is wrong");
    }

    #[test]
    fn sr_40_one_probe_of_several_that_fell_too_far_or_warmed_leaves_it_off() {
        let at_most = constant!(CelsiusDelta, 100.0);
        let read = |first, second| {
            let mut junctions = [None; PROBES_MOST];
            junctions[..2].copy_from_slice(&[first, second].map(Celsius::new));
            junctions
        };
        let found = |first, second| each_near_enough(read(900.0, 880.0), read(first, second), at_most);
        assert!(found(800.0, 780.0).is_ok());
        let fallen = found(914.0, 779.0);
        assert!(matches!(fallen, Err(NotCarriedOn::Dropped { .. })), "{fallen:?}");
        let warmed = found(850.0, 896.0);
        assert!(matches!(warmed, Err(NotCarriedOn::Hotter(_))), "{warmed:?}");
        let unread = each_near_enough([None; PROBES_MOST], read(800.0, 20.0), at_most);
        assert!(unread.is_ok(), "the chamber as a whole is asked then");
    }

    #[test]
    fn sr_40_the_third_start_in_a_row_carries_nothing_on_and_the_second_does() {
        assert!(not_too_often(Ok(2)).is_ok());
        assert!(matches!(not_too_often(Ok(3)), Err(NotCarriedOn::StartedTooOften(3))));
        assert!(not_too_often(Err("torn".to_owned())).is_err());
    }
}
