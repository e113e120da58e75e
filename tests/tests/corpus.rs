//! The corpus in `tests/traces`: short firings with each fault and its near misses, each with what
//! must and must never be decided. Recorded decisions are compared bit for bit with this
//! controller's: a changed decision is named. Where a change is meant, record anew:
//! `SAGGAR_WRITE_TRACES=1 cargo test -p whole-product-tests --test corpus`.

#[path = "../../crates/control/tests/common/mod.rs"]
mod common;
#[path = "corpus/firings.rs"]
mod firings;

use std::fs;
use std::path::Path;

use common::{Bench, programme};
use control::{Observation, Start};
use firings::{Firing, Went};
use pyrometry::units::Millis;
use trace::{Head, Software, TraceFile, judge_path};
use whole_product_tests::root;

/// All builds that decide alike are one build to the corpus.
const BUILD: &str = "corpus";

fn record(folder: &Path, firing: &Firing) {
    let lit = control::Firing {
        programme: programme(&firing.segments()),
        delay: Millis::ZERO,
        forecast: control::Expected::lasting(firing.forecast),
        learned: None,
    };
    let mut bench = Bench::with(&firing.kiln(), 30.0, Some(lit), &Start::default());
    bench.mirror = firing.mirror;
    bench.plant.schedule(&firing.faults()).expect("faults this kiln can have");
    let setup = bench.controller.setup().clone();
    let head = Head {
        software: Software { name: "saggar".into(), version: "0.1.0".into(), build: BUILD.into() },
        kiln: "Simulated kiln".into(),
        probes: named(&["middle", "low", "lowest"], firing.zones),
        banks: named(&["upper", "lower", "lowest"], setup.kiln.banks.len()),
        title: firing.name.replace('-', " "),
        simulated: true,
        started: "2026-01-01T08:00:00Z".into(),
        setup,
    };
    let path = folder.join(format!("{}.jsonl", firing.name));
    let mut file = TraceFile::create(&path, &head).expect("a new trace");
    for second in 0..firing.seconds {
        if let Went::Missing { at, seconds } = firing.went
            && at == second
        {
            bench.miss(seconds);
        }
        let at = Millis::from_seconds(bench.second());
        bench.lid = firing.lid(second);
        let decision = bench.step_seeing(&[], |report| firing.went.spoil(second, report));
        let observation = Observation {
            at,
            probes: &bench.reports,
            lid: bench.lid,
            contactor: bench.mirror,
            amps: [None; control::BANKS_MOST],
            orders: &[],
            forecast: None,
        };
        file.step(&observation, &decision).expect("written");
    }
    file.finish().expect("compressed");
    let about = format!("about = \"{}\"\n{}", firing.about, firing.expected);
    fs::write(folder.join(format!("{}.expect.toml", firing.name)), about).expect("written");
}

fn named(names: &[&str], count: usize) -> Vec<String> {
    names.iter().take(count).map(|name| (*name).to_owned()).collect()
}

#[test]
fn every_trace_in_the_corpus_replays_to_the_bit_and_decides_as_expected() {
    let corpus = root().join("tests/traces");
    if std::env::var_os("SAGGAR_WRITE_TRACES").is_some() {
        let _none_before = fs::remove_dir_all(&corpus);
        fs::create_dir_all(&corpus).expect("a folder");
        for firing in firings::all() {
            record(&corpus, firing);
        }
    }
    let report = judge_path(&corpus, BUILD).expect("the corpus can be read");
    assert!(report.passes(), "{report}");
    assert_eq!(report.cases.len(), firings::all().count(), "{report}");
}

#[test]
fn firings_made_anew_decide_as_expected_and_replay_to_the_bit() {
    let folder = tempfile::tempdir().expect("a folder");
    for firing in firings::all() {
        record(folder.path(), firing);
    }
    let report = judge_path(folder.path(), BUILD).expect("readable");
    assert!(report.passes(), "{report}");
}
