//! The reference functions against the published tables.

use std::error::Error;

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::Celsius;

use crate::{head, published};

pub(crate) fn print() -> Result<(), Box<dyn Error>> {
    println!();
    println!("## Reference functions");
    println!();
    println!("Source: NIST SRD 60 / Monograph 175; IEC 60584-1 uses the same functions. Checked at every");
    println!("10 °C against the functions in 50-digit arithmetic, which meet all printed rows.");
    head(&["type", "range, °C", "rows", "largest difference, nV", "largest error of T(E(T)), µ°C"]);
    for thermocouple in Thermocouple::ALL {
        let file = format!("its90_{}.csv", thermocouple.letter().to_ascii_lowercase());
        let mut reader = csv::Reader::from_path(published(&file))?;
        let (mut rows, mut worst_mv, mut worst_c) = (0, 0.0_f64, 0.0_f64);
        for row in reader.deserialize() {
            let (t_c, emf_mv): (f64, f64) = row?;
            let junction = Celsius::new(t_c).ok_or("a temperature outside the unit")?;
            let emf = thermocouple.emf(junction)?;
            worst_mv = larger(worst_mv, (emf.mv() - emf_mv).abs());
            if thermocouple.rising_range().contains(&junction) {
                worst_c = larger(worst_c, (thermocouple.junction(emf)?.c() - t_c).abs());
            }
            rows += 1;
        }
        let range = thermocouple.range();
        println!(
            "| {} | {} to {} | {rows} | {:.1} | {:.3} |",
            thermocouple.letter(),
            range.start(),
            range.end(),
            worst_mv * 1e6,
            worst_c * 1e6
        );
    }
    println!();
    println!(
        "Type B falls to −2.6 µV at 21.02 °C and is useless below about 250 °C; its inverse begins at 21.02 °C."
    );
    Ok(())
}

fn larger(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}
