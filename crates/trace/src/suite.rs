//! A folder of traces as a test suite.

use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use control::{Controller, Decision, Observation, Setup};

use crate::expectation::Expectations;
use crate::judge::{Judge, Verdict};
use crate::reader::TraceReader;
use crate::replay::{ReplayReport, replay_with};

const EXPECTATION_END: &str = ".expect.toml";
const TRACE_ENDS: [&str; 2] = [".jsonl", ".jsonl.gz"];

/// One trace, replayed and judged.
#[derive(Clone, Debug)]
pub struct Case {
    /// The trace, or the expectation file without one.
    pub path: PathBuf,
    /// What was found, or why nothing could be.
    pub outcome: Result<Judged, String>,
}

/// What a replay and its expectations say.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The comparison of decisions.
    pub replay: ReplayReport,
    /// One verdict for each expectation; none without an expectation file.
    pub verdicts: Vec<Verdict>,
}

/// All traces of a file or folder.
#[derive(Clone, Debug)]
pub struct SuiteReport {
    /// In the order of their names.
    pub cases: Vec<Case>,
}

impl Case {
    /// Whether nothing is wrong.
    #[must_use]
    pub fn passes(&self) -> bool {
        match &self.outcome {
            Ok(judged) => judged.replay.agrees() && judged.verdicts.iter().all(|verdict| verdict.met),
            Err(_) => false,
        }
    }
}

impl SuiteReport {
    /// Whether there is at least one trace and all of them pass.
    #[must_use]
    pub fn passes(&self) -> bool {
        !self.cases.is_empty() && self.cases.iter().all(Case::passes)
    }

    /// Whether something could not be read at all, or nothing was there to read.
    #[must_use]
    pub fn is_unreadable(&self) -> bool {
        self.cases.is_empty() || self.cases.iter().any(|case| case.outcome.is_err())
    }
}

impl fmt::Display for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.path.file_name().unwrap_or(self.path.as_os_str()).to_string_lossy();
        let verdict = if self.passes() { "passes" } else { "FAILS" };
        match &self.outcome {
            Err(reason) => write!(f, "{name} {verdict}: {reason}"),
            Ok(judged) => {
                write!(f, "{name} {verdict}: {}", judged.replay)?;
                judged.verdicts.iter().try_for_each(|verdict| write!(f, "\n  {verdict}"))
            }
        }
    }
}

impl fmt::Display for SuiteReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.cases.is_empty() {
            return f.write_str("no trace found (NAME.jsonl or NAME.jsonl.gz), so nothing was judged");
        }
        self.cases.iter().try_for_each(|case| writeln!(f, "{case}"))?;
        let passing = self.cases.iter().filter(|case| case.passes()).count();
        write!(f, "{passing} of {} pass", self.cases.len())
    }
}

/// Replays and judges one trace, or every trace of a folder, with the real controller.
pub fn judge_path(path: &Path, this_build: &str) -> io::Result<SuiteReport> {
    judge_path_with(path, this_build, |setup| {
        let mut controller = Controller::new(setup.clone());
        move |observation: &Observation<'_>| controller.step(observation)
    })
}

/// The same with any stepper, one made for each trace.
pub fn judge_path_with<S>(
    path: &Path,
    this_build: &str,
    make: impl Fn(&Setup) -> S,
) -> io::Result<SuiteReport>
where
    S: FnMut(&Observation<'_>) -> Decision,
{
    let mut paths = Vec::new();
    if fs::metadata(path)?.is_dir() {
        for entry in fs::read_dir(path)? {
            paths.push(entry?.path());
        }
        paths.sort_unstable();
    } else {
        paths.push(path.to_owned());
    }
    let cases = paths.into_iter().filter_map(|path| case(path, this_build, &make)).collect();
    Ok(SuiteReport { cases })
}

/// Judges a file; `None` when it is neither a trace nor an expectation without one.
fn case<S>(path: PathBuf, this_build: &str, make: impl Fn(&Setup) -> S) -> Option<Case>
where
    S: FnMut(&Observation<'_>) -> Decision,
{
    if let Some(stem) = without(&path, &[EXPECTATION_END]) {
        let lonely = !TRACE_ENDS.iter().any(|end| beside(&stem, end).exists());
        let outcome = Err("there is no trace beside this expectation file".to_owned());
        return lonely.then_some(Case { path, outcome });
    }
    let stem = without(&path, &TRACE_ENDS)?;
    let outcome = judge(&path, &beside(&stem, EXPECTATION_END), this_build, make);
    Some(Case { path, outcome })
}

fn judge<S>(
    path: &Path,
    expectations: &Path,
    this_build: &str,
    make: impl Fn(&Setup) -> S,
) -> Result<Judged, String>
where
    S: FnMut(&Observation<'_>) -> Decision,
{
    let expectations = match fs::read_to_string(expectations) {
        Ok(text) => Expectations::parse(&text).map_err(|fault| format!("its expectation file: {fault}"))?,
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => Expectations::default(),
        Err(cause) => return Err(format!("its expectation file: {cause}")),
    };
    let reader = TraceReader::open(path).map_err(|cause| cause.to_string())?;
    let mut judge = Judge::new(&expectations);
    let stepper = make(&reader.head().setup);
    let replay = replay_with(reader, this_build, stepper, |decision| judge.see(decision))
        .map_err(|cause| cause.to_string())?;
    Ok(Judged { replay, verdicts: judge.verdicts() })
}

/// The path without the first of these endings that it has.
fn without(path: &Path, ends: &[&str]) -> Option<PathBuf> {
    let name = path.file_name()?.to_str()?;
    ends.iter().find_map(|end| name.strip_suffix(end)).map(|stem| path.with_file_name(stem))
}

fn beside(stem: &Path, end: &str) -> PathBuf {
    let mut name = stem.as_os_str().to_owned();
    name.push(end);
    name.into()
}
