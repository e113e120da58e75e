//! On below the setpoint, off above it, with a band between.

use hal::Level;

use super::{Baseline, Seen};
use crate::case::Case;
use crate::track::Track;

/// From where it goes on to where it goes off: what thermostats of kilns usually have; engineering
/// judgement.
const BAND_C: f64 = 2.0;

/// The law, with the level it gave last.
pub(crate) struct OnOff {
    level: Level,
}

impl OnOff {
    pub(crate) fn new() -> Self {
        Self { level: Level::Off }
    }
}

impl Baseline for OnOff {
    fn levels(&mut self, seen: Seen) -> Level {
        let under_c = seen.setpoint_c - seen.reading_c;
        if under_c > BAND_C / 2.0 {
            self.level = Level::On;
        } else if under_c < -BAND_C / 2.0 {
            self.level = Level::Off;
        }
        self.level
    }
}

pub(crate) fn fire(case: &Case) -> Track {
    super::fire(case, &mut OnOff::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn within_the_band_it_goes_on_with_what_it_did() {
        let mut law = OnOff::new();
        let readings_c = [499.5, 498.9, 500.9, 501.1, 499.1];
        let levels = readings_c.map(|reading_c| law.levels(Seen { setpoint_c: 500.0, reading_c }));
        assert_eq!(levels, [Level::Off, Level::On, Level::On, Level::Off, Level::Off]);
    }
}
