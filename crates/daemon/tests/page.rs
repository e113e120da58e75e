//! What the page is told, and what it asks for, over the wire.

mod common;

use std::fs;

use common::{CHECKS, Daemon};
use serde_json::json;

#[test]
fn a_schedule_that_changed_since_it_was_looked_at_is_not_lit_until_looked_at_again() {
    let data = tempfile::tempdir().expect("a folder");
    let daemon = Daemon::start(data.path(), "60");
    let file = data.path().join("schedules/bisque.toml");
    let looked_at = daemon.get("/api/schedules/bisque.toml").body;
    let asked = |sheet: &serde_json::Value| json!({"schedule": "bisque.toml", "confirmed": CHECKS, "edition": sheet["edition"]});

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
