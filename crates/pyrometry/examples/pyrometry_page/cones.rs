//! Cones: the chart, the law against it, and what holds do.

use pyrometry::cone::{Cone, Confidence, Kind};
use pyrometry::heat_work::{end_point, hold_after_ramp};
use pyrometry::units::{CelsiusDelta, CelsiusPerHour};

use crate::head;

pub(crate) fn print() {
    chart();
    law();
    holds();
    println!();
    println!("## Where the law is outside its evidence");
    println!();
    println!(
        "Inside 15 to 150 °C/h it meets the chart, whose own batch tolerance is ±2 °C. Faster, slower, or"
    );
    println!(
        "in long holds far below the end point expect about ±7 °C; the type `Evidence` says which. A half"
    );
    println!("cone left out and predicted from its neighbours misses by −5.7 / −0.5 / +0.4 °C (05½) and");
    println!(
        "+4.2 / +1.0 / +1.7 °C (5½) at 15 / 60 / 150 °C/h. One Arrhenius law per cone in its place leaves"
    );
    println!(
        "1.3 °C rms, one activation energy for all cones 7.6 °C rms. The bend of a cone is our own model,"
    );
    println!("good to a factor 1.5, not validated. When pyrometer and cone disagree, follow the cone.");
}

fn chart() {
    println!();
    println!("## End points, °C");
    println!();
    println!("Source: Edward Orton Jr. Ceramic Foundation, temperature equivalents for cones 022 to 14. The");
    println!("rate, in °C/h, is that of the last 100 °C, in air. `?`: one older copy only, or out of line.");
    let columns = [
        ("self-supporting 15", Kind::SelfSupporting, 15),
        ("60", Kind::SelfSupporting, 60),
        ("150", Kind::SelfSupporting, 150),
        ("iron-free 15", Kind::SelfSupportingIronFree, 15),
        ("60", Kind::SelfSupportingIronFree, 60),
        ("150", Kind::SelfSupportingIronFree, 150),
        ("large 60", Kind::Large, 60),
        ("150", Kind::Large, 150),
        ("large iron-free 60", Kind::LargeIronFree, 60),
        ("150", Kind::LargeIronFree, 150),
        ("small 300", Kind::Small, 300),
    ];
    let mut titles = vec!["cone"];
    titles.extend(columns.map(|(title, ..)| title));
    head(&titles);
    for cone in Cone::ALL {
        let cells = columns.map(|(_, kind, rate)| {
            let cell = cone.chart().find(|cell| cell.kind == kind && cell.rate_c_per_h == rate);
            cell.map_or_else(String::new, |cell| match cell.confidence {
                Confidence::Agreed | Confidence::OnePrinting => cell.end_point_c.to_string(),
                Confidence::OldCopy | Confidence::Suspect => format!("{} ?", cell.end_point_c),
            })
        });
        println!("| {cone} | {} |", cells.join(" | "));
    }
}

fn law() {
    println!();
    println!("## The rate law against the chart");
    println!();
    let mut worst_c = 0.0_f64;
    let mut cells = 0;
    for cone in Cone::ALL {
        for cell in cone.chart().filter(|cell| cell.kind == Kind::SelfSupporting) {
            let found = cell.rate().and_then(|rate| end_point(cone, rate).ok());
            let miss_c = found.map_or(f64::NAN, |(at, _)| (at.c() - f64::from(cell.end_point_c)).abs());
            if miss_c.is_nan() || miss_c > worst_c {
                worst_c = miss_c;
            }
            cells += 1;
        }
    }
    println!(
        "{cells} cells of self-supporting cones; largest miss {worst_c:.2} °C. The cells are the law's own"
    );
    println!("points, so this shows that it is computed right, not that it predicts.");
}

fn holds() {
    println!();
    println!("## Holding below the end point");
    println!();
    println!("Minutes until the cone is down when the ramp stops short of its end point.");
    head(&["cone", "ramp, °C/h", "5 °C short", "10 °C", "20 °C"]);
    for number in ["04", "6", "10"] {
        for rate_c_per_h in [60.0, 150.0] {
            let (Some(cone), Some(rate)) = (Cone::parse(number), CelsiusPerHour::new(rate_c_per_h)) else {
                continue;
            };
            let minutes = [5.0, 10.0, 20.0].map(|below_c| {
                let hold =
                    CelsiusDelta::new(below_c).and_then(|below| hold_after_ramp(cone, rate, below).ok());
                hold.map_or_else(String::new, |hold| format!("{:.1}", hold.seconds() / 60.0))
            });
            println!("| {cone} | {rate} | {} |", minutes.join(" | "));
        }
    }
}
