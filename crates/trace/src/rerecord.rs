//! Recording a trace's decisions anew, after the controller was changed on purpose.

use std::io::Write;
use std::path::Path;

use control::{Controller, Decision, Observation, Setup};
use flate2::Compression;
use flate2::write::GzEncoder;

use crate::error::TraceError;
use crate::finish::replace;
use crate::head::{Head, Software};
use crate::reader::TraceReader;
use crate::writer::TraceWriter;

/// Puts in place of a trace the same inputs with this software's decisions.
///
/// The old file stands until the new one is whole. A torn last line is left out. After a hole only
/// the inputs are kept: nobody can say what would have been decided. Returns the number of steps.
pub fn rerecord(path: &Path, software: Software) -> Result<u64, TraceError> {
    rerecord_with(path, software, |setup| {
        let mut controller = Controller::new(setup.clone());
        move |observation: &Observation<'_>| controller.step(observation)
    })
}

/// The same with any stepper.
pub fn rerecord_with<S>(
    path: &Path,
    software: Software,
    make: impl FnOnce(&Setup) -> S,
) -> Result<u64, TraceError>
where
    S: FnMut(&Observation<'_>) -> Decision,
{
    let reader = TraceReader::open(path)?;
    let head = Head { software, ..reader.head().clone() };
    let stepper = make(&head.setup);
    replace(path, |sink| {
        if path.extension().is_some_and(|end| end == "gz") {
            let encoder = GzEncoder::new(sink, Compression::default());
            let (steps, encoder) = copy(reader, &head, stepper, encoder)?;
            encoder.finish()?;
            Ok(steps)
        } else {
            Ok(copy(reader, &head, stepper, sink)?.0)
        }
    })
}

fn copy<W: Write>(
    mut reader: TraceReader<'_>,
    head: &Head,
    mut step: impl FnMut(&Observation<'_>) -> Decision,
    sink: W,
) -> Result<(u64, W), TraceError> {
    let mut writer = TraceWriter::new(sink, head)?;
    let (mut steps, mut holed) = (0, false);
    while let Some(line) = reader.next_step()? {
        writer.lose(line.lost);
        writer.date(line.clock_ms);
        holed |= line.lost > 0;
        if holed {
            writer.input(&line.seen)?;
        } else {
            let observation = line.seen.observation();
            writer.step(&observation, &step(&observation))?;
        }
        steps += 1;
    }
    Ok((steps, writer.into_inner()))
}
