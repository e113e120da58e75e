//! What the page is told, and what it asks for, over the wire.

mod common;

use std::fs;

use common::{CHECKS, Daemon};
use serde_json::{Value, json};

#[test]
fn a_schedule_that_changed_since_it_was_looked_at_is_not_lit_until_looked_at_again() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    let file = data.path().join("schedules/bisque.toml");
    let looked_at = daemon.get("/api/schedules/bisque.toml").body;
    let asked =
        |sheet: &Value| json!({"schedule": "bisque.toml", "confirmed": CHECKS, "edition": sheet["edition"]});

    let text = fs::read_to_string(&file).expect("read");
    fs::write(&file, text.replace("to = 1056", "to = 1040")).expect("edited");
    let refused = daemon.post("/api/light-up", &asked(&looked_at));
    assert_eq!(refused.status, 409, "{refused:?}");
    let why = refused.body["why"].as_str().expect("words");
    assert!(why.contains("changed since you looked at it: look again"), "{why}");
    assert_eq!(daemon.now()["phase"], "resting");
    assert_eq!(daemon.get("/api/firings").body, json!([]));

    let looked_again = daemon.get("/api/schedules/bisque.toml").body;
    assert!(looked_again["text"].as_str().is_some_and(|text| text.contains("to = 1040")));
    assert_eq!(daemon.post("/api/light-up", &asked(&looked_again)).body, json!({"firing": 1}));
}

/// Seconds from light-up to a time of the snapshot.
fn after_light_up_s(now: &Value, time: &str) -> f64 {
    let read = |text: &Value| text.as_str().expect("a time").parse::<jiff::Timestamp>().expect("a time");
    let lit = read(&now["firing"]["started"]);
    read(&now["firing"][time]).duration_since(lit).as_secs_f64()
}

#[test]
fn the_times_ahead_come_in_the_order_of_a_firing() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "1");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    let now = daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    let [cone, off, open] =
        ["cone_down", "heating_ends", "cool_enough"].map(|time| after_light_up_s(&now, time));
    assert!(0.0 < cone && cone <= off && off < open, "cone {cone} s, off {off} s, open {open} s");
    // 70/60 + 2 + 510/80 + 350/110 + 106/60 + 1/6 h by its written rates and soaks, from 20 °C.
    assert!((14.5 * 3600.0..15.5 * 3600.0).contains(&off), "{off} s");
    assert!(now["firing"]["falls_short"].is_null(), "{now}");
}

#[test]
fn a_firing_its_kiln_cannot_reach_names_no_end_but_says_so() {
    let data = tempfile::tempdir().expect("a folder");
    let kiln = fs::read_to_string(common::config("kilns/simulated.toml")).expect("read");
    let weak = data.path().join("weak.toml");
    fs::write(&weak, kiln.replace("rating_w = 5000", "rating_w = 1000")).expect("written");
    let daemon = Daemon::start_with(
        &data.path().join("data"),
        &["--speed", "60", "--kiln", weak.to_str().expect("a path")],
    );
    let sheet = daemon.get("/api/schedules/mid-fire-glaze.toml").body;
    assert!(sheet["duration_s"].is_null() && sheet["forecast"]["heating_ends_s"].is_null(), "{sheet}");
    assert!(sheet["forecast"]["cool_enough_s"].is_null(), "{sheet}");
    let plan: Vec<f64> = serde_json::from_value(sheet["planned"]["setpoint_c"].clone()).expect("numbers");
    let drawn_c = plan.iter().copied().fold(0.0, f64::max);
    assert!(drawn_c < 800.0, "a kiln of 2 kW stalls far below the {drawn_c} °C drawn");
    assert_eq!(daemon.light_up("mid-fire-glaze.toml").status, 200);
    let now = daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    let firing = &now["firing"];
    for time in ["cone_down", "heating_ends", "cool_enough"] {
        assert!(firing[time].is_null(), "{time} in {now}");
    }
    assert!(firing["falls_short"].as_str().is_some_and(|said| said.contains("stalls at about")), "{now}");
    assert!(now["sentence"].as_str().is_some_and(|said| !said.contains("about")), "{now}");
}

#[test]
fn going_to_the_soak_is_offered_only_in_a_segment_that_has_one() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    assert_eq!(daemon.light_up("mid-fire-glaze.toml").status, 200);
    let offers = |now: &Value, order: &str| {
        now["orders"].as_array().is_some_and(|orders| orders.iter().any(|offered| offered == order))
    };
    let drying = daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    assert!(offers(&drying, "end-climb"), "{drying}");
    assert_eq!(drying["firing"]["next"], "the climb to 1100 °C at 150 °C/h");
    assert_eq!(daemon.order(&json!("next-segment")).status, 200);
    let climbing = daemon.wait_until("in the second segment", |now| now["firing"]["segment"] == 2);
    assert!(!offers(&climbing, "end-climb") && offers(&climbing, "next-segment"), "{climbing}");
    assert_eq!(climbing["firing"]["next"], "the climb to cone 6 at 60 °C/h");
}

#[test]
fn leaving_a_climb_early_names_no_cooling_that_would_be_passed_over() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    fs::write(
        data.path().join("schedules/slow.toml"),
        "title = \"Slow\"\nscale = \"C\"\n[[segment]]\nrate = 100\nto = 700\n[[segment]]\nrate = -50\nto = 500\n",
    )
    .expect("written");
    assert_eq!(daemon.light_up("slow.toml").status, 200);
    let now = daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    assert!(now["firing"]["next"].is_null(), "{now}");
}

#[test]
fn a_watch_offers_no_stay() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    assert_eq!(daemon.light_up("watch-only.toml").status, 200);
    let now = daemon.wait_until("watching", |now| now["firing"]["segment"] == 1);
    assert_eq!(now["orders"], json!(["shut-off", "next-segment"]));
}

#[test]
fn a_kiln_cold_enough_to_open_is_not_said_to_become_so() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "1");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    daemon.wait_until("climbing", |now| now["phase"] == "climbing");
    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    let now = daemon.wait_until("cooling", |now| now["phase"] == "cooling");
    assert!(now["firing"]["cool_enough"].is_null(), "{now}");
    assert_eq!(now["orders"], json!(["carry-on"]));
}

#[test]
fn a_light_up_for_later_that_was_cancelled_reads_as_resting_also_when_it_would_have_been_due() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "600");
    let asked = json!({"schedule": "bisque.toml", "delay_minutes": 60, "confirmed": CHECKS});
    assert_eq!(daemon.post("/api/light-up", &asked).status, 200);
    daemon.wait_until("set for later", |now| now["phase"] == "set-for-later");
    let lit_at = daemon.now()["firing"]["started"].as_str().expect("a time").to_owned();
    assert_eq!(daemon.order(&json!("shut-off")).status, 200);
    let rests = |now: &Value| {
        let said = now["sentence"].as_str().expect("a sentence");
        assert!(said.starts_with("The kiln rests at"), "{said}");
        assert_eq!((&now["firing"], &now["orders"]), (&Value::Null, &json!([])));
    };
    rests(&daemon.wait_until("resting", |now| now["phase"] == "resting"));
    daemon.wait_until("cancelled", |_| daemon.get("/api/firings").body[0]["outcome"] == "cancelled");
    let due = lit_at.parse::<jiff::Timestamp>().expect("a time") + jiff::SignedDuration::from_hours(2);
    rests(&daemon.wait_until("past its time", |now| {
        now["time"].as_str().expect("a time").parse::<jiff::Timestamp>().expect("a time") > due
    }));
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
}
