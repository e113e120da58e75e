//! The first line: what this trace is, of which kiln, by which software.

use serde::{Deserialize, Serialize};

use crate::error::TraceError;
use crate::wire;

/// The version this crate writes. Every older one stays readable.
pub const FORMAT_VERSION: u32 = 1;
/// The first key of every trace, so that the file says what it is.
const FORMAT: &str = "saggar-trace";

/// The program that decided.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Software {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// The exact build: two builds of the same id decide alike, bit for bit.
    pub build: String,
}

/// The head of a trace.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// The program that decided.
    pub software: Software,
    /// The kiln's name.
    pub kiln: String,
    /// The probes' names, in the setup's order.
    pub probes: Vec<String>,
    /// The banks' names, in the setup's order.
    pub banks: Vec<String>,
    /// The schedule's title; empty at rest.
    pub title: String,
    /// Whether the kiln was simulated.
    pub simulated: bool,
    /// Wall-clock time of the first step, RFC 3339. Kept as given: nothing here reads a clock.
    pub started: String,
    /// Everything the controller was made from.
    pub setup: control::Setup,
}

/// What tells a trace from another file, read before anything else.
#[derive(Deserialize)]
struct Label {
    format: String,
    version: u32,
}

#[derive(Serialize, Deserialize)]
struct WireHead {
    format: String,
    version: u32,
    software: Software,
    kiln: String,
    probes: Vec<String>,
    banks: Vec<String>,
    title: String,
    simulated: bool,
    started: String,
    setup: wire::Setup,
}

impl Head {
    /// The line, without its end.
    pub(crate) fn to_json(&self) -> Result<Vec<u8>, TraceError> {
        self.check_names()?;
        let Self { software, kiln, probes, banks, title, simulated, started, setup } = self.clone();
        let wire = WireHead {
            format: FORMAT.to_owned(),
            version: FORMAT_VERSION,
            software,
            kiln,
            probes,
            banks,
            title,
            simulated,
            started,
            setup: wire::Setup::from(&setup),
        };
        serde_json::to_vec(&wire).map_err(|cause| TraceError::Head(cause.to_string()))
    }

    /// Reads the line.
    pub(crate) fn from_json(line: &[u8]) -> Result<Self, TraceError> {
        let label: Label = serde_json::from_slice(line).map_err(|_| TraceError::NotATrace)?;
        if label.format != FORMAT {
            return Err(TraceError::NotATrace);
        }
        if label.version != FORMAT_VERSION {
            return Err(TraceError::UnknownVersion { version: label.version });
        }
        let wire: WireHead =
            serde_json::from_slice(line).map_err(|cause| TraceError::Head(cause.to_string()))?;
        let WireHead { software, kiln, probes, banks, title, simulated, started, setup, .. } = wire;
        let setup = setup.try_into().map_err(|fault: wire::WireFault| TraceError::Head(fault.to_string()))?;
        let head = Self { software, kiln, probes, banks, title, simulated, started, setup };
        head.check_names()?;
        Ok(head)
    }

    fn check_names(&self) -> Result<(), TraceError> {
        let kiln = &self.setup.kiln;
        for (what, names, parts) in
            [("probes", &self.probes, kiln.probes.len()), ("banks", &self.banks, kiln.banks.len())]
        {
            if names.len() != parts {
                let reason = format!("{} names for {parts} {what}", names.len());
                return Err(TraceError::Head(reason));
            }
        }
        Ok(())
    }
}
