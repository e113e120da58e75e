//! The protocol's lines. Field names and meanings are fixed; either side may add fields, and
//! passes over those it does not know.

use std::collections::BTreeMap;
use std::io;

use control::{Finding, Interlock, Phase};
use pyrometry::units::{Amps, Celsius, Duty, Millivolts};
use serde::{Deserialize, Serialize};
use trace::wire::{Exact, Faults, Named, Order};

use super::distinct::Distinct;

/// What the outside says of one second.
#[derive(Debug, Deserialize)]
pub(super) struct Said {
    /// Seconds, monotonic.
    pub(super) t: f64,
    /// By the probe's name.
    pub(super) probes: Distinct<Probe>,
    #[serde(default)]
    pub(super) inputs: Option<Inputs>,
    /// By the bank's name.
    #[serde(default)]
    pub(super) amps: Option<Distinct<Option<Exact<Amps>>>>,
    #[serde(default)]
    pub(super) orders: Option<Vec<Order>>,
}

/// What one amplifier says. With a fault, a value may be null.
#[derive(Debug, Deserialize)]
pub(super) struct Probe {
    #[serde(default)]
    pub(super) reading_c: Option<Exact<Celsius>>,
    #[serde(default)]
    pub(super) emf_mv: Option<Exact<Millivolts>>,
    #[serde(default)]
    pub(super) cold_junction_c: Option<Exact<Celsius>>,
    #[serde(default)]
    pub(super) faults: Faults,
}

/// Contacts; those the kiln has not may be left out.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Inputs {
    #[serde(default)]
    pub(super) lid: Option<Lid>,
    /// What its mirror contact says of the safety contactor.
    #[serde(default)]
    pub(super) contactor: Option<Mirror>,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Lid {
    Shut,
    Open,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Mirror {
    Closed,
    Open,
}

/// The answer to one line.
#[derive(Debug, Serialize)]
pub(super) struct Answer {
    pub(super) t: f64,
    pub(super) phase: Named<Phase>,
    pub(super) segment: Option<u8>,
    pub(super) setpoint_c: Option<Exact<Celsius>>,
    pub(super) chamber_c: Option<Exact<Celsius>>,
    pub(super) duty: BTreeMap<String, Exact<Duty>>,
    pub(super) banks: BTreeMap<String, bool>,
    pub(super) contactor: bool,
    pub(super) waiting: bool,
    pub(super) trip: Option<Named<Interlock>>,
    pub(super) withheld: Option<Named<Interlock>>,
    pub(super) notices: Vec<Named<Interlock>>,
    pub(super) cone: Option<Cone>,
    /// What became of each order, in the order they came.
    pub(super) outcomes: Vec<trace::wire::Outcome>,
    /// Every finding in a potter's words.
    pub(super) words: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct Cone {
    pub(super) ordinal: f64,
    pub(super) label: String,
}

/// The last line.
#[derive(Debug, Serialize)]
pub(super) struct Summary {
    pub(super) summary: Sums,
}

#[derive(Debug, Serialize)]
pub(super) struct Sums {
    pub(super) trips: Vec<Trip>,
    pub(super) phase: Option<Named<Phase>>,
    pub(super) steps: u64,
    pub(super) lasted_s: f64,
    pub(super) peak_c: Option<Exact<Celsius>>,
    pub(super) cone: Option<Cone>,
    pub(super) relay_operations: BTreeMap<String, u64>,
    pub(super) tracking_rms_c: Option<f64>,
    pub(super) tracking_worst_c: f64,
    pub(super) overshoot_c: f64,
    pub(super) waited_s: f64,
}

#[derive(Debug, Serialize)]
pub(super) struct Trip {
    pub(super) trip: Named<Interlock>,
    pub(super) t: f64,
}

/// A line that cannot be understood.
#[derive(Debug, Serialize)]
pub struct Fault {
    /// Why.
    pub error: String,
}

impl Fault {
    pub(super) fn new(error: impl Into<String>) -> Self {
        Self { error: error.into() }
    }
}

pub(super) fn named(finding: &Finding) -> Named<Interlock> {
    Named(finding.interlock)
}

/// One line with its end.
pub(super) fn write(line: &mut Vec<u8>, value: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *line, value)?;
    line.push(b'\n');
    Ok(())
}
