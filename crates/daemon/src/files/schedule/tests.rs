//! Schedules as potters write them, right and wrong.

use control::{Pace, Segment, Target};
use proptest::prelude::*;
use pyrometry::units::Millis;

use super::*;

fn refused(text: &str) -> String {
    check(Source::new("glaze.toml", text), None).expect_err("this schedule must be refused").to_string()
}

fn accepted(text: &str) -> Checked<Schedule> {
    check(Source::new("glaze.toml", text), None).unwrap_or_else(|refused| panic!("{refused}"))
}

fn with_segments(segments: &str) -> String {
    format!("title = \"Glaze\"\nscale = \"C\"\n{segments}")
}

fn simulated_kiln() -> KilnFile {
    crate::files::kiln::check(Source::new("kiln.toml", crate::files::kiln::SIMULATED)).unwrap().value
}

#[test]
fn sr_41_every_mistake_of_a_file_is_named_at_once_where_it_stands() {
    insta::assert_snapshot!(refused(
        r#"title = "Glaze"
scale = "K"
humidity = 3

[[segment]]
raet = 60
rate = "150C"
to = "1222"
soak = 20

[[segment]]
rate = 150
to = "cone 61/2"
soak = "half an hour"
"#
    ));
}

#[test]
fn a_cone_without_quotes_and_a_missing_title_are_explained() {
    insta::assert_snapshot!(refused("scale = \"C\"\ncone = 6\n[[segment]]\nrate = 60\nto = 1000\n"));
}

#[test]
fn a_file_that_is_no_toml_shows_the_first_broken_places() {
    insta::assert_snapshot!(refused("title = Glaze\nscale = \"C\"\n[[segment]\nrate = 60\nto = 1000\n"));
}

#[test]
fn an_empty_file_says_what_it_lacks() {
    insta::assert_snapshot!(refused(""));
}

#[test]
fn segments_that_go_the_wrong_way_or_out_of_bounds_are_refused() {
    insta::assert_snapshot!(refused(&with_segments(
        r"
[[segment]]
rate = 60
to = 1401
[[segment]]
rate = 1001
to = 1000
[[segment]]
rate = 100
to = 900
[[segment]]
rate = 100
to = 800
[[segment]]
rate = -100
to = 950
"
    )));
}

#[test]
fn a_cooling_before_anything_was_heated_is_refused_and_asked_about_its_minus() {
    let cold =
        |segment: &str| refused(&with_segments(&format!("{segment}[[segment]]\nrate = 100\nto = 900\n")));
    insta::assert_snapshot!(
        [
            cold("[[segment]]\nrate = -60\nto = 90\nsoak = \"2 h\"\n"),
            cold("[[segment]]\nrate = \"let fall\"\nto = 90\n"),
            cold("[[segment]]\nwatch = \"1 h\"\n[[segment]]\nrate = -60\nto = 90\n"),
        ]
        .join("\n\n")
    );
    accepted(&with_segments("[[segment]]\nwatch = \"1 h\"\n[[segment]]\nrate = 60\nto = 90\n"));
}

#[test]
fn a_climb_that_goes_below_the_cone_before_it_is_refused() {
    let after_cone_6 = |segment: &str| {
        with_segments(&format!(
            "[[segment]]\nrate = 100\nto = \"cone 6\"\n[[segment]]\nrate = 80\n{segment}\n"
        ))
    };
    assert!(
        refused(&after_cone_6("to = 760")).contains("ends hotter, at cone 6; to cool, write a negative rate")
    );
    assert!(refused(&after_cone_6("to = \"cone 06\"")).contains("ends hotter, at cone 6"));
    // Hotter, or a little colder where a soak brought the cone down early.
    accepted(&after_cone_6("to = \"cone 7\""));
    accepted(&after_cone_6("to = 1200"));
}

#[test]
fn rates_too_small_to_arrive_and_schedules_too_long_to_fire_are_refused() {
    for rate in ["1e-300", "-1e-300", "0.5", "-0.99"] {
        let text = with_segments(&format!(
            "[[segment]]\nrate = 100\nto = 500\n[[segment]]\nrate = {rate}\nto = 500\n"
        ));
        let why = refused(&text);
        assert!(why.contains("is too small; at least 1 °C/h (1.8 °F/h)"), "{why}");
    }
    // 1200 °C at 1 °C/h are 50 days, to a temperature or to a cone.
    for to in ["1220", "\"cone 6\""] {
        let why = refused(&with_segments(&format!("[[segment]]\nrate = 1\nto = {to}\n")));
        assert!(why.contains("the longest any schedule may last is 14 d"), "{why}");
    }
}

#[test]
fn the_commonest_mistakes_in_values_are_answered_with_what_was_meant() {
    insta::assert_snapshot!(refused(
        r#"title = "Glaze"
scale = "C"
cone = "O6"

[[segment]]
ramp = 60
rate = "150C/h"
to = "06"
hold = "10 mins"
soak = "1h30"

[[segment]]
rate = "flatout"
to = "1222 °C"

[[segment]]
rate = 60
to = "cone 6½"
"#
    ));
}

#[test]
fn a_text_that_is_no_toml_is_answered_in_the_words_of_its_line_once() {
    insta::assert_snapshot!(
        [
            "rate = 62,5\nto = 100\n",
            "rate = 60C\nto = 100\n",
            "rate = 60\nto = cone 6\n",
            "rate = 60\nto = 06\n",
            "rate = 60\nto = 100\nsoak = 1h30\n",
            "rate = 60\nto = 100\nremind = “plugs in”\n",
            "rate = 60\nrate = 80\nto = 100\n",
        ]
        .map(|keys| refused(&with_segments(&format!("[[segment]]\n{keys}"))))
        .join("\n\n")
    );
}

#[test]
fn sections_in_one_bracket_are_told_to_have_two() {
    let once = refused(&with_segments("[segment]\nrate = 60\nto = 100\n"));
    assert!(once.contains("begin each one with [[segment]], in two brackets"), "{once}");
    let twice = refused(&with_segments("[segment]\nrate = 60\nto = 100\n[segment]\nrate = 80\nto = 200\n"));
    assert!(twice.contains("begin each one with [[segment]], in two brackets"), "{twice}");
}

#[test]
fn numbers_in_fahrenheit_in_a_celsius_file_are_told_of_the_scale() {
    let to = |to: &str| refused(&with_segments(&format!("[[segment]]\nrate = 100\nto = {to}\n")));
    assert!(to("2232").contains("if your numbers are in °F, write scale = \"F\""), "{}", to("2232"));
    assert!(!to("2600").contains("°F"), "{}", to("2600"));
}

#[test]
fn a_rate_of_zero_is_told_how_to_hold_a_temperature() {
    let text = with_segments("[[segment]]\nrate = 0\nto = 950\n");
    assert!(
        refused(&text)
            .contains("rate = 0: never arrives; to hold a temperature, give the segment before it a soak")
    );
}

#[test]
fn segments_with_missing_or_misplaced_keys_are_refused() {
    insta::assert_snapshot!(refused(&with_segments(
        r#"
[[segment]]
rate = 60
[[segment]]
to = 900
[[segment]]
rate = 60
to = 900
no_hotter_than = 950
at_most = "1 h"
[[segment]]
watch = "1 h"
rate = 60
[[segment]]
rate = "let fall"
to = "cone 6"
"#
    )));
}

#[test]
fn a_schedule_hotter_than_the_kiln_is_refused_with_the_kilns_ceiling() {
    let kiln = simulated_kiln();
    let text = with_segments("[[segment]]\nrate = 60\nto = 1291\n[[segment]]\nrate = 60\nto = \"cone 12\"\n");
    insta::assert_snapshot!(check(Source::new("glaze.toml", text), Some(&kiln)).unwrap_err());
    let at_limit = with_segments("[[segment]]\nrate = 60\nto = 1290\n");
    assert!(check(Source::new("glaze.toml", at_limit), Some(&kiln)).is_ok());
}

#[test]
fn what_a_cone_assumes_and_an_aim_it_misses_are_noted() {
    insta::assert_snapshot!(
        accepted("title = \"A\"\nscale = \"C\"\n[[segment]]\nrate = 60\nto = \"cone 6\"\n").remarks()
    );
    insta::assert_snapshot!(
        accepted("title = \"A\"\nscale = \"C\"\ncone = \"6\"\n[[segment]]\nrate = 60\nto = 998\n").remarks()
    );
}

#[test]
fn bounds_hold_at_the_limit_and_not_past_it() {
    let one = |rate: &str, to: &str| with_segments(&format!("[[segment]]\nrate = {rate}\nto = {to}\n"));
    accepted(&one("1000", "1400"));
    refused(&one("1000", "1400.1"));
    refused(&one("1000.1", "1400"));
    let after_a_climb = |to: &str| format!("{}[[segment]]\nrate = -1000\nto = {to}\n", one("100", "500"));
    accepted(&after_a_climb("0"));
    refused(&after_a_climb("-0.1"));
    accepted(&one("1", "300"));
    refused(&one("0.999", "300"));
    let segments = |count: usize| with_segments(&"[[segment]]\nrate = 100\nto = 500\n".repeat(count));
    accepted(&segments(64));
    assert!(refused(&segments(65)).contains("at most 64; this file has 65"));
    let watch = |text: &str| with_segments(&format!("[[segment]]\nwatch = \"{text}\"\n"));
    accepted(&watch("14 d"));
    refused(&watch("14 d 1 s"));
    let twice = with_segments("[[segment]]\nwatch = \"14 d\"\n[[segment]]\nwatch = \"1 s\"\n");
    assert!(refused(&twice).contains("the longest any schedule may last is 14 d"));
}

#[test]
fn fahrenheit_is_converted_for_temperatures_and_rates() {
    let text = "title = \"A\"\nscale = \"F\"\n[[segment]]\nrate = 180\nto = 2232\nsoak = \"10 min\"\n";
    let schedule = accepted(text).value;
    let Segment::Climb { pace: Pace::Rate(rate), target: Target::Temperature(to), soak } =
        schedule.segments[0].segment
    else {
        panic!("{:?}", schedule.segments[0])
    };
    assert_eq!(rate.c_per_h(), 100.0);
    assert!((to.c() - 1222.222).abs() < 0.001);
    assert_eq!(soak, Millis::from_minutes(10));
}

#[test]
fn a_watch_asks_for_no_heat() {
    let schedule = accepted(include_str!("../../../../../config/schedules/watch-only.toml")).value;
    assert_eq!(schedule.programme.hottest(), None);
}

#[test]
fn a_segment_says_what_the_vent_does_and_what_it_may_say_is_told() {
    let vent = |value: &str| with_segments(&format!("[[segment]]\nrate = 60\nto = 900\n{value}"));
    let said = |value: &str| accepted(&vent(value)).value.segments[0].vent;
    assert_eq!(
        [said("vent = \"on\""), said("vent = \"off\""), said("")],
        [Some(Vent::On), Some(Vent::Off), None]
    );
    insta::assert_snapshot!(
        ["vent = \"On\"", "vent = \"open\"", "vent = true", "vent = 400", "vent = on", "fan = \"on\""]
            .map(|value| refused(&vent(value)))
            .join("\n\n")
    );
}

#[test]
fn a_vent_asked_for_in_a_kiln_without_one_is_warned_of_once_and_the_schedule_can_be_fired() {
    let text = with_segments(
        "[[segment]]\nrate = 60\nto = 600\nvent = \"on\"\n[[segment]]\nrate = 100\nto = 900\nvent = \"off\"\n",
    );
    let in_kiln = |kiln: &str| {
        let kiln = crate::files::kiln::check(Source::new("kiln.toml", kiln)).unwrap().value;
        check(Source::new("glaze.toml", text.clone()), Some(&kiln)).unwrap()
    };
    let without = in_kiln(crate::files::kiln::SIMULATED);
    assert_eq!(without.warnings(), 1);
    insta::assert_snapshot!(without.remarks());
    let with = in_kiln(&format!("{}\n[vent]\n", crate::files::kiln::SIMULATED));
    assert_eq!((with.notes.len(), accepted(&text).notes.len()), (0, 0), "{}", with.remarks());
}

#[test]
fn a_vent_in_a_fall_is_told_what_it_does_to_hot_ware() {
    let fall = |rate: &str, vent: &str| {
        with_segments(&format!(
            "[[segment]]\nrate = 100\nto = 900\nvent = \"on\"\n[[segment]]\nrate = {rate}\nto = 600\nvent = \"{vent}\"\n"
        ))
    };
    for rate in ["-60", "\"let fall\""] {
        let told = accepted(&fall(rate, "on"));
        assert_eq!((told.notes.len(), told.warnings()), (1, 0));
        assert!(
            told.remarks().starts_with("note: the vent runs in a fall") && told.remarks().contains("line 10"),
            "{}",
            told.remarks()
        );
        assert_eq!(accepted(&fall(rate, "off")).notes, []);
    }
}

#[test]
fn every_example_is_right_and_suits_the_simulated_kiln() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config/schedules");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let loaded = load(&path, Some(&simulated_kiln())).unwrap_or_else(|error| panic!("{error}"));
        assert!(loaded.source.text().starts_with("#:schema ../schedule.schema.json\n"), "{}", path.display());
        assert_eq!(loaded.notes, [], "{}", loaded.remarks());
        assert_eq!(loaded.value.segments.len(), loaded.value.programme.segments().len());
        count += 1;
    }
    assert!(count >= 5);
}

/// The aim of each example as the rate law counts it, cooling included, and whether the simulated
/// kiln keeps up. Half a cone is what practice calls "on the cone".
#[test]
fn every_example_reaches_its_cone_in_the_simulated_kiln() {
    let kiln = simulated_kiln();
    for (name, text) in [
        ("bisque", include_str!("../../../../../config/schedules/bisque.toml")),
        ("mid-fire-glaze", include_str!("../../../../../config/schedules/mid-fire-glaze.toml")),
        ("high-fire", include_str!("../../../../../config/schedules/high-fire.toml")),
        ("lustre", include_str!("../../../../../config/schedules/lustre.toml")),
    ] {
        let schedule = accepted(text).value;
        let room = pyrometry::constant!(pyrometry::units::Celsius, 20.0);
        let forecast = insight::forecast(&kiln.kiln, &schedule.programme, room);
        let kept_up = forecast.segments.iter().all(|segment| segment.arrival == insight::Arrival::AsWritten);
        assert!(kept_up, "{name}: {:?}", forecast.segments);
        let (aim, cone) = (schedule.aim.unwrap().ordinal(), forecast.cone.unwrap());
        assert!((cone - aim).abs() < 0.5, "{name}: aims at {aim}, forecast {cone:.2}");
    }
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "(?s).{0,300}") {
        let _ = check(Source::new("any", text), None).map_err(|refused| refused.to_string());
    }

    #[test]
    fn no_mixture_of_our_words_makes_the_reader_panic(words in proptest::collection::vec(
        prop_oneof![
            Just("[[segment]]\n"), Just("rate = "), Just("to = "), Just("soak = "), Just("\"cone 6\"\n"), Just("60\n"),
            Just("1e308\n"), Just("nan\n"), Just("-0x10\n"), Just("{ a = 1 }\n"), Just("[1, 2]\n"), Just("title = \"é½\"\n"),
            Just("scale = \"F\"\n"), Just("\"\"\"\n"), Just("2026-03-01\n"), Just("watch = \"9999999999999 d\"\n"),
            Just("62,5\n"), Just("06\n"), Just("150C\n"), Just("“x”\n"), Just("[segment]\n"), Just("[[segment]\n"),
            Just("1h30\n"), Just("\"1h30 é\"\n"), Just("\"½\"\n"), Just("rate: 60\n"), Just("hold = 2 hours\n"),
        ], 0..30)) {
        let _ = check(Source::new("any", words.concat()), None).map_err(|refused| refused.to_string());
    }

    #[test]
    fn what_is_written_is_what_is_planned(rate in 1.0_f64..1000.0, to in 1.0_f64..1400.0, minutes in 0_u64..600) {
        let text = with_segments(&format!("[[segment]]\nrate = {rate:?}\nto = {to:?}\nsoak = \"{minutes} min\"\n"));
        let schedule = check(Source::new("any", text), None);
        // A rate so slow that the climb lasts more than 14 days is rightly refused.
        prop_assume!((to - 20.0).abs() / rate < 14.0 * 24.0 - 10.0);
        let Segment::Climb { pace: Pace::Rate(planned), target: Target::Temperature(end), soak } =
            schedule.unwrap().value.segments[0].segment else { panic!("a climb") };
        prop_assert_eq!(planned.c_per_h(), rate);
        prop_assert_eq!(end.c(), to);
        prop_assert_eq!(soak, Millis::from_minutes(minutes));
    }
}
