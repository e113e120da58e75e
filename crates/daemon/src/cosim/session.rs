//! One run: lines to observations, decisions to lines.

use std::collections::BTreeMap;

use control::{
    BANKS_MOST, Contact, Controller, Decision, Expected, ORDERS_MOST, Observation, Order, PROBES_MOST, Phase,
    Setup,
};
use hal::{Contactor, Level, PinFault, Sensed};
use heapless::Vec as Few;
use insight::longest_left;
use pyrometry::amplifier::{Report, Said as ChipSaid};
use pyrometry::units::{Amps, Duty, Millis};
use trace::wire::{Exact, Named};
use trace::{TraceError, TraceFile};
use warden::{Beat, Permission, SILENCE_LONGEST, Stages};

use super::wire::{self, Answer, Fault, Lid, Mirror, Probe, Said, Summary, Sums};
use crate::files::kiln::KilnFile;
use crate::run::{Guard, OwnWarden, is_asked_for};
use crate::tally::Tally;
use crate::words;

pub(super) struct Session<'a> {
    kiln: &'a KilnFile,
    controller: Controller,
    guard: OwnWarden<Coil>,
    trace: Option<TraceFile>,
    tally: Tally,
    first_t: Option<f64>,
    last_t: f64,
    steps: u32,
    heard: Millis,
    phase: Option<Phase>,
    /// What is left, forecast anew for the next line.
    anew: Option<Expected>,
}

/// A contactor of which only the level is wanted.
struct Coil;

impl Contactor for Coil {
    fn set(&mut self, _level: Level) -> Result<(), PinFault> {
        Ok(())
    }
}

/// One line, checked against the kiln.
struct Seen {
    at: Millis,
    reports: Few<Report, PROBES_MOST>,
    lid: Contact,
    contactor: Contact,
    amps: [Option<Amps>; BANKS_MOST],
    orders: Few<Order, ORDERS_MOST>,
}

impl<'a> Session<'a> {
    pub(super) fn new(kiln: &'a KilnFile, setup: Setup, trace: Option<TraceFile>) -> Self {
        let mut guard = OwnWarden::new(Coil);
        guard.arm(Millis::ZERO);
        Self {
            kiln,
            controller: Controller::new(setup),
            guard,
            trace,
            tally: Tally::default(),
            first_t: None,
            last_t: f64::NEG_INFINITY,
            steps: 0,
            heard: Millis::ZERO,
            phase: None,
            anew: None,
        }
    }

    /// Takes one line; what is wrong with it is an answer too.
    pub(super) fn step(&mut self, line: &[u8]) -> Result<Result<Answer, Fault>, TraceError> {
        let said = match self.understand(line) {
            Ok(said) => said,
            Err(fault) => return Ok(Err(fault)),
        };
        let t = said.t;
        let seen = match self.check(&said) {
            Ok(seen) => seen,
            Err(fault) => return Ok(Err(fault)),
        };
        let observation = Observation {
            at: seen.at,
            probes: &seen.reports,
            lid: seen.lid,
            contactor: seen.contactor,
            amps: seen.amps,
            orders: &seen.orders,
            forecast: self.anew.take(),
        };
        let decision = self.controller.step(&observation);
        if let Some(trace) = &mut self.trace {
            trace.step(&observation, &decision)?;
        }
        if is_asked_for(&seen.orders, &decision)
            && let Some(firing) = &self.controller.setup().firing
        {
            self.anew = longest_left(&self.kiln.kiln, &firing.programme, &decision);
        }
        let contactor = self.beat(seen.at, &decision);
        self.tally.take(&decision, decision.chamber);
        self.phase = Some(decision.phase);
        Ok(Ok(self.answer(t, &decision, contactor)))
    }

    fn understand(&self, line: &[u8]) -> Result<Said, Fault> {
        let number = u64::from(self.steps) + 1;
        serde_json::from_slice(line).map_err(|why| Fault::new(format!("line {number}: {why}")))
    }

    fn check(&mut self, said: &Said) -> Result<Seen, Fault> {
        let number = u64::from(self.steps) + 1;
        let fault = |why: String| Fault::new(format!("line {number}: {why}"));
        let first = *self.first_t.get_or_insert(said.t);
        let at = Millis::from_seconds_f64(said.t - first)
            .filter(|_| said.t > self.last_t)
            .ok_or_else(|| fault(format!("t = {} does not come after the line before", said.t)))?;
        self.last_t = said.t;
        self.steps += 1;
        let reports = self.reports(said).map_err(fault)?;
        let amps = self.amps(said).map_err(fault)?;
        let orders = Few::from_slice(
            &said.orders.iter().flatten().map(|order| Order::from(*order)).collect::<Vec<_>>(),
        )
        .map_err(|_| fault(format!("more than {ORDERS_MOST} orders in one line")))?;
        let lid = match said.inputs.as_ref().and_then(|inputs| inputs.lid) {
            None => self.left_out(Sensed::Lid),
            Some(Lid::Shut) => Contact::Shut,
            Some(Lid::Open) => Contact::Open,
        };
        let contactor = match said.inputs.as_ref().and_then(|inputs| inputs.contactor) {
            None => self.left_out(Sensed::Contactor),
            Some(Mirror::Closed) => Contact::Shut,
            Some(Mirror::Open) => Contact::Open,
        };
        Ok(Seen { at, reports, lid, contactor, amps, orders })
    }

    /// A contact that the kiln file has and the line has not cannot be read.
    fn left_out(&self, sensed: Sensed) -> Contact {
        if self.kiln.senses(sensed) { Contact::Unreadable } else { Contact::NotFitted }
    }

    fn reports(&self, said: &Said) -> Result<Few<Report, PROBES_MOST>, String> {
        if let Some(stranger) =
            said.probes.0.keys().find(|name| !self.kiln.probes.iter().any(|probe| probe.name == **name))
        {
            return Err(format!("the kiln file has no probe called {stranger:?}"));
        }
        self.kiln
            .probes
            .iter()
            .map(|part| match said.probes.0.get(&part.name) {
                Some(probe) => report(probe).map_err(|why| format!("probe {:?}: {why}", part.name)),
                None => Err(format!("probe {:?} is missing", part.name)),
            })
            .collect()
    }

    fn amps(&self, said: &Said) -> Result<[Option<Amps>; BANKS_MOST], String> {
        let mut amps = [None; BANKS_MOST];
        for (name, now) in said.amps.iter().flat_map(|amps| &amps.0) {
            let Some(bank) = self.kiln.banks.iter().position(|bank| bank.name == *name) else {
                return Err(format!("the kiln file has no bank called {name:?}"));
            };
            if let Some(place) = amps.get_mut(bank) {
                *place = now.map(|now| now.0);
            }
        }
        Ok(amps)
    }

    fn beat(&mut self, at: Millis, decision: &Decision) -> bool {
        let permission = if decision.permission { Permission::Granted } else { Permission::Refused };
        let count = self.steps;
        let stages = Stages { read: count, decided: count, acted: count, recorded: count };
        if at.since(self.heard) > SILENCE_LONGEST {
            // A gap in the outside's time is no death of this loop: the reading's age is judged by
            // the interlocks, as the protocol says.
            self.guard.arm(at);
        }
        self.heard = at;
        self.guard.hear(Beat { sequence: count, permission, stages }, at) == Level::On
    }

    fn answer(&self, t: f64, decision: &Decision, contactor: bool) -> Answer {
        let findings = decision.trip.iter().chain(&decision.withheld).chain(&decision.notices);
        Answer {
            t,
            phase: Named(decision.phase),
            segment: decision.segment,
            setpoint_c: decision.setpoint.map(Exact),
            chamber_c: decision.chamber.map(Exact),
            duty: self.by_bank(&decision.duty, |duty: Duty| Exact(duty)),
            banks: self.by_bank(&decision.banks, |on| on),
            contactor,
            waiting: decision.waiting,
            trip: decision.trip.as_ref().map(wire::named),
            withheld: decision.withheld.as_ref().map(wire::named),
            notices: decision.notices.iter().map(wire::named).collect(),
            cone: decision.cone.and_then(cone),
            outcomes: decision.outcomes.iter().map(|outcome| (*outcome).into()).collect(),
            words: findings.map(ToString::to_string).collect(),
        }
    }

    fn by_bank<T: Copy, U>(&self, values: &[T; BANKS_MOST], convert: impl Fn(T) -> U) -> BTreeMap<String, U> {
        self.kiln.banks.iter().zip(values).map(|(bank, value)| (bank.name.clone(), convert(*value))).collect()
    }

    pub(super) fn summary(&self) -> Summary {
        let first_t = self.first_t.unwrap_or(0.0);
        let trips = self.tally.trips();
        Summary {
            summary: Sums {
                trips: trips
                    .map(|(trip, at)| wire::Trip { trip: Named(trip), t: first_t + at.seconds() })
                    .collect(),
                phase: self.phase.map(Named),
                steps: u64::from(self.steps),
                lasted_s: self.tally.lasted().seconds(),
                peak_c: self.tally.peak().map(Exact),
                cone: self.tally.cone().and_then(cone),
                relay_operations: self.by_bank(self.tally.operations(), |count| count),
                tracking_rms_c: self.tally.tracking_rms_c(),
                tracking_worst_c: self.tally.tracking_worst_c(),
                overshoot_c: self.tally.overshoot_c(),
                waited_s: self.tally.waited().seconds(),
            },
        }
    }

    /// Forces the trace to the disk.
    pub(super) fn close(self) -> Result<(), TraceError> {
        self.trace.map_or(Ok(()), |trace| trace.sync())
    }
}

fn cone(ordinal: f64) -> Option<wire::Cone> {
    words::cone_reached(ordinal).map(|label| wire::Cone { ordinal, label })
}

/// What the amplifier says. A value may be missing only where a fault explains it.
fn report(probe: &Probe) -> Result<Report, &'static str> {
    let faults = probe.faults.0;
    let said = match (probe.reading_c, probe.emf_mv, probe.cold_junction_c) {
        (Some(junction), None, Some(cold)) => {
            ChipSaid::Reading { junction: junction.0, cold_junction: cold.0 }
        }
        (None, Some(emf), Some(cold)) => ChipSaid::Emf { emf: emf.0, cold_junction: cold.0 },
        (Some(_), Some(_), _) => return Err("give reading_c or emf_mv, not both"),
        (Some(_) | None, Some(_) | None, _) if !faults.is_none() => ChipSaid::Nothing,
        (None, None, _) => return Err("reading_c or emf_mv is missing, and no fault says why"),
        (Some(_), None, None) | (None, Some(_), None) => {
            return Err("cold_junction_c is missing, and no fault says why");
        }
    };
    Ok(Report::single(said, faults))
}
