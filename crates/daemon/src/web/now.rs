//! The kiln as it is, for the page.

mod ahead;

use std::sync::{Arc, PoisonError};

use axum::Json;
use axum::extract::State as From;
use axum::http::StatusCode;
use control::{Phase, Segment};
use hal::{Level, Signal};
use jiff::ZonedDateTime;
use pyrometry::amplifier::Report;
use pyrometry::heat_work::WitnessCone;
use trace::wire::Named;
use warden::{LimitFinding, LimitNow};

use self::ahead::{Ahead, has_soak, next, segment};
use super::caller::Caller;
use super::error::Refusal;
use super::uncertainty::uncertainty;
use super::{
    Asked, Attention, Bank, Cone, Firing, House, Kiln, LightUp, Limit, Now, Probe, Signals, Simulated, State,
    Storage, Witness,
};
use crate::run::{FiringSheet, LightUp as MayLight, Presence, Snapshot};
use crate::sentence::sentence;
use crate::store::Trouble;
use crate::{attention, clock, words};

pub(super) async fn get(_caller: Caller, From(house): State) -> Result<Json<Now>, Refusal> {
    let snapshot = house.snapshots.borrow().clone();
    match snapshot {
        Some(snapshot) => Ok(Json(now(&house, &snapshot))),
        None => Err(Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "The kiln has not been read yet.")),
    }
}

/// The page's sentence.
#[must_use]
pub fn said(house: &House, snapshot: &Snapshot) -> String {
    sentence(snapshot, &Ahead::of(house, snapshot).ends, &house.clock.now())
}

/// A snapshot as the page reads it.
pub(super) fn now(house: &House, snapshot: &Snapshot) -> Now {
    let decision = &snapshot.decision;
    let time = house.clock.now();
    let ahead = Ahead::of(house, snapshot);
    Now {
        simulated: house.simulated.map(|speed| Simulated { speed }),
        kiln: kiln(house),
        time: clock::written(&time),
        phase: Named(decision.phase),
        sentence: sentence(snapshot, &ahead.ends, &time),
        firing: snapshot.firing.as_ref().map(|firing| firing_now(firing, snapshot, &ahead)),
        chamber_c: decision.chamber.map(|chamber| tenth(chamber.c())),
        setpoint_c: decision.setpoint.map(|setpoint| tenth(setpoint.c())),
        lag_c: decision.lag.map(|lag| tenth(lag.c())),
        rate_c_per_h: snapshot.rate.map(|rate| tenth(rate.c_per_h())),
        waiting: decision.waiting,
        probes: probes_now(house, snapshot),
        banks: banks_now(house, snapshot),
        contactor: snapshot.contactor == Level::On,
        limit: snapshot.limit.map(limit_now),
        signals: Signals {
            buzzer: snapshot.signals.is_on(Signal::Buzzer),
            lamp: snapshot.signals.is_on(Signal::Lamp),
            vent: snapshot.signals.is_on(Signal::Vent),
        },
        trip: decision.trip.as_ref().map(|trip| attention::of_finding(trip, &house.kiln)),
        withheld: decision.withheld.as_ref().map(|withheld| attention::of_finding(withheld, &house.kiln)),
        attention: attention_of(house, snapshot, &time),
        cone: snapshot.heat_work.reached().and_then(|ordinal| {
            words::cone_reached(ordinal).map(|label| Cone { ordinal: tenth(ordinal), label })
        }),
        uncertainty: uncertainty(&house.kiln, snapshot, time.date()),
        witness: witness(snapshot),
        orders: orders(house, snapshot),
        light_up: light_up(snapshot),
        storage: storage(snapshot.trouble),
        taught: house.lessons.since_start(),
        late_ms_worst: u64::try_from(snapshot.late_worst.as_millis()).unwrap_or(u64::MAX),
    }
}

fn attention_of(house: &House, snapshot: &Snapshot, time: &ZonedDateTime) -> Vec<Attention> {
    let mut found = attention::all(snapshot, &house.kiln);
    let interrupted = house.interrupted.lock().unwrap_or_else(PoisonError::into_inner);
    let told = |firing| attention::interrupted(firing, house.kiln.scale, time);
    found.extend(interrupted.as_ref().map(told));
    found.extend(house.outliving.as_ref().map(attention::pins_outlive));
    found
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn kiln(house: &House) -> Kiln {
    Kiln {
        name: house.kiln.name.clone(),
        ceiling_c: house.kiln.kiln.ceiling.c(),
        open_below_c: house.kiln.kiln.open_below.c(),
        probes: house.kiln.probes.iter().map(|probe| probe.name.clone()).collect(),
        banks: house.kiln.banks.iter().map(|bank| bank.name.clone()).collect(),
    }
}

fn firing_now(firing: &Arc<FiringSheet>, snapshot: &Snapshot, ahead: &Ahead) -> Firing {
    let (decision, schedule) = (&snapshot.decision, &firing.schedule);
    let planned = decision.segment.and_then(|number| schedule.segments.get(usize::from(number)));
    Firing {
        id: firing.id,
        title: schedule.title.clone(),
        schedule: firing.file.clone(),
        scale: schedule.scale.name(),
        segment: decision.segment.map(|number| number + 1),
        segments: schedule.segments.len(),
        elapsed_s: decision.at.seconds(),
        started: firing.started.clone(),
        heating_ends: ahead.ends.off.as_ref().map(clock::written),
        cool_enough: ahead.ends.open.as_ref().map(clock::written),
        cone_down: ahead.cone_down.as_ref().map(clock::written),
        falls_short: ahead.falls_short.clone(),
        next: next(firing, snapshot),
        cone_aim: schedule.aim.map(|cone| cone.to_string()),
        soak_left_s: snapshot.course.soak_left.map(pyrometry::units::Millis::seconds),
        stay_left_s: snapshot.course.stay_left.map(pyrometry::units::Millis::seconds),
        remind: planned.and_then(|planned| planned.remind.clone()),
        proving: firing.proving.clone(),
    }
}

fn probes_now(house: &House, snapshot: &Snapshot) -> Vec<Probe> {
    let kiln = &house.kiln;
    let parts = kiln.probes.iter().zip(&kiln.kiln.probes);
    parts
        .zip(&snapshot.reports)
        .zip(snapshot.decision.junctions)
        .map(|(((part, probe), report), junction)| Probe {
            name: part.name.clone(),
            junction_c: junction.map(|junction| tenth(junction.c())),
            cold_junction_c: cold_junction(probe, report),
            faults: report.faults.names().collect(),
        })
        .collect()
}

fn cold_junction(probe: &control::Probe, report: &Report) -> Option<f64> {
    let measured = probe.sensor.measure(report).ok()?;
    measured.cold_junction.map(|cold| tenth(cold.c()))
}

fn banks_now(house: &House, snapshot: &Snapshot) -> Vec<Bank> {
    let decision = &snapshot.decision;
    let states = decision.duty.iter().zip(decision.banks);
    house
        .kiln
        .banks
        .iter()
        .zip(states)
        .map(|(part, (duty, on))| Bank {
            name: part.name.clone(),
            duty: (duty.ratio() * 1000.0).round() / 1000.0,
            on,
        })
        .collect()
}

fn witness(snapshot: &Snapshot) -> Vec<Witness> {
    let Some(aim) = snapshot.firing.as_ref().and_then(|firing| firing.schedule.aim) else {
        return Vec::new();
    };
    let set = snapshot.heat_work.witness_set(aim);
    let said = |seen: WitnessCone, role| Witness {
        cone: seen.cone.to_string(),
        role,
        bend_deg: seen.bend.degrees().round(),
        words: seen.bend.posture().to_string(),
    };
    let guide = set.guide.map(|seen| said(seen, "guide"));
    let guard = set.guard.map(|seen| said(seen, "guard"));
    guide.into_iter().chain([said(set.firing, "firing")]).chain(guard).collect()
}

/// The orders that the present phase takes and that mean something: a climb without a soak is ended
/// by going to the next segment, and said to be.
fn orders(house: &House, snapshot: &Snapshot) -> Vec<&'static str> {
    let decision = &snapshot.decision;
    let mut orders = match decision.phase {
        Phase::Resting | Phase::CoolEnoughToOpen => vec![],
        Phase::SetForLater => vec!["shut-off"],
        Phase::Climbing if has_soak(snapshot) => {
            vec!["stay", "shut-off", "end-climb", "next-segment", "cone-seen"]
        }
        Phase::Climbing => vec!["stay", "shut-off", "next-segment", "cone-seen"],
        Phase::Soaking => vec!["stay", "shut-off", "next-segment", "add-minutes", "cone-seen"],
        Phase::SlowCooling => vec!["stay", "shut-off", "next-segment"],
        Phase::Staying => vec!["carry-on", "shut-off", "add-minutes", "cone-seen"],
        // A watch is there to see a kiln without heat.
        Phase::Cooling if matches!(segment(snapshot), Some(Segment::Watch { .. })) => {
            vec!["shut-off", "next-segment"]
        }
        Phase::Cooling if decision.segment.is_some() => vec!["stay", "shut-off", "next-segment"],
        Phase::Cooling if snapshot.course.can_be_undone(decision) => vec!["carry-on"],
        Phase::Cooling => vec![],
        Phase::Tripped => vec!["clear-trip"],
    };
    if snapshot.latch_unreadable.is_some() && decision.phase != Phase::Tripped {
        orders.push("clear-trip");
    }
    if snapshot.signals.is_on(Signal::Buzzer) == Some(true) {
        orders.push(Asked::SILENCE);
    }
    if house.looks_at_a_firing() && !orders.contains(&"shut-off") {
        orders.push("shut-off");
    }
    orders
}

fn limit_now(limit: LimitNow) -> Limit {
    Limit {
        finding: match limit.finding {
            LimitFinding::Unread => "unread",
            LimitFinding::Within => "within",
            LimitFinding::Above => "above",
            LimitFinding::Blind => "blind",
        },
        reading_c: limit.latest.and_then(Result::ok).map(|reading| tenth(reading.c())),
        ceiling_c: limit.ceiling.c(),
    }
}

const fn light_up(snapshot: &Snapshot) -> LightUp {
    let presence_shown = match snapshot.presence {
        Presence::NotAsked => None,
        Presence::Awaited => Some(false),
        Presence::Shown => Some(true),
    };
    match snapshot.light_up {
        MayLight::Possible => LightUp { possible: true, why: None, presence_shown },
        MayLight::Refused(why) => LightUp { possible: false, why: Some(why), presence_shown },
    }
}

fn storage(trouble: Option<Trouble>) -> Storage {
    Storage { healthy: trouble.is_none(), why: trouble.map(Trouble::words) }
}
