//! The zones' temperatures: what is trusted of each probe, and for how long.

use heapless::Vec;
use pyrometry::amplifier::{Measured, SensorFault};
use pyrometry::units::{Celsius, Millis};

use crate::PROBES_MOST;

/// The age beyond which a good sample says nothing any more (SR-03 withholds from here on).
const TRUSTED_FOR: Millis = Millis::from_seconds(5);

/// What one step's reports amount to, one entry a probe.
pub(crate) type Measurements = Vec<Result<Measured, SensorFault>, PROBES_MOST>;

/// The last good sample of each probe.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Zones {
    last_good: [Option<(Celsius, Millis)>; PROBES_MOST],
}

/// The zones taken together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Chamber {
    pub(crate) mean: Celsius,
    pub(crate) coldest: Celsius,
    pub(crate) hottest: Celsius,
}

impl Zones {
    /// Takes this step's good samples.
    pub(crate) fn take(&mut self, measurements: &Measurements, usable: [bool; PROBES_MOST], at: Millis) {
        for ((slot, measurement), usable) in self.last_good.iter_mut().zip(measurements).zip(usable) {
            if let (Ok(measured), true) = (measurement, usable) {
                *slot = Some((measured.junction, at));
            }
        }
    }

    /// A zone's temperature, if a good sample is young enough.
    pub(crate) fn reading(&self, probe: usize, at: Millis) -> Option<Celsius> {
        let (reading, taken) = (*self.last_good.get(probe)?)?;
        (at.since(taken) <= TRUSTED_FOR).then_some(reading)
    }

    /// All zones with a trusted reading taken together; `None` without any.
    pub(crate) fn chamber(&self, at: Millis) -> Option<Chamber> {
        let mut sum_c = 0.0;
        let mut count = 0.0;
        let mut extremes: Option<(Celsius, Celsius)> = None;
        for probe in 0..PROBES_MOST {
            let Some(reading) = self.reading(probe, at) else { continue };
            sum_c += reading.c();
            count += 1.0;
            extremes = Some(extremes.map_or((reading, reading), |(coldest, hottest)| {
                (coldest.colder(reading), hottest.hotter(reading))
            }));
        }
        let (coldest, hottest) = extremes?;
        Some(Chamber { mean: Celsius::new(sum_c / count)?, coldest, hottest })
    }
}
