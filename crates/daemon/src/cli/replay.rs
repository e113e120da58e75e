//! Traces: replayed, recorded anew, imported.

use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use control::{Setup, Start};
use pyrometry::units::Millis;

use super::{Exit, bad_input, refused, tell};
use crate::files::schedule;
use crate::heads::{self, BUILD};
use crate::{kilns, plant};

pub(super) fn replay(path: &Path, rerecord: bool) -> Exit {
    if rerecord && path.is_dir() {
        return bad_input(&format_args!(
            "{} is a folder: --rerecord takes one trace at a time",
            path.display()
        ));
    }
    if rerecord {
        return match trace::rerecord(path, heads::software()) {
            Ok(steps) => {
                tell(&format_args!("{}: {steps} steps recorded anew by build {BUILD}", path.display()))
            }
            Err(why) => bad_input(&format_args!("{}: {why}", path.display())),
        };
    }
    match trace::judge_path(path, BUILD) {
        Ok(report) => match (tell(&report), report.passes(), report.is_unreadable()) {
            (told, true, _) => told,
            (_, false, true) => Exit::BadInput,
            (_, false, false) => Exit::Refused,
        },
        Err(why) => bad_input(&format_args!("{}: {why}", path.display())),
    }
}

pub(super) fn import(log: &Path, out: &Path, kiln: Option<&Path>, schedule: Option<&Path>) -> Exit {
    let kiln = match kilns::load(kiln) {
        Ok(kiln) => kiln,
        Err(why) => return bad_input(&why),
    };
    let schedule = match schedule.map(|path| schedule::load(path, Some(&kiln))).transpose() {
        Ok(schedule) => schedule.map(|checked| checked.value),
        Err(why) => return bad_input(&why),
    };
    let setup = match &schedule {
        Some(schedule) => {
            let forecast = insight::longest_forecast(&kiln.kiln, &schedule.programme, plant::ambient(&kiln));
            heads::setup(&kiln.kiln, &schedule.programme, forecast, None)
        }
        None => Setup { kiln: kiln.kiln.clone(), firing: None, start: Start::default() },
    };
    let title = schedule.map_or(String::new(), |schedule| schedule.title);
    let head = heads::head(&kiln, &title, &setup);
    let log = match File::open(log) {
        Ok(log) => log,
        Err(why) => return bad_input(&format_args!("{}: {why}", log.display())),
    };
    let sink = match File::create_new(out) {
        Ok(sink) => sink,
        Err(why) => return refused(&format_args!("{}: {why}", out.display())),
    };
    match trace::import_csv(log, &head, BufWriter::new(sink)) {
        Ok(imported) => {
            let gap = imported.longest_gap;
            let stale = if gap > Millis::from_seconds(5) {
                format!(
                    "\nThe longest gap is {} s: the controller calls a reading stale after 5 s.",
                    gap.seconds()
                )
            } else {
                String::new()
            };
            tell(&format_args!(
                "{} rows imported into {}, {} of them blank{stale}",
                imported.steps,
                out.display(),
                imported.blanks
            ))
        }
        Err(why) => {
            // A trace cut off in the middle would pass for a whole one.
            let _left = std::fs::remove_file(out);
            bad_input(&why)
        }
    }
}
