//! Control laws compared on simulated kilns: how far from the schedule, at how many relay operations.
//!
//! Here live the kilns, the laws the controller is compared with, and the tables, pictures and exports
//! made of their firings. What does *not* live here: any part of the controller or of the kiln. What
//! came of it is written down in `docs/control.md`.
//!
//! ```sh
//! cargo run --release -p law-bench -- table
//! cargo run --release -p law-bench -- curves --kiln two-banks --into curves
//! ```

mod baseline;
mod case;
mod curves;
mod export;
mod fault;
mod fire;
mod frontier;
mod law;
mod schedule;
mod table;
mod track;
mod zoned;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

use case::{Case, RELAY, by_name, drawn, references};
use fault::Fault;
use frontier::Frontier;
use table::{Each, Spread};
use zoned::Apart;

/// Fires simulated kilns by several control laws and compares them
#[derive(Parser)]
#[command(version)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Every law on the reference kilns, and on kilns drawn from seeds
    Table {
        /// How many kilns are drawn
        #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u64).range(1..=10_000))]
        kilns: u64,
    },
    /// The controller at shortest cycles from hasty to lazy, with one and with two banks
    Frontier,
    /// How far apart the zones of kilns of two to four zones are fired
    Zones,
    /// A picture a law: deviation and power over time
    Curves(OfOne),
    /// One kiln's exact parameters and a firing of it second by second
    Export(OfOne),
}

#[derive(Args)]
struct OfOne {
    /// Which kiln: one-bank, two-banks, solid-state, bank-dead, bank-dies, too-weak, or drawn-SEED
    #[arg(long, default_value = "two-banks", value_parser = kiln)]
    kiln: Box<Case>,
    /// The folder to write into; made if it is not there
    #[arg(long)]
    into: PathBuf,
}

fn kiln(name: &str) -> Result<Box<Case>, String> {
    let known = || references().map(|case| case.name).join(", ");
    by_name(name)
        .map(Box::new)
        .ok_or_else(|| format!("it is one of: {}, or drawn-SEED, such as drawn-3", known()))
}

fn main() -> ExitCode {
    match run(Arguments::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("law-bench: {fault}");
            ExitCode::FAILURE
        }
    }
}

fn run(command: Command) -> Result<(), Fault> {
    match command {
        Command::Table { kilns } => {
            println!("{}", Each::of(&references()));
            let cases: Vec<Case> = (0..kilns).map(|seed| drawn(seed, RELAY)).collect();
            print!("{}", Spread::of(&cases));
            Ok(())
        }
        Command::Frontier => {
            print!("{}", Frontier::measured());
            Ok(())
        }
        Command::Zones => {
            print!("{}", Apart::measured());
            Ok(())
        }
        Command::Curves(of) => curves::draw(&of.kiln, &of.into),
        Command::Export(of) => export::export(&of.kiln, &of.into),
    }
}

#[cfg(test)]
mod tests;
