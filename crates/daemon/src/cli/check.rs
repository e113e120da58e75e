//! Checking files a person edits.

use std::path::Path;

use super::{Exit, bad_file, bad_input, tell};
use crate::files::kiln::{self, KilnFile, NoLimit};
use crate::files::schedule::{self, Reach};
use crate::files::{Checked, LoadError, time};
use crate::{kilns, plant};

/// Why a file is not good.
#[derive(Debug, thiserror::Error)]
enum NotGood {
    /// It has errors.
    #[error(transparent)]
    File(#[from] LoadError),
    /// The limit file that it names has.
    #[error(transparent)]
    Limit(#[from] NoLimit),
}

/// What a file is.
enum Kind {
    Kiln,
    Schedule,
}

/// Checks every file, and says what each would do.
pub(super) fn check(files: &[impl AsRef<Path>], kiln: Option<&Path>) -> Exit {
    let fired_in = match kilns::load(kiln) {
        Ok(fired_in) => fired_in,
        Err(why) => return bad_file(&why),
    };
    let fired_in = if kiln.is_some() { In::Named(&fired_in) } else { In::Simulated(&fired_in) };
    let mut exit = Exit::Good;
    for file in files {
        let said = match kind(file.as_ref()) {
            Kind::Kiln => check_kiln(file.as_ref()),
            Kind::Schedule => check_schedule(file.as_ref(), fired_in),
        };
        match said {
            Ok(words) => {
                if tell(&words) != Exit::Good {
                    return Exit::Refused;
                }
            }
            Err(NotGood::File(why)) => exit = bad_file(&why),
            Err(NotGood::Limit(why)) => exit = bad_input(&why),
        }
    }
    exit
}

/// A kiln file has a `[kiln]` section; everything else is read as a schedule, which has more
/// chances of being mistyped.
fn kind(path: &Path) -> Kind {
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let begins = |section: &str| text.lines().any(|line| line.trim_start().starts_with(section));
    if begins("[kiln]") || begins("[[probe]]") || begins("[[bank]]") { Kind::Kiln } else { Kind::Schedule }
}

fn remarks<T>(checked: &Checked<T>) -> String {
    if checked.notes.is_empty() { String::new() } else { format!("\n{}", checked.remarks().trim_end()) }
}

/// What is said of a file without errors. "Good" is one that nothing speaks against.
fn verdict<T>(checked: &Checked<T>) -> String {
    match checked.warnings() {
        0 => "good".to_owned(),
        1 => "no errors, but 1 warning".to_owned(),
        many => format!("no errors, but {many} warnings"),
    }
}

fn check_kiln(path: &Path) -> Result<String, NotGood> {
    let mut checked = kiln::load(path)?;
    kiln::say_uncertainty(&mut checked, jiff::ZonedDateTime::now().date());
    kiln::say_outliving(&mut checked);
    let file = &checked.value;
    let limit = file.limit()?;
    let limit =
        limit.map_or(String::new(), |limit| format!(", limit probe {}", file.scale.say(limit.ceiling)));
    Ok(format!(
        "{}: {}. {}, {} {}, {} {}, ceiling {}{limit}.{}",
        path.display(),
        verdict(&checked),
        file.name,
        file.banks.len(),
        if file.banks.len() == 1 { "bank" } else { "banks" },
        file.probes.len(),
        if file.probes.len() == 1 { "probe" } else { "probes" },
        file.scale.say(file.ceiling),
        remarks(&checked)
    ))
}

/// Which kiln a schedule is judged in.
#[derive(Clone, Copy)]
enum In<'a> {
    /// The one the person named.
    Named(&'a KilnFile),
    /// The simulated one, for want of a name: the schedule need not suit it.
    Simulated(&'a KilnFile),
}

fn check_schedule(path: &Path, kiln: In<'_>) -> Result<String, NotGood> {
    let (held_to, fired_in) = match kiln {
        In::Named(kiln) => (Some(kiln), kiln),
        In::Simulated(kiln) => (None, kiln),
    };
    let mut checked = schedule::load(path, held_to)?;
    let forecast = insight::forecast(&fired_in.kiln, &checked.value.programme, plant::ambient(fired_in));
    // Cones depend little on the kiln, so a schedule alone is priced in the simulated one.
    schedule::price(&mut checked, &forecast, &fired_in.name);
    if let Some(kiln) = held_to {
        schedule::warn_of_reach(&mut checked, &forecast, kiln);
    }
    let schedule = &checked.value;
    let hottest = match schedule.programme.hottest() {
        Some(hottest) => format!(", {} at most", schedule.scale.say(hottest)),
        None => ", no heat at all".to_owned(),
    };
    let told = match kiln {
        In::Named(kiln) => in_that_kiln(kiln, &forecast),
        In::Simulated(kiln) => {
            let ceiling = schedule.scale.say(kiln.ceiling);
            let above = schedule.programme.hottest().is_some_and(|hottest| hottest > kiln.ceiling);
            let above = if above {
                format!(" (above {ceiling}, the ceiling of {})", kiln.name)
            } else {
                String::new()
            };
            format!("{above} No kiln was named: not checked against a ceiling or power; add --kiln FILE.")
        }
    };
    Ok(format!(
        "{}: {}. {}, {} {}{hottest}.{told}{}",
        path.display(),
        verdict(&checked),
        schedule.title,
        schedule.segments.len(),
        if schedule.segments.len() == 1 { "segment" } else { "segments" },
        remarks(&checked)
    ))
}

/// How long it takes there; no time where it never gets there.
fn in_that_kiln(kiln: &KilnFile, forecast: &insight::Forecast) -> String {
    if schedule::reach(forecast) == Reach::Stalls {
        return format!(" In {}: it does not get there.", kiln.name);
    }
    let opens = forecast.opens;
    let opens = opens
        .map_or(String::new(), |opens| format!(", cool enough to open after about {}", time::say(opens)));
    format!(" In {}, by its file: about {}{opens}.", kiln.name, time::say(forecast.duration))
}
