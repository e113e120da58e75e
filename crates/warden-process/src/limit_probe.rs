//! The limit probe in hand: asked once a second by a thread of its own, so that a bus that hangs keeps
//! the warden from nothing.
//!
//! That thread holds no pin and judges nothing. Each sample carries when its asking began; how old it is,
//! and what that means, the warden judges in its own time, and a thread that comes back with nothing has
//! simply stopped telling.
//!
//! A simulated kiln's limit probe may be a file, as its pins are, which outlives everybody and which a
//! person or a test writes: one temperature in °C, or the name of a chip's fault, such as `open`.

use std::fs;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

use hal::Probe;
use hal::bus::{self, NoBus};
use pyrometry::amplifier::{ChipFaults, Report, Said, Sensor, SensorFault};
use pyrometry::constant;
use pyrometry::units::Celsius;

use crate::limit_file::{LimitFile, Place};

/// Between two samples. No chip takes longer for a conversion (the slowest 0.4 s, at averages of one).
const EVERY: Duration = Duration::from_secs(1);
/// Samples that may wait for a warden that stands still; those beyond are lost.
const ROOM: usize = 4;
/// How long a starting warden waits for its first sample, with everything off. Engineering judgement: a
/// healthy chip takes less than half a second, its set-up and first conversion included.
const FIRST_WITHIN: Duration = Duration::from_secs(1);
/// The box of a chip that is only computed.
const BOX: Celsius = constant!(Celsius, 25.0);

/// One reading, and when it was asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    pub(crate) taken: Instant,
    pub(crate) reading: Result<Celsius, SensorFault>,
}

/// The probe, as the warden hears of it.
#[derive(Debug)]
pub(crate) struct LimitProbe {
    samples: Receiver<Sample>,
}

impl LimitProbe {
    /// Begins to ask a limit file's probe.
    pub(crate) fn start(file: LimitFile) -> Result<Self, NoBus> {
        let LimitFile { sensor, place, mains, .. } = file;
        let probe: Box<dyn Probe + Send> = match place {
            Place::Connected(at) => bus::probe(at, sensor.amplifier, sensor.thermocouple, mains)?,
            Place::Readings(path) => Box::new(WrittenProbe { path, sensor }),
        };
        let (sender, samples) = sync_channel(ROOM);
        thread::spawn(move || ask(probe, &sensor, &sender));
        Ok(Self { samples })
    }

    /// The first sample, waited for a little.
    pub(crate) fn first(&self) -> Option<Sample> {
        self.samples.recv_timeout(FIRST_WITHIN).ok()
    }

    /// A sample that has come since.
    pub(crate) fn next(&self) -> Option<Sample> {
        self.samples.try_recv().ok()
    }
}

/// Sets the chip up, then asks until nobody listens any more.
fn ask(mut probe: Box<dyn Probe + Send>, sensor: &Sensor, samples: &SyncSender<Sample>) {
    thread::sleep(probe.set_up());
    loop {
        let taken = Instant::now();
        let reading = sensor.measure(&probe.report()).map(|measured| measured.junction);
        match samples.try_send(Sample { taken, reading }) {
            Ok(()) | Err(TrySendError::Full(_)) => {}
            Err(TrySendError::Disconnected(_)) => return,
        }
        thread::sleep(EVERY.saturating_sub(taken.elapsed()));
    }
}

/// A probe whose reading stands in a file.
struct WrittenProbe {
    path: PathBuf,
    sensor: Sensor,
}

impl Probe for WrittenProbe {
    fn report(&mut self) -> Report {
        let text = fs::read_to_string(&self.path).unwrap_or_default();
        let written = text.trim();
        let junction = written.parse().ok().and_then(Celsius::new);
        junction.map_or_else(
            || Report::single(Said::Nothing, ChipFaults::named(written).unwrap_or(ChipFaults::NO_ANSWER)),
            |junction| self.sensor.would_say(junction, BOX),
        )
    }
}

#[cfg(test)]
mod tests {
    use hal::amplifier::Mains;
    use hal::bus::Connection;
    use pyrometry::amplifier::Amplifier;
    use pyrometry::calibration::Calibration;
    use pyrometry::thermocouple::Thermocouple;

    use super::*;

    const SENSOR: Sensor = Sensor {
        thermocouple: Thermocouple::K,
        amplifier: Amplifier::Max31856,
        calibration: Calibration::NONE,
    };

    fn file(place: Place) -> LimitFile {
        LimitFile { ceiling: constant!(Celsius, 1280.0), sensor: SENSOR, place, mains: Mains::Hertz50 }
    }

    #[test]
    fn a_written_reading_is_what_a_chip_would_say_of_it_and_a_written_fault_is_one() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("readings");
        let mut probe = WrittenProbe { path: path.clone(), sensor: SENSOR };
        let mut reads = |text: &str| {
            fs::write(&path, text).expect("written");
            SENSOR.measure(&probe.report()).map(|measured| measured.junction.c())
        };
        assert_eq!(reads("812.5\n"), Ok(812.5));
        assert_eq!(reads("open"), Err(SensorFault::Open));
        assert_eq!(reads("short-to-ground\n"), Err(SensorFault::Short));
        assert_eq!(reads("1400"), Err(SensorFault::OutOfRange), "beyond type K");
        for torn in ["", "8o0", "nan", "-400"] {
            assert_eq!(reads(torn), Err(SensorFault::NoAnswer), "{torn:?}");
        }
        fs::remove_file(&path).expect("removed");
        assert_eq!(SENSOR.measure(&probe.report()), Err(SensorFault::NoAnswer));
    }

    #[test]
    fn samples_come_at_once_and_then_each_second_with_when_they_were_asked_for() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("readings");
        fs::write(&path, "20").expect("written");
        let began = Instant::now();
        let probe = LimitProbe::start(file(Place::Readings(path))).expect("a probe");
        let first = probe.first().expect("a sample");
        assert!(first.reading.is_ok() && first.taken >= began);
        let late = Instant::now() + Duration::from_secs(20);
        let second = loop {
            if let Some(sample) = probe.next() {
                break sample;
            }
            assert!(Instant::now() < late, "it never comes");
            thread::sleep(Duration::from_millis(5));
        };
        assert!(second.taken - first.taken >= EVERY);
    }

    #[test]
    fn a_bus_that_is_not_there_is_told_with_what_to_do() {
        let nowhere = Place::Connected(Connection::Spi { bus: 250, chip_select: 9 });
        let told = LimitProbe::start(file(nowhere)).expect_err("no bus").to_string();
        assert!(
            told.contains("/dev/spidev250.9 cannot be used") && told.contains("Is SPI switched on"),
            "{told}"
        );
    }
}
