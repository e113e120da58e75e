//! The thermocouple functions against published tables.
//!
//! `its90_<type>.csv`: NIST SRD 60 / Monograph 175 functions every 10 °C, evaluated in 50-digit
//! arithmetic and compared with every printed row. `its90_inverse.csv`: exact inverses of the same
//! functions, with the published inverse polynomials beside them.

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millivolts};
use std::fmt::Debug;

fn celsius(value: f64) -> Celsius {
    Celsius::new(value).expect("a temperature")
}

fn millivolts(value: f64) -> Millivolts {
    Millivolts::new(value).expect("an emf")
}

fn rows(file: &str) -> Vec<Vec<String>> {
    let path = format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("a data file");
    reader.records().map(|row| row.expect("a row").iter().map(str::to_owned).collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().expect("a number")
}

fn expect_near<T: Debug>(found: f64, expected: f64, within: f64, of: T) {
    assert!((found - expected).abs() <= within, "{of:?}: {found}, not {expected} ± {within}");
}

#[test]
fn every_ten_degrees_of_all_eight_types_agree_with_nist_to_a_nanovolt() {
    let mut checked = 0;
    for thermocouple in Thermocouple::ALL {
        let file = format!("its90_{}.csv", thermocouple.letter().to_ascii_lowercase());
        for row in rows(&file) {
            let (t_c, emf_mv) = (number(&row[0]), number(&row[1]));
            let found = thermocouple.emf(celsius(t_c)).expect("inside the range").mv();
            expect_near(found, emf_mv, 1.0e-6, (thermocouple, t_c));
            checked += 1;
        }
    }
    assert!(checked > 1000, "only {checked} rows");
}

/// Rows as printed in NIST Monograph 175 / IEC 60584-1 (1 µV).
#[test]
fn printed_rows_agree_to_their_last_digit() {
    use Thermocouple::{B, E, J, K, N, R, S, T};
    for (thermocouple, t_c, printed_mv) in [
        (K, 1000.0, 41.276),
        (K, 1200.0, 48.838),
        (K, 100.0, 4.096),
        (K, -270.0, -6.458),
        (S, 1200.0, 11.951),
        (S, 1000.0, 9.587),
        (R, 1000.0, 10.506),
        (N, 1000.0, 36.256),
        (J, 1000.0, 57.953),
        (E, 1000.0, 76.373),
        (T, 400.0, 20.872),
        (B, 1820.0, 13.820),
    ] {
        let found = thermocouple.emf(celsius(t_c)).expect("inside the range").mv();
        expect_near(found, printed_mv, 0.0005, (thermocouple, t_c));
    }
}

#[test]
fn the_inverse_agrees_with_exact_inverses_to_their_last_digit() {
    for row in rows("its90_inverse.csv") {
        let thermocouple = Thermocouple::parse(&row[0]).expect("a type");
        let found = thermocouple.junction(millivolts(number(&row[1]))).expect("inside the range").c();
        // The emf in the file is exact, the temperature rounded to 1 µ°C.
        expect_near(found, number(&row[2]), 2.0e-6, &row);
        // The published inverse polynomials state errors of up to 0.06 °C.
        expect_near(found, number(&row[3]), 0.06, &row);
    }
}

#[test]
fn every_printed_row_inverts_to_its_temperature() {
    for thermocouple in Thermocouple::ALL {
        let file = format!("its90_{}.csv", thermocouple.letter().to_ascii_lowercase());
        for row in rows(&file) {
            let t_c = number(&row[0]);
            if !thermocouple.rising_range().contains(&celsius(t_c)) {
                continue;
            }
            let emf = thermocouple.emf(celsius(t_c)).expect("inside the range");
            let found = thermocouple.junction(emf).expect("inside the range").c();
            expect_near(found, t_c, 1.0e-5, thermocouple);
        }
    }
}

#[test]
fn outside_the_range_there_is_no_number() {
    for thermocouple in Thermocouple::ALL {
        let range = thermocouple.range();
        for beyond in [range.start().c() - 0.001, range.end().c() + 0.001] {
            assert!(thermocouple.emf(celsius(beyond)).is_err(), "{thermocouple} at {beyond}");
            assert!(thermocouple.seebeck_uv_per_c(celsius(beyond)).is_err(), "{thermocouple} at {beyond}");
        }
        let rising = thermocouple.rising_range();
        let least = thermocouple.emf(*rising.start()).expect("inside the range").mv();
        let most = thermocouple.emf(*rising.end()).expect("inside the range").mv();
        for (emf_mv, supported) in
            [(least - 0.001, false), (least, true), (most, true), (most + 0.001, false)]
        {
            assert_eq!(
                thermocouple.junction(millivolts(emf_mv)).is_ok(),
                supported,
                "{thermocouple} {emf_mv} mV"
            );
        }
    }
}

#[test]
fn an_emf_printed_to_the_microvolt_at_a_range_end_is_the_range_end() {
    let lowest = Thermocouple::K.junction(millivolts(-6.458)).expect("as printed").c();
    expect_near(lowest, -270.0, 1e-9, "K");
    let highest = Thermocouple::R.junction(millivolts(21.103)).expect("as printed").c();
    expect_near(highest, 1768.1, 0.05, "R");
}

#[test]
fn the_seebeck_coefficient_is_the_slope_of_the_emf() {
    // NIST Monograph 175: type K at 1000 °C 38.98 µV/°C (computed from its function), S 11.54.
    for (thermocouple, t_c, expected) in [(Thermocouple::K, 1000.0, 38.98), (Thermocouple::S, 1000.0, 11.54)]
    {
        let found = thermocouple.seebeck_uv_per_c(celsius(t_c)).expect("inside the range");
        expect_near(found, expected, 0.01, thermocouple);
    }
    for thermocouple in Thermocouple::ALL {
        let t_c = 200.0;
        let emf = |t: f64| thermocouple.emf(celsius(t)).expect("inside the range").mv();
        let difference = (emf(t_c + 0.01) - emf(t_c - 0.01)) / 0.02 * 1000.0;
        let found = thermocouple.seebeck_uv_per_c(celsius(t_c)).expect("inside the range");
        expect_near(found, difference, 1e-4, thermocouple);
    }
}

#[test]
fn the_pieces_of_a_function_meet() {
    for (thermocouple, joint_c) in [
        (Thermocouple::B, 630.615),
        (Thermocouple::E, 0.0),
        (Thermocouple::J, 760.0),
        (Thermocouple::K, 0.0),
        (Thermocouple::N, 0.0),
        (Thermocouple::R, 1064.18),
        (Thermocouple::R, 1664.5),
        (Thermocouple::S, 1064.18),
        (Thermocouple::S, 1664.5),
        (Thermocouple::T, 0.0),
    ] {
        let emf = |t: f64| thermocouple.emf(celsius(t)).expect("inside the range").mv();
        // The coefficients' last digits leave under 1 µV.
        expect_near(emf(joint_c + 1e-9), emf(joint_c - 1e-9), 0.001, (thermocouple, joint_c));
    }
}

#[test]
fn a_letter_names_a_type_and_nothing_else_does() {
    for thermocouple in Thermocouple::ALL {
        assert_eq!(Thermocouple::parse(&thermocouple.letter().to_string()), Some(thermocouple));
    }
    assert_eq!(Thermocouple::parse(" k "), Some(Thermocouple::K));
    for nonsense in ["", "C", "KK", "type K", "Κ"] {
        assert_eq!(Thermocouple::parse(nonsense), None, "{nonsense}");
    }
}
