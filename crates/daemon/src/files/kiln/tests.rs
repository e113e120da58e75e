//! Kiln files as potters write them, right and wrong.

use super::*;

pub(super) const REAL: &str = include_str!("../../../../../config/kilns/raspberry-pi.toml");

pub(super) fn checked(text: &str) -> Result<Checked<KilnFile>, Refused> {
    check(Source::new("kiln.toml", text))
}

/// The real board's example with one thing changed.
pub(super) fn real_with(from: &str, to: &str) -> String {
    assert!(REAL.contains(from), "{from}");
    REAL.replacen(from, to, 1)
}

pub(super) fn refused(text: &str) -> String {
    checked(text).expect_err("this kiln file must be refused").to_string()
}

#[test]
fn the_examples_are_right_and_nothing_is_to_be_said_about_them() {
    for (name, text) in [("simulated", SIMULATED), ("raspberry-pi", REAL)] {
        let kiln = checked(text).unwrap_or_else(|refused| panic!("{refused}"));
        assert_eq!(kiln.notes, [], "{name}: {}", kiln.remarks());
        assert!(text.starts_with("#:schema ../kiln.schema.json\n"), "{name}");
    }
}

#[test]
fn the_simulated_kiln_is_what_its_file_says() {
    let kiln = checked(SIMULATED).unwrap().value;
    assert_eq!((kiln.kiln.banks.len(), kiln.kiln.probes.len()), (2, 1));
    assert_eq!(kiln.kiln.ceiling.c(), 1290.0);
    assert_eq!(kiln.kiln.open_below.c(), 80.0);
    assert_eq!(kiln.outage, Outage::RemainOff);
    let Board::Simulated(simulated) = &kiln.board else { panic!("{:?}", kiln.board) };
    assert_eq!((simulated.load_kg, simulated.seed), (30.0, 7));
}

#[test]
fn sr_41_there_is_no_default_for_type_amplifier_ceiling_pins_or_limits() {
    for line in [
        "thermocouple = \"K\"",
        "amplifier = \"MAX31856\"",
        "ceiling = 1260",
        "pin = 22",
        "active = \"high\"",
        "longest_firing = \"36 h\"",
        "longest_stay = \"2 h\"",
        "open_below = 80",
        "bus = 0",
        "chip_select = 0",
        "contactor_pin = 25",
        "switch = \"mechanical\"",
        "rating_w = 2900",
        "class = \"1\"",
    ] {
        assert!(checked(&real_with(line, "")).is_err(), "without {line}");
    }
}

#[test]
fn several_mistakes_are_named_at_once() {
    let text = real_with("ceiling = 1260", "cieling = 1260")
        .replacen("thermocouple = \"K\"", "thermocouple = \"k-type\"", 1)
        .replacen("rating_w = 2900", "rating_w = \"2.9 kW\"", 1)
        .replacen("on_return = \"remain off\"", "on_return = \"restart\"", 1);
    insta::assert_snapshot!(refused(&text));
}

#[test]
fn a_section_of_a_later_day_is_not_silently_ignored() {
    assert!(refused(&format!("{REAL}\n[notify]\nphone = 12\n")).contains("unknown key `notify`"));
}

#[test]
fn pins_that_clash_are_refused() {
    insta::assert_snapshot!(refused(&real_with("pin = 23", "pin = 22").replacen("pin = 24", "pin = 10", 1)));
}

#[test]
fn a_bank_needs_exactly_one_probe() {
    let none = real_with("banks = [\"top\", \"middle\", \"bottom\"]", "banks = [\"top\", \"midle\"]");
    insta::assert_snapshot!(refused(&none));
}

#[test]
fn a_pin_that_would_energise_a_relay_at_boot_is_refused() {
    insta::assert_snapshot!(refused(&real_with("active = \"high\"", "active = \"low\"")));
    assert!(refused(&real_with("pin = 22", "pin = 5")).contains("GPIO 5 is pulled up at boot"));
    assert!(refused(&real_with("pin = 25", "pin = 8")).contains("the contactor, active high"));
    let pulled_off = real_with("pin = 22\nactive = \"high\"", "pin = 5\nactive = \"low\"");
    assert!(checked(&pulled_off).unwrap().remarks().contains(": warning: bank \"top\" is active low"));
    let first_safe = checked(&real_with("pin = 22", "pin = 12")).unwrap();
    assert_eq!(first_safe.remarks(), "");
}

#[test]
fn banks_beyond_the_supply_take_turns_but_one_alone_beyond_it_is_refused() {
    let turns = checked(&real_with("supply_a = 40", "supply_a = 30")).unwrap();
    assert!(turns.remarks().contains("the banks together draw 8700 W, more than the supply's 6900 W"));
    assert!(refused(&real_with("supply_a = 40", "supply_a = 12")).contains("alone draws more"));
}

#[test]
fn sr_20_a_ceiling_above_what_the_chip_can_say_is_refused() {
    assert!(
        refused(&real_with("\"MAX31856\"", "\"MAX6675\"")).contains("above what a MAX6675 can say of type K")
    );
    assert!(checked(&real_with("ceiling = 1260", "ceiling = 1372")).is_ok());
    assert!(refused(&real_with("ceiling = 1260", "ceiling = 1372.1")).contains("above what a MAX31856"));
}

#[test]
fn a_ceiling_in_fahrenheit_in_a_celsius_file_is_told_of_the_scale() {
    let told = refused(&real_with("ceiling = 1260", "ceiling = 2300"));
    assert!(told.contains("100 °C to 1400 °C; if your numbers are in °F, write scale = \"F\""), "{told}");
}

#[test]
fn thin_wire_below_the_ceiling_is_noted() {
    let thin = checked(&real_with("wire_mm = 3.25", "wire_mm = 1.63")).unwrap();
    assert!(thin.remarks().contains("lasts to about 1090 °C; the ceiling is 1260 °C"), "{}", thin.remarks());
}

#[test]
fn a_correction_holds_to_25_degrees_and_not_past_it() {
    assert!(checked(&real_with("offset = 0", "offset = -25")).is_ok());
    assert!(
        refused(&real_with("offset = 0", "offset = 25.1"))
            .contains("a correction of 25.1 °C is beyond 25 °C")
    );
}

#[test]
fn sr_42_a_page_for_other_devices_is_refused() {
    assert!(
        refused(&real_with("127.0.0.1:8471", "0.0.0.0:8471")).contains("no address of this computer itself")
    );
}

#[test]
fn sr_40_carrying_on_is_bounded() {
    let carry_on = real_with("\"remain off\"", "\"carry on\"");
    assert!(matches!(checked(&carry_on).unwrap().value.outage, Outage::CarryOn { .. }));
    assert!(checked(&carry_on.replace("\"15 min\"", "\"15 min 1 s\"")).is_err());
    assert!(checked(&carry_on.replace("drop_at_most = 100", "drop_at_most = 101")).is_err());
}

#[test]
fn facts_that_contradict_each_other_are_warned_of_and_each_alone_is_not() {
    for (from, to, wrong) in [
        ("longest_stay = \"2 h\"", "longest_stay = \"12 h\"", None),
        (
            "longest_firing = \"36 h\"",
            "longest_firing = \"1 h\"",
            Some("longest_stay is longer than longest_firing"),
        ),
        (
            "offset = 0 ",
            "offset = 1\ncalibrated = 2026-02-28 ",
            Some("calibrated before the probe was fitted, 2026-03-01"),
        ),
        ("offset = 0 ", "offset = 1\ncalibrated = 2026-03-01 ", None),
    ] {
        let remarks = checked(&real_with(from, to)).unwrap().remarks();
        assert_eq!(wrong.is_some(), remarks.contains(": warning: "), "{to}: {remarks}");
        assert!(remarks.contains(wrong.unwrap_or_default()), "{to}: {remarks}");
    }
    let warm = checked(
        &SIMULATED.replace("open_below = 80", "open_below = 30").replace("ambient = 20", "ambient = 30"),
    );
    assert!(warm.unwrap().remarks().contains("the kiln would never be cool enough to open"));
}

#[test]
fn a_note_is_one_line_that_begins_with_note() {
    let quiet = REAL.split("[outage]").next().unwrap();
    let remarks = checked(quiet).unwrap().remarks();
    assert_eq!(
        remarks,
        "note: no [outage]: after a power cut the kiln stays off; \
         write [outage] with on_return to choose; \"remain off\" says the same (kiln.toml)\n"
    );
}

#[test]
fn a_heartbeat_is_optional_and_has_a_pin_of_its_own() {
    let with = |pin: u16| format!("{REAL}\n[heartbeat]\npin = {pin}\n");
    assert_eq!(checked(REAL).unwrap().value.heartbeat, None);
    assert_eq!(checked(&with(16)).unwrap().value.heartbeat, Some(16));
    assert!(refused(&with(25)).contains("the heartbeat"), "{}", refused(&with(25)));
    assert!(refused(&with(30)).contains("has no GPIO 30"));
}

const POINTS: &str = "calibration = [{ at = 1000, add = -3 }, { at = 1220, add = -5 }]";

#[test]
fn a_calibration_over_temperature_is_added_to_the_offset_and_dated() {
    let text = real_with("offset = 0 ", &format!("{POINTS}\ncalibrated = 2026-10-01\noffset = 1 "));
    let kiln = checked(&text).unwrap_or_else(|refused| panic!("{refused}"));
    let calibration = kiln.value.kiln.probes[0].sensor.calibration;
    let added = |at: f64| calibration.correction(Celsius::new(at).unwrap()).c();
    assert_eq!((added(20.0), added(1110.0), added(1250.0)), (-2.0, -3.0, -4.0));
    assert_eq!(calibration.day().map(|day| day.to_string()).as_deref(), Some("2026-10-01"));
}

#[test]
fn calibrations_that_hide_a_broken_probe_are_refused_at_their_point() {
    let with = |keys: &str| {
        refused(&real_with("offset = 0 ", &format!("calibrated = 2026-10-01\n{keys}\noffset = 0 ")))
    };
    insta::assert_snapshot!(
        [
            refused(&real_with("offset = 0 ", &format!("{POINTS}\noffset = 0 "))),
            with("calibration = [{ at = 1000, add = -3 }, { at = 900, add = -3 }]"),
            with("calibration = [{ at = 1000, add = -3 }, { at = 1010, add = -8 }]"),
            with("calibration = [{ at = 1000, add = 26 }]"),
            with("calibration = [{ at = 1000 }, 7]"),
            refused(&real_with("offset = 0 ", "offset = 26 ")),
        ]
        .join("\n\n")
    );
}

#[test]
fn a_correction_beyond_25_c_needs_somebody_who_allowed_it() {
    let allowed = "correction_allowed_by = \"Ann, 2026-10-02: tip moved behind the muffle\"\n";
    let kiln = checked(&real_with("offset = 0 ", &format!("{allowed}offset = 26 "))).unwrap();
    assert_eq!(kiln.value.kiln.probes[0].sensor.calibration.everywhere().c(), 26.0);
    assert_eq!(kiln.notes, []);
    let idle = checked(&real_with("offset = 0 ", &format!("{allowed}offset = 25 "))).unwrap();
    assert!(idle.remarks().contains("correction_allowed_by is not needed"), "{}", idle.remarks());
}

/// IEC 60584-1: type K class 1 is ±5.0 °C at 1250 °C, class 2 ±9.4.
#[test]
fn uncertainty_is_told_in_degrees_and_cones_and_a_calibration_narrows_it() {
    let told = |text: &str| {
        let mut kiln = checked(text).unwrap_or_else(|refused| panic!("{refused}"));
        say_uncertainty(&mut kiln, Date::new(2026, 3, 1).unwrap());
        kiln.remarks()
    };
    let new = told(REAL);
    let worse = told(&real_with("class = \"1\"", "class = \"2\""));
    let keys = format!("{POINTS}\ncalibrated = 2026-03-01\ncalibrated_within = 3\noffset = 0 ");
    let calibrated = told(&real_with("offset = 0 ", &keys));
    insta::assert_snapshot!([new, worse, calibrated].join("\n"));
}

#[test]
fn a_day_in_the_future_is_warned_of_and_makes_no_probe_younger() {
    let told = |text: &str| {
        let mut kiln = checked(text).unwrap();
        say_uncertainty(&mut kiln, Date::new(2026, 11, 25).unwrap());
        kiln.remarks()
    };
    let fitted = told(&real_with("fitted = 2026-03-01", "fitted = 2062-03-01"));
    assert!(
        fitted.starts_with("kiln.toml:69:1: warning: fitted on 2062-03-01, which is still to come"),
        "{fitted}"
    );
    let unknown = told(&real_with("fitted = 2026-03-01", ""));
    let within =
        |remarks: &str| remarks.split("reads within ").nth(1).unwrap().split(';').next().unwrap().to_owned();
    assert_eq!(within(&fitted), within(&unknown));
    let calibrated =
        told(&real_with("offset = 0 ", &format!("{POINTS}\ncalibrated = 2026-11-26\noffset = 0 ")));
    assert!(calibrated.contains("warning: calibrated on 2026-11-26"), "{calibrated}");
    assert!(!told(&real_with("fitted = 2026-03-01", "fitted = 2026-11-25")).contains("warning"));
}

/// π/4 · 0.59² · 0.57 m³ is 155.8 L.
#[test]
fn a_round_chamber_by_diameter_and_height_is_as_large_as_geometry_says() {
    let body = checked(REAL).unwrap().value.body;
    assert!((body.chamber.volume_m3() - 0.1558).abs() < 1e-4, "{body:?}");
}

#[test]
fn a_probe_of_unknown_age_is_allowed_more_drift_than_a_new_one() {
    let drift = |text: &str, year: i16| {
        let kiln = checked(text).unwrap().value;
        kiln.probes[0].chain(kiln.kiln.probes[0].sensor, Date::new(year, 3, 1).unwrap()).drift.c()
    };
    assert_eq!(drift(REAL, 2026), 0.0);
    assert_eq!(drift(REAL, 2027), 5.0);
    assert_eq!(drift(REAL, 2040), 10.0);
    assert_eq!(drift(&real_with("fitted = 2026-03-01", ""), 2026), 10.0);
    assert_eq!(drift(&real_with("fitted = 2026-03-01", "drift = 4"), 2026), 4.0);
}

#[test]
fn contacts_are_sensed_once_each_and_on_a_real_board_fully_connected() {
    let kiln = checked(REAL).unwrap().value;
    assert!(
        [Sensed::Lid, Sensed::Contactor, Sensed::PresenceButton]
            .into_iter()
            .all(|sensed| kiln.senses(sensed))
    );
    assert_eq!(kiln.presence, Presence::Button);
    let simulated = format!("{SIMULATED}\n[[contact]]\nsenses = \"lid\"\n");
    let bare = checked(&simulated).unwrap().value;
    assert!(bare.senses(Sensed::Lid) && bare.presence == Presence::Checklist);
    assert!(refused(&format!("{simulated}[[contact]]\nsenses = \"lid\"\n")).contains("a second contact"));
    for missing in ["pin = 17\n", "closed_at = \"high\"\n"] {
        assert!(
            refused(&real_with(missing, "")).contains("where the contactor's mirror contact is connected")
        );
    }
    assert!(refused(&real_with("senses = \"lid\"", "senses = \"lit\"")).contains("did you mean \"lid\""));
}

#[test]
fn a_contacts_pin_clashes_as_a_relays_does() {
    let told = refused(&real_with("pin = 27", "pin = 22"));
    assert!(told.contains("pin 22 is given to bank \"top\" and to the lid's contact"), "{told}");
    assert!(refused(&real_with("pin = 27", "pin = 9")).contains("GPIO 9 is needed by SPI bus 0"));
    assert!(checked(&real_with("pin = 27", "pin = 5")).is_ok(), "a contact energises nothing at boot");
}

#[test]
fn a_broken_wire_that_would_look_like_a_kiln_that_may_be_lit_is_warned_of() {
    for (from, to, warned) in [
        ("pin = 27\nclosed_at = \"low\"", "pin = 27\nclosed_at = \"high\"", "as a lid that is shut"),
        ("pin = 26\nclosed_at = \"low\"", "pin = 26\nclosed_at = \"high\"", "who keeps pressing it"),
        ("pin = 17\nclosed_at = \"high\"", "pin = 17\nclosed_at = \"low\"", "as a contactor that is open"),
        ("presence = \"button\"", "presence = \"not asked\"", "though nobody may be at the kiln"),
    ] {
        let told = checked(&real_with(from, to)).unwrap().remarks();
        assert!(told.contains(": warning: ") && told.contains(warned), "{told}");
    }
}

#[test]
fn presence_by_a_button_needs_a_button() {
    let told = refused(&format!("{SIMULATED}\n[light_up]\npresence = \"button\"\n"));
    assert!(told.contains("no contact that senses one"), "{told}");
    let asked = checked(&real_with("presence = \"button\"", "presence = \"checklist\"")).unwrap();
    assert_eq!((asked.value.presence, asked.remarks().as_str()), (Presence::Checklist, ""));
}
