//! Limit files, right and wrong.

use super::*;

const TEXT: &str = "# by hand\n\nceiling-c 1280   # above cone 10\namplifier MAX31856\nthermocouple K\nspi 0 1\nmains-hz 50\n";

fn with(from: &str, to: &str) -> String {
    assert!(TEXT.contains(from), "{from}");
    TEXT.replace(from, to)
}

fn read(text: &str) -> LimitFile {
    LimitFile::from_text(text).unwrap_or_else(|slip| panic!("{text}: {slip:?}"))
}

fn refused(text: &str) -> (Option<usize>, String) {
    let slip = LimitFile::from_text(text).expect_err(text);
    (slip.line, format!("{}; {}", slip.wrong, slip.cure))
}

fn is_refused(from: &str, to: &str, line: usize, words: &str) {
    let (at, told) = refused(&with(from, to));
    assert_eq!(at, Some(line), "{to}: {told}");
    assert!(told.contains(words), "{to}: {told}");
}

#[test]
fn a_limit_file_says_ceiling_chip_wire_place_and_mains() {
    let file = read(TEXT);
    assert_eq!(file.ceiling.c(), 1280.0);
    assert_eq!((file.sensor.amplifier, file.sensor.thermocouple), (Amplifier::Max31856, Thermocouple::K));
    assert_eq!(file.place, Place::Connected(Connection::Spi { bus: 0, chip_select: 1 }));
    assert_eq!(file.mains, Mains::Hertz50);
    assert_eq!(read(&with("mains-hz 50", "mains-hz 60")).mains, Mains::Hertz60);
    assert_eq!(read(&with("ceiling-c 1280", "ceiling-c\t 1280.5")).ceiling.c(), 1280.5);
}

#[test]
fn the_example_to_copy_is_a_limit_file() {
    let file = read(include_str!("../../../../config/kilns/raspberry-pi.limit"));
    assert_eq!(file.place, Place::Connected(Connection::Spi { bus: 0, chip_select: 1 }));
}

#[test]
fn an_mcp9600_is_on_i2c_at_one_of_its_addresses_and_the_others_on_spi() {
    let on_i2c = |place: &str| with("MAX31856", "MCP9600").replace("spi 0 1", place);
    for (written, address) in [("0x67", 0x67), ("103", 0x67), ("0x60", 0x60), (" 96", 0x60)] {
        let file = read(&on_i2c(&format!("i2c 1 {written}")));
        assert_eq!(file.place, Place::Connected(Connection::I2c { bus: 1, address }), "{written}");
    }
    for wrong in ["i2c 1 0x5f", "i2c 1 0x68", "i2c 1", "i2c one 0x67", "i2c 1 0x67 2"] {
        let (at, told) = refused(&on_i2c(wrong));
        assert!(at == Some(6) && told.contains("such as: i2c 1 0x67"), "{wrong}: {told}");
    }
    let (at, told) = refused(&on_i2c("spi 0 1"));
    assert!(at == Some(6) && told.contains("a MCP9600 is not connected so"), "{told}");
    is_refused("spi 0 1", "i2c 1 0x67", 6, "a MAX31856 is not connected so");
    for wrong in ["spi 0", "spi 0 x", "spi 0 1 2", "spi 300 1"] {
        is_refused("spi 0 1", wrong, 6, "such as: spi 0 1");
    }
}

#[test]
fn a_file_of_readings_lies_beside_the_limit_file_and_may_have_blanks_in_its_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("limit");
    fs::write(&path, with("spi 0 1", "readings the readings")).expect("written");
    let file = LimitFile::read(&path).expect("whole");
    assert_eq!(file.place, Place::Readings(folder.path().join("the readings")));
    fs::write(&path, TEXT).expect("written");
    let file = LimitFile::read(&path).expect("whole");
    assert_eq!(file.place, Place::Connected(Connection::Spi { bus: 0, chip_select: 1 }));
    is_refused("spi 0 1", "readings", 6, "such as: readings");
}

/// Type K ends at 1372 °C (NIST Monograph 175, IEC 60584-1).
#[test]
fn a_ceiling_lies_between_100_degrees_and_what_chip_and_wire_can_say() {
    for ceiling in ["100", "1371"] {
        read(&with("ceiling-c 1280", &format!("ceiling-c {ceiling}")));
    }
    is_refused("ceiling-c 1280", "ceiling-c 99.9", 3, "99.9 °C is below 100 °C");
    is_refused("ceiling-c 1280", "ceiling-c 1371.1", 3, "above 1371.1 °C a MAX31856 tells nothing of type K");
    for wrong in ["ceiling-c hot", "ceiling-c", "ceiling-c nan", "ceiling-c 1280 C", "ceiling-c 9999"] {
        is_refused("ceiling-c 1280", wrong, 3, "such as: ceiling-c 1280");
    }
}

/// A MAX6675 ends at 1023.75 °C of its own straight line of 41 µV/°C (datasheet 19-2235): in a box at 25 °C
/// an emf of 40.95 mV, to which come type K's 1.000 mV of 25 °C. 41.95 mV are 1017 °C (NIST Monograph 175).
#[test]
fn a_chip_that_ends_below_the_ceiling_is_refused_though_the_wire_goes_on() {
    let max6675 = |ceiling: &str| with("MAX31856", "MAX6675").replace("1280", ceiling);
    read(&max6675("1016"));
    let (at, told) = refused(&max6675("1018"));
    assert!(at == Some(3) && told.contains("above 1018 °C a MAX6675 tells nothing of type K"), "{told}");
    let sensor = read(&max6675("1016")).sensor;
    let end = sensor.measure(&sensor.would_say(constant!(Celsius, 1300.0), BOX)).expect("its last word");
    assert_eq!(
        refused(&max6675(&end.junction.c().to_string())).0,
        Some(3),
        "its very end is not passed either"
    );
}

#[test]
fn a_chip_that_does_not_read_the_wire_and_words_that_are_none_are_refused_at_their_line() {
    is_refused("MAX31856\nthermocouple K", "MAX6675\nthermocouple S", 4, "a MAX6675 does not read type S");
    is_refused("amplifier MAX31856", "amplifier 555", 4, "or MAX31855, MAX6675, MCP9600");
    is_refused("thermocouple K", "thermocouple X", 5, "the letter printed on the thermocouple");
    is_refused("mains-hz 50", "mains-hz 400", 7, "mains-hz 60");
    is_refused("mains-hz 50", "mains-hz 50\nkiln garage", 8, "`kiln` is not known; known here: ceiling-c,");
    is_refused("mains-hz 50", "mains-hz 50\nceiling-c 1300", 8, "a second `ceiling-c`");
    is_refused("mains-hz 50", "mains-hz 50\nreadings file", 8, "a second place for one chip");
}

#[test]
fn what_is_left_out_has_no_default() {
    for (line, words) in [
        ("ceiling-c 1280", "it has no `ceiling-c`; write the ceiling in °C"),
        ("amplifier MAX31856", "it has no `amplifier`; write the chip"),
        ("thermocouple K", "it has no `thermocouple`; write the letter"),
        ("mains-hz 50", "it has no `mains-hz`; write: mains-hz 50"),
        ("spi 0 1", "it does not say where the chip is; write bus and chip select"),
    ] {
        assert_eq!(refused(&with(line, "")), (None, refused(&with(line, "")).1));
        assert!(refused(&with(line, "")).1.contains(words), "{line}");
    }
    let nowhere = with("MAX31856", "MCP9600").replace("spi 0 1", "");
    assert!(refused(&nowhere).1.contains("such as: i2c 1 0x67"));
}

#[test]
fn a_file_that_is_wrong_or_not_there_is_told_with_its_name_and_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("limit");
    let told = LimitFile::read(&path).expect_err("none").to_string();
    assert!(told.contains("limit: it cannot be read") && told.contains("is the path right"), "{told}");
    fs::write(&path, "amplifer MAX31856\n").expect("written");
    let told = LimitFile::read(&path).expect_err("wrong").to_string();
    assert!(told.contains("limit, line 1: `amplifer` is not known; known here"), "{told}");
}
