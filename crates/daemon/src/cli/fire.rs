//! Firings without a daemon: simulated here, or in lock-step with a kiln model outside.

use std::io::{self, IsTerminal};
use std::path::Path;

use super::args::{CosimArgs, SimulateArgs};
use super::{Exit, bad_file, bad_input, refused, remark, tell};
use crate::cosim::{self, Ended};
use crate::files::LoadError;
use crate::files::kiln::KilnFile;
use crate::files::schedule::{self, Schedule};
use crate::learning::{Learned, NotLearned};
use crate::simulate::{FiringReport, Job, simulate as fire};
use crate::{kilns, logs, plant};

/// Both files, with their remarks on standard error.
fn load(kiln: Option<&Path>, schedule: &Path) -> Result<(KilnFile, Schedule), LoadError> {
    let kiln = kilns::load(kiln)?;
    let mut checked = schedule::load(schedule, Some(&kiln))?;
    let forecast = insight::forecast(&kiln.kiln, &checked.value.programme, plant::ambient(&kiln));
    schedule::warn_of_reach(&mut checked, &forecast, &kiln);
    if !checked.notes.is_empty() {
        remark(&checked.remarks().trim_end());
    }
    Ok((kiln, checked.value))
}

pub(super) fn simulate(args: &SimulateArgs) -> Exit {
    let (kiln, schedule) = match load(args.kiln.as_deref(), &args.schedule) {
        Ok(both) => both,
        Err(why) => return bad_file(&why),
    };
    let seed = args.seed.unwrap_or_else(|| plant::seed(&kiln));
    let job = Job { kiln: &kiln, schedule: &schedule, seed, trace: args.trace.as_deref() };
    let report = match fire(&job) {
        Ok(outcome) => FiringReport::new(&job, &outcome),
        Err(why) => return refused(&why),
    };
    let told = if args.json {
        match serde_json::to_string(&report) {
            Ok(line) => tell(&line),
            Err(why) => return refused(&why),
        }
    } else {
        tell(&report)
    };
    if report.is_good() { told } else { Exit::Refused }
}

pub(super) fn cosim(args: &CosimArgs) -> Exit {
    logs::start();
    let (kiln, schedule) = match load(Some(&args.kiln), &args.schedule) {
        Ok(both) => both,
        Err(why) => return bad_file(&why),
    };
    let learned = match args.after.as_deref().map(|earlier| learn(earlier, &kiln)).transpose() {
        Ok(learned) => learned.flatten(),
        Err(why) => return bad_input(&why),
    };
    if io::stdin().is_terminal() {
        tracing::info!("waiting for lines such as {}", example(&kiln));
    }
    match cosim::run(
        &kiln,
        &schedule,
        learned.as_ref(),
        args.trace.as_deref(),
        io::stdin().lock(),
        io::stdout().lock(),
    ) {
        Ok(Ended::Whole) => Exit::Good,
        Ok(Ended::Malformed) => Exit::BadInput,
        Err(why) => refused(&why),
    }
}

/// What an earlier firing teaches of this kiln. A trace that cannot be read is an error; one that teaches
/// nothing is told, and the firing goes by the kiln file.
fn learn(earlier: &Path, kiln: &KilnFile) -> Result<Option<Learned>, String> {
    const BY_THE_FILE: &str = "the controller begins from the model guessed from the kiln file";
    match Learned::from_trace(earlier) {
        Ok(learned) if learned.model_of(&kiln.kiln).is_none() => {
            tracing::warn!("{} is of another kiln than this kiln file's: {BY_THE_FILE}", earlier.display());
            Ok(None)
        }
        Ok(learned) => {
            tracing::info!("{}", learned.told());
            Ok(Some(learned))
        }
        Err(NotLearned::Trace(why)) => Err(format!("{}: {why}", earlier.display())),
        Err(why) => {
            tracing::warn!("nothing is learned from {}: {why}; {BY_THE_FILE}", earlier.display());
            Ok(None)
        }
    }
}

fn example(kiln: &KilnFile) -> String {
    let probes: Vec<String> = kiln
        .probes
        .iter()
        .map(|probe| {
            format!("{:?}:{{\"reading_c\":25.0,\"cold_junction_c\":24.0,\"faults\":[]}}", probe.name)
        })
        .collect();
    format!("{{\"t\":0.0,\"probes\":{{{}}},\"inputs\":{{}},\"amps\":null,\"orders\":[]}}", probes.join(","))
}
