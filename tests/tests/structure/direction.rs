//! Arrows between crates point one way.

use std::collections::BTreeMap;
use std::fs;

use whole_product_tests::root;

/// What each crate may depend on of ours, as `docs/architecture.md` draws it.
const ALLOWED: [(&str, &[&str]); 11] = [
    ("pyrometry", &[]),
    ("hal", &["pyrometry"]),
    ("control", &["pyrometry"]),
    ("warden", &["hal", "pyrometry"]),
    ("warden-process", &["hal", "pyrometry", "warden"]),
    ("kiln-sim", &["hal", "pyrometry"]),
    ("trace", &["control", "pyrometry"]),
    ("insight", &["control", "pyrometry"]),
    ("campaign", &["control", "hal", "insight", "kiln-sim", "pyrometry", "warden"]),
    ("law-bench", &["control", "hal", "insight", "kiln-sim", "pyrometry"]),
    ("daemon", &["control", "hal", "insight", "kiln-sim", "pyrometry", "trace", "warden", "warden-process"]),
];

fn dependencies(name: &str) -> Vec<String> {
    let path = root().join("crates").join(name).join("Cargo.toml");
    let text = fs::read_to_string(&path).expect("every crate has a manifest");
    let manifest: toml::Table = text.parse().expect("a manifest is TOML");
    manifest
        .get("dependencies")
        .and_then(|d| d.as_table())
        .map(|t| t.keys().cloned().collect())
        .unwrap_or_default()
}

#[test]
fn every_crate_depends_only_on_those_below_it() {
    let ours: BTreeMap<&str, &[&str]> = ALLOWED.into_iter().collect();
    let folders = fs::read_dir(root().join("crates")).expect("crates is a folder");
    for folder in folders {
        let name = folder.expect("an entry").file_name().to_string_lossy().into_owned();
        let allowed = ours.get(name.as_str()).unwrap_or_else(|| panic!("crate {name} is not in the table"));
        for dependency in dependencies(&name) {
            if ours.contains_key(dependency.as_str()) {
                assert!(allowed.contains(&dependency.as_str()), "{name} must not depend on {dependency}");
            }
        }
    }
}

#[test]
fn the_control_path_depends_on_no_input_or_output_and_no_files() {
    for name in ["pyrometry", "control", "warden"] {
        for dependency in dependencies(name) {
            assert!(
                matches!(dependency.as_str(), "heapless" | "libm" | "pid" | "pyrometry" | "hal"),
                "{name} depends on {dependency}: what the control path needs is argued in DEVELOPERS.md"
            );
        }
    }
}
