//! One line: what a step saw and what it did.

use std::fmt;
use std::ops::Not;

use control::{
    BANKS_MOST, BankLevels, ClimbEnd, Contact, Decision, Expected, NOTICES_MOST, ORDERS_MOST, PROBES_MOST,
    Phase,
};
use pyrometry::amplifier::{ChipFaults, Report, Said, Spread};
use pyrometry::units::{Amps, Celsius, CelsiusDelta, Duty, Joules, Millis, Millivolts};
use serde::de::{Error, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Exact, Few, Finding, Named, Number, Order, Outcome, WireFault};
use crate::step::{Seen, Step};

/// One step of the controller. A trace of inputs alone has no `did`.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Line {
    /// Monotonic time since the first step, ms.
    pub at_ms: u64,
    /// Steps just before this one that could not be kept: here the trace has a hole.
    #[serde(default, skip_serializing_if = "is_default")]
    pub lost: u64,
    /// Time of day, ms since 1970-01-01T00:00Z; none where the computer's clock could not be relied on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock_ms: Option<u64>,
    /// The observation.
    pub saw: Saw,
    /// The decision.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub did: Option<Did>,
}

/// What a step gets to see, its time aside.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Saw {
    /// Each probe's answer, in the head's order.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub probes: Few<Answer, PROBES_MOST>,
    /// The lid's contact.
    #[serde(default, skip_serializing_if = "is_default")]
    pub lid: Named<Contact>,
    /// What the contactor's mirror contact says of it; traces from before it have none.
    #[serde(default, skip_serializing_if = "is_default")]
    pub contactor: Named<Contact>,
    /// Current of each bank, A; null where it could not be measured, blanks at the end left out.
    /// Traces from before nulls leave out zeros at the end as well, which are read as blanks.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub amps: Few<Option<Exact<Amps>>, BANKS_MOST>,
    /// What people asked for, oldest first.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub orders: Few<Order, ORDERS_MOST>,
    /// A new forecast of what is left of the schedule, ms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast_ms: Option<u64>,
    /// The energy of it, J.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast_j: Option<Exact<Joules>>,
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// What one amplifier said: raw words where it has registers, else exact floats.
#[derive(Clone, Copy, Debug, Default, Serialize, Deserialize)]
pub struct Answer {
    /// Junction and cold junction, in the chip's own steps.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<[i32; 2]>,
    /// Junction as the configured chip would report it, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_c: Option<Exact<Celsius>>,
    /// Raw emf, mV.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub emf_mv: Option<Exact<Millivolts>>,
    /// Cold junction, °C, with `reading_c` or `emf_mv`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cold_junction_c: Option<Exact<Celsius>>,
    /// The chip's complaints.
    #[serde(default, skip_serializing_if = "is_default")]
    pub faults: Faults,
    /// How far apart the samples behind the words lay, in the chip's steps, and how many there were; none
    /// of a single sample, nor in traces from before there were several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spread: Option<(u32, u8)>,
}

impl From<&Report> for Answer {
    fn from(report: &Report) -> Self {
        let spread = report.spread.map(|spread| (spread.steps(), spread.samples()));
        let bare = Self { faults: Faults(report.faults), spread, ..Self::default() };
        match report.said {
            Said::Nothing => bare,
            Said::Words { junction, cold_junction } => {
                Self { words: Some([junction, cold_junction]), ..bare }
            }
            Said::Reading { junction, cold_junction } => {
                Self { reading_c: Some(Exact(junction)), cold_junction_c: Some(Exact(cold_junction)), ..bare }
            }
            Said::Emf { emf, cold_junction } => {
                Self { emf_mv: Some(Exact(emf)), cold_junction_c: Some(Exact(cold_junction)), ..bare }
            }
        }
    }
}

impl TryFrom<Answer> for Report {
    type Error = WireFault;

    fn try_from(answer: Answer) -> Result<Self, WireFault> {
        let said = match (answer.words, answer.reading_c, answer.emf_mv, answer.cold_junction_c) {
            (None, None, None, None) => Said::Nothing,
            (Some([junction, cold_junction]), None, None, None) => Said::Words { junction, cold_junction },
            (None, Some(junction), None, Some(cold)) => {
                Said::Reading { junction: junction.0, cold_junction: cold.0 }
            }
            (None, None, Some(emf), Some(cold)) => Said::Emf { emf: emf.0, cold_junction: cold.0 },
            _ => {
                let reason = "give words, or reading_c with cold_junction_c, or emf_mv with cold_junction_c";
                return Err(WireFault::new("probes", reason));
            }
        };
        let spread = answer.spread.map(spread).transpose()?;
        Ok(Self { said, faults: answer.faults.0, spread })
    }
}

fn spread((steps, samples): (u32, u8)) -> Result<Spread, WireFault> {
    let (least, most) = (Spread::SAMPLES_LEAST, Spread::SAMPLES_MOST);
    let reason = || format!("a spread is of {least} to {most} samples, not of {samples}");
    Spread::new(steps, samples).ok_or_else(|| WireFault::new("probes", reason()))
}

/// Chip faults as a list of their names.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Faults(pub ChipFaults);

impl Serialize for Faults {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.names())
    }
}

impl<'de> Deserialize<'de> for Faults {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(FaultsVisitor)
    }
}

struct FaultsVisitor;

impl<'de> Visitor<'de> for FaultsVisitor {
    type Value = Faults;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of chip faults")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut names: A) -> Result<Faults, A::Error> {
        let mut faults = ChipFaults::NONE;
        while let Some(FaultName(fault)) = names.next_element()? {
            faults = faults.with(fault);
        }
        Ok(Faults(faults))
    }
}

struct FaultName(ChipFaults);

impl<'de> Deserialize<'de> for FaultName {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct One;
        impl Visitor<'_> for One {
            type Value = FaultName;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the name of a chip fault")
            }
            fn visit_str<E: Error>(self, name: &str) -> Result<FaultName, E> {
                let unknown = || E::custom(format_args!("no chip fault is called {name:?}"));
                ChipFaults::named(name).map(FaultName).ok_or_else(unknown)
            }
        }
        deserializer.deserialize_str(One)
    }
}

/// What a step decided.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Did {
    /// Its time, ms, where it isn't the observation's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<u64>,
    /// The phase after the step.
    pub phase: Named<Phase>,
    /// The segment being run, counted from zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub segment: Option<u8>,
    /// The schedule's own setpoint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setpoint_c: Option<Exact<Celsius>>,
    /// Corrected junction of each probe, without the blanks at the end.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub junctions_c: Few<Option<Exact<Celsius>>, PROBES_MOST>,
    /// The temperature the firing is judged by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chamber_c: Option<Exact<Celsius>>,
    /// Setpoint minus chamber.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lag_c: Option<Exact<CelsiusDelta>>,
    /// Duty of each bank, without the zeros at the end.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub duty: Few<Exact<Duty>, BANKS_MOST>,
    /// The banks whose relays are told to close, counted from zero.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub on: Few<u8, BANKS_MOST>,
    /// Whether the contactor may be closed.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub permission: bool,
    /// Whether the schedule's clock waited for the kiln.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub waiting: bool,
    /// The latched trip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trip: Option<Finding>,
    /// What withholds heat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withheld: Option<Finding>,
    /// What would refuse a light-up now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refuses_light_up: Option<Finding>,
    /// What a person should know.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub notices: Few<Finding, NOTICES_MOST>,
    /// The cone reached: its continuous ordinal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cone: Option<Number>,
    /// How a climb ended, in the step in which it did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub climb_end: Option<Named<ClimbEnd>>,
    /// What became of each order.
    #[serde(default, skip_serializing_if = "Few::is_empty")]
    pub outcomes: Few<Outcome, ORDERS_MOST>,
}

impl Did {
    /// The wire form of a decision about an observation of time `seen_at`.
    #[must_use]
    pub fn of(decision: &Decision, seen_at: Millis) -> Self {
        let Decision { at, phase, segment, setpoint, junctions, chamber, lag, duty, banks, .. } = decision;
        let Decision { permission, waiting, trip, withheld, refuses_light_up, .. } = decision;
        let Decision { notices, cone, climb_end, outcomes, .. } = decision;
        Self {
            at_ms: (*at != seen_at).then(|| at.ms()),
            phase: Named(*phase),
            segment: *segment,
            setpoint_c: setpoint.map(Exact),
            junctions_c: Few::trimmed(junctions, Option::is_none, |junction| junction.map(Exact)),
            chamber_c: chamber.map(Exact),
            lag_c: lag.map(Exact),
            duty: Few::trimmed(duty, |duty| duty.ratio().to_bits() == 0, |duty| Exact(*duty)),
            on: Few(on_list(*banks)),
            permission: *permission,
            waiting: *waiting,
            trip: trip.map(Finding::from),
            withheld: withheld.map(Finding::from),
            refuses_light_up: refuses_light_up.map(Finding::from),
            notices: Few::of(notices, |notice| Finding::from(*notice)),
            cone: cone.map(Number),
            climb_end: climb_end.map(Named),
            outcomes: Few::of(outcomes, |outcome| Outcome::from(*outcome)),
        }
    }

    /// The decision again, of an observation of time `seen_at`.
    pub fn decision(self, seen_at: Millis) -> Result<Decision, WireFault> {
        Ok(Decision {
            at: self.at_ms.map_or(seen_at, Millis::new),
            phase: self.phase.0,
            segment: self.segment,
            setpoint: self.setpoint_c.map(|exact| exact.0),
            junctions: self.junctions_c.padded(None, |junction| junction.map(|exact| exact.0)),
            chamber: self.chamber_c.map(|exact| exact.0),
            lag: self.lag_c.map(|exact| exact.0),
            duty: self.duty.padded(Duty::OFF, |exact| exact.0),
            banks: levels(&self.on)?,
            permission: self.permission,
            waiting: self.waiting,
            trip: self.trip.map(control::Finding::from),
            withheld: self.withheld.map(control::Finding::from),
            refuses_light_up: self.refuses_light_up.map(control::Finding::from),
            notices: self.notices.each(control::Finding::from),
            cone: self.cone.map(|number| number.0),
            climb_end: self.climb_end.map(|named| named.0),
            outcomes: self.outcomes.each(control::Outcome::from),
        })
    }
}

fn on_list(banks: BankLevels) -> heapless::Vec<u8, BANKS_MOST> {
    (0_u8..).zip(banks).filter(|(_, on)| *on).map(|(bank, _)| bank).collect()
}

fn levels(on: &Few<u8, BANKS_MOST>) -> Result<BankLevels, WireFault> {
    let mut levels = BankLevels::default();
    for bank in &on.0 {
        let level = levels.get_mut(usize::from(*bank));
        *level.ok_or_else(|| WireFault::new("on", format!("there is no bank {bank}")))? = true;
    }
    Ok(levels)
}

impl Line {
    /// The wire form of a step.
    #[must_use]
    pub fn of(seen: &Seen, decided: Option<&Decision>, lost: u64) -> Self {
        let Seen { at, probes, lid, contactor, amps, orders, forecast } = seen;
        let saw = Saw {
            probes: Few::of(probes, |report| Answer::from(report)),
            lid: Named(*lid),
            contactor: Named(*contactor),
            amps: Few::trimmed(amps, Option::is_none, |amps| amps.map(Exact)),
            orders: Few::of(orders, |order| Order::from(*order)),
            forecast_ms: forecast.map(|left| left.lasts.ms()),
            forecast_j: forecast.and_then(|left| left.energy).map(Exact),
        };
        Self {
            at_ms: at.ms(),
            lost,
            clock_ms: None,
            saw,
            did: decided.map(|decision| Did::of(decision, *at)),
        }
    }
}

impl TryFrom<Line> for Step {
    type Error = WireFault;

    fn try_from(line: Line) -> Result<Self, WireFault> {
        let at = Millis::new(line.at_ms);
        let seen = Seen {
            at,
            probes: line.saw.probes.try_each(Report::try_from)?,
            lid: line.saw.lid.0,
            contactor: line.saw.contactor.0,
            amps: line.saw.amps.padded(None, |amps| amps.map(|exact| exact.0)),
            orders: line.saw.orders.each(control::Order::from),
            forecast: line.saw.forecast_ms.map(|ms| Expected {
                lasts: Millis::new(ms),
                energy: line.saw.forecast_j.map(|energy| energy.0),
            }),
        };
        Ok(Self {
            lost: line.lost,
            clock_ms: line.clock_ms,
            seen,
            decided: line.did.map(|did| did.decision(at)).transpose()?,
        })
    }
}
