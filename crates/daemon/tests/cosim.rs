//! The co-simulation protocol, spoken to the real program.

mod common;

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};

use common::{config, saggar};
use serde_json::{Value, json};

struct Talk {
    child: Child,
    to: Option<ChildStdin>,
    from: BufReader<ChildStdout>,
}

impl Talk {
    fn begin(schedule: &str, more: &[&str]) -> Self {
        let mut child = saggar()
            .arg("cosim")
            .arg("--kiln")
            .arg(config("kilns/simulated.toml"))
            .arg("--schedule")
            .arg(config("schedules").join(schedule))
            .args(more)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("cosim starts");
        let to = child.stdin.take();
        let from = BufReader::new(child.stdout.take().expect("its output"));
        Self { child, to, from }
    }

    /// Waits for the answer before the next line: without a flush there would be none.
    fn say(&mut self, line: &str) -> Value {
        let to = self.to.as_mut().expect("open");
        writeln!(to, "{line}").expect("said");
        self.hear()
    }

    fn hear(&mut self) -> Value {
        let mut answer = String::new();
        self.from.read_line(&mut answer).expect("answered");
        serde_json::from_str(&answer).expect("an answer in JSON")
    }

    fn step(&mut self, t: f64, reading_c: f64) -> Value {
        let probe = json!({"reading_c": reading_c, "cold_junction_c": 22.0, "faults": []});
        self.say(
            &json!({"t": t, "probes": {"middle": probe}, "inputs": {}, "amps": null, "orders": []})
                .to_string(),
        )
    }

    fn order(&mut self, t: f64, reading_c: f64, order: &Value) -> Value {
        let probe = json!({"reading_c": reading_c, "cold_junction_c": 22.0, "faults": []});
        self.say(&json!({"t": t, "probes": {"middle": probe}, "orders": [order]}).to_string())
    }

    /// Ends the input; gives the summary and the exit code.
    fn end(mut self) -> (Value, Option<i32>) {
        drop(self.to.take());
        let summary = self.hear();
        let mut rest = String::new();
        self.from.read_line(&mut rest).expect("read");
        assert_eq!(rest, "", "nothing comes after the summary");
        (summary, self.child.wait().expect("ended").code())
    }

    fn exit(mut self) -> Option<i32> {
        self.child.wait().expect("ended").code()
    }
}

/// Noise below a chip's step, so that no reading counts as stuck.
fn wobble(second: u32) -> f64 {
    f64::from(second * 7919 % 13) * 0.01
}

#[test]
fn the_first_line_lights_the_firing_and_every_field_is_there() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    let first = talk.step(100.0, 21.0);
    for field in
        ["t", "phase", "setpoint_c", "duty", "banks", "contactor", "trip", "withheld", "notices", "cone"]
    {
        assert!(first.get(field).is_some(), "{field} in {first}");
    }
    assert_eq!((&first["t"], &first["phase"]), (&json!(100.0), &json!("climbing")));
    assert_eq!(
        (&first["trip"], &first["withheld"], &first["notices"]),
        (&Value::Null, &Value::Null, &json!([]))
    );
    assert!(first["banks"]["upper"].is_boolean() && first["duty"]["lower"].is_f64(), "{first}");
    let second = talk.step(101.0, 21.02);
    assert!(second["setpoint_c"].as_f64() > first["setpoint_c"].as_f64(), "the setpoint climbs");
    let (summary, exit) = talk.end();
    assert_eq!(exit, Some(0));
    assert_eq!((&summary["summary"]["trips"], &summary["summary"]["steps"]), (&json!([]), &json!(2)));
    for field in ["peak_c", "cone", "relay_operations", "tracking_rms_c"] {
        assert!(summary["summary"].get(field).is_some(), "{field} in {summary}");
    }
}

#[test]
fn a_malformed_line_is_answered_by_an_error_and_ends_with_two() {
    let good = r#"{"reading_c":21.0,"cold_junction_c":22.0,"faults":[]}"#;
    for (line, named) in [
        ("{".to_owned(), "line 1"),
        ("nonsense".to_owned(), "line 1"),
        (r#"{"probes":{}}"#.to_owned(), "t"),
        (r#"{"t":1.0,"probes":{}}"#.to_owned(), "middle"),
        (format!(r#"{{"t":1.0,"probes":{{"middle":{good},"roof":{good}}}}}"#), "roof"),
        (format!(r#"{{"t":1.0,"probes":{{"middle":{good}}},"amps":{{"attic":3.0}}}}"#), "attic"),
        (format!(r#"{{"t":1.0,"probes":{{"middle":{good}}},"orders":["explode"]}}"#), "explode"),
        (
            r#"{"t":1.0,"probes":{"middle":{"reading_c":null,"cold_junction_c":22.0}}}"#.to_owned(),
            "reading_c",
        ),
        (r#"{"t":1.0,"probes":{"middle":{"reading_c":99999,"cold_junction_c":22.0}}}"#.to_owned(), "line 1"),
    ] {
        let mut talk = Talk::begin("bisque.toml", &[]);
        let answer = talk.say(&line);
        let error = answer["error"].as_str().unwrap_or_else(|| panic!("{line} gave {answer}")).to_owned();
        assert!(error.contains(named), "{line}: {error}");
        assert_eq!(talk.exit(), Some(2), "{line}");
    }
}

#[test]
fn time_that_stands_still_is_malformed() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    talk.step(5.0, 21.0);
    assert!(talk.step(5.0, 21.0)["error"].is_string());
    assert_eq!(talk.exit(), Some(2));
}

#[test]
fn sr_01_an_open_thermocouple_withholds_at_once_and_in_the_line_of_its_trip_all_is_off() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    for second in 0..120 {
        talk.step(f64::from(second), 21.0 + f64::from(second) / 60.0 + wobble(second));
    }
    let open = |talk: &mut Talk, t: u32| {
        talk.say(&json!({"t": t, "probes": {"middle": {"reading_c": null, "cold_junction_c": null, "faults": ["open"]}}}).to_string())
    };
    let first = open(&mut talk, 120);
    assert_eq!(
        (&first["withheld"], &first["trip"]),
        (&json!("broken-thermocouple"), &Value::Null),
        "{first}"
    );
    assert_eq!(first["banks"], json!({"lower": false, "upper": false}));
    let mut last = first;
    for t in 121..130 {
        last = open(&mut talk, t);
        if !last["trip"].is_null() {
            break;
        }
    }
    assert_eq!(last["trip"], "broken-thermocouple");
    assert_eq!((&last["phase"], &last["contactor"]), (&json!("tripped"), &json!(false)));
    assert_eq!(last["banks"], json!({"lower": false, "upper": false}));
    assert!(last["t"].as_f64() <= Some(123.0), "{last}");
    let (summary, _) = talk.end();
    assert_eq!(summary["summary"]["trips"][0]["trip"], "broken-thermocouple");
}

/// Speaks for an outside kiln whose contactor follows what the line before asked for, until `obeys` says no.
fn with_mirror(seconds: u32, obeys: impl Fn(u32) -> bool) -> Vec<Value> {
    let mut talk = Talk::begin("bisque.toml", &[]);
    let mut contactor = "open";
    (0..seconds)
        .map(|second| {
            let reading_c = 21.0 + f64::from(second) / 60.0 + wobble(second);
            let probe = json!({"reading_c": reading_c, "cold_junction_c": 22.0, "faults": []});
            let inputs = json!({"contactor": contactor});
            let answer =
                talk.say(&json!({"t": second, "probes": {"middle": probe}, "inputs": inputs}).to_string());
            if obeys(second) {
                contactor = if answer["contactor"] == true { "closed" } else { "open" };
            }
            answer
        })
        .collect()
}

#[test]
fn sr_29_an_outside_kilns_contactor_is_seen_to_follow_and_one_that_does_not_trips_with_all_off() {
    let off = json!({"lower": false, "upper": false});
    let healthy = with_mirror(120, |_| true);
    assert_eq!((&healthy[0]["contactor"], &healthy[0]["banks"]), (&json!(true), &off));
    assert!(healthy.iter().any(|answer| answer["banks"] != off));
    assert!(healthy.iter().all(|answer| answer["trip"].is_null() && answer["withheld"].is_null()));
    let stuck = with_mirror(30, |_| false);
    assert!(stuck.iter().all(|answer| answer["banks"] == off));
    assert_eq!(stuck[5]["withheld"], "contactor-not-following");
    let last = stuck.last().expect("answers");
    assert_eq!((&last["trip"], &last["contactor"]), (&json!("contactor-not-following"), &json!(false)));
}

#[test]
fn whole_numbers_may_be_written_with_a_point() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    talk.step(0.0, 21.0);
    let seen = json!({"cone-seen": {"cone": "04", "bend_deg": 45.0}});
    assert_eq!(talk.order(1.0, 21.05, &seen)["outcomes"], json!(["taken"]));
    assert_eq!(
        talk.order(2.0, 21.05, &json!({"add-minutes": 15.0}))["outcomes"][0]["refused"],
        "not-in-this-phase"
    );
}

#[test]
fn a_bend_beyond_what_a_cone_can_do_is_malformed() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    talk.step(0.0, 21.0);
    let answer = talk.order(1.0, 21.05, &json!({"cone-seen": {"cone": "04", "bend_deg": 250}}));
    assert!(answer["error"].as_str().is_some_and(|why| why.contains("0 to 180")), "{answer}");
}

#[test]
fn a_probe_given_twice_is_malformed() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    let twice = r#"{"t":0.0,"probes":{"middle":{"reading_c":20.0,"cold_junction_c":20.0},"middle":{"reading_c":900.0,"cold_junction_c":20.0}}}"#;
    let answer = talk.say(twice);
    assert!(answer["error"].as_str().is_some_and(|why| why.contains("given twice")), "{answer}");
}

#[test]
fn orders_are_obeyed_in_the_line_they_come_with() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    talk.step(0.0, 21.0);
    let staying = talk.order(1.0, 21.05, &json!("stay"));
    assert_eq!((&staying["phase"], &staying["outcomes"]), (&json!("staying"), &json!(["taken"])));
    let refused = talk.order(2.0, 21.01, &json!("stay"));
    assert_eq!(refused["outcomes"][0]["refused"], "not-in-this-phase");
    let added = talk.order(3.0, 21.03, &json!({"add-minutes": 10}));
    assert_eq!(added["outcomes"][0]["refused"]["stay-too-long"]["most_ms"], 10_800_000);
    assert_eq!(
        talk.order(4.0, 21.02, &json!({"cone-seen": {"cone": "04", "bend_deg": 45}}))["outcomes"],
        json!(["taken"])
    );
    assert_eq!(talk.order(5.0, 21.04, &json!("carry-on"))["phase"], "climbing");
    assert_eq!(talk.order(6.0, 21.02, &json!("end-climb"))["phase"], "soaking");
    let off = talk.order(7.0, 21.03, &json!("shut-off"));
    assert_eq!((&off["phase"], &off["contactor"]), (&json!("cooling"), &json!(false)));
}

#[test]
fn an_emf_is_as_good_as_a_reading() {
    let mut talk = Talk::begin("bisque.toml", &[]);
    // IEC 60584-1, type K: 4.096 mV at 100 °C against 0 °C.
    let said = talk.say(r#"{"t":0,"probes":{"middle":{"emf_mv":4.096,"cold_junction_c":0.0}}}"#);
    let chamber_c = said["chamber_c"].as_f64().expect("a temperature");
    assert!((chamber_c - 100.0).abs() < 0.05, "{chamber_c}");
}

/// A kiln not of this project: one mass, radiation and conduction to the room, a lagging junction.
struct OtherKiln {
    mass_c: f64,
    junction_c: f64,
}

impl OtherKiln {
    fn second(&mut self, power_w: f64) {
        const CAPACITY_J_PER_K: f64 = 55_000.0;
        let excess_k = self.mass_c - 20.0;
        let loss_w = 2.2 * excess_k + 0.0016 * excess_k * excess_k;
        self.mass_c += (power_w - loss_w) / CAPACITY_J_PER_K;
        self.junction_c += (self.mass_c - self.junction_c) / 12.0;
    }
}

#[test]
fn a_kiln_not_of_this_project_is_fired_to_the_end_and_its_trace_replays_to_the_bit() {
    let folder = tempfile::tempdir().expect("a folder");
    let trace = folder.path().join("firing.jsonl");
    let mut talk = Talk::begin("lustre.toml", &["--trace", trace.to_str().expect("a path")]);
    let mut kiln = OtherKiln { mass_c: 20.0, junction_c: 20.0 };
    let mut phase = Value::Null;
    for second in 0..200_000_u32 {
        let said = talk.step(f64::from(second), kiln.junction_c + wobble(second));
        phase = said["phase"].clone();
        assert_eq!(said["trip"], Value::Null, "{said}");
        if phase == "cool-enough-to-open" {
            break;
        }
        let on = |bank: &str| said["banks"][bank] == true && said["contactor"] == true;
        let power_w = ["upper", "lower"].into_iter().filter(|bank| on(bank)).count();
        kiln.second([0.0, 4800.0, 9600.0][power_w]);
    }
    assert_eq!(phase, "cool-enough-to-open");
    let (summary, exit) = talk.end();
    assert_eq!(exit, Some(0));
    assert!(summary["summary"]["peak_c"].as_f64().is_some_and(|peak_c| peak_c > 690.0), "{summary}");
    let replay = saggar().arg("replay").arg(&trace).output().expect("replayed");
    let said = String::from_utf8_lossy(&replay.stdout).into_owned();
    assert!(replay.status.success() && said.contains("to the bit"), "{said}");
}

#[test]
fn an_earlier_trace_that_is_none_is_refused() {
    let talk =
        Talk::begin("bisque.toml", &["--after", config("kilns/simulated.toml").to_str().expect("a path")]);
    assert_eq!(talk.exit(), Some(2));
}
