//! The daemon from outside: light-up, orders, stream, kill, restart.

mod common;

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::time::Duration;

use common::{CHECKS, Daemon, saggar};
use control::{Evidence, Finding, Interlock, Severity};
use daemon::store::{DataFolder, Latch};
use pyrometry::units::Millis;
use serde_json::{Value, json};
use trace::TraceReader;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

#[test]
fn sr_40_a_new_daemon_comes_up_off_and_says_that_it_is_simulated() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    let now = daemon.now();
    assert_eq!(now["phase"], "resting");
    assert_eq!(now["contactor"], false);
    assert_eq!(now["banks"][0]["on"], false);
    assert_eq!(now["simulated"]["speed"], 60.0);
    assert_eq!(now["firing"], Value::Null);
    assert_eq!(now["light_up"], json!({"possible": true, "why": null, "presence_shown": null}));
    assert!(now["sentence"].as_str().expect("a sentence").starts_with("The kiln rests at"), "{now}");
}

#[test]
fn a_light_up_without_the_whole_checklist_is_refused_and_names_what_is_missing() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    let asks = daemon.get("/api/light-up").body;
    let ids: Vec<&str> =
        asks["checklist"].as_array().expect("a list").iter().filter_map(|c| c["id"].as_str()).collect();
    assert_eq!(ids, CHECKS);
    let asked = json!({"schedule": "bisque.toml", "confirmed": ["cones-placed", "lid-shut"]});
    let answer = daemon.post("/api/light-up", &asked);
    assert_eq!(answer.status, 409);
    assert_eq!(answer.body["missing"], json!(["load-clear", "nothing-burns", "within-call"]));
    assert_eq!(daemon.now()["phase"], "resting");
    assert_eq!(daemon.get("/api/firings").body, json!([]));
}

#[test]
fn a_firing_is_lit_takes_orders_and_is_shut_off() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "120");
    let lit = daemon.light_up("bisque.toml");
    assert_eq!((lit.status, &lit.body), (200, &json!({"firing": 1})));
    daemon.wait_until("heating", |now| now["phase"] == "climbing" && now["contactor"] == true);
    assert_eq!(daemon.light_up("bisque.toml").status, 409, "one firing at a time");

    assert_eq!(daemon.order(&json!("stay")).body, json!({"outcome": "taken"}));
    let staying = daemon.wait_until("staying", |now| now["phase"] == "staying");
    assert!(staying["firing"]["stay_left_s"].as_f64().is_some_and(|left_s| left_s > 0.0), "{staying}");
    let again = daemon.order(&json!("stay"));
    assert_eq!((again.status, &again.body["outcome"]), (409, &json!("refused")));
    let added = daemon.order(&json!({"add-minutes": 60}));
    assert_eq!((added.status, &added.body["outcome"]), (409, &json!("refused")), "a stay is bounded");
    assert_eq!(daemon.order(&json!({"cone-seen": {"cone": "04", "bend_deg": 45}})).status, 200);
    assert_eq!(daemon.order(&json!("carry-on")).status, 200);
    assert_eq!(daemon.order(&json!("end-climb")).status, 200);
    daemon.wait_until("soaking", |now| now["phase"] == "soaking" && now["firing"]["soak_left_s"].is_f64());
    assert_eq!(daemon.order(&json!({"add-minutes": 5})).status, 200);
    assert_eq!(daemon.order(&json!("next-segment")).status, 200);
    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    daemon.wait_until("off", |now| {
        now["contactor"] == false
            && now["banks"].as_array().is_some_and(|banks| banks.iter().all(|b| b["on"] == false))
    });
    daemon.wait_until("shut off in the logbook", |_| {
        daemon.get("/api/firings").body[0]["outcome"] == "shut-off"
    });
    let sheet = daemon.get("/api/firings/1").body;
    let names: Vec<&str> = sheet["events"]
        .as_array()
        .expect("events")
        .iter()
        .filter_map(|event| event["name"].as_str())
        .collect();
    for name in ["stay", "add-minutes", "cone-seen", "carry-on", "end-climb", "next-segment", "shut-off"] {
        assert!(names.contains(&name), "{name} in {names:?}");
    }
}

#[test]
fn the_stream_tells_of_changes_at_most_twice_a_second() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "120");
    let mut stream = TcpStream::connect(&daemon.address).expect("connected");
    stream.set_read_timeout(Some(Duration::from_secs(30))).expect("a timeout");
    write!(stream, "GET /api/stream HTTP/1.1\r\nHost: {}\r\n\r\n", daemon.address).expect("asked");
    let began = std::time::Instant::now();
    let mut events = Vec::new();
    let mut head = String::new();
    for line in BufReader::new(stream).lines() {
        let line = line.expect("a line");
        if let Some(data) = line.strip_prefix("data: ").or(line.strip_prefix("data:")) {
            events.push(serde_json::from_str::<Value>(data).expect("a snapshot"));
        } else if events.is_empty() {
            head = format!("{head}\n{}", line.to_lowercase());
        }
        if events.len() == 4 {
            break;
        }
    }
    assert!(began.elapsed() >= Duration::from_millis(1400), "four snapshots in {:?}", began.elapsed());
    assert!(head.contains("text/event-stream"), "{head}");
    assert!(head.contains("event: now") && head.contains("retry: 2000"), "{head}");
    assert_ne!(events[0]["time"], events[3]["time"]);
}

#[test]
fn sr_40_after_a_kill_in_mid_firing_it_comes_back_off_with_all_but_the_last_second_kept() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "20");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    let before = daemon.wait_until("a minute in", |now| {
        now["firing"]["elapsed_s"].as_f64().is_some_and(|elapsed_s| elapsed_s > 60.0)
    });
    let seen_s = before["firing"]["elapsed_s"].as_f64().expect("a time");
    daemon.kill();

    let mut reader = TraceReader::open(&DataFolder::trace_found(data.path(), 1)).expect("the trace opens");
    let mut kept_s = 0.0;
    while let Some(step) = reader.next_step().expect("readable to its end") {
        kept_s = step.seen.at.seconds();
    }
    assert!(kept_s >= seen_s - 1.0, "kept to {kept_s} s, seen to {seen_s} s");

    let daemon = Daemon::start(data.path(), "20");
    let now = daemon.now();
    assert_eq!(now["phase"], "resting");
    assert_eq!(now["contactor"], false);
    let told =
        |now: &Value| now["attention"].as_array().expect("a list").iter().any(|a| a["name"] == "interrupted");
    assert!(told(&now), "whoever wakes to the page learns of it: {now}");
    let firing = &daemon.get("/api/firings").body[0];
    assert_eq!(firing["outcome"], "interrupted");
    assert_eq!(firing["duration_s"].as_f64(), Some(kept_s));
    let curve = daemon.get("/api/firings/1/curve?columns=10").body;
    assert_eq!(curve["t_s"].as_array().map(Vec::len), Some(10));
    assert_eq!(daemon.light_up("bisque.toml").body, json!({"firing": 2}));
    daemon.wait_until("told no more", |now| !told(now));
}

#[test]
fn a_signal_to_end_or_a_closed_terminal_switches_off_and_closes_the_trace() {
    for signal in ["-TERM", "-HUP"] {
        let data = folder();
        let daemon = Daemon::start(data.path(), "60");
        assert_eq!(daemon.light_up("bisque.toml").status, 200);
        daemon.wait_until("heating", |now| now["contactor"] == true);
        assert!(daemon.end_by(signal), "{signal}");
        let packed = data.path().join("traces/firing-000001.jsonl.gz");
        let replay = saggar().arg("replay").arg(&packed).output().expect("replayed");
        let said = String::from_utf8_lossy(&replay.stdout).into_owned();
        assert!(replay.status.success() && said.contains("to the bit"), "{said}");
    }
}

#[test]
fn sr_43_two_daemons_cannot_own_one_data_folder() {
    let data = folder();
    let _first = Daemon::start(data.path(), "60");
    let second = saggar()
        .args(["serve", "--listen", "127.0.0.1:0", "--data"])
        .arg(data.path())
        .output()
        .expect("ends");
    assert_eq!(second.status.code(), Some(1));
    let why = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(why.contains("another saggar is running"), "{why}");
}

#[test]
fn sr_42_foreign_hosts_origins_and_forms_change_nothing() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    let order = r#"{"order":"shut-off"}"#;
    let json = ("Content-Type", "application/json");
    let rebound = daemon.send("POST", "/api/orders", &[("Host", "kiln.evil.example"), json], order);
    let foreign = daemon.send("POST", "/api/orders", &[("Origin", "http://evil.example"), json], order);
    let form = daemon.send("POST", "/api/orders", &[("Content-Type", "text/plain")], order);
    let watched = daemon.send("GET", "/api/now", &[("Host", "kiln.evil.example")], "");
    assert_eq!((rebound.status, foreign.status, form.status, watched.status), (403, 403, 415, 403));
    assert!(rebound.body["why"].is_string() && foreign.body["why"].is_string());
    for broken in ["", "{", r#"{"order":"explode"}"#, r#"{"order":{"add-minutes":-5}}"#] {
        let answer = daemon.send("POST", "/api/orders", &[json], broken);
        assert!((400..500).contains(&answer.status), "{broken}: {answer:?}");
    }
    let huge = format!("{{\"order\":\"{}\"}}", "x".repeat(100_000));
    assert_eq!(daemon.send("POST", "/api/orders", &[json], &huge).status, 413);
    assert_eq!(daemon.now()["phase"], "climbing");
    let own = format!("http://{}", daemon.address);
    assert_eq!(daemon.send("POST", "/api/orders", &[("Origin", &own), json], order).status, 200);
}

#[test]
fn only_addresses_of_this_computer_are_listened_on() {
    let data = folder();
    let refused =
        saggar().args(["serve", "--listen", "0.0.0.0:0", "--data"]).arg(data.path()).output().expect("ends");
    assert_eq!(refused.status.code(), Some(1));
    let why = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(why.contains("reached from other computers"), "{why}");
}

#[test]
fn the_page_and_its_parts_come_with_a_strict_policy_and_a_tag() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    for path in ["/", "/page.css", "/page.js", "/icon.svg"] {
        let answer = daemon.get(path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(answer.head.contains("content-security-policy: default-src 'self'"), "{}", answer.head);
        assert!(answer.head.contains("cache-control: no-cache"), "{}", answer.head);
        let tag = answer.head.lines().find_map(|line| line.strip_prefix("etag: ")).expect("a tag").to_owned();
        assert_eq!(daemon.send("GET", path, &[("If-None-Match", &tag)], "").status, 304, "{path}");
    }
    assert_eq!(daemon.get("/nowhere").status, 404);
    assert_eq!(daemon.get("/api/schedules/..%2Fkiln.toml").status, 404);
    assert_eq!(daemon.get("/api/firings/99").status, 404);
    assert_eq!(daemon.get("/api/firings/current/curve").status, 404);
}

#[test]
fn a_kiln_hotter_than_the_whole_schedule_is_not_lit() {
    let data = folder();
    let schedules = data.path().join("schedules");
    fs::create_dir_all(&schedules).expect("made");
    for (name, to) in [("hot.toml", 400), ("cooler.toml", 200)] {
        let text =
            format!("title = \"To {to}\"\nscale = \"C\"\n\n[[segment]]\nrate = \"flat out\"\nto = {to}\n");
        fs::write(schedules.join(name), text).expect("written");
    }
    let daemon = Daemon::start(data.path(), "900");
    assert_eq!(daemon.light_up("hot.toml").status, 200);
    daemon.wait_until("fired", |now| {
        now["phase"] == "cooling" && now["chamber_c"].as_f64().is_some_and(|chamber_c| chamber_c > 220.0)
    });
    let refused = daemon.light_up("cooler.toml");
    assert_eq!(refused.status, 409, "{:?}", refused.body);
    assert!(refused.body["why"].as_str().is_some_and(|why| why.contains("hotter")), "{:?}", refused.body);
}

#[test]
fn schedules_are_listed_with_their_forecast_and_errors_with_their_place() {
    let data = folder();
    fs::create_dir_all(data.path().join("schedules")).expect("made");
    let schedules = data.path().join("schedules");
    fs::copy(common::config("schedules/bisque.toml"), schedules.join("good.toml")).expect("copied");
    fs::write(
        schedules.join("bad.toml"),
        "title = \"Bad\"\nscale = \"C\"\n[[segment]]\nrte = 60\nto = 100\n",
    )
    .expect("written");
    let daemon = Daemon::start(data.path(), "60");
    let list = daemon.get("/api/schedules").body;
    assert_eq!((&list[0]["file"], &list[1]["file"]), (&json!("bad.toml"), &json!("good.toml")));
    assert_eq!(list[0]["problems"][0]["line"], 4, "{list}");
    assert!(list[1]["duration_s"].as_f64().is_some_and(|duration_s| duration_s > 3600.0));
    let sheet = daemon.get("/api/schedules/good.toml").body;
    assert_eq!(
        sheet["planned"]["t_s"].as_array().map(Vec::len),
        sheet["planned"]["setpoint_c"].as_array().map(Vec::len)
    );
    let refused = daemon.light_up("bad.toml");
    assert_eq!((refused.status, &refused.body["problems"][0]["file"]), (422, &json!("bad.toml")));
    assert_eq!(daemon.light_up("none.toml").status, 404);
}

#[test]
fn sr_44_a_light_up_whose_record_cannot_be_kept_is_refused_and_leaves_nothing_behind() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    fs::remove_dir(data.path().join("traces")).expect("removed");
    let refused = daemon.light_up("bisque.toml");
    assert_eq!(refused.status, 409);
    assert!(refused.body["why"].as_str().is_some_and(|why| why.contains("No record")), "{refused:?}");
    assert_eq!(daemon.get("/api/firings").body, json!([]));
    fs::create_dir(data.path().join("traces")).expect("mended");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
}

#[test]
fn a_latched_trip_survives_a_restart_until_a_person_clears_it() {
    let data = folder();
    Daemon::start(data.path(), "60").kill();
    let trip = Finding {
        interlock: Interlock::AboveCeiling,
        severity: Severity::Trip,
        part: Some(control::Part::Probe(0)),
        evidence: Evidence { seen: 1291.0, bound: 1290.0, lasted: Millis::from_seconds(3) },
    };
    Latch::at(data.path().join("latch")).write(Some(trip)).expect("written");
    let daemon = Daemon::start(data.path(), "60");
    let now = daemon.now();
    assert_eq!((&now["phase"], &now["trip"]["name"]), (&json!("tripped"), &json!("above-ceiling")));
    assert_eq!(daemon.light_up("bisque.toml").status, 409);
    daemon.kill();
    let daemon = Daemon::start(data.path(), "60");
    assert_eq!(daemon.now()["phase"], "tripped");
    assert_eq!(daemon.order(&json!("clear-trip")).status, 200);
    daemon.wait_until("resting", |now| now["phase"] == "resting" && now["trip"].is_null());
    assert!(daemon.terminate());
    assert_eq!(Daemon::start(data.path(), "60").now()["phase"], "resting");
}

#[test]
fn sr_41_an_unreadable_latch_refuses_light_up_until_a_person_clears_it() {
    let data = folder();
    Daemon::start(data.path(), "60").kill();
    fs::write(
        data.path().join("latch"),
        "{\"format\":\"saggar-latch\",\"version\":1,\"trip\":null}\n00000000\n",
    )
    .expect("torn");
    let daemon = Daemon::start(data.path(), "60");
    let now = daemon.now();
    assert_eq!(now["light_up"]["possible"], false);
    assert_eq!(now["attention"][0]["name"], "latch-unreadable");
    assert_eq!(daemon.light_up("bisque.toml").status, 409);
    assert_eq!(daemon.order(&json!("clear-trip")).status, 200);
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
}

#[test]
fn an_address_that_cannot_be_understood_is_refused_in_words_as_json() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    for (path, status) in [
        ("/api/firings/abc", 400),
        ("/api/firings/9999999999999999999999", 400),
        ("/api/firings/%FF", 400),
        ("/api/firings/abc/curve", 400),
        ("/api/firings/1/curve?columns=many", 400),
        ("/api/firings/1/curve?from_s=noon", 400),
        ("/api/schedules/%FF", 400),
        ("/api/firings/99", 404),
        ("/api/nothing", 404),
        ("/%FF", 400),
        ("/api/orders", 405),
    ] {
        let answer = daemon.get(path);
        assert_eq!(answer.status, status, "{path}");
        assert!(answer.body["why"].as_str().is_some_and(|why| !why.is_empty()), "{path}: {answer:?}");
        assert!(answer.head.contains("content-type: application/json"), "{path}: {}", answer.head);
    }
    assert_eq!(daemon.post("/api/now", &json!({})).status, 405);
    assert!(daemon.post("/api/now", &json!({})).body["why"].is_string());
}
