//! The build's name holds the versions of other crates that decide numbers.

#[path = "../build/locked.rs"]
mod locked;

use locked::locked;

const LOCK: &str = include_str!("../../../Cargo.lock");
const DECIDING: [&str; 3] = ["libm", "num-traits", "pid"];

#[test]
fn another_version_of_a_deciding_crate_is_another_build_and_of_any_other_crate_is_not() {
    let now = locked(LOCK, &DECIDING).expect("all are there");
    assert_eq!(now.lines().count(), 3, "{now}");
    for (name, differs) in [("pid", true), ("libm", true), ("num-traits", true), ("tokio", false)] {
        let before = format!("name = \"{name}\"\nversion = \"");
        assert!(LOCK.contains(&before), "{name}");
        let changed = LOCK.replacen(&before, &format!("{before}9"), 1);
        assert_eq!(locked(&changed, &DECIDING) != Some(now.clone()), differs, "{name}");
    }
}

#[test]
fn the_same_version_with_other_content_is_another_build() {
    let now = locked(LOCK, &DECIDING).expect("all are there");
    let checksum = now.lines().find_map(|line| line.rsplit('"').nth(1)).expect("a checksum");
    let changed = LOCK.replace(checksum, "0123");
    assert_ne!(locked(&changed, &DECIDING), Some(now));
}

#[test]
fn a_deciding_crate_that_is_missing_is_noticed() {
    assert_eq!(locked(LOCK, &["libm", "no-such-crate"]), None);
}
