//! What people do while a firing that was ended is still being looked at.

use std::fs;

use nix::sys::signal::{Signal, kill};
use nix::unistd::Pid;
use serde_json::json;

use crate::kiln::{Kiln, became, decided, is_looked_at};

#[test]
fn sr_40_a_trip_that_somebody_clears_while_it_looks_has_ended_the_firing_all_the_same() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    kiln.latch_a_trip();
    let daemon = kiln.looked_at();
    assert_eq!(daemon.order(&json!("clear-trip")).status, 200);
    daemon.wait_until("cleared", |now| now["light_up"]["possible"] == true);
    Kiln::says_it_stays_off(&daemon, "a firing is never carried on after one");
}

#[test]
fn sr_40_a_latch_that_could_not_be_read_and_was_cleared_while_it_looks_leaves_it_off() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    fs::write(kiln.path("latch"), "torn").expect("written");
    let daemon = kiln.looked_at();
    assert_eq!(daemon.order(&json!("clear-trip")).status, 200);
    daemon.wait_until("cleared", |now| now["light_up"]["possible"] == true);
    Kiln::says_it_stays_off(&daemon, "a firing is never carried on after one");
}

#[test]
fn sr_40_whoever_shuts_off_while_it_looks_is_offered_it_taken_at_their_word_and_told_at_once() {
    let kiln = Kiln::new();
    Kiln::change(&kiln.file(), "seed = 7", "seed = 7\nspeed = 1");
    kiln.lit().kill();
    let daemon = kiln.start_at("1");
    let now = daemon.wait_until("looked at", is_looked_at);
    assert_eq!(now["orders"], json!(["shut-off"]));
    let answer = daemon.order(&json!("shut-off"));
    assert_eq!((answer.status, &answer.body["outcome"]), (200, &json!("taken")), "{answer:?}");
    Kiln::says_it_stays_off(&daemon, "Somebody shut off meanwhile");
    let now = daemon.now();
    assert_eq!(now["orders"], json!([]));
    let refused = daemon.order(&json!("shut-off"));
    assert_eq!(
        (refused.status, &refused.body["outcome"]),
        (409, &json!("refused")),
        "nothing is left to stop"
    );
}

#[test]
fn sr_40_whoever_lights_another_firing_while_it_looks_has_chosen_even_when_that_one_is_soon_over() {
    let kiln = Kiln::new();
    let short = "title = \"Short\"\nscale = \"C\"\n[[segment]]\nrate = 900\nto = 21\n";
    fs::write(kiln.path("schedules/short.toml"), short).expect("written");
    kiln.lit().kill();
    let daemon = kiln.looked_at();
    let lit = daemon.light_up("short.toml");
    assert_eq!(lit.status, 200, "{lit:?}");
    daemon.wait_until("decided", |_| {
        daemon.get("/api/firings/1").body["events"].to_string().contains("not-carried-on")
            || daemon.get("/api/firings").body[0]["carries_on"] == 1
    });
    let events = daemon.get("/api/firings/1").body["events"].to_string();
    assert!(events.contains("Somebody lit another firing meanwhile"), "{events}");
    assert_eq!(became(&daemon.now()), None);
    assert_eq!(daemon.get("/api/firings").body.as_array().map(Vec::len), Some(2));
}

#[test]
fn sr_40_a_kiln_that_stayed_energised_with_nobody_in_control_is_not_carried_on() {
    let kiln = Kiln::new();
    let daemon = kiln.lit();
    daemon.wait_until("it heats", |now| now["contactor"] == true);
    let daemon_id = daemon.id();
    let children = fs::read_to_string(format!("/proc/{daemon_id}/task/{daemon_id}/children"));
    let warden = children.expect("readable").trim().parse().map(Pid::from_raw).expect("its warden alone");
    // Not the warden first: a stopped one is woken when the daemon's end leaves its group without a parent,
    // and where SIGHUP is ignored it lives to see the daemon gone.
    kill(Pid::from_raw(i32::try_from(daemon_id).expect("an id")), Signal::SIGSTOP).expect("stopped");
    kill(warden, Signal::SIGKILL).expect("killed");
    daemon.kill();
    kiln.stays_off("This had stayed energised, with nobody in control: the contactor");
}

#[test]
fn sr_40_a_firing_whose_record_cannot_be_begun_when_the_power_returns_stays_off_and_says_so() {
    let kiln = Kiln::new();
    kiln.lit().kill();
    let file = kiln.file();
    let more = ["--kiln", file.to_str().expect("a path"), "--speed", "3"];
    let daemon = crate::common::Daemon::start_on_a_small_disk(kiln.data.path(), &more);
    daemon.disk("0");
    let became = decided(&daemon);
    assert!(became.starts_with("It is not carried on, and the kiln stays off. "), "{became}");
    assert!(became.contains("disk full, read-only or gone") || became.contains("No record"), "{became}");
    assert_eq!(daemon.now()["contactor"], false);
}
