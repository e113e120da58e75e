//! Cone numbers and the chart. Source of the chart: Edward Orton Jr. Ceramic Foundation,
//! temperature equivalents for pyrometric cones 022 to 14, in `cones.csv`.

use pyrometry::cone::{Cone, Kind};

#[test]
fn every_cone_is_read_as_it_is_written() {
    for cone in Cone::ALL {
        assert_eq!(Cone::parse(&cone.to_string()), Some(cone));
        assert_eq!(Cone::parse(&cone.to_string().replace('½', ".5")), Some(cone));
        assert_eq!(Cone::parse(&cone.to_string().replace('½', " 1/2")), Some(cone));
    }
}

#[test]
fn the_leading_zero_tells_a_bisque_from_a_glaze() {
    let ordinal = |text| Cone::parse(text).map(Cone::ordinal);
    assert_eq!(ordinal("022"), Some(-21.0));
    assert_eq!(ordinal("06"), Some(-5.0));
    assert_eq!(ordinal("05½"), Some(-4.5));
    assert_eq!(ordinal("01"), Some(0.0));
    assert_eq!(ordinal("1"), Some(1.0));
    assert_eq!(ordinal("5.5"), Some(5.5));
    assert_eq!(ordinal("6"), Some(6.0));
    assert_eq!(ordinal("14"), Some(14.0));
}

#[test]
fn what_is_no_cone_is_refused() {
    for text in ["", "0", "00", "6½", "06½", "6.0", "15", "023", "cone 6", "-6", "½", "1/2", "5½½", "006"]
    {
        assert_eq!(Cone::parse(text), None, "{text:?}");
    }
}

#[test]
fn cones_stand_in_order_of_temperature_and_of_number() {
    for pair in Cone::ALL.windows(2) {
        let [cooler, hotter] = pair else { continue };
        assert!(cooler < hotter && cooler.ordinal() < hotter.ordinal());
        assert_eq!(cooler.next(), Some(*hotter));
        assert_eq!(hotter.previous(), Some(*cooler));
    }
    assert_eq!(Cone::COOLEST.previous(), None);
    assert_eq!(Cone::HOTTEST.next(), None);
    assert_eq!((Cone::COOLEST, Cone::HOTTEST), (Cone::ALL[0], Cone::ALL[37]));
}

#[test]
fn guide_and_guard_are_whole_cones() {
    let neighbours = |text| {
        let cone = Cone::parse(text).expect("a cone");
        (cone.cooler().map(Cone::name), cone.hotter().map(Cone::name))
    };
    assert_eq!(neighbours("6"), (Some("5"), Some("7")));
    assert_eq!(neighbours("5½"), (Some("5"), Some("6")));
    assert_eq!(neighbours("5"), (Some("4"), Some("6")));
    assert_eq!(neighbours("01"), (Some("02"), Some("1")));
    assert_eq!(neighbours("022"), (None, Some("021")));
    assert_eq!(neighbours("14"), (Some("13"), None));
}

#[test]
fn the_chart_holds_every_cell_of_its_source() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/cones.csv");
    let mut reader = csv::Reader::from_path(path).expect("a data file");
    let mut cells = 0;
    for row in reader.records().map(|row| row.expect("a row")) {
        let kind = match &row[1] {
            "large" => Kind::Large,
            "large, iron-free" => Kind::LargeIronFree,
            "large self-supporting" => Kind::SelfSupporting,
            "large self-supporting, iron-free" => Kind::SelfSupportingIronFree,
            "small" => Kind::Small,
            other => panic!("kind {other}"),
        };
        let rate: u16 = row[2].parse().expect("a rate");
        let end_point: u16 = row[3].parse().expect("a temperature");
        let cone = Cone::parse(&row[0]).expect("a cone");
        let found = cone.chart().find(|cell| cell.kind == kind && cell.rate_c_per_h == rate);
        assert_eq!(found.map(|cell| cell.end_point_c), Some(end_point), "{row:?}");
        cells += 1;
    }
    assert_eq!(cells, Cone::ALL.iter().map(|cone| cone.chart().count()).sum::<usize>());
}
