//! What amplifiers say, and the truth behind it.
//!
//! Sources: datasheets MAX31855 (19-5793 rev 5), MAX31856 (19-7534 rev 0), MAX6675 (19-2235
//! rev 3), `MCP960x` (DS20005426G); `chip_vectors.csv` holds their worked examples.

use pyrometry::amplifier::{Amplifier, ChipFaults, Measured, Report, Said, Sensor, SensorFault};
use pyrometry::calibration::{Calibration, Override};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, CelsiusDelta, Millivolts, whole_steps};

fn celsius(value: f64) -> Celsius {
    Celsius::new(value).expect("a temperature")
}

fn sensor(thermocouple: Thermocouple, amplifier: Amplifier) -> Sensor {
    Sensor { thermocouple, amplifier, calibration: Calibration::NONE }
}

fn words(junction: i32, cold_junction: i32) -> Report {
    Report::single(Said::Words { junction, cold_junction }, ChipFaults::NONE)
}

fn reading(junction: f64, cold_junction: f64) -> Report {
    Report::single(
        Said::Reading { junction: celsius(junction), cold_junction: celsius(cold_junction) },
        ChipFaults::NONE,
    )
}

fn junction_c(measured: Result<Measured, SensorFault>) -> f64 {
    measured.expect("a temperature").junction.c()
}

/// A field `name=value` of the vectors' last column.
fn field(expected: &str, name: &str) -> Option<f64> {
    expected.split(';').find_map(|part| part.strip_prefix(name)?.strip_prefix('=')?.parse().ok())
}

fn vectors(chip: &str) -> Vec<(String, String)> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/chip_vectors.csv");
    let mut reader = csv::Reader::from_path(path).expect("a data file");
    let rows = reader.records().map(|row| row.expect("a row"));
    rows.filter(|row| &row[0] == chip).map(|row| (row[3].to_owned(), row[4].to_owned())).collect()
}

#[test]
fn register_words_scale_as_in_the_datasheets_examples() {
    let mut checked = 0;
    for (hex, expected) in vectors("MAX31856") {
        let Ok(raw) = i32::from_str_radix(&hex, 16) else { continue };
        if let (6, Some(t_c)) = (hex.len(), field(&expected, "tc")) {
            let word = (raw << 8) >> 13; // 24 bits, the upper 19 signed
            let found = f64::from(word) * Amplifier::Max31856.junction_step().c();
            assert_eq!(found, t_c, "{hex}");
            if t_c > -200.0 && t_c <= 1372.0 {
                let k = sensor(Thermocouple::K, Amplifier::Max31856);
                assert_eq!(junction_c(k.measure(&words(word, 1600))), t_c, "{hex}");
            }
            checked += 1;
        }
    }
    for (hex, expected) in vectors("MCP9600").into_iter().chain(vectors("MAX6675")) {
        let Ok(raw) = i32::from_str_radix(&hex, 16) else { continue };
        let Some(t_c) = field(&expected, "tc") else { continue };
        let found = if hex.len() == 4 && expected.contains("tc=") && [0, 0x320, 0x7FF8].contains(&raw) {
            f64::from(raw >> 3) * Amplifier::Max6675.junction_step().c()
        } else {
            f64::from((raw << 16) >> 16) * Amplifier::Mcp9600.junction_step().c()
        };
        assert_eq!(found, t_c, "{hex}");
        checked += 1;
    }
    assert!(checked >= 18, "only {checked} vectors");
}

#[test]
fn a_straight_line_frame_gives_the_true_junction() {
    for (hex, expected) in vectors("MAX31855") {
        let raw = u32::from_str_radix(&hex, 16).expect("hex").cast_signed();
        let (Some(t_c), Some(cold_c)) = (field(&expected, "tc"), field(&expected, "cj")) else { continue };
        let (junction, cold_junction) = (raw >> 18, (raw << 16) >> 20);
        assert_eq!(f64::from(junction) * Amplifier::Max31855.junction_step().c(), t_c, "{hex}");
        let cold_step = Amplifier::Max31855.cold_junction_step().expect("reported").c();
        assert_eq!(f64::from(cold_junction) * cold_step, cold_c, "{hex}");
        // The defining equations, by the type's own function: V = s·(T_chip − T_cj).
        let k = sensor(Thermocouple::K, Amplifier::Max31855);
        if let Ok(measured) = k.measure(&words(junction, cold_junction)) {
            let emf = |t: Celsius| Thermocouple::K.emf(t).expect("inside the range").mv();
            let seen_mv = emf(measured.junction) - emf(celsius(cold_c));
            assert!((seen_mv - 0.041276 * (t_c - cold_c)).abs() < 1e-6, "{hex}");
        }
    }
}

/// Uncorrected errors of a straight-line chip at a cold junction of 25 °C, computed from the
/// datasheet's slope and NIST's function: K −6 at 1100, −16 at 1200, −29 at 1300; S +57 at 1200.
#[test]
fn a_straight_line_chip_is_corrected_where_it_is_wrong_by_whole_cones() {
    for (thermocouple, true_c, error_c) in [
        (Thermocouple::K, 1100.0, -6.0),
        (Thermocouple::K, 1200.0, -16.0),
        (Thermocouple::K, 1300.0, -29.0),
        (Thermocouple::S, 1200.0, 57.0),
    ] {
        let sensor = sensor(thermocouple, Amplifier::Max31855);
        let report = sensor.would_say(celsius(true_c), celsius(25.0));
        let Said::Words { junction, .. } = report.said else { panic!("a chip says words") };
        let shown_c = f64::from(junction) * 0.25;
        assert!((shown_c - true_c - error_c).abs() <= 1.0, "{thermocouple} shows {shown_c} at {true_c}");
        let found = junction_c(sensor.measure(&report));
        assert!((found - true_c).abs() <= 0.2, "{thermocouple}: {found}, not {true_c}");
    }
}

#[test]
fn what_a_healthy_chip_says_measures_back_within_its_step() {
    for amplifier in Amplifier::ALL {
        for thermocouple in Thermocouple::ALL.into_iter().filter(|t| amplifier.serves(*t)) {
            let sensor = sensor(thermocouple, amplifier);
            // One step of a straight line is a little more or less in truth: slopes differ by up
            // to a factor of 2.2 above 250 °C (type S, 9.587 against 8.4 µV/°C and less below).
            let step_c = amplifier.junction_step().c();
            for true_c in [300.0, 390.0] {
                let report = sensor.would_say(celsius(true_c), celsius(25.0));
                let found = junction_c(sensor.measure(&report));
                assert!(
                    (found - true_c).abs() <= step_c,
                    "{amplifier} {thermocouple}: {found}, not {true_c}"
                );
            }
        }
    }
}

#[test]
fn sr_02_exact_zeros_for_both_junctions_are_a_dead_chip_where_nothing_can_be_read_back() {
    let k = |amplifier| sensor(Thermocouple::K, amplifier);
    for amplifier in [Amplifier::Max31855, Amplifier::Max6675] {
        assert_eq!(k(amplifier).measure(&words(0, 0)), Err(SensorFault::NoAnswer), "{amplifier}");
    }
    // These answer for themselves; a shed at the freezing point is one.
    for amplifier in [Amplifier::Max31856, Amplifier::Mcp9600] {
        assert_eq!(junction_c(k(amplifier).measure(&words(0, 0))), 0.0, "{amplifier}");
    }
    // The nearest honest frames: one step of either.
    assert!(k(Amplifier::Max31855).measure(&words(0, 1)).is_ok());
    assert!(k(Amplifier::Max31855).measure(&words(1, 0)).is_ok());
    assert!(k(Amplifier::Max6675).measure(&words(1, 0)).is_ok());
    assert_eq!(k(Amplifier::Max31855).measure(&reading(0.0, 0.0)), Err(SensorFault::NoAnswer));
}

#[test]
fn sr_03_words_no_register_can_hold_are_no_answer() {
    let k = |amplifier| sensor(Thermocouple::K, amplifier);
    for (amplifier, junction, cold_junction) in [
        (Amplifier::Max31855, 8192, 400),
        (Amplifier::Max31855, 400, 2048),
        (Amplifier::Max31856, 262144, 400),
        (Amplifier::Max31856, 400, 8192),
        (Amplifier::Max6675, -1, 0),
        (Amplifier::Max6675, 400, 1),
        (Amplifier::Mcp9600, 32768, 400),
    ] {
        let found = k(amplifier).measure(&words(junction, cold_junction));
        assert_eq!(found, Err(SensorFault::NoAnswer), "{amplifier} {junction} {cold_junction}");
    }
}

#[test]
fn of_several_complaints_the_least_trustworthy_names_the_fault() {
    let k = sensor(Thermocouple::K, Amplifier::Max31855);
    let with = |faults| k.measure(&Report { faults, ..words(400, 400) });
    let all = ChipFaults::ALL.into_iter().fold(ChipFaults::NONE, |set, (fault, _)| set.with(fault));
    assert_eq!(with(all), Err(SensorFault::NoAnswer));
    assert_eq!(with(ChipFaults::CONFIGURATION_LOST), Err(SensorFault::NoAnswer));
    assert_eq!(with(ChipFaults::OPEN.with(ChipFaults::SHORT_TO_GROUND)), Err(SensorFault::Open));
    let short = ChipFaults::SHORT_TO_SUPPLY.with(ChipFaults::OUT_OF_RANGE);
    assert_eq!(with(short), Err(SensorFault::Short));
    assert_eq!(with(ChipFaults::OUT_OF_RANGE), Err(SensorFault::OutOfRange));
    assert!(with(ChipFaults::NONE).is_ok());
}

#[test]
fn nothing_said_is_no_answer() {
    let k = sensor(Thermocouple::K, Amplifier::Max31856);
    let silent = Report::single(Said::Nothing, ChipFaults::NONE);
    assert_eq!(k.measure(&silent), Err(SensorFault::NoAnswer));
}

#[test]
fn sr_01_a_word_off_the_scale_of_the_wire_is_out_of_range() {
    // MAX31855, open without its flag: all ones in the junction's field, 2047.75 °C.
    let k = sensor(Thermocouple::K, Amplifier::Max31855);
    assert_eq!(k.measure(&words(8191, 400)), Err(SensorFault::OutOfRange));
    let k = sensor(Thermocouple::K, Amplifier::Max31856);
    assert_eq!(k.measure(&words(1373 * 128, 1600)), Err(SensorFault::OutOfRange));
    assert!(k.measure(&words(1372 * 128, 1600)).is_ok());
}

#[test]
fn an_emf_is_compensated_by_its_cold_junction() {
    // IEC 60584-1, printed: K 1000 °C 41.276 mV, 25 °C 1.000 mV.
    let k = sensor(Thermocouple::K, Amplifier::Max31856);
    let emf = Millivolts::new(41.276 - 1.000).expect("an emf");
    let said = Said::Emf { emf, cold_junction: celsius(25.0) };
    let measured = k.measure(&Report::single(said, ChipFaults::NONE)).expect("a temperature");
    assert!((measured.junction.c() - 1000.0).abs() < 0.03, "{}", measured.junction);
    assert_eq!(measured.cold_junction, Some(celsius(25.0)));
}

#[test]
fn a_cold_type_b_is_a_cold_kiln_and_a_reversed_one_is_not() {
    let b = sensor(Thermocouple::B, Amplifier::Max31856);
    let from = |emf_mv| {
        let said = Said::Emf { emf: Millivolts::new(emf_mv).expect("an emf"), cold_junction: celsius(21.0) };
        b.measure(&Report::single(said, ChipFaults::NONE))
    };
    assert!((junction_c(from(-0.005)) - 21.0203).abs() < 1e-9);
    assert_eq!(from(-0.1), Err(SensorFault::OutOfRange));
}

#[test]
fn a_chip_without_a_reported_cold_junction_has_none() {
    let k = sensor(Thermocouple::K, Amplifier::Max6675);
    // True 1000 °C, box at 40 °C: V = E(1000) − E(40) = 41.276 − 1.612 mV, plus 41 µV/°C × 40.
    let word = whole_steps((41.276_f64 - 1.612 + 0.041 * 40.0) / 0.041 / 0.25);
    let measured = k.measure(&words(word, 0)).expect("a temperature");
    assert_eq!(measured.cold_junction, None);
    // Unknown cold junction: 0.4 °C, and half a step.
    assert!((measured.junction.c() - 1000.0).abs() < 0.55, "{}", measured.junction);
}

#[test]
fn a_linearising_chip_holds_its_end_and_says_so() {
    let k = sensor(Thermocouple::K, Amplifier::Max31856);
    let within = k.would_say(celsius(1372.0), celsius(30.0));
    assert!(within.faults.is_none());
    let beyond = k.would_say(celsius(1380.0), celsius(30.0));
    assert_eq!(beyond.said, Said::Words { junction: 1372 * 128, cold_junction: 30 * 64 });
    assert_eq!(k.measure(&beyond), Err(SensorFault::OutOfRange));
}

#[test]
fn the_correction_comes_last() {
    let minus_six = CelsiusDelta::new(-6.0).expect("a difference");
    let calibration = Calibration::offset(minus_six, Override::None).expect("small");
    let plain = sensor(Thermocouple::S, Amplifier::Max31855);
    let corrected = Sensor { calibration, ..plain };
    let report = plain.would_say(celsius(1222.0), celsius(31.0));
    assert_eq!(corrected.would_say(celsius(1222.0), celsius(31.0)), report);
    let difference = junction_c(corrected.measure(&report)) - junction_c(plain.measure(&report));
    assert!((difference + 6.0).abs() < 1e-9, "{difference}");
}

#[test]
fn a_step_is_worth_what_the_next_word_changes_the_junction_by() {
    for (wire, chip) in [
        (Thermocouple::S, Amplifier::Max31855),
        (Thermocouple::R, Amplifier::Max31855),
        (Thermocouple::K, Amplifier::Max6675),
        (Thermocouple::N, Amplifier::Max31856),
    ] {
        for c in [60.0, 400.0, 1_000.0] {
            let chain = sensor(wire, chip);
            let Said::Words { junction, cold_junction } = chain.would_say(celsius(c), celsius(25.0)).said
            else {
                panic!("{chip:?} reads {wire:?}")
            };
            let at = |word| junction_c(chain.measure(&words(word, cold_junction)));
            let next_c = at(junction + 1) - at(junction);
            let step_c = chain.junction_step_at(celsius(c)).c();
            assert!((step_c / next_c - 1.0).abs() < 0.01, "{wire:?} at {c}: {step_c} for {next_c}");
        }
    }
    // IEC 60584-1: a type S junction gives 6.0 µV/°C at 25 °C; the chip counts 9.587.
    let cold = sensor(Thermocouple::S, Amplifier::Max31855).junction_step_at(celsius(25.0));
    assert!((cold.c() - 0.40).abs() < 0.005, "{cold:?}");
}

#[test]
fn a_chip_not_made_for_the_wire_never_gives_a_number() {
    let wrong = sensor(Thermocouple::S, Amplifier::Max6675);
    assert_eq!(wrong.measure(&words(400, 0)), Err(SensorFault::OutOfRange));
    assert_eq!(wrong.would_say(celsius(100.0), celsius(20.0)).said, Said::Nothing);
}

#[test]
fn a_chip_is_parsed_from_its_own_name() {
    for amplifier in Amplifier::ALL {
        assert_eq!(Amplifier::parse(amplifier.name()), Some(amplifier));
    }
    assert_eq!(Amplifier::parse("MAX31855"), Some(Amplifier::Max31855));
    assert_eq!(Amplifier::parse("max3185"), None);
}
