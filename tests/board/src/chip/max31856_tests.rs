use pyrometry::units::{Celsius, Millivolts};

use super::*;

const SPI_MODE_1: Clocking = Clocking { mode: 1, hertz: 1_000_000 };

fn at(emf_mv: f64, cold_c: f64) -> Terminals {
    Terminals::Closed {
        emf: Millivolts::new(emf_mv).expect("an emf"),
        cold_junction: Celsius::new(cold_c).expect("a temperature"),
    }
}

fn open_at_25_c() -> Terminals {
    Terminals::Open { cold_junction: Celsius::new(25.0).expect("a temperature") }
}

fn read(chip: &mut Max31856) -> [u8; REGISTERS] {
    let back = chip.exchange(SPI_MODE_1, &[0; REGISTERS + 1]);
    back[1..].try_into().expect("sixteen registers")
}

/// A chip that was set up so in CR0 and CR1 and has converted once.
fn converted(cr0: u8, cr1: u8, terminals: &Terminals) -> [u8; REGISTERS] {
    let mut chip = Max31856::default();
    chip.exchange(SPI_MODE_1, &[WRITE, cr0, cr1]);
    chip.pass(Duration::from_secs(1), terminals);
    read(&mut chip)
}

#[test]
fn it_wakes_as_the_data_sheet_says_and_converts_nothing() {
    let mut chip = Max31856::default();
    chip.pass(Duration::from_secs(5), &at(10.0, 25.0));
    // 19-7534 rev 0, table 6.
    let woken = [0x00, 0x03, 0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0, 0, 0, 0, 0, 0, 0, 0];
    assert_eq!(read(&mut chip), woken);
}

#[test]
fn a_printed_emf_becomes_the_printed_temperatures_words() {
    // ITS-90 tables, type K: 1000 °C is 41.276 mV against 0 °C; type S: 1000 °C is 9.587 mV.
    // Words: 1000 °C is 3E 80 00 and 0 °C is 00 00 (19-7534 rev 0, tables 3 and 2).
    for (letter, emf_mv) in [(3, 41.276), (6, 9.587)] {
        let registers = converted(0x90, letter, &at(emf_mv, 0.0));
        let [cold_high, cold_low, high, middle, low, status] = registers[COLD..].try_into().expect("six");
        let junction_c = f64::from(i32::from_be_bytes([0, high, middle, low]) >> 5) / 128.0;
        // A table's 1 µV is 0.03 °C of type K and 0.09 °C of type S.
        assert!((junction_c - 1000.0).abs() < 0.06, "{junction_c}");
        assert_eq!((cold_high, cold_low, status), (0, 0, 0));
    }
}

#[test]
fn the_cold_junction_is_added_and_its_word_is_the_data_sheets() {
    // K at 25 °C is 1.000 mV (ITS-90 table): a thermocouple as warm as its terminals gives no emf.
    let registers = converted(0x90, 3, &at(0.0, 25.0));
    assert_eq!(registers[COLD..COLD + 2], [0x19, 0x00]); // table 2: +25 °C
    assert_eq!(registers[HOT..STATUS], [0x01, 0x90, 0x00]); // table 3: +25 °C
    let cold = converted(0x90, 3, &at(0.0, -25.0));
    assert_eq!(cold[COLD..COLD + 2], [0xE7, 0x00]); // table 2: −25 °C
}

#[test]
fn a_chip_that_woke_reads_a_type_s_junction_as_a_much_colder_type_k() {
    let as_k = converted(0x90, 3, &at(9.587, 0.0));
    let junction_c = f64::from(i32::from_be_bytes([0, as_k[HOT], as_k[HOT + 1], as_k[HOT + 2]]) >> 5) / 128.0;
    // ITS-90 table, type K: 9.587 mV lies between 235 and 237 °C.
    assert!((235.0..237.0).contains(&junction_c), "{junction_c}");
}

#[test]
fn an_open_circuit_is_told_only_while_its_test_is_on() {
    let open = open_at_25_c();
    assert_eq!(converted(0x90, 3, &open)[STATUS], OPEN);
    assert_eq!(converted(0x80, 3, &open)[STATUS], 0);
}

#[test]
fn what_is_beyond_a_range_or_a_threshold_is_told() {
    assert_eq!(converted(0x90, 3, &at(60.0, 25.0))[STATUS], HOT_BEYOND_RANGE, "type K ends at 54.886 mV");
    let mut chip = Max31856::default();
    chip.exchange(SPI_MODE_1, &[WRITE | 3, 30, 20, 0x00, 0x20, 0x00, 0x10]); // 30, 20 °C; 2, 1 °C
    chip.exchange(SPI_MODE_1, &[WRITE, 0x90]);
    for (terminals, status) in [
        (at(0.0, 31.0), COLD_ABOVE | HOT_ABOVE),
        (at(0.0, 19.0), COLD_BELOW | HOT_ABOVE),
        (at(-1.0, 25.0), HOT_BELOW),
    ] {
        chip.pass(Duration::from_secs(1), &terminals);
        assert_eq!(read(&mut chip)[STATUS], status, "{terminals:?}");
    }
}

#[test]
fn a_latching_chip_keeps_a_complaint_until_it_is_cleared() {
    let mut chip = Max31856::default();
    chip.exchange(SPI_MODE_1, &[WRITE, 0x94]);
    chip.pass(Duration::from_secs(1), &open_at_25_c());
    chip.pass(Duration::from_secs(1), &at(0.0, 25.0));
    assert_eq!(read(&mut chip)[STATUS], OPEN);
    chip.exchange(SPI_MODE_1, &[WRITE, 0x96]);
    let registers = read(&mut chip);
    assert_eq!((registers[CR0], registers[STATUS]), (0x94, 0), "the clearing bit clears itself");
}

#[test]
fn results_cannot_be_written_and_one_conversion_alone_stops_by_itself() {
    let mut chip = Max31856::default();
    chip.exchange(SPI_MODE_1, &[WRITE | 0x0A, 1, 2, 3, 4, 5, 6]);
    assert_eq!(read(&mut chip)[COLD..], [0; 6]);
    chip.exchange(SPI_MODE_1, &[WRITE, ONCE]);
    for terminals in [at(0.0, 25.0), at(0.0, 60.0)] {
        chip.pass(Duration::from_secs(1), &terminals);
    }
    let registers = read(&mut chip);
    assert_eq!((registers[CR0], registers[COLD]), (0, 0x19));
}

#[test]
fn a_conversion_takes_its_time_and_longer_for_each_sample_of_an_average() {
    for (cr1, before_ms, after_ms) in [(0x03, 97, 98), (0x43, 397, 398)] {
        let mut chip = Max31856::default();
        chip.exchange(SPI_MODE_1, &[WRITE, HERTZ_50]);
        chip.exchange(SPI_MODE_1, &[WRITE, 0x91, cr1]);
        chip.pass(Duration::from_millis(before_ms), &at(0.0, 25.0));
        assert_eq!(read(&mut chip)[COLD], 0);
        chip.pass(Duration::from_millis(after_ms - before_ms), &at(0.0, 25.0));
        assert_eq!(read(&mut chip)[COLD], 0x19);
    }
}

#[test]
fn the_mains_filter_does_not_change_under_a_conversion() {
    let mut chip = Max31856::default();
    chip.exchange(SPI_MODE_1, &[WRITE, CONVERTING]);
    chip.exchange(SPI_MODE_1, &[WRITE, CONVERTING | HERTZ_50]);
    assert_eq!(read(&mut chip)[CR0], CONVERTING);
}

#[test]
fn a_chip_clocked_wrongly_says_and_hears_nothing() {
    for clocking in [0, 2]
        .map(|mode| Clocking { mode, ..SPI_MODE_1 })
        .into_iter()
        .chain([Clocking { hertz: HERTZ_MOST + 1, ..SPI_MODE_1 }])
    {
        let mut chip = Max31856::default();
        assert_eq!(chip.exchange(clocking, &[WRITE, 0x91]), [0xFF; 2]);
        assert_eq!(chip.exchange(clocking, &[0; 3]), [0xFF; 3]);
        assert_eq!(read(&mut chip)[CR0], 0);
    }
}

#[test]
fn supply_that_comes_back_undoes_the_set_up() {
    let mut chip = Max31856::default();
    chip.exchange(SPI_MODE_1, &[WRITE, 0x91, 0x06]);
    chip.pass(Duration::from_secs(1), &at(1.0, 25.0));
    chip.wake();
    assert_eq!(read(&mut chip), POWERED_UP);
}
