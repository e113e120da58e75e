//! Whatever happens to a file, reading it ends in steps or in words, never in a panic.

mod common;

use common::{packed, trace_of};
use proptest::prelude::*;
use trace::{Curve, Ending, Step, TraceError, TraceReader};

fn read(bytes: &[u8]) -> Result<(Vec<Step>, Option<Ending>), TraceError> {
    let mut reader = TraceReader::new(bytes)?;
    let steps = reader.by_ref().collect::<Result<Vec<_>, _>>()?;
    Ok((steps, reader.ending()))
}

#[test]
fn a_trace_cut_anywhere_after_its_head_gives_all_whole_lines() {
    let trace = trace_of(3);
    let (whole, _) = read(&trace).expect("undamaged");
    let head_end = 1 + trace.iter().position(|byte| *byte == b'\n').expect("a head");
    for cut in head_end..trace.len() {
        let (steps, ending) = read(&trace[..cut]).expect("a torn end is normal");
        let ended = trace[head_end..cut].split(|byte| *byte == b'\n').count() - 1;
        // A line that lacks only its end is whole.
        let complete = ended + usize::from(trace[cut] == b'\n');
        assert_eq!(steps, whole[..complete], "cut at byte {cut}");
        let between_lines = trace[cut - 1] == b'\n' || trace[cut] == b'\n';
        assert_eq!(ending == Some(Ending::Whole), between_lines, "cut at byte {cut}");
    }
}

#[test]
fn a_cut_compressed_trace_gives_what_can_be_unpacked() {
    let packed = packed(&trace_of(3000));
    let (steps, ending) = read(&packed[..packed.len() / 2]).expect("a torn end is normal");
    assert!((100..3000).contains(&steps.len()), "{}", steps.len());
    assert!(matches!(ending, Some(Ending::Torn { .. })));
}

#[test]
fn zeros_at_the_end_as_a_power_cut_leaves_them_are_a_torn_line() {
    let mut trace = trace_of(3);
    trace.extend([0; 4096]);
    let (steps, ending) = read(&trace).expect("a torn end is normal");
    assert_eq!((steps.len(), ending), (3, Some(Ending::Torn { line: 5 })));
}

#[test]
fn damage_in_the_middle_is_an_error_with_its_line() {
    let text = String::from_utf8(trace_of(5)).expect("JSON");
    let mut lines: Vec<&str> = text.lines().collect();
    lines[3] = &lines[3][..lines[3].len() / 2];
    let damaged = lines.join("\n") + "\n";
    let error = read(damaged.as_bytes()).expect_err("damaged").to_string();
    assert!(error.starts_with("line 4: "), "{error}");
}

#[test]
fn damage_is_told_by_its_column_and_by_one_line_number_alone() {
    let text = String::from_utf8(trace_of(2)).expect("JSON");
    let mut lines: Vec<&str> = text.lines().collect();
    let last = lines.pop().expect("a step");
    let cut = &last[..last.len() - 10];
    lines.push(cut);
    let damaged = lines.join("\n") + "\n";
    let error = read(damaged.as_bytes()).expect_err("damaged").to_string();
    assert!(error.starts_with(&format!("line {}: ", lines.len())), "{error}");
    assert!(error.ends_with(&format!(", in column {}", cut.len())), "{error}");
    assert_eq!(error.matches("line").count(), 1, "{error}");
}

#[test]
fn a_whole_line_that_says_what_cannot_be_is_an_error_with_its_reason() {
    let text = String::from_utf8(trace_of(2)).expect("JSON");
    let wrongs = [
        ("\"climbing\"", "\"melting\"", "no phase is called \"melting\""),
        (
            "\"words\":[4064,1500]",
            "\"reading_c\":4064.5,\"cold_junction_c\":20",
            "outside the range of a temperature",
        ),
        ("\"words\":[4064,1500]", "\"words\":[1,2],\"emf_mv\":3", "probes: give words, or"),
        ("\"on\":[1]", "\"on\":[8]", "on: there is no bank 8"),
        ("\"shut\"", "\"ajar\"", "no contact is called \"ajar\""),
    ];
    for (right, wrong, reason) in wrongs {
        let damaged: Vec<String> = text
            .lines()
            .enumerate()
            .map(|(number, line)| if number == 2 { line.replace(right, wrong) } else { line.to_owned() })
            .collect();
        let error = read((damaged.join("\n") + "\n").as_bytes()).expect_err(wrong).to_string();
        assert!(error.starts_with("line 3: ") && error.contains(reason), "{error}");
    }
}

#[test]
fn fields_of_later_software_are_passed_over() {
    let text = String::from_utf8(trace_of(3)).expect("JSON");
    let later = text
        .replace("\"did\":{", "\"did\":{\"draught_pa\":-3.5,")
        .replace("\"saw\":{", "\"weather\":[{\"rain\":true}],\"saw\":{");
    assert_eq!(read(later.as_bytes()).expect("readable").0, read(text.as_bytes()).expect("readable").0);
}

#[test]
fn an_unknown_version_another_file_and_an_empty_one_are_refused_in_words() {
    let text = String::from_utf8(trace_of(1)).expect("JSON").replace("\"version\":1,", "\"version\":2,");
    let refusals = [
        (text.as_bytes(), "format version 2; this software reads version 1"),
        (b"{\"colour\":\"blue\"}\n", "this is no trace"),
        (b"GIF89a", "this is no trace"),
        (b"", "not even its head"),
    ];
    for (bytes, reason) in refusals {
        let error = read(bytes).expect_err(reason).to_string();
        assert!(error.contains(reason), "{error}");
    }
}

#[test]
fn a_head_that_contradicts_itself_is_refused() {
    let text = String::from_utf8(trace_of(0)).expect("JSON");
    let contradictions = [
        ("[\"middle\"]", "[]", "0 names for 1 probes"),
        ("\"at_c\":1200.0", "\"at_c\":-5.0", "probes: calibration point 2 is not hotter"),
        ("2026-11-25\"}", "2026-02-30\"}", "calibrated: \"2026-02-30\" is no day"),
        ("\"probe\":0}]", "\"probe\":1}]", "a bank is governed by probe 1, of 1"),
        ("\"rate_c_per_h\":60.0", "\"rate_c_per_h\":-60.0", "segment 1: a climb's rate is above zero"),
        ("\"power_ratio\":0.98", "\"power_ratio\":98.0", "power_ratio: outside what any kiln can have"),
        ("\"to_c\":120.0,", "", "a climb ends either at to_c or on to_cone"),
    ];
    for (right, wrong, reason) in contradictions {
        let damaged = text.replace(right, wrong);
        assert_ne!(damaged, text, "{right}");
        let error = read(damaged.as_bytes()).expect_err(wrong).to_string();
        assert!(error.contains(reason), "{error}");
    }
}

#[test]
fn a_line_without_end_fills_no_memory() {
    let mut trace = trace_of(1);
    trace.extend(std::iter::repeat_n(b' ', 3 << 20));
    let error = read(&trace).expect_err("endless").to_string();
    assert!(error.starts_with("line 3: longer than"), "{error}");
}

proptest! {
    #[test]
    fn flipped_bits_never_panic(flips in prop::collection::vec((any::<prop::sample::Index>(), 0..8_u8), 1..6)) {
        for mut bytes in [trace_of(4), packed(&trace_of(4))] {
            for (place, bit) in &flips {
                let place = place.index(bytes.len());
                bytes[place] ^= 1 << bit;
            }
            let _ = read(&bytes);
            let _ = TraceReader::new(&bytes[..]).and_then(Curve::read);
        }
    }

    #[test]
    fn noise_never_panics(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = read(&bytes);
        let _ = trace::import_csv(&bytes[..], &common::head(), Vec::new());
        let _ = trace::Expectations::parse(&String::from_utf8_lossy(&bytes));
    }
}
