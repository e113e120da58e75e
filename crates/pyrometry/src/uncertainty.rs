//! The uncertainty of a reading as a stated budget.
//!
//! Each part is a half-width: the truth is taken to lie anywhere within ± it with equal
//! probability (JCGM 100:2008, 4.3.7), so its standard uncertainty is the half-width / √3. The
//! parts are independent and combine as the root sum of squares (JCGM 100, 5.1.2); the expanded
//! uncertainty is that times the coverage factor k = 2, about 95 % (JCGM 100, 6.2 and 6.3).

use core::fmt;

use crate::amplifier::{Amplifier, Sensor};
use crate::constant;
use crate::thermocouple::Thermocouple;
use crate::units::{Celsius, CelsiusDelta, greater};

/// Coverage factor of [`Budget::expanded`] (JCGM 100, 6.3.3: about 95 %).
pub const COVERAGE_FACTOR: f64 = 2.0;

const SQRT_3: f64 = 1.7320508075688772; // JCGM 100, 4.3.7: a rectangular distribution's divisor

/// How closely new wire keeps to the reference function.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ToleranceClass {
    /// IEC 60584-1, the closer one. Type B has none and counts as class 2.
    Class1,
    /// IEC 60584-1, the ordinary one.
    Class2,
    /// ASTM E230 special. Given here for K, N, R and S; others count as class 1.
    Special,
    /// ASTM E230 standard. Given here for K, N, R and S; others count as class 2.
    Standard,
}

/// How probe and amplifier are joined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lead {
    /// The thermocouple's own wire reaches the amplifier.
    None,
    /// Extension or compensating wire from the probe's head.
    Extension,
}

/// What is known of a chain besides its sensor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chain {
    /// Wire, chip and correction.
    pub sensor: Sensor,
    /// The wire's class.
    pub class: ToleranceClass,
    /// The way to the amplifier.
    pub lead: Lead,
    /// Allowed for age and drift since new or since the last calibration. No published rate for
    /// base metal above 1000 °C in air was found, so the caller says what it allows.
    pub drift: CelsiusDelta,
    /// Half-width of the calibration itself, where there is one; it takes the place of class, lead
    /// and chip, and grows by 2 % of the distance outside its points.
    pub calibrated_within: Option<CelsiusDelta>,
}

/// One part of a budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// What it is, as shown to people.
    pub name: &'static str,
    /// The truth lies within ± this much.
    pub half_width: CelsiusDelta,
}

/// A budget at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budget {
    parts: [Part; 7],
}

impl Budget {
    /// The parts, in the order of the way of a reading.
    #[must_use]
    pub const fn parts(&self) -> &[Part; 7] {
        &self.parts
    }

    /// The combined standard uncertainty.
    #[must_use]
    pub fn standard(&self) -> CelsiusDelta {
        let squares = self.parts.iter().map(|part| part.half_width.c() * part.half_width.c());
        difference(libm::sqrt(squares.sum::<f64>()) / SQRT_3)
    }

    /// The expanded uncertainty, coverage factor [`COVERAGE_FACTOR`].
    #[must_use]
    pub fn expanded(&self) -> CelsiusDelta {
        self.standard() * COVERAGE_FACTOR
    }
}

impl Chain {
    /// The budget at a junction temperature, the cold junction being at `cold_junction`.
    #[must_use]
    pub fn budget(&self, junction: Celsius, cold_junction: Celsius) -> Budget {
        let chip = chip_errors(self.sensor.amplifier);
        // A calibration measures wire, lead and chip together and takes their place.
        let [class, lead, gain] = match self.calibrated_within {
            Some(_) => [CelsiusDelta::ZERO; 3],
            None => [
                tolerance(self.sensor.thermocouple, self.class, junction),
                self.lead_error(junction, cold_junction),
                chip.gain(junction),
            ],
        };
        let calibration = self.calibrated_within.map_or(CelsiusDelta::ZERO, |within| {
            let beyond = self.sensor.calibration.beyond_evidence(junction);
            within.magnitude() + beyond * BEYOND_PER_C
        });
        let part = |name, half_width| Part { name, half_width };
        Budget {
            parts: [
                part("wire's tolerance class", class),
                part("extension lead", lead),
                part("amplifier", gain),
                part("cold junction", self.cold_junction_error(chip.cold_junction, junction, cold_junction)),
                part("resolution", self.sensor.amplifier.junction_step() * 0.5),
                part("age and drift", self.drift.magnitude()),
                part("calibration", calibration),
            ],
        }
    }

    /// An error at the cold junction counts at the junction by the ratio of the slopes: a cold
    /// junction wrong by 10 °C is 9.6 to 11.5 °C of type K, 5 to 6 of type S.
    fn cold_junction_error(
        &self,
        error: CelsiusDelta,
        junction: Celsius,
        cold_junction: Celsius,
    ) -> CelsiusDelta {
        error * self.slope_ratio(cold_junction, junction)
    }

    /// IEC 60584-3 class 2 gives extension wire its tolerance as an emf: K, N, J, E, T ±2.5 °C
    /// (T ±1), R, S compensating cable ±5 °C at its measuring junction (from memory). The emf of
    /// 2.5 °C at the head is that many degrees at the junction by the ratio of the slopes.
    fn lead_error(&self, junction: Celsius, cold_junction: Celsius) -> CelsiusDelta {
        match (self.lead, self.sensor.thermocouple) {
            (Lead::None, _) => CelsiusDelta::ZERO,
            (Lead::Extension, Thermocouple::B | Thermocouple::R | Thermocouple::S) => {
                constant!(CelsiusDelta, 5.0)
            }
            (Lead::Extension, Thermocouple::T) => {
                constant!(CelsiusDelta, 1.0) * self.slope_ratio(cold_junction, junction)
            }
            (Lead::Extension, Thermocouple::E | Thermocouple::J | Thermocouple::K | Thermocouple::N) => {
                constant!(CelsiusDelta, 2.5) * self.slope_ratio(cold_junction, junction)
            }
        }
    }

    /// The slope at the first temperature as a share of that at the second; 1 outside the range.
    fn slope_ratio(&self, at: Celsius, of: Celsius) -> f64 {
        let slope = |t| self.sensor.thermocouple.seebeck_uv_per_c(t);
        match (slope(at), slope(of)) {
            (Ok(at), Ok(of)) if of > 0.0 => (at / of).abs(),
            (Ok(_) | Err(_), Ok(_) | Err(_)) => 1.0,
        }
    }
}

/// How fast a held correction goes stale with distance, in °C per °C. Engineering judgement: more
/// than twice the slope that a class-2 error of 0.75 % can have.
const BEYOND_PER_C: f64 = 0.02;

/// A chip's own errors.
struct ChipErrors {
    fixed_c: f64,
    of_reading: f64,
    cold_junction: CelsiusDelta,
}

impl ChipErrors {
    fn gain(&self, junction: Celsius) -> CelsiusDelta {
        difference(self.fixed_c + self.of_reading * junction.c().abs())
    }
}

/// Electrical characteristics tables of the datasheets (read from memory; K, −20 to +85 °C).
const fn chip_errors(amplifier: Amplifier) -> ChipErrors {
    match amplifier {
        // ±2 °C to 700 °C, ±4 °C above, internal temperature ±2 °C.
        Amplifier::Max31855 => {
            ChipErrors { fixed_c: 2.0, of_reading: 0.0015, cold_junction: constant!(CelsiusDelta, 2.0) }
        }
        // ±0.15 % of full scale and non-linearity, cold junction ±0.7 °C.
        Amplifier::Max31856 => {
            ChipErrors { fixed_c: 0.2, of_reading: 0.0015, cold_junction: constant!(CelsiusDelta, 0.7) }
        }
        // ±8 LSB at 700, ±19 at 1000 °C, cold junction ±3 °C.
        Amplifier::Max6675 => {
            ChipErrors { fixed_c: 2.0, of_reading: 0.003, cold_junction: constant!(CelsiusDelta, 3.0) }
        }
        // ±1.5 °C hot junction, cold junction ±0.5 °C.
        Amplifier::Mcp9600 => {
            ChipErrors { fixed_c: 1.5, of_reading: 0.0, cold_junction: constant!(CelsiusDelta, 0.5) }
        }
    }
}

/// The tolerance of new wire at a temperature: the larger of a fixed and a proportional part.
///
/// IEC 60584-1 and ASTM E230, read in quoted tables. Beyond the temperatures for which the class
/// is defined (K class 1 ends at 1000 °C, class 2 at 1200 °C) the formula is carried on.
#[must_use]
pub fn tolerance(thermocouple: Thermocouple, class: ToleranceClass, at: Celsius) -> CelsiusDelta {
    use ToleranceClass::{Class1, Class2, Special, Standard};
    let t_c = at.c().abs();
    let larger = |fixed_c: f64, share: f64| greater(fixed_c, share * t_c);
    let half_width_c = match (thermocouple, class) {
        (Thermocouple::K | Thermocouple::N, Special) => larger(1.1, 0.004),
        (Thermocouple::K | Thermocouple::N, Standard) => larger(2.2, 0.0075),
        (Thermocouple::R | Thermocouple::S, Special) => larger(0.6, 0.001),
        (Thermocouple::R | Thermocouple::S, Class1) => 1.0 + 0.003 * greater(0.0, t_c - 1100.0),
        (Thermocouple::R | Thermocouple::S, Class2 | Standard) | (Thermocouple::B, _) => larger(1.5, 0.0025),
        (Thermocouple::T, Class1 | Special) => larger(0.5, 0.004),
        (Thermocouple::T, Class2 | Standard) => larger(1.0, 0.0075),
        (Thermocouple::E | Thermocouple::J, Class1 | Special)
        | (Thermocouple::K | Thermocouple::N, Class1) => larger(1.5, 0.004),
        (Thermocouple::E | Thermocouple::J, Class2 | Standard)
        | (Thermocouple::K | Thermocouple::N, Class2) => larger(2.5, 0.0075),
    };
    difference(half_width_c)
}

/// A computed difference; one that is none counts as the widest, so that it is never hidden.
fn difference(value_c: f64) -> CelsiusDelta {
    CelsiusDelta::new(value_c).unwrap_or(CelsiusDelta::GREATEST)
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ±{:.1} °C", self.name, self.half_width.c())
    }
}
