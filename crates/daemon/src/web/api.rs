//! What goes over the wire: the shapes of every answer and request.
//!
//! Units are the last word of a name, times of day RFC 3339, names the vocabulary's in kebab-case.
#![allow(
    missing_docs,
    reason = "a field's name says what it holds and in which unit; a comment would repeat it"
)]

use control::Phase;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};
use trace::wire::{Named, Order};

use crate::run::Unlit;
use crate::store::{EventKind, Outcome};

/// An error, or a refusal.
#[derive(Debug, Serialize, Deserialize)]
pub struct Why {
    /// In a potter's words.
    pub why: String,
}

/// The kiln as it is.
#[derive(Debug, Serialize)]
pub struct Now {
    pub simulated: Option<Simulated>,
    pub kiln: Kiln,
    pub time: String,
    pub phase: Named<Phase>,
    pub sentence: String,
    pub firing: Option<Firing>,
    pub chamber_c: Option<f64>,
    pub setpoint_c: Option<f64>,
    pub lag_c: Option<f64>,
    pub rate_c_per_h: Option<f64>,
    pub waiting: bool,
    pub probes: Vec<Probe>,
    pub banks: Vec<Bank>,
    pub contactor: bool,
    /// The warden's own limit probe, where it has one.
    pub limit: Option<Limit>,
    pub signals: Signals,
    pub trip: Option<Attention>,
    pub withheld: Option<Attention>,
    pub attention: Vec<Attention>,
    pub cone: Option<Cone>,
    pub uncertainty: Option<Uncertainty>,
    pub witness: Vec<Witness>,
    pub orders: Vec<&'static str>,
    pub light_up: LightUp,
    pub storage: Storage,
    /// How many firings have taught something of the kiln since the start: with another one, what is told
    /// of schedules is told otherwise.
    pub taught: u64,
    /// How long after it was due the latest step since the start was done.
    pub late_ms_worst: u64,
}

#[derive(Debug, Serialize)]
pub struct Limit {
    pub finding: &'static str,
    pub reading_c: Option<f64>,
    pub ceiling_c: f64,
}

#[derive(Debug, Serialize)]
pub struct Simulated {
    pub speed: f64,
}

#[derive(Debug, Serialize)]
pub struct Kiln {
    pub name: String,
    pub ceiling_c: f64,
    pub open_below_c: f64,
    pub probes: Vec<String>,
    pub banks: Vec<String>,
}

#[derive(Debug, Serialize)]
pub struct Firing {
    pub id: i64,
    pub title: String,
    pub schedule: String,
    pub scale: &'static str,
    pub segment: Option<u8>,
    pub segments: usize,
    pub elapsed_s: f64,
    pub started: String,
    pub heating_ends: Option<String>,
    pub cool_enough: Option<String>,
    pub cone_down: Option<String>,
    /// That the kiln does not get there, in words.
    pub falls_short: Option<String>,
    /// What follows the present segment, in words.
    pub next: Option<String>,
    pub cone_aim: Option<String>,
    pub soak_left_s: Option<f64>,
    pub stay_left_s: Option<f64>,
    pub remind: Option<String>,
    /// Why it is a proving firing, in words.
    pub proving: Option<String>,
}

#[derive(Debug, Serialize)]
pub struct Probe {
    pub name: String,
    pub junction_c: Option<f64>,
    pub cold_junction_c: Option<f64>,
    pub faults: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
pub struct Bank {
    pub name: String,
    pub duty: f64,
    pub on: bool,
}

/// Something a person should look at.
#[derive(Clone, Debug, Serialize)]
pub struct Attention {
    pub name: &'static str,
    pub severity: &'static str,
    pub seen: String,
    pub done: String,
    pub look_at: Vec<&'static str>,
    /// The part it is about, such as "probe middle" or "bank lower".
    pub part: Option<String>,
}

/// Whether what heats nothing is on; `None` where it is not fitted.
#[derive(Debug, Serialize)]
pub struct Signals {
    pub buzzer: Option<bool>,
    pub lamp: Option<bool>,
    pub vent: Option<bool>,
}

#[derive(Debug, Serialize)]
pub struct Cone {
    pub ordinal: f64,
    pub label: String,
}

/// How far the kiln may be from what is read, 95 %.
#[derive(Debug, Serialize)]
pub struct Uncertainty {
    /// Either way, in °C.
    pub c: f64,
    /// The cone at least, as read, and at most; ordinals.
    pub cones: Option<[f64; 3]>,
}

#[derive(Debug, Serialize)]
pub struct Witness {
    pub cone: String,
    pub role: &'static str,
    pub bend_deg: f64,
    pub words: String,
}

#[derive(Debug, Serialize)]
pub struct LightUp {
    pub possible: bool,
    pub why: Option<Unlit>,
    /// Whether somebody shows to be at the kiln; `None` where no button is asked.
    pub presence_shown: Option<bool>,
}

#[derive(Debug, Serialize)]
pub struct Storage {
    pub healthy: bool,
    pub why: Option<&'static str>,
}

#[derive(Debug, Deserialize)]
pub struct OrderAsked {
    pub order: Asked,
}

/// What a person asks for: of the firing, or of the daemon alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    Firing(Order),
    /// That the buzzer be silent.
    Silence,
}

impl Asked {
    /// The name of what is asked of the daemon alone.
    pub const SILENCE: &'static str = "silence";
}

impl<'de> Deserialize<'de> for Asked {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let asked = serde_json::Value::deserialize(deserializer)?;
        if asked == Self::SILENCE {
            return Ok(Self::Silence);
        }
        Order::deserialize(asked).map(Self::Firing).map_err(D::Error::custom)
    }
}

#[derive(Debug, Serialize)]
pub struct OrderAnswer {
    pub outcome: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// A question of the checklist.
#[derive(Clone, Debug, Serialize)]
pub struct Check {
    pub id: String,
    pub text: String,
}

/// What a light-up asks now.
#[derive(Debug, Serialize)]
pub struct LightUpAsks {
    pub checklist: Vec<Check>,
    /// That the next firing is a proving firing, and why.
    pub proving: Option<ProvingFiring>,
    /// Switches that changed, in words.
    pub switches: Vec<String>,
}

#[derive(Debug, Serialize)]
pub struct ProvingFiring {
    pub why: Vec<String>,
    pub advice: [&'static str; 3],
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LightUpAsked {
    pub schedule: String,
    #[serde(default)]
    pub delay_minutes: u16,
    #[serde(default)]
    pub confirmed: Vec<String>,
    /// Which edition of the schedule was looked at; whoever names none has not looked.
    #[serde(default)]
    pub edition: Option<String>,
}

#[derive(Debug, Serialize)]
pub struct Lit {
    pub firing: i64,
}

#[derive(Debug, Serialize)]
pub struct NotLit {
    pub why: String,
    pub missing: Vec<String>,
}

#[derive(Clone, Debug, Serialize)]
pub struct FileProblem {
    pub file: String,
    pub line: usize,
    pub column: usize,
    pub text: String,
    pub message: String,
    pub fix: String,
    /// Whether the file cannot be used, does harm, or is to be told something.
    pub weight: &'static str,
}

#[derive(Debug, Serialize)]
pub struct Problems {
    pub problems: Vec<FileProblem>,
}

#[derive(Clone, Debug, Serialize)]
pub struct ScheduleEntry {
    pub file: String,
    pub title: Option<String>,
    pub cone: Option<String>,
    pub scale: Option<&'static str>,
    pub segments: usize,
    pub hottest_c: Option<f64>,
    pub duration_s: Option<f64>,
    pub problems: Vec<FileProblem>,
    pub notes: Vec<FileProblem>,
}

#[derive(Debug, Serialize)]
pub struct ScheduleSheet {
    #[serde(flatten)]
    pub entry: ScheduleEntry,
    pub text: String,
    /// Another one whenever the text is.
    pub edition: String,
    pub planned: Option<Planned>,
    pub forecast: Option<Forecast>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Planned {
    pub t_s: Vec<f64>,
    pub setpoint_c: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub band_c: Option<f64>,
}

#[derive(Clone, Debug, Serialize)]
pub struct Forecast {
    pub heating_ends_s: Option<f64>,
    pub cool_enough_s: Option<f64>,
    pub energy_kwh: f64,
    pub cost: Option<String>,
    /// By what it is forecast: `earlier-firing`, or `kiln-file`.
    pub by: &'static str,
    pub notes: Vec<String>,
}

#[derive(Debug, Serialize)]
pub struct FiringEntry {
    pub id: i64,
    pub title: String,
    pub schedule: String,
    pub simulated: bool,
    /// The scale of the schedule as fired.
    pub scale: Option<&'static str>,
    pub started: String,
    pub ended: Option<String>,
    pub outcome: Outcome,
    pub hottest_c: Option<f64>,
    pub cone: Option<String>,
    pub duration_s: Option<f64>,
    /// The firing that the power ended and that this one carries on.
    pub carries_on: Option<i64>,
    /// Why it was a proving firing, in words.
    pub proving: Option<String>,
}

#[derive(Debug, Serialize)]
pub struct FiringSheet {
    #[serde(flatten)]
    pub entry: FiringEntry,
    pub summary: String,
    pub schedule_text: String,
    pub attention: Vec<Noted>,
    pub events: Vec<Noted>,
}

#[derive(Clone, Debug, Serialize)]
pub struct Noted {
    pub time: String,
    pub at_s: Option<f64>,
    pub kind: EventKind,
    pub name: String,
    pub words: String,
}

#[derive(Debug, Default, Serialize)]
pub struct CurveDrawn {
    pub t_s: Vec<f32>,
    pub chamber_min_c: Vec<Option<f32>>,
    pub chamber_max_c: Vec<Option<f32>>,
    pub setpoint_c: Vec<Option<f32>>,
    pub duty: Vec<f32>,
    pub phase: Vec<&'static str>,
    pub planned: Planned,
}
