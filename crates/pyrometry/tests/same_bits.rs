//! The same bits on every machine: digests over dense grids of what the crate computes, each against
//! one recorded value that x86-64, aarch64 and armv7 must all give (`.ci/boards` runs this file on
//! the latter two). Where a formula is changed on purpose, the failing test names the new value.

use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said, Sensor, SensorFault};
use pyrometry::calibration::{Calibration, Override, Point};
use pyrometry::cone::Cone;
use pyrometry::heat_work::{Bend, HeatWork, end_point, hold_to_fall, peak_for};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::uncertainty::{Chain, Lead, ToleranceClass};
use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour, Millis, Millivolts};

/// FNV-1a over 64-bit words: every bit of every number counts, and so does their order.
struct Digest(u64);

impl Digest {
    const fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    fn word(&mut self, word: u64) {
        for byte in word.to_le_bytes() {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }

    fn number(&mut self, number: f64) {
        self.word(number.to_bits());
    }

    /// A number that may be missing; that it is missing counts, too.
    fn perhaps(&mut self, number: Option<f64>) {
        self.word(number.map_or(0, |_| 1));
        self.number(number.unwrap_or_default());
    }

    fn must_be(self, recorded: u64) {
        assert!(self.0 == recorded, "{:#018x} here, {recorded:#018x} recorded", self.0);
    }
}

fn celsius(c: f64) -> Celsius {
    Celsius::new(c).expect("a temperature")
}

fn delta(c: f64) -> CelsiusDelta {
    CelsiusDelta::new(c).expect("a difference")
}

fn rate(c_per_h: f64) -> CelsiusPerHour {
    CelsiusPerHour::new(c_per_h).expect("a rate")
}

/// So many numbers from `low` to `high`, both included.
fn grid(low: f64, high: f64, count: u32) -> impl Iterator<Item = f64> {
    (0..count).map(move |n| low + (high - low) * (f64::from(n) / f64::from(count - 1)))
}

/// A correction with an offset and three points, as a certificate on top of a witness cone gives.
fn calibration() -> Calibration {
    let offset = Calibration::offset(delta(-1.3), Override::None).expect("small");
    let points = [(600.0, 1.7), (1000.1, 3.3), (1222.2, -0.7)]
        .map(|(at, add)| Point { at: celsius(at), add: delta(add) });
    let certificate = Calibration::piecewise(&points, Override::None).expect("gentle");
    offset.and(certificate, Override::None).expect("few points")
}

#[test]
fn thermocouples_give_the_recorded_bits() {
    let mut digest = Digest::new();
    for thermocouple in Thermocouple::ALL {
        let range = thermocouple.range();
        for at_c in grid(range.start().c(), range.end().c(), 20_001) {
            digest.perhaps(thermocouple.emf(celsius(at_c)).ok().map(Millivolts::mv));
            digest.perhaps(thermocouple.seebeck_uv_per_c(celsius(at_c)).ok());
        }
        // Somewhat past both ends, so that refusals count, too.
        for emf_mv in grid(-11.0, 78.0, 40_001) {
            let emf = Millivolts::new(emf_mv).expect("an emf");
            digest.perhaps(thermocouple.junction(emf).ok().map(Celsius::c));
        }
    }
    digest.must_be(0xefe4_0e2c_a5fb_78cb);
}

fn fault_number(fault: SensorFault) -> u64 {
    match fault {
        SensorFault::Open => 2,
        SensorFault::Short => 3,
        SensorFault::NoAnswer => 4,
        SensorFault::OutOfRange => 5,
    }
}

fn digest_measured(digest: &mut Digest, sensor: &Sensor, said: Said) {
    match sensor.measure(&Report::single(said, ChipFaults::NONE)) {
        Ok(measured) => {
            digest.number(measured.junction.c());
            digest.perhaps(measured.cold_junction.map(Celsius::c));
        }
        Err(fault) => digest.word(fault_number(fault)),
    }
}

#[test]
fn amplifiers_give_the_recorded_bits() {
    let mut digest = Digest::new();
    for (thermocouple, amplifier) in
        Thermocouple::ALL.into_iter().flat_map(|wire| Amplifier::ALL.map(|chip| (wire, chip)))
    {
        let sensor = Sensor { thermocouple, amplifier, calibration: calibration() };
        for (cold_c, true_c) in
            grid(-9.9, 60.3, 9).flat_map(|cold| grid(-20.0, 1400.0, 701).map(move |hot| (cold, hot)))
        {
            let (cold_junction, junction) = (celsius(cold_c), celsius(true_c));
            let report = sensor.would_say(junction, cold_junction);
            if let Said::Words { junction, cold_junction } = report.said {
                digest.word(u64::from(junction.cast_unsigned()));
                digest.word(u64::from(cold_junction.cast_unsigned()));
            }
            let emf = Millivolts::new(true_c / 25.0).expect("an emf");
            for said in
                [report.said, Said::Reading { junction, cold_junction }, Said::Emf { emf, cold_junction }]
            {
                digest_measured(&mut digest, &sensor, said);
            }
        }
    }
    digest.must_be(0x281c_6123_0f6d_53b3);
}

#[test]
fn calibration_and_uncertainty_give_the_recorded_bits() {
    let mut digest = Digest::new();
    let classes =
        [ToleranceClass::Class1, ToleranceClass::Class2, ToleranceClass::Special, ToleranceClass::Standard];
    for (thermocouple, class) in
        Thermocouple::ALL.into_iter().flat_map(|wire| classes.map(|class| (wire, class)))
    {
        for (lead, calibrated_within) in [(Lead::None, Some(delta(0.9))), (Lead::Extension, None)] {
            let sensor = Sensor { thermocouple, amplifier: Amplifier::Max31856, calibration: calibration() };
            let chain = Chain { sensor, class, lead, drift: delta(2.1), calibrated_within };
            for at_c in grid(-20.0, 1400.0, 711) {
                let at = celsius(at_c);
                digest.number(sensor.calibration.corrected(at).c());
                digest.number(sensor.calibration.uncorrected(at).c());
                let budget = chain.budget(at, celsius(31.7));
                digest.number(budget.standard().c());
                for part in budget.parts() {
                    digest.number(part.half_width.c());
                }
            }
        }
    }
    digest.must_be(0xa3ab_3b61_ce39_873f);
}

/// A whole firing in uneven steps: climbs, a soak, slow cooling, with a ripple on everything.
fn history() -> impl Iterator<Item = (Celsius, Millis)> {
    (0..30_000_u32).map(|step| {
        let minute = f64::from(step) / 30.0;
        let course_c = match minute {
            climb if climb < 480.0 => 20.0 + 2.55 * climb,
            soak if soak < 520.0 => 1244.0,
            fall => 1244.0 - 1.1 * (fall - 520.0),
        };
        (
            celsius(course_c + 1.5 * libm::sin(f64::from(step) * 0.7)),
            Millis::new(1800 + u64::from(step % 7) * 60),
        )
    })
}

#[test]
fn heat_work_gives_the_recorded_bits() {
    let mut digest = Digest::new();
    let mut work = HeatWork::NONE;
    for (step, (at, span)) in history().enumerate() {
        work.add(at, span);
        if step % 100 == 0 {
            for share in work.shares() {
                digest.number(*share);
                digest.perhaps(Bend::after(*share).progress());
            }
            digest.perhaps(work.reached());
            digest.perhaps(work.reached_if_hotter(delta(-7.3)));
            digest.perhaps(work.equivalent_at_60_c_per_h().map(Celsius::c));
        }
    }
    assert!(work.down() >= Some(Cone::parse("6").expect("a cone")), "the history must bring cones down");
    digest.must_be(0x8b9d_6b68_a08c_7b57);
}

#[test]
fn questions_of_cones_give_the_recorded_bits() {
    let mut digest = Digest::new();
    for cone in Cone::ALL {
        for c_per_h in grid(10.0, 300.0, 59) {
            let climb = rate(c_per_h);
            let end = end_point(cone, climb).ok().map(|(end, _)| end);
            digest.perhaps(end.map(Celsius::c));
            let soaked = peak_for(cone, climb, Millis::from_minutes(17), Some(rate(43.0)));
            digest.perhaps(soaked.ok().map(|(peak, _)| peak.c()));
            let held = end.and_then(|end| hold_to_fall(cone, end - delta(23.0), 0.31).ok());
            digest.perhaps(held.map(Millis::seconds));
        }
    }
    digest.must_be(0xc671_f197_f38c_39f5);
}
