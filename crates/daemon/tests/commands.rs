//! The commands that need no daemon, and what they end with.

mod common;

use std::fs;

use common::{Daemon, config, run, saggar};
use serde_json::Value;

fn words(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn good_files_end_with_zero_and_bad_ones_with_two_and_their_line() {
    let bisque = config("schedules/bisque.toml");
    let kiln = config("kilns/simulated.toml");
    let good = saggar().arg("check").arg(&bisque).arg(&kiln).arg("--kiln").arg(&kiln).output().expect("runs");
    assert_eq!(good.status.code(), Some(0), "{}", words(&good.stderr));
    assert_eq!(words(&good.stdout).matches(": good.").count(), 2);

    let folder = tempfile::tempdir().expect("a folder");
    let bad = folder.path().join("bad.toml");
    fs::write(&bad, "title = \"x\"\nscale = \"C\"\n\n[[segment]]\nrate = \"fast\"\nto = 100\n")
        .expect("written");
    let refused = saggar().arg("check").arg(&bad).arg(&bisque).output().expect("runs");
    assert_eq!(refused.status.code(), Some(2));
    assert!(words(&refused.stderr).contains("bad.toml:5:"), "{}", words(&refused.stderr));
    assert!(words(&refused.stdout).contains("bisque.toml: good"), "the others are checked all the same");
}

/// A page of the manual.
fn manual(page: &str) -> String {
    fs::read_to_string(format!("{}/../../docs/{page}", env!("CARGO_MANIFEST_DIR"))).expect("a page")
}

#[test]
fn the_manuals_dry_trial_is_a_schedule_that_the_example_kiln_can_be_lit_with() {
    let page = manual("before-the-first-heat.md");
    let schedule =
        page.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a schedule");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("dry.toml");
    fs::write(&path, schedule).expect("written");
    let path = path.to_str().expect("a path");
    let kiln = config("kilns/raspberry-pi.toml");
    let output = run(&["check", path, "--kiln", kiln.to_str().expect("a path")]);
    assert!(output.status.success(), "{}", words(&output.stderr));
    assert!(words(&output.stdout).contains("dry.toml: good."), "{}", words(&output.stdout));
}

#[test]
fn the_manuals_pins_are_those_of_the_example_kiln() {
    let kiln = fs::read_to_string(config("kilns/raspberry-pi.toml")).expect("a kiln file");
    let pins = |section: &str, key: &str| -> Vec<u32> {
        let sections = kiln.split("\n[").skip(1).filter(|text| text.starts_with(section));
        let lines = sections.flat_map(str::lines).filter_map(|line| line.strip_prefix(key));
        lines.map(|value| value.trim_start_matches([' ', '=']).trim().parse().expect("a pin")).collect()
    };
    let page = manual("wiring.md");
    let cells: Vec<&str> =
        page.lines().filter(|line| line.starts_with("| ")).flat_map(|row| row.split('|')).collect();
    let beside = |name: &str| -> Vec<u32> {
        let at = cells.iter().position(|cell| cell.trim() == name).unwrap_or_else(|| panic!("no {name}"));
        cells[at + 1].split(',').map(|pin| pin.trim().parse().expect("a pin")).collect()
    };
    assert_eq!(beside("banks"), pins("[bank]]", "pin "));
    assert_eq!(beside("safety contactor"), pins("warden]", "contactor_pin "));
    let contacts = ["mirror contact", "lid's contact", "presence button"].map(beside).concat();
    assert_eq!(contacts, pins("[contact]]", "pin "));
}

#[test]
fn a_schedule_beyond_the_kilns_power_is_warned_of_and_given_no_end() {
    let folder = tempfile::tempdir().expect("a folder");
    let weak = folder.path().join("weak.toml");
    let kiln = fs::read_to_string(config("kilns/simulated.toml")).expect("readable");
    fs::write(&weak, kiln.replace("rating_w = 5000", "rating_w = 1500")).expect("written");
    let schedule = config("schedules/mid-fire-glaze.toml");
    let told = saggar().arg("check").arg(&schedule).arg("--kiln").arg(&weak).output().expect("runs");
    let said = words(&told.stdout);
    assert_eq!(told.status.code(), Some(0), "{said}");
    assert!(said.contains("no errors, but ") && !said.contains(": good."), "{said}");
    assert!(said.contains("this kiln stalls at about") && said.contains("it does not get there."), "{said}");
    assert!(!said.contains("cool enough to open"), "{said}");
    let fired = saggar().arg("simulate").arg(&schedule).arg("--kiln").arg(&weak).output().expect("runs");
    assert!(words(&fired.stderr).contains("this kiln stalls at about"), "{}", words(&fired.stderr));
    let without = words(&saggar().arg("check").arg(&schedule).output().expect("runs").stdout);
    assert!(without.contains("No kiln was named"), "{without}");
}

#[test]
fn an_address_that_cannot_be_listened_on_is_told_what_would_do() {
    let data = tempfile::tempdir().expect("a folder");
    let serve = |address: &str, data: &std::path::Path| {
        let told = saggar().args(["serve", "--listen", address, "--data"]).arg(data).output().expect("runs");
        (told.status.code(), words(&told.stderr))
    };
    for (address, ends_with, why) in [
        ("8471", 2, "such as 127.0.0.1:8472"),
        ("everywhere", 2, "such as 127.0.0.1:8472"),
        ("0.0.0.0:8471", 1, "can be reached from other computers"),
    ] {
        let (code, said) = serve(address, data.path());
        assert_eq!(code, Some(ends_with), "{said}");
        assert!(said.contains(why), "{said}");
    }
    let taken = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = taken.local_addr().expect("its address").to_string();
    let (code, said) = serve(&address, data.path());
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("something listens on") && said.contains("--listen 127.0.0.1:8472"), "{said}");
}

#[test]
fn a_schedule_to_light_at_once_that_is_not_there_is_named_with_what_is() {
    let data = tempfile::tempdir().expect("a folder");
    let told = saggar()
        .args(["serve", "--listen", "127.0.0.1:0", "--alight", "nosuch", "--data"])
        .arg(data.path())
        .output()
        .expect("runs");
    let said = words(&told.stderr);
    assert_eq!(told.status.code(), Some(1), "{said}");
    assert!(said.contains("there is no file nosuch; on the shelf are: bisque.toml"), "{said}");
}

#[test]
fn a_cone_given_for_a_log_is_told_how_to_ask() {
    let told = run(&["cone", "6"]);
    assert_eq!(told.status.code(), Some(2));
    assert!(words(&told.stderr).contains("saggar cone 6 --at 60"), "{}", words(&told.stderr));
}

#[test]
fn a_command_whose_reader_has_gone_ends_quietly() {
    let schedule = config("schedules/watch-only.toml");
    let schedule = schedule.to_str().expect("a path");
    for arguments in [
        &["check", schedule][..],
        &["simulate", schedule],
        &["cone", "6", "--at", "60"],
        &["emf", "K", "1000"],
    ] {
        let (reader, writer) = std::io::pipe().expect("a pipe");
        drop(reader);
        let ended = saggar().args(arguments).stdout(writer).output().expect("runs");
        assert_eq!(ended.status.code(), Some(0), "{arguments:?}: {}", words(&ended.stderr));
        assert!(!words(&ended.stderr).contains("panicked"), "{arguments:?}");
    }
    let (reader, writer) = std::io::pipe().expect("a pipe");
    drop(reader);
    let refused = saggar().args(["check", "no such file"]).stderr(writer).output().expect("runs");
    assert_eq!(refused.status.code(), Some(2));
}

#[test]
fn arguments_that_cannot_be_understood_end_with_two() {
    for arguments in [&["explode"][..], &["add-minutes", "many"], &["cone-seen", "6", "400"], &["cosim"], &[]]
    {
        assert_eq!(run(arguments).status.code(), Some(2), "{arguments:?}");
    }
    let help = words(&run(&["--help"]).stdout);
    assert!(help.contains("never the only protection") && help.contains("Ends with 0"), "{help}");
}

#[test]
fn sr_25_a_schedule_of_a_few_minutes_is_not_ended_by_its_own_landing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("minutes.toml");
    for rate in ["\"flat out\"", "200"] {
        let segment = format!("[[segment]]\nrate = {rate}\nto = 30\nsoak = \"1 min\"\n");
        fs::write(&path, format!("title = \"A few minutes\"\nscale = \"C\"\n\n{segment}")).expect("written");
        let fired = saggar().arg("simulate").arg(&path).arg("--json").output().expect("runs");
        let report: Value = serde_json::from_slice(&fired.stdout).expect("json");
        assert_eq!(report["trips"], serde_json::json!([]), "{rate}: {report}");
        assert!(report["schedule_s"].as_f64().is_some_and(|lasted_s| lasted_s < 600.0), "{rate}: {report}");
        assert!(fired.status.success(), "{rate}");
    }
}

#[test]
fn a_simulated_firing_is_told_in_words_and_in_json() {
    let schedule = config("schedules/mid-fire-glaze.toml");
    let told = saggar().arg("simulate").arg(&schedule).output().expect("runs");
    assert_eq!(told.status.code(), Some(0), "{}", words(&told.stdout));
    for part in [
        "hottest",
        "6 down",
        "tracking",
        "overshoot",
        "ware",
        "energy",
        "relay closings",
        "waiting",
        "real time",
    ] {
        assert!(words(&told.stdout).contains(part), "{part} in {}", words(&told.stdout));
    }
    let json =
        saggar().arg("simulate").arg(&schedule).args(["--json", "--seed", "5"]).output().expect("runs");
    let report: Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(report["trips"], serde_json::json!([]));
    let within = |key: &str, most: f64| report[key].as_f64().is_some_and(|figure| figure <= most);
    assert!(within("tracking_rms_c", 1.5) && within("overshoot_c", 2.0), "{report}");
    assert!(report["energy_kwh"].as_f64().is_some_and(|energy_kwh| energy_kwh > 5.0), "{report}");
}

#[test]
fn a_schedule_in_fahrenheit_is_answered_in_fahrenheit() {
    let folder = tempfile::tempdir().expect("a folder");
    let schedule = folder.path().join("f.toml");
    let text = "title = \"F\"\nscale = \"F\"\n[[segment]]\nrate = 300\nto = 600\nsoak = \"10 min\"\n";
    fs::write(&schedule, text).expect("written");
    let told = words(&saggar().arg("simulate").arg(&schedule).output().expect("runs").stdout);
    assert!(
        told.contains("°F RMS") && told.contains("°F at the soaks") && told.contains("°F behind"),
        "{told}"
    );
    assert!(!told.contains("°C"), "{told}");
}

#[test]
fn a_simulated_trace_replays_to_the_bit_and_a_changed_decision_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let trace = folder.path().join("watch.jsonl");
    let fired = saggar()
        .arg("simulate")
        .arg(config("schedules/watch-only.toml"))
        .arg("--trace")
        .arg(&trace)
        .output()
        .expect("runs");
    assert_eq!(fired.status.code(), Some(0), "{}", words(&fired.stdout));
    let same = saggar().arg("replay").arg(folder.path()).output().expect("runs");
    assert_eq!(same.status.code(), Some(0));
    assert!(words(&same.stdout).contains("to the bit"), "{}", words(&same.stdout));

    let text = fs::read_to_string(&trace).expect("readable");
    let lines: Vec<&str> = text.lines().collect();
    let changed = lines[500].replacen("\"permission\":false", "\"permission\":true", 1);
    let changed = if changed == lines[500] {
        lines[500].replacen("\"did\":{", "\"did\":{\"permission\":true,", 1)
    } else {
        changed
    };
    let text = text.replacen(lines[500], &changed, 1);
    fs::write(&trace, text).expect("written");
    let differs = saggar().arg("replay").arg(&trace).output().expect("runs");
    assert_eq!(differs.status.code(), Some(1));
    assert!(words(&differs.stdout).contains("permission"), "{}", words(&differs.stdout));
}

#[test]
fn a_log_is_imported_and_a_bad_one_leaves_no_half_trace() {
    let folder = tempfile::tempdir().expect("a folder");
    let (log, out) = (folder.path().join("log.csv"), folder.path().join("log.jsonl"));
    fs::write(&log, "time_s,temp_c\n0,20.0\n1,20.1\n9,20.9\n").expect("written");
    let imported = saggar().arg("import").arg(&log).arg("--out").arg(&out).output().expect("runs");
    assert_eq!(imported.status.code(), Some(0), "{}", words(&imported.stderr));
    assert!(words(&imported.stdout).contains("3 rows") && words(&imported.stdout).contains("gap is 8 s"));
    let again = saggar().arg("import").arg(&log).arg("--out").arg(&out).output().expect("runs");
    assert_eq!(again.status.code(), Some(1), "nothing is overwritten");
    fs::write(&log, "time_s,temp_c\n0,20.0\n1,hot\n").expect("written");
    let half = folder.path().join("half.jsonl");
    let bad = saggar().arg("import").arg(&log).arg("--out").arg(&half).output().expect("runs");
    assert_eq!(bad.status.code(), Some(2));
    assert!(!half.exists());
}

#[test]
fn commands_say_so_when_no_daemon_answers() {
    // Port 9 is discard (RFC 863): nothing listens there on this computer.
    let status = run(&["status", "--daemon", "127.0.0.1:9"]);
    assert_eq!(status.status.code(), Some(1));
    assert!(words(&status.stderr).contains("saggar serve"), "{}", words(&status.stderr));
}

#[test]
fn commands_give_orders_to_a_running_daemon() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    let to = ["--daemon", daemon.address.as_str()];
    let ask = |arguments: &[&str]| saggar().args(arguments).args(to).output().expect("runs");
    let at_rest = words(&ask(&["stay"]).stderr);
    assert!(at_rest.contains("No firing is under way."), "{at_rest}");
    let unconfirmed = ask(&["light-up", "bisque.toml"]);
    assert_eq!(unconfirmed.status.code(), Some(1));
    assert!(words(&unconfirmed.stderr).contains("--confirm within-call"), "{}", words(&unconfirmed.stderr));
    let mut lit = vec!["light-up", "bisque.toml"];
    for check in common::CHECKS {
        lit.extend(["--confirm", check]);
    }
    let lit = ask(&lit);
    assert_eq!(lit.status.code(), Some(0), "{}", words(&lit.stderr));
    assert_eq!(ask(&["light-up", "none.toml"]).status.code(), Some(1));
    daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    let status = words(&ask(&["status"]).stdout);
    assert!(status.contains("Simulated") && status.contains("Climbing"), "{status}");
    assert_eq!(ask(&["stay"]).status.code(), Some(0));
    assert_eq!(ask(&["stay"]).status.code(), Some(1));
    // A stay begins with all that the kiln file allows.
    let longer = ask(&["add-minutes", "30"]);
    assert_eq!(longer.status.code(), Some(1));
    assert!(
        words(&longer.stderr).contains("longest stay in the kiln file, 3 h"),
        "{}",
        words(&longer.stderr)
    );
    assert_eq!(ask(&["cone-seen", "04", "30"]).status.code(), Some(0));
    assert_eq!(ask(&["cone-seen", "99", "30"]).status.code(), Some(2));
    assert_eq!(ask(&["shut-off"]).status.code(), Some(0));
    let logbook = saggar().arg("logbook").arg("--data").arg(data.path()).output().expect("runs");
    assert!(words(&logbook.stdout).contains("Bisque"), "{}", words(&logbook.stdout));
}

#[test]
fn a_firing_whose_daemon_is_gone_is_told_as_cut_off_until_the_next_start_has_closed_it() {
    let data = tempfile::tempdir().expect("a folder");
    let logbook = |firing: &[&str]| {
        let told =
            saggar().arg("logbook").args(firing).arg("--data").arg(data.path()).output().expect("runs");
        words(&told.stdout)
    };
    let daemon = Daemon::start(data.path(), "20");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    let (all, one) = (logbook(&[]), logbook(&["1"]));
    assert!(all.contains("  running  ") && one.contains("It is under way."), "{all}{one}");
    daemon.kill();
    let (all, one) = (logbook(&[]), logbook(&["1"]));
    assert!(all.contains("  cut-off  ") && !one.contains("under way"), "{all}{one}");
    assert!(one.contains("The program or the power cut it off. The next start of saggar closes"), "{one}");
    let daemon = Daemon::start(data.path(), "20");
    let (all, one) = (logbook(&[]), logbook(&["1"]));
    assert!(
        all.contains("  interrupted  ") && one.contains("The program or the power ended it."),
        "{all}{one}"
    );
    assert!(daemon.terminate());
    assert_eq!(logbook(&["1"]), one, "closed is closed");
}

#[test]
fn a_cooling_whose_daemon_is_gone_keeps_how_it_came_out_and_tells_that_its_record_was_cut_off() {
    let data = tempfile::tempdir().expect("a folder");
    // Its record stays open for the ten minutes in which the shut-off can be undone: two real ones.
    let daemon = Daemon::start(data.path(), "5");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    assert_eq!(daemon.order(&serde_json::json!("shut-off")).status, 200);
    daemon.wait_until("decided", |_| daemon.get("/api/firings").body[0]["outcome"] == "shut-off");
    daemon.kill();
    let told = saggar().args(["logbook", "1", "--data"]).arg(data.path()).output().expect("runs");
    let told = words(&told.stdout);
    let cut_off = "A person shut it off. Its record was cut off; the next start of saggar closes it.";
    assert!(told.contains(cut_off), "{told}");
}
