//! Logs of time and temperature become traces of inputs.

mod common;

use common::{head, reader};
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::units::{Celsius, Millis};
use trace::{Imported, import_csv};

fn reading(junction: f64, cold: f64) -> Report {
    let celsius = |number| Celsius::new(number).expect("a temperature");
    let said = Said::Reading { junction: celsius(junction), cold_junction: celsius(cold) };
    Report::single(said, ChipFaults::NONE)
}

#[test]
fn a_log_with_columns_of_its_own_is_imported() {
    let log = "\u{feff}note,temp_c,time_s\nbegin,20.5,1000\n,21.25,1001.5\nlost,,1008\n,23,1009\n";
    let mut trace = Vec::new();
    let imported = import_csv(log.as_bytes(), &head(), &mut trace).expect("a log");
    assert_eq!(imported, Imported { steps: 4, blanks: 1, longest_gap: Millis::new(6500) });
    let steps: Vec<_> = reader(&trace).collect::<Result<_, _>>().expect("a trace");
    assert!(steps.iter().all(|step| step.decided.is_none()));
    let at: Vec<u64> = steps.iter().map(|step| step.seen.at.ms()).collect();
    assert_eq!(at, [0, 1500, 8000, 9000]);
    assert_eq!(steps[1].seen.probes.as_slice(), [reading(21.25, 25.0)]);
    let lost = Report::single(Said::Nothing, ChipFaults::NO_ANSWER);
    assert_eq!(steps[2].seen.probes.as_slice(), [lost]);
}

#[test]
fn a_cold_junction_column_is_used_where_it_is_filled() {
    let log = "time_s,temp_c,cold_junction_c\n0,20,18.5\n1,20,\n";
    let mut trace = Vec::new();
    import_csv(log.as_bytes(), &head(), &mut trace).expect("a log");
    let steps: Vec<_> = reader(&trace).collect::<Result<_, _>>().expect("a trace");
    assert_eq!(steps[0].seen.probes.as_slice(), [reading(20.0, 18.5)]);
    assert_eq!(steps[1].seen.probes.as_slice(), [reading(20.0, 25.0)]);
}

#[test]
fn every_mistake_is_told_with_its_line() {
    let mistakes = [
        ("time,temp_c\n0,1\n", "line 1: there is no column time_s"),
        ("time_s,temp_f\n0,1\n", "line 1: there is no column temp_c"),
        ("time_s,temp_c\n0,20\n1,warm\n", "line 3: temp_c \"warm\" is no number"),
        ("time_s,temp_c\n0,20\n1,4000\n", "line 3: temp_c 4000 is no temperature"),
        ("time_s,temp_c\n0,NaN\n", "line 2: temp_c NaN is no temperature"),
        ("time_s,temp_c\nnow,20\n", "line 2: time_s \"now\" is no number"),
        ("time_s,temp_c\ninf,20\n", "line 2: time_s inf is no time"),
        ("time_s,temp_c\n5,20\n4,20\n", "line 3: time_s 4 is not later than the row before"),
        ("time_s,temp_c\n5,20\n5,20\n", "line 3: time_s 5 is not later than the row before"),
        ("time_s,temp_c\n0,20,7\n", "line 2: "),
    ];
    for (log, reason) in mistakes {
        let error = import_csv(log.as_bytes(), &head(), Vec::new()).expect_err(log).to_string();
        assert!(error.starts_with(reason), "{log}{error}");
    }
}

#[test]
fn a_kiln_of_two_probes_takes_no_log_of_one_temperature() {
    let mut two = head();
    let probe = two.setup.kiln.probes[0];
    two.setup.kiln.probes.push(probe).expect("room");
    two.probes.push("lower".into());
    let error = import_csv(&b"time_s,temp_c\n"[..], &two, Vec::new()).expect_err("two probes").to_string();
    assert!(error.ends_with("this kiln has 2"), "{error}");
}
