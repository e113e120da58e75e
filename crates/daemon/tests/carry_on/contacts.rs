//! Carried on in a kiln that senses its contactor and asks who lights it to press a button.

use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use control::Contact;
use daemon::store::DataFolder;
use hal::Level;
use hal::pins::{Pin, Pins as _, SimulatedPins};
use serde_json::{Value, json};
use trace::{Step, TraceReader};

use crate::common::saggar;
use crate::kiln::{Kiln, became, press};

/// The program, with a warden whose wire to the contactor is torn: it drives a pin that leads nowhere,
/// and the contactor stays as it is.
fn with_a_torn_wire(kiln: &Kiln) -> Command {
    let (warden, torn) = (kiln.path("saggar-warden"), kiln.path("torn"));
    symlink(env!("CARGO_BIN_EXE_saggar"), &warden).expect("linked");
    let (warden, nowhere) = (warden.display().to_string(), kiln.path("nowhere").display().to_string());
    fs::write(&torn, format!("#!/bin/sh\nexec '{warden}' --pins '{nowhere}'\n")).expect("written");
    fs::set_permissions(&torn, fs::Permissions::from_mode(0o755)).expect("made a program");
    let mut command = saggar();
    command.env("SAGGAR_WARDEN", torn);
    command
}

/// Leaves the contactor closed, once the warden of the killed daemon has opened it and gone.
fn welded(kiln: &Kiln) {
    let mut pins = SimulatedPins::open(&kiln.path("pins")).expect("the pins");
    let late = Instant::now() + Duration::from_mins(1);
    while pins.own_contactor().is_err() {
        assert!(Instant::now() < late, "the warden stays");
        std::thread::sleep(Duration::from_millis(5));
    }
    pins.drive(Pin::Contactor, Level::On).expect("driven");
}

fn steps(kiln: &Kiln, firing: i64) -> Vec<Step> {
    let path = DataFolder::trace_found(Path::new(kiln.data.path()), firing);
    TraceReader::open(&path).expect("a trace").map(|step| step.expect("whole")).collect()
}

fn heats(step: &Step) -> bool {
    step.decided.as_ref().is_some_and(|decision| decision.banks.contains(&true))
}

#[test]
fn sr_46_what_was_lit_with_the_button_is_carried_on_with_nobody_there_and_the_next_light_up_asks_for_a_press()
{
    let kiln = Kiln::sensing(&["contactor", "presence button"]);
    kiln.lit().kill();
    let (daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2, from "), "{became}");
    daemon.wait_until("it heats", |now| now["banks"].to_string().contains("\"on\":true"));
    assert_eq!(daemon.now()["light_up"]["presence_shown"], false, "nobody was there");
    let events = daemon.get("/api/firings/2").body["events"].to_string();
    assert!(!events.contains("contactor-not-following"), "{events}");

    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    let refused = daemon.light_up("slowly.toml");
    assert_eq!(refused.status, 409);
    assert!(refused.body["why"].to_string().contains("Press the button at the kiln"), "{refused:?}");
    press(&daemon);
    assert_eq!(daemon.light_up("slowly.toml").status, 200);
    assert!(daemon.terminate());
}

#[test]
fn sr_29_what_is_carried_on_proves_its_contactor_first_like_any_light_up() {
    let kiln = Kiln::sensing(&["contactor", "presence button"]);
    kiln.lit().kill();
    let (daemon, _) = kiln.started_again();
    daemon.wait_until("it heats", |now| now["banks"].to_string().contains("\"on\":true"));
    assert!(daemon.terminate());
    let steps = steps(&kiln, 2);
    let on = steps.iter().position(heats).expect("it heated");
    let contacts: Vec<Contact> = steps[..=on].iter().map(|step| step.seen.contactor).collect();
    assert_eq!((contacts.first(), contacts.last()), (Some(&Contact::Open), Some(&Contact::Shut)));
}

#[test]
fn sr_29_a_cut_in_the_middle_of_the_contactors_proof_is_carried_on_and_proves_it_anew() {
    let kiln = Kiln::sensing(&["contactor"]);
    let daemon = kiln.start_as(with_a_torn_wire(&kiln), "1");
    assert_eq!(daemon.light_up("slowly.toml").body, json!({"firing": 1}));
    daemon.wait_until("withheld", |now| now["withheld"]["name"] == "contactor-not-following");
    daemon.kill();
    assert!(!steps(&kiln, 1).iter().any(heats), "nothing was proven");
    let (daemon, became) = kiln.started_again();
    assert!(became.starts_with("It is carried on as firing 2, from "), "{became}");
    daemon.wait_until("it heats", |now| now["banks"].to_string().contains("\"on\":true"));
    assert_eq!(daemon.now()["withheld"], Value::Null);
}

#[test]
fn sr_29_a_contactor_that_does_not_close_after_the_cut_trips_without_heat_and_stays_tripped() {
    let kiln = Kiln::sensing(&["contactor", "presence button"]);
    kiln.lit().kill();
    let daemon = kiln.start_as(with_a_torn_wire(&kiln), "60");
    let now = daemon.wait_until("tripped", |now| now["phase"] == "tripped");
    assert_eq!(now["trip"]["name"], "contactor-not-following");
    assert!(became(&now).expect("told").starts_with("It is carried on as firing 2"), "{now}");
    daemon.wait_until("noted", |_| daemon.get("/api/firings").body[0]["outcome"] == "tripped");
    daemon.kill();
    assert!(!steps(&kiln, 2).iter().any(heats), "no bank was energised behind it");

    kiln.forget_starts();
    let daemon = kiln.start();
    let now = daemon.now();
    assert_eq!((&now["phase"], &now["contactor"]), (&json!("tripped"), &json!(false)));
    assert_eq!((became(&now), &now["light_up"]["possible"]), (None, &json!(false)));
    let begun = now["time"].as_str().map(str::to_owned);
    let later = daemon.wait_until("a while later", |now| now["time"].as_str() > begun.as_deref());
    assert_eq!(later["phase"], "tripped");
    assert_eq!(daemon.get("/api/firings").body.as_array().map(Vec::len), Some(2));
}

#[test]
fn sr_29_a_contactor_that_is_found_welded_after_the_cut_leaves_it_off_and_says_pull_the_breaker() {
    let kiln = Kiln::sensing(&["contactor", "presence button"]);
    kiln.lit().kill();
    welded(&kiln);
    let daemon = kiln.start_as(with_a_torn_wire(&kiln), "60");
    Kiln::says_it_stays_off(&daemon, "Pull the breaker");
    assert_eq!(daemon.now()["firing"], Value::Null);
}
