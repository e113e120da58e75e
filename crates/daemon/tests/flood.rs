//! The daemon under load from this computer: a shut-off gets through whatever else is going on.

mod common;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use common::Daemon;
use control::{Evidence, Finding, Interlock, Severity};
use daemon::store::{Latch, Latched};
use pyrometry::units::Millis;
use serde_json::json;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

/// Connects, says this much, and then nothing.
fn half(daemon: &Daemon, said: &str) -> TcpStream {
    let mut stream = TcpStream::connect(&daemon.address).expect("the daemon listens");
    stream.write_all(said.replace("HERE", &daemon.address).as_bytes()).expect("sent");
    stream.set_read_timeout(Some(Duration::from_secs(30))).expect("a timeout");
    stream
}

#[test]
fn sr_36_every_shut_off_is_answered_while_orders_flood_in() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "1");
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    daemon.wait_until("heating", |now| now["contactor"] == true);
    let (over, refused) = (AtomicBool::new(false), AtomicU32::new(0));
    thread::scope(|scope| {
        for _ in 0..30 {
            scope.spawn(|| {
                while !over.load(Ordering::Relaxed) {
                    if daemon.order(&json!("stay")).status == 503 {
                        refused.fetch_add(1, Ordering::Relaxed);
                    }
                }
            });
        }
        while refused.load(Ordering::Relaxed) < 100 {
            thread::yield_now();
        }
        let presses: Vec<_> = (0..20).map(|_| scope.spawn(|| daemon.order(&json!("shut-off")))).collect();
        let answers: Vec<_> = presses.into_iter().map(|press| press.join().expect("answered")).collect();
        over.store(true, Ordering::Relaxed);
        for answer in answers {
            assert_eq!((answer.status, &answer.body["outcome"]), (200, &json!("taken")), "{answer:?}");
        }
    });
    let now = daemon.now();
    assert_eq!(now["contactor"], false);
    // Later than this the warden's 2.5 s without a beat could run out.
    assert!(now["late_ms_worst"].as_u64().is_some_and(|late_ms| late_ms < 1500), "{now}");
}

#[test]
fn sr_36_a_shut_off_gets_in_while_hundreds_of_connections_say_nothing() {
    let data = folder();
    let daemon = Daemon::start_with_few_files(data.path(), 100, &["--speed", "60"]);
    assert_eq!(daemon.light_up("bisque.toml").status, 200);
    let silent: Vec<TcpStream> = (0..300).map(|_| half(&daemon, "POST /api/orders HTTP/1.1\r\n")).collect();
    let began = Instant::now();
    assert_eq!(daemon.order(&json!("shut-off")).body, json!({"outcome": "taken"}));
    assert!(began.elapsed() < Duration::from_secs(5), "{:?}", began.elapsed());
    drop(silent);
}

#[test]
fn a_request_that_stops_half_way_is_ended_within_a_quarter_of_a_minute() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    let whole = "POST /api/orders HTTP/1.1\r\nHost: HERE\r\nContent-Type: application/json\r\nContent-Length: 20\r\n\r\n{";
    let (silent, head, body) =
        (half(&daemon, ""), half(&daemon, "GET /api/now HTTP/1.1\r\nHost:"), half(&daemon, whole));
    let began = Instant::now();
    for mut stream in [silent, head] {
        let mut rest = Vec::new();
        // Closed with or without a word: that it is closed is what counts.
        let _closed = stream.read_to_end(&mut rest);
        assert!(began.elapsed() < Duration::from_secs(15), "{:?}", began.elapsed());
    }
    let mut answer = String::new();
    let mut body = body;
    body.read_to_string(&mut answer).expect("answered and closed");
    assert!(began.elapsed() < Duration::from_secs(15), "{:?}", began.elapsed());
    assert!(answer.starts_with("HTTP/1.1 408 "), "{answer}");
    assert!(answer.contains("did not come to its end"), "{answer}");
}

#[test]
fn the_seventeenth_page_is_refused_in_words_and_the_others_go_on() {
    let data = folder();
    let daemon = Daemon::start(data.path(), "60");
    let page = || {
        let stream = half(&daemon, "GET /api/stream HTTP/1.1\r\nHost: HERE\r\nConnection: close\r\n\r\n");
        let mut lines = BufReader::new(stream).lines().map_while(Result::ok);
        let status = lines.next().expect("a status");
        (status, lines)
    };
    let mut pages: Vec<_> = (0..16).map(|_| page()).collect();
    assert!(pages.iter().all(|(status, _)| status.contains(" 200 ")));
    let (status, mut lines) = page();
    assert!(status.contains(" 503 "), "{status}");
    assert!(lines.any(|line| line.contains("Too many pages follow")));
    for (_, lines) in &mut pages {
        assert!(lines.any(|line| line.starts_with("data:")), "it goes on");
    }
    drop(pages.pop());
    let late = Instant::now() + Duration::from_secs(30);
    while !page().0.contains(" 200 ") {
        assert!(Instant::now() < late, "a closed page leaves its place");
    }
}

#[test]
fn sr_44_a_latch_is_written_although_connections_have_taken_every_open_file() {
    let data = folder();
    let latch = |data: &Path| Latch::at(data.join("latch"));
    Daemon::start(data.path(), "60").kill();
    let trip = Finding {
        interlock: Interlock::AboveCeiling,
        severity: Severity::Trip,
        part: Some(control::Part::Probe(0)),
        evidence: Evidence { seen: 1291.0, bound: 1290.0, lasted: Millis::from_seconds(3) },
    };
    latch(data.path()).write(Some(trip)).expect("written");
    let daemon = Daemon::start_with_few_files(data.path(), 40, &["--speed", "60"]);
    let silent: Vec<TcpStream> = (0..200).map(|_| half(&daemon, "GET ")).collect();
    assert_eq!(daemon.order(&json!("clear-trip")).status, 200);
    let late = Instant::now() + Duration::from_secs(5);
    while latch(data.path()).read() != Latched::Clear {
        assert!(Instant::now() < late, "the latch is owed");
        thread::yield_now();
    }
    drop(silent);
}
