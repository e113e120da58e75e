//! `saggar at-rest`: whether a package or a script may stop the daemon.

mod common;

use std::fs;
use std::io::{BufRead as _, BufReader, Write as _};
use std::net::TcpListener;
use std::path::Path;

use common::{CHECKS, Daemon, config, saggar};
use daemon::attention::PINS_OUTLIVE;
use serde_json::{Value, json};

/// What it ends with, and what it says.
fn asked(how: &[&str]) -> (Option<i32>, String) {
    let output = saggar().arg("at-rest").args(how).output().expect("runs");
    let said = [output.stdout, output.stderr].concat();
    (output.status.code(), String::from_utf8_lossy(&said).into_owned())
}

/// The simulated kiln's file, with its page at an address.
fn kiln_at(folder: &Path, address: &str) -> String {
    let path = folder.join("kiln.toml");
    let text = fs::read_to_string(config("kilns/simulated.toml")).expect("readable");
    fs::write(&path, format!("{text}\n[page]\naddress = \"{address}\"\n")).expect("written");
    path.to_str().expect("a path").to_owned()
}

#[test]
fn sr_40_a_restart_is_given_leave_at_rest_and_no_leave_while_a_firing_is_lit_or_set_for_later() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    let kiln = kiln_at(data.path(), &daemon.address);
    let by_kiln = ["--kiln", kiln.as_str()];
    let (code, said) = asked(&by_kiln);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.starts_with("The kiln rests at"), "{said}");

    let later = json!({"schedule": "bisque.toml", "confirmed": CHECKS, "delay_minutes": 600});
    assert_eq!(daemon.post("/api/light-up", &later).status, 200);
    daemon.wait_until("set", |now| now["phase"] == "set-for-later");
    let (code, said) = asked(&by_kiln);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.starts_with("saggar: not at rest. Set for later"), "{said}");

    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    daemon.wait_until("resting", |now| now["phase"] == "resting" && now["firing"].is_null());
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    daemon.wait_until("lit", |now| now["phase"] == "climbing");
    let (code, said) = asked(&["--daemon", &daemon.address]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.starts_with("saggar: not at rest. Climbing"), "{said}");
}

#[test]
fn sr_40_no_answer_and_no_kiln_file_give_no_leave() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    let address = daemon.address.clone();
    daemon.kill();
    let (code, said) = asked(&["--daemon", &address]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("no daemon answers"), "{said}");
    let (code, said) = asked(&["--kiln", data.path().join("none.toml").to_str().expect("a path")]);
    assert_eq!(code, Some(2), "{said}");
}

/// Answers one question as a daemon would whose kernel leaves pins as they are.
fn one_answer(body: &Value) -> (String, std::thread::JoinHandle<()>) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("an address").to_string();
    let body = body.to_string();
    let answered = std::thread::spawn(move || {
        let (mut asker, _) = listener.accept().expect("asked");
        let mut asked = String::new();
        let mut lines = BufReader::new(asker.try_clone().expect("a socket"));
        while lines.read_line(&mut asked).expect("a line") > 2 {}
        assert!(asked.starts_with("GET /api/now "), "{asked}");
        let head = format!(
            "HTTP/1.1 200 OK\r\ncontent-type: application/json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n",
            body.len()
        );
        asker.write_all((head + &body).as_bytes()).expect("answered");
    });
    (address, answered)
}

#[test]
fn sr_32_whoever_may_stop_saggar_is_told_of_pins_that_would_stay_on_and_of_nothing_else() {
    let attention = |name: &str| json!({"name": name, "seen": format!("{name} seen."), "done": "The cure."});
    for phase in ["resting", "climbing"] {
        let told = [attention("storage"), attention(PINS_OUTLIVE)];
        let now = json!({"phase": phase, "sentence": "The kiln rests.", "attention": told});
        let (address, answered) = one_answer(&now);
        let (code, said) = asked(&["--daemon", &address]);
        answered.join().expect("answered");
        if phase == "resting" {
            assert_eq!(
                (code, said.as_str()),
                (Some(0), "The kiln rests.\npins-outlive-saggar seen. The cure.\n")
            );
        } else {
            assert_eq!((code, said.as_str()), (Some(1), "saggar: not at rest. The kiln rests.\n"));
        }
    }
}

#[test]
fn every_command_and_option_can_be_told_in_a_manual_page() {
    let mut commands = daemon::cli::commands();
    commands.clone().debug_assert();
    commands.build();
    for command in commands.get_subcommands() {
        assert!(command.get_about().is_some(), "{} has no words", command.get_name());
        for option in command.get_arguments() {
            assert!(option.get_help().is_some(), "{} {} has no words", command.get_name(), option.get_id());
        }
    }
}
