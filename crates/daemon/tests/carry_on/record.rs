//! What a power cut leaves of the record, and what may be gone on from.

use std::fs;

use serde_json::json;

use crate::common::Daemon;
use crate::kiln::{Kiln, became, is_off};

/// Cuts the trace of firing 1 off before its first line with something in it: a power cut may take up
/// to ten seconds of it, while the logbook keeps what it was told.
fn cut_off_before(kiln: &Kiln, what: &str) {
    let trace = fs::read_to_string(kiln.trace()).expect("a trace");
    let at = trace.find(what).expect(what);
    let whole = trace[..at].rfind('\n').expect("a line") + 1;
    fs::write(kiln.trace(), &trace[..whole]).expect("written");
}

fn noted(daemon: &Daemon, order: &str) {
    assert_eq!(daemon.order(&json!(order)).status, 200);
    daemon.wait_until("noted", |_| {
        daemon.get("/api/firings/1").body["events"].to_string().contains(&format!("\"name\":\"{order}\""))
    });
}

#[test]
fn sr_40_a_shut_off_just_before_the_cut_that_only_the_logbook_still_knows_of_stays_a_shut_off() {
    let kiln = Kiln::new();
    let daemon = kiln.lit();
    noted(&daemon, "shut-off");
    daemon.wait_until("decided", |_| daemon.get("/api/firings").body[0]["outcome"] == "shut-off");
    daemon.kill();
    cut_off_before(&kiln, "\"orders\":[\"shut-off\"]");
    let daemon = kiln.start();
    let begun = daemon.now()["time"].as_str().map(str::to_owned);
    daemon.wait_until("a look", |now| {
        now["time"].as_str() > begun.as_deref() && now["light_up"]["possible"] == true
    });
    daemon.wait_until("closed", |_| !daemon.get("/api/firings").body[0]["ended"].is_null());
    assert_eq!(became(&daemon.now()), None, "nobody counts on it");
    is_off(&daemon);
    assert_eq!(daemon.get("/api/firings").body[0]["outcome"], "shut-off");
}

#[test]
fn sr_40_an_order_just_before_the_cut_that_only_the_logbook_still_knows_of_leaves_it_off() {
    let kiln = Kiln::new();
    let daemon = kiln.lit();
    noted(&daemon, "stay");
    daemon.kill();
    cut_off_before(&kiln, "\"orders\":[\"stay\"]");
    kiln.stays_off("Somebody gave an order just before it ended");
}

#[test]
fn sr_40_an_order_that_the_trace_holds_does_not_keep_it_off() {
    let kiln = Kiln::new();
    let daemon = kiln.lit();
    noted(&daemon, "stay");
    noted(&daemon, "carry-on");
    let since_s = daemon.now()["firing"]["elapsed_s"].as_f64().expect("a time");
    daemon.wait_until("kept", |now| {
        now["firing"]["elapsed_s"].as_f64().is_some_and(|now_s| now_s > since_s + 180.0)
    });
    daemon.kill();
    let (_daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2"), "{became}");
}

#[test]
fn sr_40_a_trace_whose_last_line_is_torn_is_carried_on_from_the_line_before() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let trace = fs::read(kiln.trace()).expect("a trace");
    fs::write(kiln.trace(), &trace[..trace.len() - 40]).expect("written");
    let (daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2"), "{became}");
    let events = daemon.get("/api/firings/1").body["events"].to_string();
    assert!(events.contains("is torn"), "{events}");
}

#[test]
fn sr_40_a_second_cut_before_anything_of_it_was_kept_leaves_the_firing_before_to_be_carried_on() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let (daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2"), "{became}");
    daemon.kill();
    let second = daemon::store::DataFolder::trace(kiln.data.path(), 2);
    let trace = fs::read_to_string(&second).expect("a trace");
    let head = trace.find('\n').expect("a head") + 1;
    fs::write(&second, &trace[..head]).expect("written");
    kiln.forget_starts();
    let (daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 3"), "{became}");
    daemon.wait_until("it heats", |now| now["contactor"] == true);
    let firings = daemon.get("/api/firings").body;
    assert_eq!((&firings[0]["carries_on"], &firings[1]["carries_on"]), (&json!(2), &json!(1)));
}

#[test]
fn sr_40_a_kiln_whose_wiring_changed_in_its_file_stays_off() {
    let kiln = Kiln::sensing(&["contactor"]);
    kiln.lit().kill();
    Kiln::change(&kiln.file(), "\n[[contact]]\nsenses = \"contactor\"\n", "");
    kiln.stays_off("The kiln file was changed");
}

#[test]
fn sr_40_another_thermocouple_fitted_in_the_gap_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    Kiln::change(&kiln.file(), "thermocouple = \"K\"", "thermocouple = \"K\"\nfitted = 2026-11-01");
    kiln.stays_off("The kiln file was changed");
}

#[test]
fn a_new_logbook_beside_the_traces_of_a_lost_one_gives_none_of_their_numbers_again() {
    let kiln = Kiln::new();
    assert!(kiln.lit().terminate());
    let packed = kiln.trace().with_extension("jsonl.gz");
    let kept = fs::read(&packed).expect("the trace");
    for name in ["logbook.sqlite", "logbook.sqlite-wal", "logbook.sqlite-shm"] {
        let there = kiln.path(name);
        if there.exists() {
            fs::remove_file(there).expect("lost");
        }
    }
    let daemon = kiln.start();
    assert_eq!(daemon.light_up("slowly.toml").body, json!({"firing": 2}));
    assert!(daemon.terminate());
    assert!(kiln.path("traces/firing-000002.jsonl.gz").exists());
    assert_eq!(fs::read(&packed).expect("still there"), kept);
}

#[test]
fn sr_10_what_carries_a_proving_firing_on_is_one_too() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let (daemon, _) = kiln.started_again();
    let firings = daemon.get("/api/firings").body;
    assert!(firings[1]["proving"].is_string(), "{firings}");
    assert_eq!(firings[0]["proving"], firings[1]["proving"]);
    assert_eq!(daemon.now()["firing"]["proving"], firings[0]["proving"]);
}
