//! Checking files a person edits.

use std::path::Path;

use super::{Exit, bad_input};
use crate::files::kiln::{self, KilnFile};
use crate::files::schedule;
use crate::files::{Checked, LoadError, time};
use crate::{kilns, plant};

/// What a file is.
enum Kind {
    Kiln,
    Schedule,
}

/// Checks every file, and says what each would do.
pub(super) fn check(files: &[impl AsRef<Path>], kiln: Option<&Path>) -> Exit {
    let kiln = match kiln.map(kiln::load).transpose() {
        Ok(kiln) => kiln.map(|checked| checked.value),
        Err(why) => return bad_input(&why),
    };
    let mut exit = Exit::Good;
    for file in files {
        let said = match kind(file.as_ref()) {
            Kind::Kiln => check_kiln(file.as_ref()),
            Kind::Schedule => check_schedule(file.as_ref(), kiln.as_ref()),
        };
        match said {
            Ok(words) => println!("{words}"),
            Err(why) => exit = bad_input(&why),
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

fn check_kiln(path: &Path) -> Result<String, LoadError> {
    let mut checked = kiln::load(path)?;
    kiln::say_uncertainty(&mut checked, jiff::ZonedDateTime::now().date());
    let file = &checked.value;
    Ok(format!(
        "{}: good. {}, {} {}, {} {}, ceiling {}.{}",
        path.display(),
        file.name,
        file.banks.len(),
        if file.banks.len() == 1 { "bank" } else { "banks" },
        file.probes.len(),
        if file.probes.len() == 1 { "probe" } else { "probes" },
        file.scale.say(file.ceiling),
        remarks(&checked)
    ))
}

fn check_schedule(path: &Path, kiln: Option<&KilnFile>) -> Result<String, LoadError> {
    let mut checked = schedule::load(path, kiln)?;
    // Cones depend little on the kiln, so a schedule alone is priced in the simulated one.
    let fired_in = kiln.map_or_else(|| kilns::load(None), |kiln| Ok(kiln.clone()))?;
    let forecast = insight::forecast(&fired_in.kiln, &checked.value.programme, plant::ambient(&fired_in));
    schedule::price(&mut checked, &forecast, &fired_in.name);
    let schedule = &checked.value;
    let hottest = match schedule.programme.hottest() {
        Some(hottest) => format!(", {} at most", schedule.scale.say(hottest)),
        None => ", no heat at all".to_owned(),
    };
    let forecast = kiln.map_or(String::new(), |kiln| {
        let opens = forecast
            .opens
            .map_or(String::new(), |opens| format!(", cool enough to open after about {}", time::say(opens)));
        format!(" In {}: about {}{opens}.", kiln.name, time::say(forecast.duration))
    });
    Ok(format!(
        "{}: good. {}, {} {}{hottest}.{forecast}{}",
        path.display(),
        schedule.title,
        schedule.segments.len(),
        if schedule.segments.len() == 1 { "segment" } else { "segments" },
        remarks(&checked)
    ))
}
