//! Prints `docs/pyrometry.md`:
//!
//! `cargo run --release -p pyrometry --example pyrometry_page > docs/pyrometry.md`

mod cones;
mod costs;
mod functions;
mod inverses;
mod readings;

use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    println!("# Measuring truly");
    println!();
    println!("What the crate `pyrometry` gets right, by how much, and against which source. Made by");
    println!("`cargo run --release -p pyrometry --example pyrometry_page > docs/pyrometry.md`;");
    println!("times are of the machine that ran it, everything else is the same on any.");
    functions::print()?;
    inverses::print()?;
    readings::print();
    cones::print();
    costs::print();
    Ok(())
}

/// A file of published data kept beside the tests.
fn published(file: &str) -> String {
    format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"))
}

/// A table's head.
fn head(columns: &[&str]) {
    println!();
    println!("| {} |", columns.join(" | "));
    println!("|{}", " --- |".repeat(columns.len()));
}
