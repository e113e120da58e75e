//! Random healthy and faulty firings of the real controller step on the simulated kiln.
//!
//! Here live the drawing of kilns, schedules, people's doings and faults from a seed, the rules that
//! must hold in every step (on true temperatures too), and the tables. What does *not* live here:
//! any part of the controller or of the kiln. What it finds is written down in
//! `docs/safety-evidence.md`.
//!
//! ```sh
//! cargo run --release -p campaign -- --runs 2000 --seed 1
//! cargo run --release -p campaign -- --one 17              # that firing of the above, in detail
//! cargo run --release -p campaign -- --only pulled-out --runs 200
//! ```

mod chance;
mod check;
mod draw;
mod firing;
mod fit;
mod ill;
mod moment;
mod outcome;
mod table;
mod tell;

use std::cell::Cell;
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

use clap::Parser;

use draw::{Case, Wanted};
use firing::fire;
use fit::{Fit, Furthest, Measures};
use ill::Kind;
use outcome::Outcome;
use table::Tables;
use tell::Teller;

/// Fires random kilns, healthy and faulty, and checks every step.
#[derive(Parser)]
#[command(version)]
struct Arguments {
    /// How many firings
    #[arg(long, default_value_t = 1000)]
    runs: u64,
    /// The first firing's seed; the others' follow it
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Only this fault in every firing, or `healthy`
    #[arg(long, value_parser = wanted)]
    only: Option<Wanted>,
    /// One firing in detail, by its seed (with the same --only, if there was one)
    #[arg(long)]
    one: Option<u64>,
    /// Only healthy firings: how far they go towards each bound of the interlocks
    #[arg(long, conflicts_with_all = ["only", "one"])]
    fit: bool,
}

fn wanted(text: &str) -> Result<Wanted, String> {
    if text == "healthy" {
        return Ok(Wanted::Healthy);
    }
    let names = Kind::ALL.map(Kind::name).join(", ");
    Kind::named(text).map(Wanted::Only).ok_or_else(|| format!("it is one of: healthy, {names}"))
}

thread_local! {
    /// The seed being fired, for the word of a panic.
    static FIRED: Cell<u64> = const { Cell::new(0) };
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let wanted = arguments.only.unwrap_or(Wanted::Any);
    name_the_seed_in_a_panic();
    if let Some(seed) = arguments.one {
        return verdict(&[tell_one(seed, wanted)]);
    }
    if arguments.fit {
        let firings = on_all_cores(&arguments, measure_one);
        print!("{}", Fit { firings: &firings });
        return ExitCode::SUCCESS;
    }
    let outcomes = on_all_cores(&arguments, |seed| fire(&Case::draw(seed, wanted), |_| {}));
    print!("{}", Tables { outcomes: &outcomes });
    verdict(&outcomes)
}

fn verdict(outcomes: &[Outcome]) -> ExitCode {
    if (Tables { outcomes }).is_good() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn tell_one(seed: u64, wanted: Wanted) -> Outcome {
    FIRED.set(seed);
    let case = Case::draw(seed, wanted);
    Teller::begin(&case);
    let mut teller = Teller::default();
    let outcome = fire(&case, |moment| teller.look(moment));
    Teller::end(&outcome);
    outcome
}

fn measure_one(seed: u64) -> Furthest {
    let case = Case::draw(seed, Wanted::Healthy);
    let mut measures = Measures::new(&case);
    fire(&case, |moment| measures.look(moment));
    Furthest { seed, most: *measures.most() }
}

/// All firings on all cores, in the order of seeds whatever the order in which they ended.
fn on_all_cores<T: Send>(arguments: &Arguments, one: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let next = AtomicU64::new(0);
    let done: Mutex<Vec<(u64, T)>> = Mutex::new(Vec::new());
    let cores = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= arguments.runs {
                        break;
                    }
                    let seed = arguments.seed + number;
                    FIRED.set(seed);
                    let came_of_it = one(seed);
                    done.lock().expect("no thread panics and goes on").push((seed, came_of_it));
                }
            });
        }
    });
    let mut all = done.into_inner().expect("no thread panics and goes on");
    all.sort_by_key(|(seed, _)| *seed);
    all.into_iter().map(|(_, came_of_it)| came_of_it).collect()
}

fn name_the_seed_in_a_panic() {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        eprintln!("BROKEN: the step panicked: seed {}", FIRED.get());
        usual(panic);
    }));
}
