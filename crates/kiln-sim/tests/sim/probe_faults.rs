//! What each fault of a probe makes the amplifier say. Numbers are computed with the reference
//! functions of IEC 60584-1 (NIST SRD 60): a K loop with its cold junction at 30 °C.

use crate::common::{SECOND, all_on, quiet, run, suffering};
use kiln_sim::{Fault, KilnSpec, Plant, ProbeFault, ProbeSpec, Switches, Timed};
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::Millis;

const COLD_C: f64 = 30.0;

/// A kiln all at one temperature, its box at 30 °C and its terminal heads as asked.
fn at(junction_c: f64, head_c: f64, thermocouple: Thermocouple) -> KilnSpec {
    let mut spec = quiet();
    spec.ambient_c = COLD_C;
    spec.start_c = junction_c;
    spec.enclosure.head_share =
        if junction_c > head_c { (head_c - COLD_C) / (junction_c - COLD_C) } else { 0.0 };
    spec.probes = vec![ProbeSpec { thermocouple, noise_c: 0.0, ..ProbeSpec::default() }];
    spec
}

fn understood(spec: &KilnSpec, report: &Report) -> f64 {
    let ProbeSpec { thermocouple, amplifier, .. } = spec.probes[0];
    let sensor = Sensor { thermocouple, amplifier, calibration: Calibration::NONE };
    sensor.measure(report).expect("a usable report").junction.c()
}

fn read(spec: &KilnSpec, fault: ProbeFault) -> f64 {
    let report = suffering(spec, Fault::Probe(0, fault)).report(0);
    assert!(report.faults.is_none(), "no chip tells of {fault:?}");
    understood(spec, &report)
}

fn near(found_c: f64, expected_c: f64, within_c: f64) {
    assert!((found_c - expected_c).abs() <= within_c, "{found_c:.1} °C, not {expected_c} °C");
}

#[test]
fn a_sound_probe_reads_its_junction_to_the_chips_step() {
    let spec = at(1000.0, 60.0, Thermocouple::K);
    let report = Plant::new(&spec, 1).expect("a checked kiln").report(0);
    near(understood(&spec, &report), 1000.0, 0.01);
}

#[test]
fn wires_reversed_at_amplifier_or_head_read_about_twice_the_cold_junction_less_the_truth() {
    for fault in [ProbeFault::ReversedAtAmplifier, ProbeFault::ReversedAtHead] {
        near(read(&at(60.0, COLD_C, Thermocouple::K), fault), -1.0, 1.0);
        near(read(&at(200.0, COLD_C, Thermocouple::K), fault), -190.0, 2.0);
    }
}

#[test]
fn a_reversed_loop_beyond_the_types_range_is_out_of_range() {
    let spec = at(900.0, COLD_C, Thermocouple::K);
    let report = suffering(&spec, Fault::Probe(0, ProbeFault::ReversedAtAmplifier)).report(0);
    assert!(report.faults.has(ChipFaults::OUT_OF_RANGE));
}

#[test]
fn an_extension_swapped_at_both_ends_reads_low_by_twice_the_heads_warmth_and_right_when_cold() {
    let hot = at(1000.0, 60.0, Thermocouple::K);
    near(read(&hot, ProbeFault::ExtensionSwapped) - 1000.0, -61.0, 3.0);
    near(read(&at(COLD_C, COLD_C, Thermocouple::K), ProbeFault::ExtensionSwapped), COLD_C, 0.01);
}

#[test]
fn a_copper_extension_reads_low_by_about_the_heads_warmth() {
    near(read(&at(1000.0, 60.0, Thermocouple::K), ProbeFault::CopperExtension) - 1000.0, -30.5, 2.0);
}

#[test]
fn wires_that_touch_read_the_temperature_where_they_touch_and_no_chip_tells() {
    let spec = at(800.0, 60.0, Thermocouple::K);
    near(read(&spec, ProbeFault::ShortedAtAmplifier), COLD_C, 0.1);
    near(read(&spec, ProbeFault::ShortedUpstream { share: 0.0 }), 60.0, 0.1);
    near(read(&spec, ProbeFault::ShortedUpstream { share: 0.5 }), 430.0, 0.1);
}

#[test]
fn another_wire_than_the_chip_is_set_to_reads_as_the_reference_functions_say() {
    use Thermocouple::{K, N, R, S};
    for (truth_c, wire, set_to, reads_c) in [
        (1000.0, N, K, 884.0),
        (1250.0, N, K, 1126.0),
        (1250.0, S, K, 333.0),
        (1250.0, R, K, 366.0),
        (1250.0, R, S, 1363.0),
        (1250.0, S, R, 1151.0),
    ] {
        let spec = at(truth_c, COLD_C, set_to);
        near(read(&spec, ProbeFault::WrongWire { actual: wire }), reads_c, 1.0);
    }
}

#[test]
fn a_cold_junction_ten_degrees_too_warm_reads_k_about_ten_and_s_about_five_high() {
    for truth_c in [200.0, 700.0, 1250.0] {
        let k =
            read(&at(truth_c, COLD_C, Thermocouple::K), ProbeFault::ColdJunctionOff { c: 10.0 }) - truth_c;
        assert!((9.6..=11.5).contains(&k), "{k:.2} °C at {truth_c} °C");
    }
    let s = read(&at(1250.0, COLD_C, Thermocouple::S), ProbeFault::ColdJunctionOff { c: 10.0 }) - 1250.0;
    assert!((4.9..=6.1).contains(&s), "{s:.2} °C");
}

#[test]
fn open_and_shorted_circuits_are_told_by_the_chips_that_look_for_them() {
    for (amplifier, ground, supply) in [
        (Amplifier::Max31855, ChipFaults::SHORT_TO_GROUND, ChipFaults::SHORT_TO_SUPPLY),
        (Amplifier::Max31856, ChipFaults::SHORT_TO_GROUND, ChipFaults::SHORT_TO_SUPPLY),
        (Amplifier::Mcp9600, ChipFaults::NONE, ChipFaults::OUT_OF_RANGE),
    ] {
        let mut spec = at(800.0, COLD_C, Thermocouple::K);
        spec.probes[0].amplifier = amplifier;
        let faults = |fault| suffering(&spec, Fault::Probe(0, fault)).report(0).faults;
        assert_eq!(faults(ProbeFault::Open), ChipFaults::OPEN);
        assert_eq!(faults(ProbeFault::ShortToGround), ground);
        assert_eq!(faults(ProbeFault::ShortToSupply), supply);
    }
}

#[test]
fn a_dead_chip_does_not_answer_and_recovers_when_the_fault_is_over() {
    let mut plant = Plant::new(&quiet(), 1).expect("a checked kiln");
    let fault = Fault::Probe(0, ProbeFault::ChipDead);
    let timed = Timed { onset: Millis::from_seconds(5), until: Some(Millis::from_seconds(8)), fault };
    plant.schedule(&[timed]).expect("a possible fault");
    let mut dead = Vec::new();
    for second in 0..12 {
        plant.step(SECOND, &Switches::default());
        if plant.report(0).faults.has(ChipFaults::NO_ANSWER) {
            dead.push(second);
        }
    }
    assert_eq!(dead, [5, 6, 7]);
}

#[test]
fn a_reset_chip_reads_type_s_wire_as_type_k_and_its_configuration_is_not_the_one_written() {
    let spec = at(1250.0, COLD_C, Thermocouple::S);
    let report = suffering(&spec, Fault::Probe(0, ProbeFault::ChipReset)).report(0);
    assert!(report.faults.has(ChipFaults::CONFIGURATION_LOST));
    let as_k = Report { faults: ChipFaults::NONE, ..report };
    near(understood(&at(1250.0, COLD_C, Thermocouple::K), &as_k), 333.0, 1.0);
}

#[test]
fn a_stuck_chip_repeats_its_last_words_and_a_sound_one_never_for_long() {
    let longest_still = |fault: Option<Fault>| {
        let mut plant = Plant::new(&KilnSpec::default(), 1).expect("a checked kiln");
        let timed = fault.map(|fault| Timed { onset: Millis::from_seconds(100), until: None, fault });
        plant.schedule(timed.as_slice()).expect("a possible fault");
        let (mut last, mut still, mut longest) = (Said::Nothing, 0, 0);
        for _ in 0..200 {
            plant.step(SECOND, &Switches::default());
            let said = plant.report(0).said;
            still = if said == last { still + 1 } else { 0 };
            last = said;
            longest = longest.max(still);
        }
        longest
    };
    assert!(longest_still(None) < 5);
    assert!(longest_still(Some(Fault::Probe(0, ProbeFault::Stuck))) >= 99);
}

/// From 1000 °C in a room a junction falls faster than 1 °C/s for ten seconds (SR-09).
#[test]
fn a_junction_pulled_out_falls_faster_than_a_shut_kiln_can() {
    let mut spec = quiet();
    spec.start_c = 1000.0;
    let mut plant = suffering(&spec, Fault::Probe(0, ProbeFault::PulledOut { share: 1.0 }));
    let mut sound = Plant::new(&spec, 1).expect("a checked kiln");
    run(&mut plant, 10, &all_on());
    run(&mut sound, 10, &Switches::default());
    assert!(plant.truth().junction(0).expect("a probe").c() < 900.0);
    assert!(sound.truth().junction(0).expect("a probe").c() > 990.0);
}

#[test]
fn drift_and_jump_shift_the_reading_and_not_the_kiln() {
    let spec = quiet();
    let drift = ProbeFault::Drift { c_per_h: -10.0, most_c: 15.0 };
    let mut plant = suffering(&spec, Fault::Probe(0, drift));
    run(&mut plant, 3600, &Switches::default());
    let truth_c = plant.truth().junction(0).expect("a probe").c();
    near(understood(&spec, &plant.report(0)) - truth_c, -10.0, 0.02);
    run(&mut plant, 7200, &Switches::default());
    near(understood(&spec, &plant.report(0)) - truth_c, -15.0, 0.02);
    near(read(&spec, ProbeFault::Jump { c: 25.0 }), spec.start_c + 25.0, 0.01);
}

#[test]
fn growing_noise_and_switching_noise_have_the_deviation_asked_for() {
    let deviation = |fault: ProbeFault, switches: &Switches| {
        let spec = quiet();
        let mut plant = suffering(&spec, Fault::Probe(0, fault));
        run(&mut plant, 10, switches);
        let truth_c = plant.truth().junction(0).expect("a probe").c();
        let square: f64 =
            (0..4000).map(|_| understood(&spec, &plant.report(0)) - truth_c).map(|error| error * error).sum();
        (square / 4000.0).sqrt()
    };
    let growing = ProbeFault::NoiseGrowing { c_per_h: 3600.0, most_c: 3.0 };
    near(deviation(growing, &Switches::default()), 3.0, 0.15);
    let switching = ProbeFault::SwitchingNoise { c: 2.0 };
    near(deviation(switching, &Switches::default()), 0.0, 0.01);
    near(deviation(switching, &all_on()), 2.0, 0.1);
}
