//! Several samples a step, combined to one report.

use hal::sampling::Gathering;
use proptest::prelude::*;
use pyrometry::amplifier::{ChipFaults, Report, Said, Spread};
use pyrometry::units::Celsius;

const OPEN: Report = Report::single(Said::Nothing, ChipFaults::OPEN);
const NO_ANSWER: Report = Report::single(Said::Nothing, ChipFaults::NO_ANSWER);
const LOST: Report = Report::single(Said::Nothing, ChipFaults::CONFIGURATION_LOST);

const fn healthy(junction: i32, cold_junction: i32) -> Report {
    Report::single(Said::Words { junction, cold_junction }, ChipFaults::NONE)
}

/// A step of these samples, the last of which is its own.
fn step(gathering: &mut Gathering, samples: &[Report]) -> Report {
    let (last, between) = samples.split_last().expect("a step has a sample");
    for sample in between {
        gathering.take(sample);
    }
    gathering.close(last)
}

fn first_step(samples: &[Report]) -> Report {
    step(&mut Gathering::new(), samples)
}

fn words() -> impl Strategy<Value = Report> {
    // The MAX31856's registers: 19 and 14 bits.
    (-262_144..262_144, -8_192..8_192).prop_map(|(junction, cold_junction)| healthy(junction, cold_junction))
}

fn complaining() -> impl Strategy<Value = Report> {
    let faults = prop::sample::subsequence(ChipFaults::ALL.to_vec(), 1..=ChipFaults::ALL.len())
        .prop_map(|faults| faults.into_iter().fold(ChipFaults::NONE, |set, (fault, _)| set.with(fault)));
    (words(), any::<bool>(), faults).prop_map(|(report, has_words, faults)| {
        if has_words { Report { faults, ..report } } else { Report::single(Said::Nothing, faults) }
    })
}

fn samples() -> impl Strategy<Value = Vec<Report>> {
    prop::collection::vec(prop_oneof![3 => words(), 1 => complaining()], 1..=8)
}

fn junction(report: &Report) -> i32 {
    let Said::Words { junction, .. } = report.said else { panic!("{report:?} has no words") };
    junction
}

fn cold_junction(report: &Report) -> i32 {
    let Said::Words { cold_junction, .. } = report.said else { panic!("{report:?} has no words") };
    cold_junction
}

/// As many of all as are below `middle` are at most half of them, and so are those above.
fn is_median(middle: i32, all: &[i32]) -> bool {
    let below = all.iter().filter(|word| **word < middle).count();
    let above = all.iter().filter(|word| **word > middle).count();
    all.contains(&middle) && 2 * below <= all.len() && 2 * above <= all.len()
}

proptest! {
    #[test]
    fn a_healthy_step_reads_a_median_word_and_tells_the_range(samples in prop::collection::vec(words(), 1..=8)) {
        let report = first_step(&samples);
        let junctions: Vec<i32> = samples.iter().map(junction).collect();
        let cold_junctions: Vec<i32> = samples.iter().map(cold_junction).collect();
        prop_assert!(is_median(junction(&report), &junctions));
        prop_assert!(is_median(cold_junction(&report), &cold_junctions));
        let apart = junctions.iter().max().expect("one").abs_diff(*junctions.iter().min().expect("one"));
        prop_assert_eq!(report.spread, Spread::new(apart, u8::try_from(samples.len()).expect("eight")));
        prop_assert!(report.faults.is_none());
    }

    #[test]
    fn the_order_of_healthy_samples_makes_no_difference(
        (samples, shuffled) in prop::collection::vec(words(), 1..=8)
            .prop_flat_map(|samples| (Just(samples.clone()), Just(samples).prop_shuffle())),
    ) {
        prop_assert_eq!(first_step(&samples), first_step(&shuffled));
    }

    #[test]
    fn a_step_is_faulty_with_half_of_its_samples_or_a_lost_set_up_and_says_all_they_complain_of(samples in samples()) {
        let report = first_step(&samples);
        let faulty = samples.iter().filter(|sample| !sample.faults.is_none()).count();
        let all = samples.iter().fold(ChipFaults::NONE, |all, sample| all.with(sample.faults));
        if 2 * faulty >= samples.len() || all.has(ChipFaults::CONFIGURATION_LOST) {
            prop_assert_eq!(report, Report::single(Said::Nothing, all));
        } else {
            let whole: Vec<i32> =
                samples.iter().filter(|sample| sample.faults.is_none()).map(junction).collect();
            prop_assert!(is_median(junction(&report), &whole));
            prop_assert!(report.faults.is_none());
        }
    }

    #[test]
    fn sr_03_no_number_of_a_step_in_which_a_chip_lost_its_set_up_is_used_nor_of_the_second_after(
        before in prop::collection::vec(words(), 0..=3),
        after in prop::collection::vec(words(), 0..=3),
        next in prop::collection::vec(words(), 1..=4),
    ) {
        let mut gathering = Gathering::new();
        let lost: Vec<Report> = before.into_iter().chain([LOST]).chain(after).collect();
        prop_assert_eq!(step(&mut gathering, &lost), LOST);
        prop_assert_eq!(Some(&step(&mut gathering, &next)), next.last());
        prop_assert_eq!(step(&mut gathering, &next).spread, first_step(&next).spread, "settled");
    }

    #[test]
    fn after_whatever_came_before_a_whole_step_is_read_again(
        before in prop::collection::vec(samples(), 0..=20),
        whole in prop::collection::vec(words(), 1..=8),
    ) {
        let mut gathering = Gathering::new();
        for samples in &before {
            step(&mut gathering, samples);
        }
        let settled = step(&mut gathering, &whole);
        prop_assert!(settled.faults.is_none());
        prop_assert_eq!(step(&mut gathering, &whole), first_step(&whole));
    }
}

#[test]
fn of_an_even_count_the_upper_middle_is_read_and_each_register_by_itself() {
    let samples = [healthy(103, 7), healthy(100, 9), healthy(102, 8), healthy(101, 6)];
    assert_eq!(
        first_step(&samples),
        Report { spread: Spread::new(3, 4), ..healthy(102, 8) },
        "100 101 >102< 103 and 6 7 >8< 9"
    );
}

#[test]
fn one_sample_is_as_it_was_said() {
    assert_eq!(first_step(&[healthy(100, 8)]), healthy(100, 8));
    let celsius = |c| Celsius::new(c).expect("a temperature");
    let said = Said::Reading { junction: celsius(500.0), cold_junction: celsius(25.0) };
    let reading = Report::single(said, ChipFaults::NONE);
    assert_eq!(first_step(&[reading, reading]), reading, "a source without registers");
}

#[test]
fn samples_of_which_nobody_makes_a_step_are_pushed_out_by_the_latest_eight() {
    let many: Vec<Report> = (0..20).map(|word| healthy(word, word)).collect();
    assert_eq!(first_step(&many), Report { spread: Spread::new(7, 8), ..healthy(16, 16) });
}

#[test]
fn a_sample_without_words_and_without_complaint_is_no_answer() {
    assert_eq!(first_step(&[Report::single(Said::Nothing, ChipFaults::NONE)]), NO_ANSWER);
}

#[test]
fn sr_01_one_garbled_sample_in_ten_seconds_is_let_pass_and_a_second_is_not() {
    let whole = [healthy(100, 8); 4];
    let garbled = [healthy(100, 8), NO_ANSWER, healthy(100, 8), healthy(100, 8)];
    let second_after = |whole_between: usize| {
        let mut gathering = Gathering::new();
        assert!(step(&mut gathering, &garbled).faults.is_none());
        for _ in 0..whole_between {
            assert!(step(&mut gathering, &whole).faults.is_none());
        }
        step(&mut gathering, &garbled)
    };
    assert_eq!(second_after(0), NO_ANSWER);
    assert_eq!(second_after(9), NO_ANSWER);
    assert_eq!(second_after(10).spread, Spread::new(0, 3), "of the three that answered");
}

/// The faulty steps of two minutes with a wire that opens for 200 ms again and again, asked at 4 Hz.
fn faulty_steps(opens_each_ms: u32, first_ms: u32) -> Vec<u32> {
    let is_open = |ms: u32| ms >= first_ms && (ms - first_ms) % opens_each_ms < 200;
    let mut gathering = Gathering::new();
    let sample = |ms| if is_open(ms) { OPEN } else { healthy(100, 8) };
    (0..120_u32)
        .filter(|second| {
            let samples: Vec<Report> = [250, 500, 750, 1_000].map(|ms| sample(second * 1_000 + ms)).into();
            let report = step(&mut gathering, &samples);
            assert!(report.faults.is_none() || report == OPEN);
            !report.faults.is_none()
        })
        .collect()
}

#[test]
fn sr_01_a_loose_wire_that_opens_for_a_fifth_of_each_second_trips_within_ten_seconds_of_the_first() {
    // A little off a second, so that it is met by four samples in five, not by all or none.
    for opens_each_ms in [987, 1_013] {
        for phase_ms in (0..1_000).step_by(20) {
            let faulty = faulty_steps(opens_each_ms, 5_000 + phase_ms);
            // SR-01: three in a row, or five within ten.
            let trips = |at: usize, of: usize, within: u32| {
                faulty.get(at + of - 1).is_some_and(|last| last - faulty[at] < within)
            };
            let at = (0..faulty.len()).find_map(|at| {
                let row = trips(at, 3, 3).then(|| faulty[at + 2]);
                row.or_else(|| trips(at, 5, 10).then(|| faulty[at + 4]))
            });
            assert!(at.is_some_and(|second| second <= 15), "{opens_each_ms} {phase_ms}: {faulty:?}");
        }
    }
}

#[test]
fn sr_01_a_loose_wire_withholds_again_and_again_and_one_glitch_does_not() {
    let faulty = faulty_steps(5_000, 5_100);
    assert_eq!(faulty.first(), Some(&10), "each time but the first: {faulty:?}");
    assert_eq!(faulty.len(), 22);
    assert_eq!(faulty_steps(1_000_000, 5_100), [0; 0]);
}
