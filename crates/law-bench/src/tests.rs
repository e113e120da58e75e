//! Whole firings by every law, kept as tables; files that are written.

use super::*;

#[test]
fn every_law_on_the_reference_kilns() {
    insta::assert_snapshot!(Each::of(&references()).to_string());
}

#[test]
fn every_law_on_three_drawn_kilns() {
    let cases: Vec<Case> = (0..3).map(|seed| drawn(seed, RELAY)).collect();
    insta::assert_snapshot!(Each::of(&cases).to_string());
}

#[test]
fn kilns_of_several_zones() {
    insta::assert_snapshot!(Apart::measured().to_string());
}

#[test]
fn an_export_holds_a_row_for_every_second_and_what_the_kiln_is_made_of() {
    let folder = tempfile::tempdir().unwrap();
    export::export(&by_name("two-banks").unwrap(), folder.path()).unwrap();
    let kiln = std::fs::read_to_string(folder.path().join("kiln.json")).unwrap();
    let kiln: serde_json::Value = serde_json::from_str(&kiln).unwrap();
    assert_eq!((&kiln["banks"][1]["rated_w"], &kiln["ware"]["mass_kg"]), (&5750.0.into(), &40.0.into()));
    let mut rows = csv::Reader::from_path(folder.path().join("firing.csv")).unwrap();
    let rows: Vec<csv::StringRecord> = rows.records().collect::<Result<_, _>>().unwrap();
    let climbs = rows.iter().filter(|row| &row[0] == "climb").count();
    let hours = 102.0 / 60.0 + 4.8 + 520.0 / 120.0 + 100.0 / 60.0; // from 18 °C, by hand
    let climbed_h = std::time::Duration::from_secs(climbs.try_into().unwrap()).as_secs_f64() / 3600.0;
    assert!((climbed_h - hours).abs() < 0.1, "{climbed_h} h of climbs, as planned but for a short wait");
}

#[test]
fn a_picture_is_drawn_of_every_law() {
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().join("made/for/it");
    curves::draw(&by_name("drawn-1").unwrap(), &into).unwrap();
    for law in
        ["on-and-off", "pid", "pid-scheduled", "saggar-sparing-first-firing", "saggar-close-second-firing"]
    {
        let picture = std::fs::read_to_string(into.join(format!("drawn-1-{law}.svg"))).unwrap();
        assert!(picture.contains("<polyline") && picture.contains("drawn-1"), "{law}");
    }
}

#[test]
fn a_kiln_that_is_not_there_is_answered_with_those_that_are() {
    let refused = kiln("big").unwrap_err();
    assert!(refused.contains("two-banks") && refused.contains("drawn-SEED"), "{refused}");
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let refused = export::export(&by_name("one-bank").unwrap(), file.path()).unwrap_err().to_string();
    assert!(refused.contains(file.path().to_str().unwrap()), "{refused}");
}
