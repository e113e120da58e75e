//! SR-40 on the real program: killed in mid-firing and started again, it carries on where the kiln
//! file asks for it, and stays off wherever anything is in doubt.
//!
//! The simulated kiln of a new process is as cold as its room, so here a gap always costs the whole
//! warmth; how a kiln that cools through a gap is carried on is shown in `crates/control/tests/carried.rs`.

#[path = "../common/mod.rs"]
mod common;
mod contacts;
mod kiln;
mod meanwhile;
mod record;

use std::fs;
use std::path::Path;
use std::process::Output;
use std::time::Duration;

use common::{CHECKS, saggar};
use kiln::{Kiln, became, is_off};
use pyrometry::units::Millis;
use serde_json::{Value, json};

fn replay(trace: &Path) -> Output {
    saggar().arg("replay").arg(trace).output().expect("replayed")
}

#[test]
fn sr_40_a_firing_ended_by_a_kill_is_carried_on_in_a_row_and_a_trace_of_its_own_that_replays() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let (daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2, from "), "{became}");
    let now = daemon.wait_until("it heats", |now| now["contactor"] == true);
    assert_eq!((&now["phase"], &now["firing"]["id"]), (&json!("climbing"), &json!(2)));
    let firings = daemon.get("/api/firings").body;
    assert_eq!((&firings[0]["carries_on"], &firings[1]["carries_on"]), (&json!(1), &Value::Null));
    assert_eq!(firings[1]["outcome"], "interrupted");
    assert!(daemon.get("/api/firings/1").body["events"].to_string().contains("carried on as firing 2"));
    assert!(daemon.get("/api/firings/2").body["events"].to_string().contains("carries on firing 1"));
    let status = saggar().args(["status", "--daemon", &daemon.address]).output().expect("asked");
    assert!(String::from_utf8_lossy(&status.stdout).contains("carried on as firing 2"), "{status:?}");
    let logbook = saggar().args(["logbook", "--data"]).arg(kiln.data.path()).output().expect("asked");
    assert!(String::from_utf8_lossy(&logbook.stdout).contains("(carries on firing 1)"), "{logbook:?}");

    assert!(daemon.terminate());
    let packed = kiln.path("traces/firing-000002.jsonl.gz");
    let said = replay(&packed);
    assert!(String::from_utf8_lossy(&said.stdout).contains("to the bit"), "{said:?}");
    let head = trace::TraceReader::open(&packed).expect("a trace").head().clone();
    let carried = head.setup.start.carried.expect("in the head");
    assert!(carried.alight > Millis::from_seconds(110) && carried.segment == 0, "{carried:?}");
}

#[test]
fn sr_40_where_the_kiln_file_does_not_ask_for_it_the_firing_stays_ended() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    Kiln::change(&kiln.file(), "\"carry on\"", "\"remain off\"");
    let (daemon, became) = kiln.started_again();
    assert!(became.contains("the kiln file says so"), "{became}");
    daemon.wait_until("looked at for long", |now| now["time"] != daemon.now()["time"]);
    is_off(&daemon);
}

#[test]
fn sr_40_a_daemon_that_was_told_to_end_has_ended_the_firing_too() {
    let kiln = Kiln::new();
    assert!(kiln.lit().terminate());
    let daemon = kiln.start();
    assert_eq!(became(&daemon.now()), None);
    is_off(&daemon);
}

#[test]
fn sr_40_a_kiln_file_that_was_changed_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    Kiln::change(&kiln.file(), "longest_firing = ", "longest_firing = \"30 h\" # was ");
    kiln.stays_off("The kiln file was changed");
}

#[test]
fn sr_40_a_gap_longer_than_the_kiln_file_allows_leaves_it_off() {
    let kiln = Kiln::new();
    Kiln::change(&kiln.file(), "\"15 min\"", "\"1 s\"");
    kiln.lit().kill();
    std::thread::sleep(Duration::from_millis(1100));
    kiln.stays_off("; the kiln file allows 1 s.");
}

#[test]
fn sr_40_a_kiln_that_cooled_further_than_the_kiln_file_allows_stays_off() {
    let kiln = Kiln::new();
    Kiln::change(&kiln.file(), "drop_at_most = 100", "drop_at_most = 3");
    let daemon = kiln.lit();
    daemon.wait_until("warm", |now| now["chamber_c"].as_f64().is_some_and(|chamber_c| chamber_c > 30.0));
    daemon.kill();
    kiln.stays_off("The kiln has cooled by ");
}

#[test]
fn sr_40_a_gap_that_cannot_be_known_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    Kiln::change(&kiln.trace(), "\"clock_ms\":", "\"no_clock_ms\":");
    kiln.stays_off("How long the power was gone cannot be known");
}

#[test]
fn sr_40_a_trace_of_another_build_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    Kiln::change(&kiln.trace(), daemon::heads::BUILD, "0.0.0-another");
    kiln.stays_off("saggar was changed meanwhile");
}

#[test]
fn sr_40_a_trace_that_does_not_replay_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    Kiln::change(&kiln.trace(), "{\"at_ms\":60000,", "{\"at_ms\":60000,\"lost\":1,");
    kiln.stays_off("the trace does not replay");
}

#[test]
fn sr_41_a_trace_with_one_decision_flipped_is_not_fired_on_from_and_the_sound_one_is() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let sound = fs::read_to_string(kiln.trace()).expect("a trace");
    let line = sound.lines().nth(60).expect("a minute in").to_owned();
    let flipped = line.replacen("\"permission\":true", "\"permission\":false", 1);
    assert_ne!(line, flipped);
    fs::write(kiln.trace(), sound.replacen(&line, &flipped, 1)).expect("written");
    kiln.stays_off("the trace does not replay").kill();

    let kiln = Kiln::new();
    kiln.lit().kill();
    let (_daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on"), "{became}");
}

#[test]
fn sr_40_a_lost_trace_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    fs::remove_file(kiln.trace()).expect("lost");
    kiln.stays_off("Where it stood cannot be known");
}

#[test]
fn sr_40_a_latched_trip_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    kiln.latch_a_trip();
    let daemon = kiln.stays_off("A trip waits to be cleared");
    assert_eq!(daemon.now()["phase"], "tripped");
}

#[test]
fn sr_40_a_latch_that_cannot_be_read_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    fs::write(kiln.path("latch"), "torn").expect("written");
    kiln.stays_off("Whether a trip waits to be cleared cannot be read");
}

#[test]
fn sr_40_what_a_person_had_shut_off_stays_off() {
    let kiln = Kiln::new();
    let daemon = kiln.lit();
    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    daemon.wait_until("noted", |_| daemon.get("/api/firings").body[0]["outcome"] == "shut-off");
    daemon.kill();
    let daemon = kiln.start();
    let begun = daemon.now()["time"].clone();
    daemon.wait_until("a look", |now| now["time"].as_str() > begun.as_str());
    assert_eq!(became(&daemon.now()), None);
    is_off(&daemon);
    assert_eq!(daemon.get("/api/firings").body[0]["outcome"], "shut-off");
}

#[test]
fn sr_40_a_stay_is_left_to_the_person_who_asked_for_it() {
    let kiln = Kiln::new();
    let daemon = kiln.lit();
    assert_eq!(daemon.order(&json!("stay")).status, 200);
    let since = daemon.wait_until("staying", |now| now["phase"] == "staying");
    let since_s = since["firing"]["elapsed_s"].as_f64().expect("a time");
    // The kill takes the last second of the record along.
    daemon.wait_until("kept", |now| {
        now["firing"]["elapsed_s"].as_f64().is_some_and(|now_s| now_s > since_s + 180.0)
    });
    daemon.kill();
    kiln.stays_off("Somebody was holding the kiln by hand");
}

#[test]
fn sr_40_a_firing_set_for_later_is_not_lit_by_a_restart() {
    let kiln = Kiln::new();
    let daemon = kiln.start();
    let later = json!({"schedule": "slowly.toml", "delay_minutes": 600, "confirmed": CHECKS});
    assert_eq!(daemon.post("/api/light-up", &later).status, 200);
    daemon.wait_until("set for later", |now| now["phase"] == "set-for-later");
    daemon.kill();
    kiln.stays_off("It was set for later and had not begun");
}

#[test]
fn sr_40_the_third_start_within_ten_minutes_carries_nothing_on() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let (daemon, became) = kiln.started_again();
    assert!(became.contains("carried on as firing 2"), "{became}");
    daemon.wait_until("it heats", |now| now["contactor"] == true);
    daemon.kill();
    let (daemon, became) = kiln.started_again();
    assert!(became.contains("saggar was started 3 times within 10 minutes"), "{became}");
    assert_eq!((&daemon.now()["contactor"], &daemon.now()["phase"]), (&json!(false), &json!("resting")));
}

#[test]
fn sr_40_power_that_comes_and_goes_again_at_once_leaves_the_firing_to_be_carried_on() {
    let kiln = Kiln::new();
    Kiln::change(&kiln.file(), "seed = 7", "seed = 7\nspeed = 1");
    kiln.lit().kill();
    kiln::looks_at_it(&kiln).kill();
    kiln.forget_starts();
    let (_daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2"), "{became}");
}

#[test]
fn sr_40_whoever_ends_the_program_while_it_looks_has_ended_the_firing() {
    let kiln = Kiln::new();
    Kiln::change(&kiln.file(), "seed = 7", "seed = 7\nspeed = 1");
    kiln.lit().kill();
    assert!(kiln::looks_at_it(&kiln).terminate());
    let daemon = kiln.start();
    assert_eq!(became(&daemon.now()), None);
    is_off(&daemon);
    assert_eq!(daemon.get("/api/firings").body[0]["outcome"], "interrupted");
}

#[test]
fn sr_40_a_record_of_starts_that_makes_no_sense_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    fs::write(kiln.path("starts"), "noon\n").expect("written");
    kiln.stays_off("when saggar was started last is not known");
}

#[test]
fn sr_40_whoever_lights_another_firing_first_has_chosen() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let (daemon, _) = kiln.started_again();
    assert_eq!(daemon.light_up("slowly.toml").status, 409, "the one that is carried on runs");
    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    assert_eq!(daemon.light_up("slowly.toml").body, json!({"firing": 3}));
    daemon.wait_until("told no more", |now| became(now).is_none());
}
