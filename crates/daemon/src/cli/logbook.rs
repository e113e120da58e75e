//! The logbook on paper.

use std::path::PathBuf;

use pyrometry::units::Celsius;

use super::{Exit, refused, tell};
use crate::files::schedule;
use crate::store::{DataFolder, FiringRow, Logbook, Outcome, Owner, StoreError, usual_folder};
use crate::web::{is_left_open, summary};

/// Shows every firing, or one with what happened in it. The daemon may be running meanwhile.
pub(super) fn show(firing: Option<i64>, data: Option<PathBuf>) -> Exit {
    let folder = data.unwrap_or_else(usual_folder);
    let path = DataFolder::logbook(&folder);
    if !path.exists() {
        return refused(&format_args!("there is no logbook in {} yet", folder.display()));
    }
    // Before the logbook is read: a daemon that ends in between has closed what it had open.
    let told = DataFolder::owner(&folder).and_then(|owner| {
        let logbook = Logbook::open(&path)?;
        match firing {
            Some(id) => one(&logbook, id, owner),
            None => all(&logbook, owner),
        }
    });
    match told {
        Ok(Some(words)) => tell(&words),
        Ok(None) => refused(&"there is no such firing in the logbook"),
        Err(why) => refused(&why),
    }
}

fn all(logbook: &Logbook, owner: Owner) -> Result<Option<String>, StoreError> {
    let firings = logbook.firings()?;
    if firings.is_empty() {
        return Ok(Some("No firing yet.".to_owned()));
    }
    Ok(Some(firings.iter().map(|row| line(row, owner)).collect::<Vec<_>>().join("\n")))
}

fn line(row: &FiringRow, owner: Owner) -> String {
    let is_cut_off = row.outcome == Outcome::Running && is_left_open(row, owner);
    let came_out = if is_cut_off { "cut-off" } else { row.outcome.name() };
    let hottest = row.closing.as_ref().and_then(|closing| closing.hottest_c);
    let scale = schedule::scale_of(&row.firing.schedule_text);
    let hottest = hottest.and_then(Celsius::new).map_or("–".to_owned(), |hottest| scale.say(hottest));
    let simulated = if row.firing.simulated { " (simulated)" } else { "" };
    let proving = if row.firing.proving.is_some() { " (proving firing)" } else { "" };
    let carries_on =
        row.firing.carries_on.map_or(String::new(), |earlier| format!(" (carries on firing {earlier})"));
    let started = row.firing.started.get(..16).unwrap_or(&row.firing.started).replace('T', " ");
    format!(
        "{:>4}  {started}  {came_out:<11}  {hottest:>7}  {}{simulated}{proving}{carries_on}",
        row.id, row.firing.title
    )
}

fn one(logbook: &Logbook, id: i64, owner: Owner) -> Result<Option<String>, StoreError> {
    let Some(row) = logbook.firing(id)? else { return Ok(None) };
    let mut lines = vec![line(&row, owner), summary(&row, owner)];
    for event in logbook.events(id)? {
        let at = event.at_s.map_or(String::new(), |at_s| {
            let minutes = pyrometry::units::Millis::from_seconds_f64(at_s).map_or(0, |at| at.ms() / 60_000);
            format!("{:>3}:{:02}", minutes / 60, minutes % 60)
        });
        lines.push(format!("  {at:>6}  {:<9}  {}", event.kind.name(), event.words));
    }
    Ok(Some(lines.join("\n")))
}
