//! Kiln files' pins, signals and current clamps, right and wrong.

use super::tests::{REAL, checked, real_with, refused};
use super::*;

/// The real board's example with something added.
fn real_and(more: &str) -> String {
    format!("{REAL}\n{more}\n")
}

fn remarks(text: &str) -> String {
    checked(text).unwrap_or_else(|refused| panic!("{refused}")).remarks()
}

#[test]
fn signals_are_optional_and_each_has_a_pin_of_its_own_on_a_real_board() {
    assert_eq!(checked(REAL).unwrap().value.signals, SignalParts::default());
    let text = real_and(
        "[buzzer]\npin = 12\nactive = \"high\"\n[lamp]\npin = 13\nactive = \"high\"\n\
         [vent]\npin = 18\nactive = \"high\"\nfrom = 60\nto = 700",
    );
    let kiln = checked(&text).unwrap_or_else(|refused| panic!("{refused}"));
    assert_eq!(kiln.remarks(), "");
    let wiring = kiln.value.wiring().unwrap();
    let pins: Vec<u16> = wiring.signals.iter().map(|(_, output)| output.number).collect();
    assert_eq!(pins, [12, 13, 18]);
    assert!([12, 13, 18].into_iter().all(|pin| kiln.value.uses_pin(pin)));
    assert_eq!(kiln.value.signals.vent.unwrap().to.map(Celsius::c), Some(700.0));
    assert!(refused(&real_and("[lamp]\npin = 12")).contains("what drives the lamp is not fully said"));
    let clash = refused(&real_and("[buzzer]\npin = 22\nactive = \"high\""));
    assert!(clash.contains("pin 22 is given to bank \"top\" and to the buzzer"), "{clash}");
    let bus = refused(&real_and("[vent]\npin = 11\nactive = \"high\""));
    assert!(bus.contains("GPIO 11 is needed by SPI bus 0, where a probe is"), "{bus}");
}

#[test]
fn a_simulated_kilns_signals_need_no_pin() {
    let text = format!("{SIMULATED}\n[buzzer]\n[lamp]\n[vent]\nto = 600\n");
    let signals = checked(&text).unwrap().value.signals;
    assert_eq!(signals.fitted().count(), 3);
}

#[test]
fn a_vent_runs_over_a_band_and_within_a_kilns_temperatures() {
    let vent = |band: &str| real_and(&format!("[vent]\npin = 12\nactive = \"high\"\n{band}"));
    assert!(checked(&vent("from = 100\nto = 120")).is_ok());
    assert!(refused(&vent("from = 100\nto = 119")).contains("not well above its `from`"));
    assert!(refused(&vent("to = 1401")).contains("to = 1401 is out of bounds"));
    assert!(checked(&vent("to = 1400")).is_ok());
}

#[test]
fn a_relay_that_is_active_low_on_a_computer_of_unknown_pulls_is_warned_of_with_what_to_measure() {
    let on_linux = |text: &str| {
        text.replace("kind = \"raspberry-pi\"", "kind = \"linux\"\ngpio_chip = \"/dev/gpiochip-none\"")
    };
    let low = |pin: &str| {
        let (high, low) = (format!("{pin}\nactive = \"high\""), format!("{pin}\nactive = \"low\""));
        checked(&on_linux(&real_with(&high, &low))).unwrap_or_else(|refused| panic!("{refused}"))
    };
    assert_eq!(remarks(&on_linux(REAL)), "", "active high needs no word");
    assert_eq!(low("pin = 22").warnings(), 1);
    insta::assert_snapshot!(low("pin = 22").remarks());
    let contactor = low("contactor_pin = 25").remarks();
    assert!(
        contactor
            .contains("warning: the contactor is active low, on while its line is at ground; where line 25 "),
        "{contactor}"
    );
    let signal = remarks(&on_linux(&real_and("[lamp]\npin = 13\nactive = \"low\"")));
    assert!(
        signal.contains("warning: the lamp is active low, on while its line is at ground; where line 13 "),
        "{signal}"
    );
    assert!(!signal.contains("isolator"), "{signal}");
}

#[test]
fn a_signal_that_its_pin_switches_on_at_boot_is_warned_of_and_not_refused() {
    let told = remarks(&real_and("[buzzer]\npin = 12\nactive = \"low\""));
    assert!(told.contains("pulled down at boot: the buzzer, active low, is on until saggar runs"), "{told}");
    let told = remarks(&real_and("[buzzer]\npin = 5\nactive = \"high\""));
    assert!(told.contains("GPIO 5 is pulled up at boot"), "{told}");
    assert_eq!(remarks(&real_and("[buzzer]\npin = 5\nactive = \"low\"")), "");
}

/// The identity memory's pins: Raspberry Pi's design guide for add-on boards, GPIO requirements.
#[test]
fn the_pins_of_the_identity_memory_are_refused_to_relays_contacts_and_signals_alike() {
    for text in [
        real_with("pin = 27", "pin = 0"),
        real_with("pin = 27", "pin = 1"),
        real_and("[heartbeat]\npin = 0"),
        real_and("[lamp]\npin = 1\nactive = \"low\""),
    ] {
        assert!(refused(&text).contains("identity memory of an add-on board"), "{}", refused(&text));
    }
}

#[test]
fn a_contact_or_relay_on_a_pin_with_another_duty_is_warned_of_and_one_beside_it_is_not() {
    for (pin, duty) in [
        (2, "I2C bus 1's"),
        (3, "wakes a halted board"),
        (4, "1-wire"),
        (6, "firmware older than the board"),
        (14, "serial console"),
        (15, "serial console"),
        (16, "firmware older than the board"),
    ] {
        let told = remarks(&real_with("pin = 27", &format!("pin = {pin}")));
        assert!(told.contains(duty) && told.contains("the lid's contact is on it"), "{pin}: {told}");
    }
    for pin in [5, 12, 13, 18, 19, 20, 21] {
        assert_eq!(remarks(&real_with("pin = 27", &format!("pin = {pin}"))), "", "{pin}");
    }
    let relay = remarks(&real_with("pin = 22", "pin = 14"));
    assert!(relay.contains("it moves at boot; bank \"top\" is on it"), "{relay}");
}

#[test]
fn a_bus_nobody_is_on_leaves_its_pins_in_doubt_and_one_that_is_used_takes_them() {
    let on_i2c = |pin: u16| {
        let probe = "amplifier = \"MCP9600\"\nbus = 1\naddress = 0x60";
        let text = real_with("amplifier = \"MAX31856\"\nbus = 0\nchip_select = 0", probe);
        text.replacen("pin = 27", &format!("pin = {pin}"), 1)
    };
    assert!(remarks(&on_i2c(9)).contains("is SPI bus 0's where `dtparam=spi=on`"));
    assert!(refused(&on_i2c(3)).contains("GPIO 3 is needed by I2C bus 1, where a probe is"));
}

const CONVERTER: &str = "[converter]\nchip = \"MCP3008\"\nbus = 0\nchip_select = 1\nreference_v = 3.3";

/// The example with a clamp on its first bank.
fn clamped(clamp: &str, converter: &str) -> String {
    let bank = format!("rating_w = 2900\ncurrent = {clamp}");
    format!("{}\n{converter}\n", real_with("rating_w = 2900", &bank))
}

#[test]
fn a_clamp_has_its_converter_its_input_and_its_calibration() {
    let text = clamped("{ channel = 3, clamp_a_per_v = 20, offset_a = -0.1 }", CONVERTER);
    let kiln = checked(&text).unwrap_or_else(|refused| panic!("{refused}"));
    assert_eq!(kiln.remarks(), "");
    let converter = kiln.value.connected_converter().unwrap();
    assert_eq!((converter.bus, converter.chip_select, converter.reference_v), (0, 1, 3.3));
    let [clamp] = converter.clamps[..] else { panic!("{converter:?}") };
    assert_eq!((clamp.bank, clamp.channel, clamp.a_per_v, clamp.offset_a), (0, 3, 20.0, -0.1));
    assert_eq!(checked(REAL).unwrap().value.connected_converter(), None);
}

#[test]
fn a_clamp_without_converter_two_on_an_input_and_two_chips_on_a_select_are_refused() {
    let clamp = "{ channel = 0, clamp_a_per_v = 20 }";
    assert!(refused(&clamped(clamp, "")).contains("no converter that it is on"));
    let unplaced = refused(&clamped(clamp, &CONVERTER.replace("bus = 0\n", "")));
    assert!(unplaced.contains("where the converter is connected is not said"), "{unplaced}");
    let shared = refused(&clamped(clamp, &CONVERTER.replace("chip_select = 1", "chip_select = 0")));
    assert!(shared.contains("the converter has the same bus and chip select"), "{shared}");
    let twice = clamped(clamp, CONVERTER).replacen(
        "name = \"middle\"\npin",
        &format!("name = \"middle\"\ncurrent = {clamp}\npin"),
        1,
    );
    assert!(refused(&twice).contains("input 0 is given to bank \"top\" and to bank \"middle\""));
    assert!(refused(&clamped("{ channel = 8, clamp_a_per_v = 20 }", CONVERTER)).contains("channel"));
    let spi_1 = clamped(clamp, &CONVERTER.replace("bus = 0", "bus = 1"));
    let taken = refused(&spi_1.replacen("pin = 27", "pin = 20", 1));
    assert!(taken.contains("GPIO 20 is needed by SPI bus 1, where the converter is"), "{taken}");
}

/// 2900 W at 230 V are 12.6 A; 3.3 V of reference hold 0.9 · 1.65 V / √2 = 1.05 V RMS, and a tenth of the
/// current in two steps of 3.2 mV is 1.26 A in 6.4 mV.
#[test]
fn a_clamp_too_small_or_too_large_for_its_bank_and_a_converter_for_nothing_are_warned_of() {
    let told =
        |a_per_v: f64| remarks(&clamped(&format!("{{ channel = 0, clamp_a_per_v = {a_per_v} }}"), CONVERTER));
    assert!(
        told(11.9).contains("fits 12.5 A at this reference, and the bank draws 12.6 A"),
        "{}",
        told(11.9)
    );
    assert_eq!(told(12.1), "");
    assert_eq!(told(195.0), "");
    assert!(told(197.0).contains("noise could trip a firing"), "{}", told(197.0));
    assert!(remarks(&real_and(CONVERTER)).contains("no bank whose current it measures"));
}

#[test]
fn a_simulated_kiln_senses_currents_where_every_bank_has_a_clamp() {
    let clamp = "current = { channel = 0, clamp_a_per_v = 20 }\nswitch";
    let one = SIMULATED.replacen("switch", clamp, 1);
    let sensing = |text: &str| crate::plant::spec(&checked(text).unwrap().value).current_sensing;
    assert_eq!(sensing(&one), kiln_sim::CurrentSensing::NotFitted);
    let both = SIMULATED.replace("\nswitch", &format!("\n{clamp}")).replacen("channel = 0", "channel = 1", 1);
    assert_eq!(sensing(&both), kiln_sim::CurrentSensing::EachBank);
}
