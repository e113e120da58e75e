//! What is written is what is read, to the bit, for every kind of line.

mod common;

use control::{
    Carried, ClimbEnd, Contact, Decision, Evidence, Expected, Finding, Interlock, Left, Order, Outcome, Part,
    Phase, Refusal, Severity,
};
use proptest::option;
use proptest::prelude::*;
use pyrometry::amplifier::{ChipFaults, Report, Said, Spread};
use pyrometry::cone::Cone;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Amps, Celsius, CelsiusDelta, Duty, Joules, Millis, Millivolts};
use trace::wire::{Answer, Name, Quantity};
use trace::{Comparison, Head, Seen, TraceReader, TraceWriter, replay_with};

fn quantity<T: Quantity + std::fmt::Debug>(low: f64, high: f64) -> impl Strategy<Value = T> + Clone {
    prop_oneof![Just(low), Just(high), low..=high]
        .prop_map(|number| T::checked(number).expect("within its range"))
}

fn celsius() -> impl Strategy<Value = Celsius> + Clone {
    quantity(-273.15, 3000.0)
}

fn number() -> impl Strategy<Value = f64> {
    prop::num::f64::ANY
}

fn millis() -> impl Strategy<Value = Millis> {
    prop_oneof![0..200_000_000_u64, Just(u64::MAX)].prop_map(Millis::new)
}

fn cone() -> impl Strategy<Value = Cone> {
    prop::sample::select(Cone::ALL.to_vec())
}

fn report() -> impl Strategy<Value = Report> {
    let said = prop_oneof![
        Just(Said::Nothing),
        any::<(i32, i32)>().prop_map(|(junction, cold_junction)| Said::Words { junction, cold_junction }),
        (celsius(), celsius())
            .prop_map(|(junction, cold_junction)| Said::Reading { junction, cold_junction }),
        (quantity::<Millivolts>(-1000.0, 1000.0), celsius())
            .prop_map(|(emf, cold_junction)| Said::Emf { emf, cold_junction }),
    ];
    let faults = prop::sample::subsequence(ChipFaults::ALL.to_vec(), 0..=ChipFaults::ALL.len())
        .prop_map(|faults| faults.into_iter().fold(ChipFaults::NONE, |set, (fault, _)| set.with(fault)));
    let spread = (any::<u32>(), Spread::SAMPLES_LEAST..=Spread::SAMPLES_MOST)
        .prop_map(|(steps, samples)| Spread::new(steps, samples).expect("so many samples"));
    (said, faults, option::of(spread)).prop_map(|(said, faults, spread)| Report { said, faults, spread })
}

fn order() -> impl Strategy<Value = Order> {
    prop_oneof![
        Just(Order::Stay),
        Just(Order::CarryOn),
        Just(Order::ShutOff),
        Just(Order::ClearTrip),
        Just(Order::NextSegment),
        any::<u16>().prop_map(Order::AddMinutes),
        Just(Order::EndClimb),
        (cone(), 0..=180_u8).prop_map(|(cone, bend_deg)| Order::ConeSeen { cone, bend_deg }),
    ]
}

fn outcome() -> impl Strategy<Value = Outcome> {
    prop_oneof![
        Just(Outcome::Taken),
        Just(Outcome::Refused(Refusal::NotInThisPhase)),
        Just(Outcome::Refused(Refusal::CauseStillThere)),
        Just(Outcome::Refused(Refusal::TooLate)),
        millis().prop_map(|most| Outcome::Refused(Refusal::TooLong(most))),
        millis().prop_map(|most| Outcome::Refused(Refusal::StayTooLong(most))),
    ]
}

fn finding() -> impl Strategy<Value = Finding> {
    let interlock = prop::sample::select(Interlock::ALL.to_vec());
    let severity = prop::sample::select(vec![Severity::Notice, Severity::Withhold, Severity::Trip]);
    let evidence =
        (number(), number(), millis()).prop_map(|(seen, bound, lasted)| Evidence { seen, bound, lasted });
    let part = prop_oneof![(0..4_u8).prop_map(Part::Probe), (0..8_u8).prop_map(Part::Bank)];
    (interlock, severity, option::of(part), evidence)
        .prop_map(|(interlock, severity, part, evidence)| Finding { interlock, severity, part, evidence })
}

fn few<T: std::fmt::Debug, const N: usize>(
    item: impl Strategy<Value = T>,
) -> impl Strategy<Value = heapless::Vec<T, N>> {
    prop::collection::vec(item, 0..=N).prop_map(|items| items.into_iter().collect())
}

fn expected() -> impl Strategy<Value = Expected> {
    (millis(), option::of(quantity::<Joules>(0.0, 1e12)))
        .prop_map(|(lasts, energy)| Expected { lasts, energy })
}

fn seen() -> impl Strategy<Value = Seen> {
    let contact =
        || prop::sample::select(vec![Contact::NotFitted, Contact::Shut, Contact::Open, Contact::Unreadable]);
    let amps = prop::array::uniform8(option::of(quantity::<Amps>(0.0, 1e4)));
    (millis(), few(report()), contact(), contact(), amps, few(order()), option::of(expected())).prop_map(
        |(at, probes, lid, contactor, amps, orders, forecast)| Seen {
            at,
            probes,
            lid,
            contactor,
            amps,
            orders,
            forecast,
        },
    )
}

prop_compose! {
    fn decision()(
        at in millis(),
        phase in prop::sample::select(Phase::ALL.to_vec()),
        segment in option::of(any::<u8>()),
        (setpoint, chamber) in (option::of(celsius()), option::of(celsius())),
        junctions in prop::array::uniform4(option::of(celsius())),
        lag in option::of(quantity::<CelsiusDelta>(-3000.0, 3000.0)),
        duty in prop::array::uniform8(prop_oneof![Just(Duty::OFF), quantity::<Duty>(0.0, 1.0)]),
        banks in any::<[bool; 8]>(),
        (permission, waiting) in any::<(bool, bool)>(),
        (trip, withheld) in (option::of(finding()), option::of(finding())),
        refuses_light_up in option::of(finding()),
        notices in few(finding()),
        cone in option::of(number()),
        climb_end in option::of(prop::sample::select(vec![
            ClimbEnd::Temperature, ClimbEnd::ConeDown, ClimbEnd::ConeNotDown, ClimbEnd::Ordered,
        ])),
        outcomes in few(outcome()),
    ) -> Decision {
        Decision {
            at, phase, segment, setpoint, junctions, chamber, lag, duty, banks, permission, waiting, trip,
            withheld, refuses_light_up, notices, cone, climb_end, outcomes,
        }
    }
}

fn left() -> impl Strategy<Value = Left> {
    prop_oneof![
        Just(Left::Way),
        millis().prop_map(|waited| Left::Wait { waited }),
        (celsius(), millis()).prop_map(|(at, left)| Left::Soak { at, left }),
        millis().prop_map(|left| Left::Watch { left }),
    ]
}

prop_compose! {
    fn carried()(
        segment in any::<u8>(),
        left in left(),
        chamber in celsius(),
        given in quantity::<Joules>(0.0, 1.0e9),
        [gap, elapsed, alight] in prop::array::uniform3(millis()),
        heated in option::of((celsius(), 0.0..1.0e5_f64)),
    ) -> Carried {
        let mut heat_work = HeatWork::NONE;
        if let Some((at, seconds)) = heated {
            heat_work.add(at, Millis::from_seconds_f64(seconds).expect("a span"));
            heat_work.break_off();
        }
        Carried { segment, left, chamber, gap, elapsed, given, alight, heat_work }
    }
}

proptest! {
    #[test]
    fn a_step_comes_back_the_same_to_the_bit(seen in seen(), decision in decision(), same_time in any::<bool>()) {
        let at = if same_time { seen.at } else { decision.at };
        let decision = Decision { at, ..decision };
        let mut writer = TraceWriter::new(Vec::new(), &common::head()).expect("memory");
        writer.step(&seen.observation(), &decision).expect("memory");
        let trace = writer.into_inner();

        let read = common::reader(&trace).next_step().expect("readable").expect("one step");
        prop_assert_eq!(&read.seen, &seen);
        let report = replay_with(common::reader(&trace), common::BUILD, |_| decision.clone(), |_| {});
        prop_assert_eq!(report.expect("readable").comparison, Comparison::Same);

        let mut again = TraceWriter::new(Vec::new(), &common::head()).expect("memory");
        again.step(&read.seen.observation(), &read.decided.expect("decided")).expect("memory");
        prop_assert_eq!(again.into_inner(), trace);
    }

    #[test]
    fn a_head_comes_back_the_same(
        carried in option::of(carried()),
        ceiling in celsius(),
        offset in quantity::<CelsiusDelta>(-25.0, 25.0),
        ware_j_per_k in 0.0..=1.0e6_f64,
        latched in option::of(finding().prop_filter("NaN equals nothing", |f| f.evidence.seen == f.evidence.seen && f.evidence.bound == f.evidence.bound)),
        (title, kiln) in any::<(String, String)>(),
        delay in millis(),
        at_rest in any::<bool>(),
        current in option::of(quantity::<Amps>(0.0, 1e4)),
        forecast in expected(),
    ) {
        let mut head = Head { title, kiln, ..common::head() };
        head.setup.kiln.ceiling = ceiling;
        head.setup.kiln.banks[0].current = current;
        head.setup.kiln.probes = [common::probe_with(offset)].into_iter().collect();
        let parameters = control::Parameters { ware_j_per_k, ..common::parameters() };
        head.setup.kiln.model = control::KilnModel::new(parameters).expect("a kiln");
        head.setup.start = control::Start { latched, carried };
        head.setup.firing = head.setup.firing.filter(|_| !at_rest).map(|firing| control::Firing { delay, forecast, ..firing });
        let trace = TraceWriter::new(Vec::new(), &head).expect("memory").into_inner();
        let reader = TraceReader::new(&trace[..]).expect("a trace");
        prop_assert_eq!(reader.head(), &head);
    }
}

#[test]
fn a_spread_is_written_beside_its_words_and_where_there_is_none_nothing_is() {
    let line = |spread| {
        let said = Said::Words { junction: 64_000, cold_junction: 1_500 };
        serde_json::to_string(&Answer::from(&Report { spread, ..Report::single(said, ChipFaults::NONE) }))
            .expect("JSON")
    };
    assert_eq!(line(None), r#"{"words":[64000,1500]}"#);
    assert_eq!(line(Spread::new(12, 4)), r#"{"words":[64000,1500],"spread":[12,4]}"#);
}

#[test]
fn a_spread_of_one_sample_or_of_nine_is_refused() {
    for samples in [1, 9] {
        let text = format!(r#"{{"words":[64000,1500],"spread":[12,{samples}]}}"#);
        let answer: Answer = serde_json::from_str(&text).expect("an answer");
        let fault = Report::try_from(answer).expect_err("no such spread");
        assert_eq!(fault.to_string(), format!("probes: a spread is of 2 to 8 samples, not of {samples}"));
    }
}

#[test]
fn every_name_leads_back_to_what_it_names() {
    fn leads_back<T: Name + PartialEq + std::fmt::Debug>(all: &[T]) {
        for one in all {
            assert_eq!(T::named(one.name()), Some(*one));
        }
        assert_eq!(T::named("no such name"), None);
    }
    leads_back(&Phase::ALL);
    leads_back(&Cone::ALL);
    leads_back(&[Contact::NotFitted, Contact::Shut, Contact::Open, Contact::Unreadable]);
    leads_back(&Interlock::ALL);
    leads_back(&pyrometry::amplifier::Amplifier::ALL);
    leads_back(&pyrometry::thermocouple::Thermocouple::ALL);
    leads_back(&[Severity::Notice, Severity::Withhold, Severity::Trip]);
    leads_back(&[control::SwitchKind::Mechanical, control::SwitchKind::SolidState]);
    leads_back(&[control::Certainty::Guessed, control::Certainty::Fitted]);
}

/// The sample in DESIGN's co-simulation protocol, which names its orders the same way.
#[test]
fn orders_are_spelt_as_in_co_simulation() {
    let text = r#"["stay","carry-on","shut-off","clear-trip","next-segment",{"add-minutes":15},"end-climb",{"cone-seen":{"cone":"6","bend_deg":45}}]"#;
    let orders: Vec<trace::wire::Order> = serde_json::from_str(text).expect("orders");
    let cone = Cone::parse("6").expect("a cone");
    assert_eq!(Order::from(orders[7]), Order::ConeSeen { cone, bend_deg: 45 });
    assert_eq!(Order::from(orders[5]), Order::AddMinutes(15));
    assert_eq!(serde_json::to_string(&orders).expect("JSON"), text);
}

#[test]
fn a_line_of_a_two_bank_kiln_is_at_most_350_bytes() {
    let trace = common::trace_of(40);
    let longest = trace.split(|byte| *byte == b'\n').skip(1).map(<[u8]>::len).max();
    assert!(longest.is_some_and(|bytes| bytes <= 350), "{longest:?}");
}
