//! The daemon under load from this computer: a shut-off gets through whatever else is going on.

mod common;

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread;

use common::Daemon;
use serde_json::json;

#[test]
fn sr_36_every_shut_off_is_answered_while_orders_flood_in() {
    let data = tempfile::tempdir().expect("a folder");
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
    assert_eq!(daemon.now()["contactor"], false);
}
