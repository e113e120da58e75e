//! The trace of a firing: everything the controller saw and decided, written, read and replayed.
//!
//! Here live the format (JSON Lines: one self-describing head, then one line a step), its
//! writer and reader, replay with its bit-for-bit comparison, expectation files, the import of
//! plain logs, and the curve that pages draw. What does *not* live here: any judgement of a
//! firing beyond its expectations (crate `insight`), any clock, any list of past firings.
//!
//! Terms: the *head* is a trace's first line; a *step* is one of the others; *inputs* are what
//! the controller saw; a *build* is the id of the exact program that decided; *torn* is a last
//! line that a kill or a power cut left unfinished.
//!
//! A line looks like this:
//! ```json
//! {"at_ms":12000,"saw":{"probes":[{"words":[404,386]}],"lid":"shut"},
//!  "did":{"phase":"climbing","segment":0,"setpoint_c":26.0,"junctions_c":[25.25],"chamber_c":25.25,
//!         "lag_c":0.75,"duty":[0.12],"on":[0],"permission":true}}
//! ```
//! (on one line in the file). What is empty, off or absent is left out. Unknown fields are
//! passed over, so that later software may add some; an unknown format version is refused. A step
//! before which others could not be kept says how many, as `"lost":17`: there the trace has a hole. One may
//! say its time of day, as `"clock_ms":1795687200000`; nothing is decided by it, and replay does not see it.
#![forbid(unsafe_code)]

mod curve;
mod decimate;
mod difference;
mod error;
mod expectation;
mod finish;
mod head;
mod import;
mod judge;
mod reader;
mod replay;
mod rerecord;
mod span;
mod step;
mod suite;
pub mod wire;
mod writer;

pub use curve::{Curve, PhaseSpan, Sample};
pub use decimate::{Column, Extremes, decimate};
pub use difference::{Difference, FieldDifference};
pub use error::TraceError;
pub use expectation::{Event, ExpectationFault, Expectations, What, Which};
pub use finish::compress;
pub use head::{FORMAT_VERSION, Head, Software};
pub use import::{ImportError, Imported, import_csv};
pub use judge::{Judge, Verdict, judge_recorded};
pub use reader::{Ending, TraceReader};
pub use replay::{Comparison, Hole, ReplayReport, replay, replay_with};
pub use rerecord::{rerecord, rerecord_with};
pub use step::{Seen, Step, TooMuchSeen};
pub use suite::{Case, Judged, SuiteReport, judge_path, judge_path_with};
pub use writer::{TraceFile, TraceWriter};
