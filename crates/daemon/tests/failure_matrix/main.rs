//! Each of daemon and warden killed, stopped, hung, swapped, restarted, started twice: real
//! processes, real signals, and pins that outlive both. `docs/warden.md` holds the matrix.

#[path = "../common/mod.rs"]
mod common;
#[path = "../common/held.rs"]
mod held;
mod kiln;
mod measure;

use std::os::fd::OwnedFd;
use std::os::unix::net::UnixStream;
use std::os::unix::process::CommandExt;
use std::process::{Child, Stdio};
use std::time::Duration;

use hal::Level;
use nix::sys::signal::Signal;
use serde_json::json;

use common::saggar;
use kiln::Kiln;
use measure::measured;

/// A warden beside the daemon's own, with a line that stays silent.
fn another_warden(kiln: &Kiln) -> (Child, UnixStream) {
    let (line, theirs) = UnixStream::pair().expect("a pair");
    let child = saggar()
        .arg0("saggar-warden")
        .arg("--pins")
        .arg(kiln.pins_path())
        .stdin(Stdio::from(OwnedFd::from(theirs)))
        .spawn()
        .expect("it starts");
    (child, line)
}

fn told_that_the_warden_is_lost(kiln: &Kiln) {
    kiln.wait_until("told", |kiln| kiln.now()["phase"] == "cooling");
    assert_eq!(kiln.attention().first().map(String::as_str), Some("warden-lost"));
    assert_eq!(kiln.now()["contactor"], false);
    let undo = kiln.daemon.order(&json!("carry-on"));
    assert_eq!((undo.status, &undo.body["outcome"]), (409, &json!("refused")), "{undo:?}");
    assert!(!kiln.now()["orders"].as_array().expect("a list").contains(&json!("carry-on")));
    let lit = kiln.daemon.light_up("flat-out.toml");
    assert_eq!(lit.status, 409, "{lit:?}");
    assert!(lit.body["why"].as_str().is_some_and(|why| why.contains("warden")), "{lit:?}");
}

#[test]
fn sr_31_a_daemon_that_is_killed_leaves_everything_off() {
    let kiln = measured("daemon killed", |kiln| kiln.signal_daemon(Signal::SIGKILL));
    kiln.wait_until("the warden goes", |kiln| !kiln.warden_lives());
}

#[test]
fn sr_31_a_daemon_that_aborts_leaves_everything_off() {
    measured("daemon aborted", |kiln| kiln.signal_daemon(Signal::SIGABRT));
}

#[test]
fn sr_31_a_daemon_that_is_told_to_end_leaves_everything_off() {
    let kiln = measured("daemon told to end", |kiln| kiln.signal_daemon(Signal::SIGTERM));
    kiln.wait_until("the warden goes", |kiln| !kiln.warden_lives());
}

#[test]
fn sr_31_a_daemon_that_is_stopped_leaves_everything_off() {
    measured("daemon stopped", |kiln| kiln.signal_daemon(Signal::SIGSTOP));
}

#[test]
fn sr_31_a_control_thread_that_hangs_leaves_everything_off_though_the_page_answers() {
    let kiln = measured("control thread hung", Kiln::hold_control_thread);
    assert_eq!(kiln.now()["phase"], "climbing", "the page shows the last step it was given");
}

#[test]
fn sr_33_the_edges_for_an_outside_relay_come_every_second_and_stop_with_the_loop_though_the_page_answers() {
    let kiln = Kiln::heating();
    let beating = kiln.edges_within(Duration::from_secs(6));
    assert!((4..=7).contains(&beating), "{beating} edges in 6 s");
    kiln.hold_control_thread();
    assert_eq!(kiln.edges_within(Duration::from_secs(4)), 0);
    assert_eq!(kiln.now()["phase"], "climbing", "the page shows the last step it was given");
}

#[test]
fn sr_33_no_edge_comes_after_the_daemon_was_killed() {
    let kiln = Kiln::heating();
    kiln.wait_until("it beats", |kiln| kiln.edges_within(Duration::from_secs(2)) > 0);
    kiln.signal_daemon(Signal::SIGKILL);
    kiln.wait_until("the warden goes", |kiln| !kiln.warden_lives());
    assert_eq!(kiln.edges_within(Duration::from_secs(4)), 0);
}

#[test]
fn sr_30_a_daemon_that_goes_on_after_a_stop_heats_only_after_a_new_light_up() {
    let kiln = measured("daemon stopped, then going on", |kiln| kiln.signal_daemon(Signal::SIGSTOP));
    kiln.signal_daemon(Signal::SIGCONT);
    kiln.wait_until("told", |kiln| kiln.attention().contains(&"contactor-open".to_owned()));
    kiln.holds_for(Duration::from_secs(2), "open", |kiln| kiln.contactor() == Level::Off);
    assert_eq!(kiln.daemon.order(&json!("shut-off")).status, 200);
    kiln.wait_until("off", |kiln| kiln.now()["phase"] == "cooling");
    std::fs::rename(kiln.data().join("flat-out.toml"), kiln.data().join("schedules/again.toml"))
        .expect("moved");
    let lit = kiln.daemon.light_up("again.toml");
    assert_eq!(lit.status, 200, "{lit:?}");
    kiln.wait_until("it heats", Kiln::heats);
}

#[test]
fn sr_30_a_daemon_that_stands_still_for_a_second_heats_on() {
    let kiln = Kiln::heating();
    kiln.signal_daemon(Signal::SIGSTOP);
    std::thread::sleep(Duration::from_secs(1));
    kiln.signal_daemon(Signal::SIGCONT);
    kiln.holds_for(Duration::from_secs(3), "closed", |kiln| kiln.contactor() == Level::On);
}

#[test]
fn sr_31_without_its_warden_the_daemon_takes_the_heat_away_and_says_so() {
    let kiln = measured("warden killed", |kiln| kiln.signal_warden(Signal::SIGKILL));
    told_that_the_warden_is_lost(&kiln);
}

#[test]
fn sr_31_a_warden_that_is_told_to_end_takes_the_heat_with_it() {
    measured("warden told to end", |kiln| kiln.signal_warden(Signal::SIGTERM));
}

#[test]
fn sr_31_a_warden_that_hangs_is_ended_and_never_closes_again() {
    let kiln = measured("warden stopped or hung", |kiln| kiln.signal_warden(Signal::SIGSTOP));
    kiln.wait_until("the warden is ended", |kiln| !kiln.warden_lives());
    told_that_the_warden_is_lost(&kiln);
}

#[test]
fn sr_31_a_warden_that_stands_still_for_half_a_second_changes_nothing() {
    let kiln = Kiln::heating();
    kiln.signal_warden(Signal::SIGSTOP);
    std::thread::sleep(Duration::from_millis(500));
    kiln.signal_warden(Signal::SIGCONT);
    kiln.holds_for(Duration::from_secs(3), "closed", |kiln| kiln.contactor() == Level::On);
    assert!(kiln.attention().is_empty());
}

#[test]
fn sr_30_a_contactor_pin_that_cannot_be_read_back_takes_the_heat() {
    measured("contactor pin lost", |kiln| {
        let pins = std::fs::OpenOptions::new().write(true).open(kiln.pins_path()).expect("the pins");
        pins.set_len(8).expect("without the contactor's");
    });
}

#[test]
fn sr_43_a_warden_swapped_for_another_one_gets_no_beats_and_stays_open() {
    let kiln = measured("warden killed, another in its place", |kiln| kiln.signal_warden(Signal::SIGKILL));
    let (mut other, line) = another_warden(&kiln);
    kiln.holds_for(Duration::from_secs(2), "open", |kiln| kiln.contactor() == Level::Off);
    assert!(other.try_wait().expect("its state").is_none(), "it owns the contactor");
    drop(line);
    assert!(other.wait().expect("gone").success());
}

#[test]
fn sr_43_a_second_daemon_and_a_second_warden_are_refused_and_the_first_heat_on() {
    let kiln = Kiln::heating();
    let data = kiln.data();
    let second =
        saggar().args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(&data).output().expect("it ends");
    assert_eq!(second.status.code(), Some(1));
    let (mut other, _line) = another_warden(&kiln);
    assert_eq!(other.wait().expect("ended").code(), Some(3));
    assert!(kiln.attention().is_empty());
    kiln.holds_for(Duration::from_secs(2), "closed", |kiln| kiln.contactor() == Level::On);
}

#[test]
fn sr_43_a_daemon_whose_contactor_another_warden_holds_does_not_start() {
    let kiln = measured("warden killed, another before the daemon", |kiln| {
        kiln.signal_warden(Signal::SIGKILL);
    });
    let (mut other, line) = another_warden(&kiln);
    kiln.signal_daemon(Signal::SIGTERM);
    let data = kiln.data();
    kiln.wait_until("the daemon ends", |kiln| !data_folder_is_taken(kiln));
    let second =
        saggar().args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(&data).output().expect("it ends");
    assert_eq!(second.status.code(), Some(1));
    let why = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(why.contains("another warden holds this kiln's contactor"), "{why}");
    drop(line);
    other.wait().expect("gone");
}

fn data_folder_is_taken(kiln: &Kiln) -> bool {
    let lock = std::fs::File::open(kiln.data().join("lock")).expect("a lock");
    lock.try_lock().is_err()
}

/// The one cell that no program can help: only a hardware watchdog or an outside relay does.
#[test]
fn sr_32_pins_that_outlived_both_are_found_at_the_next_start_driven_off_and_told() {
    let kiln = Kiln::heating();
    kiln.signal_warden(Signal::SIGSTOP);
    kiln.signal_daemon(Signal::SIGSTOP);
    kiln.holds_for(Duration::from_secs(4), "nobody is left to open", Kiln::heats);
    kiln.signal_warden(Signal::SIGKILL);
    let kiln = kiln.started_anew();
    assert!(kiln.all_is_off());
    let now = kiln.now();
    let kept = &now["attention"][0];
    assert_eq!(kept["name"], "pins-kept", "{now}");
    let seen = kept["seen"].as_str().expect("words");
    assert!(seen.contains("the contactor") && seen.contains("bank \""), "{seen}");
}

#[test]
fn sr_32_after_a_kill_that_the_warden_saw_nothing_was_kept_and_the_daemon_comes_back_off() {
    let kiln = Kiln::heating().started_anew();
    assert!(kiln.all_is_off());
    assert_eq!(kiln.attention(), ["interrupted"], "{}", kiln.now());
    assert_eq!(kiln.now()["phase"], "resting");
}
