//! What straight-line chips show and what is behind it; uncertainty budgets.

use pyrometry::amplifier::{Amplifier, Said, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::cone::Cone;
use pyrometry::constant;
use pyrometry::heat_work::{HeatWork, end_point};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::uncertainty::{Chain, Lead, ToleranceClass};
use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour, Millis};

use crate::head;

pub(crate) fn print() {
    straight_lines();
    budgets();
}

fn straight_lines() {
    println!();
    println!("## What a straight-line chip shows, and what we make of it");
    println!();
    println!(
        "MAX31855 (datasheet 19-5793), cold junction 25 °C. Uncorrected, type K at 1200 °C over-fires by most of a cone."
    );
    head(&["type", "true, °C", "the chip shows", "we read"]);
    for (thermocouple, true_c) in [
        (Thermocouple::K, 1000.0),
        (Thermocouple::K, 1100.0),
        (Thermocouple::K, 1200.0),
        (Thermocouple::K, 1300.0),
        (Thermocouple::N, 1200.0),
        (Thermocouple::R, 1200.0),
        (Thermocouple::S, 1200.0),
    ] {
        let sensor = Sensor { thermocouple, amplifier: Amplifier::Max31855, calibration: Calibration::NONE };
        let Some(truth) = Celsius::new(true_c) else { continue };
        let report = sensor.would_say(truth, constant!(Celsius, 25.0));
        if let (Said::Words { junction, .. }, Ok(measured)) = (report.said, sensor.measure(&report)) {
            let shown_c = f64::from(junction) * sensor.amplifier.junction_step().c();
            println!(
                "| {} | {true_c} | {shown_c:.2} | {:.2} |",
                thermocouple.letter(),
                measured.junction.c()
            );
        }
    }
}

fn budgets() {
    println!();
    println!("## How uncertain a reading is");
    println!();
    println!("Half-widths in °C at 1222 °C (cone 6 at 60 °C/h), cold junction 35 °C, new wire; the last two");
    println!(
        "columns are the expanded uncertainty (coverage factor 2, JCGM 100) in °C and, at cone 6, in cones."
    );
    println!("Tolerance classes: IEC 60584-1. What a display shows in tenths is resolution, not accuracy.");
    head(&["chain", "wire", "lead", "amplifier", "cold junction", "resolution", "± °C", "cones"]);
    for (name, thermocouple, class, amplifier, lead) in [
        (
            "K class 2, MAX31855, extension",
            Thermocouple::K,
            ToleranceClass::Class2,
            Amplifier::Max31855,
            Lead::Extension,
        ),
        (
            "K class 1, MAX31856, extension",
            Thermocouple::K,
            ToleranceClass::Class1,
            Amplifier::Max31856,
            Lead::Extension,
        ),
        (
            "N class 1, MAX31856, no lead",
            Thermocouple::N,
            ToleranceClass::Class1,
            Amplifier::Max31856,
            Lead::None,
        ),
        (
            "S class 1, MAX31856, no lead",
            Thermocouple::S,
            ToleranceClass::Class1,
            Amplifier::Max31856,
            Lead::None,
        ),
    ] {
        let sensor = Sensor { thermocouple, amplifier, calibration: Calibration::NONE };
        let chain = Chain { sensor, class, lead, drift: CelsiusDelta::ZERO, calibrated_within: None };
        let budget = chain.budget(constant!(Celsius, 1222.0), constant!(Celsius, 35.0));
        let [wire, lead, chip, cold, resolution, ..] = budget.parts().map(|part| part.half_width.c());
        let expanded = budget.expanded();
        println!(
            "| {name} | {wire:.1} | {lead:.1} | {chip:.1} | {cold:.1} | {resolution:.2} | {:.1} | {} |",
            expanded.c(),
            in_cones(expanded)
        );
    }
}

/// What an uncertainty makes of a kiln that reads cone 6.
fn in_cones(uncertainty: CelsiusDelta) -> String {
    let at_cone_6 = Cone::parse("6").and_then(|six| end_point(six, constant!(CelsiusPerHour, 60.0)).ok());
    let Some((at, _)) = at_cone_6 else { return String::new() };
    let mut work = HeatWork::NONE;
    work.add(constant!(Celsius, 22.0), Millis::ZERO);
    let Some(span) = Millis::from_seconds_f64((at.c() - 22.0) * 60.0) else { return String::new() };
    work.add(at, span);
    let spread = work.spread(uncertainty);
    match (spread.least, spread.most) {
        (Some(least), Some(most)) => format!("{least:.1} to {most:.1}"),
        (None | Some(_), None | Some(_)) => String::new(),
    }
}
