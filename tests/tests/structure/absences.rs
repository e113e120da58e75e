//! What must not be found where: the invariants of `docs/architecture.md` that are absences.

use std::fs;

use whole_product_tests::{files, named};

/// Fails when a word stands in a crate's source, outside comments.
fn absent(word: &str, crates: &[&str], why: &str) {
    for name in crates {
        for path in files(&format!("crates/{name}/src"), ".rs") {
            let text = fs::read_to_string(&path).expect("source is text");
            for (number, line) in text.lines().enumerate() {
                let code = line.split("//").next().unwrap_or_default();
                assert!(!code.contains(word), "{}:{}: `{word}`: {why}", named(&path), number + 1);
            }
        }
    }
}

const ALL_BUT_DAEMON: [&str; 9] =
    ["pyrometry", "control", "hal", "kiln-sim", "warden", "trace", "insight", "campaign", "law-bench"];

#[test]
fn only_the_daemon_names_a_wall_clock() {
    for word in ["SystemTime", "jiff", "chrono", "Utc::now"] {
        absent(word, &ALL_BUT_DAEMON, "only `daemon` names a wall clock");
    }
}

#[test]
fn nothing_in_the_control_path_is_serialisable() {
    for word in ["serde", "Serialize", "Deserialize"] {
        absent(word, &["pyrometry", "control", "warden", "hal"], "wire formats are separate types");
    }
}

#[test]
fn only_hal_names_a_pin() {
    for word in ["rppal", "embedded_hal", "gpiocdev", "spidev"] {
        absent(
            word,
            &["pyrometry", "control", "kiln-sim", "warden", "trace", "insight", "daemon"],
            "only `hal` names a pin",
        );
    }
}

#[test]
fn the_control_path_asks_no_clock_and_does_no_input_or_output() {
    for word in ["Instant::now", "std::thread", "std::fs", "std::io", "std::net"] {
        absent(
            word,
            &["pyrometry", "control", "warden"],
            "time is an argument; input and output are elsewhere",
        );
    }
}

#[test]
fn the_control_path_is_no_std_and_forbids_unsafe_code() {
    for name in ["pyrometry", "control", "warden"] {
        let text =
            fs::read_to_string(files(&format!("crates/{name}/src"), "lib.rs").first().expect("a lib.rs"))
                .expect("source is text");
        for attribute in
            ["#![no_std]", "#![forbid(unsafe_code)]", "clippy::indexing_slicing", "clippy::as_conversions"]
        {
            assert!(text.contains(attribute), "crates/{name}/src/lib.rs lacks {attribute}");
        }
    }
}

#[test]
fn the_c_librarys_mathematics_stays_out_of_a_firing() {
    // The square root is exact everywhere by IEEE 754; these are as the machine's C library has them.
    // The control path cannot name them: it has no standard library.
    for word in [
        ".cbrt()",
        ".exp()",
        ".exp_m1()",
        ".ln()",
        ".ln_1p()",
        ".log10()",
        ".powf(",
        ".powi(",
        ".sin()",
        ".tan()",
        ".tanh()",
    ] {
        absent(
            word,
            &["kiln-sim", "insight", "hal"],
            "`libm` gives the same bits whatever the machine and its C library",
        );
    }
}
