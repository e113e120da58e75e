//! What must hold for every input.

use proptest::prelude::*;

use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::cone::Cone;
use pyrometry::heat_work::{Bend, HeatWork};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, CelsiusDelta, Millis, Millivolts, greater, lesser};

fn any_type() -> impl Strategy<Value = Thermocouple> {
    prop::sample::select(Thermocouple::ALL.to_vec())
}

fn any_chip() -> impl Strategy<Value = Amplifier> {
    prop::sample::select(Amplifier::ALL.to_vec())
}

fn any_celsius() -> impl Strategy<Value = Celsius> {
    (-273.15..3000.0_f64).prop_filter_map("a temperature", Celsius::new)
}

fn any_faults() -> impl Strategy<Value = ChipFaults> {
    prop::collection::vec(prop::sample::select(ChipFaults::ALL.to_vec()), 0..4)
        .prop_map(|faults| faults.into_iter().fold(ChipFaults::NONE, |set, (fault, _)| set.with(fault)))
}

/// Every value a source can give, registers of any bits included.
fn any_said() -> impl Strategy<Value = Said> {
    prop_oneof![
        Just(Said::Nothing),
        (any::<i32>(), any::<i32>())
            .prop_map(|(junction, cold_junction)| Said::Words { junction, cold_junction }),
        (-10000..10000_i32, -3000..3000_i32)
            .prop_map(|(junction, cold_junction)| Said::Words { junction, cold_junction }),
        (any_celsius(), any_celsius())
            .prop_map(|(junction, cold_junction)| Said::Reading { junction, cold_junction }),
        ((-1000.0..1000.0_f64).prop_filter_map("an emf", Millivolts::new), any_celsius())
            .prop_map(|(emf, cold_junction)| Said::Emf { emf, cold_junction }),
    ]
}

/// A temperature a share of the way up the type's rising range.
fn up(thermocouple: Thermocouple, share: f64) -> Celsius {
    let range = thermocouple.rising_range();
    *range.start() + (*range.end() - *range.start()) * share
}

proptest! {
    #[test]
    fn the_inverse_undoes_the_direct_function_to_a_millikelvin(
        thermocouple in any_type(), share in 0.0..=1.0_f64,
    ) {
        let junction = up(thermocouple, share);
        let emf = thermocouple.emf(junction).expect("inside the range");
        let back = thermocouple.junction(emf).expect("inside the range");
        prop_assert!((back - junction).magnitude().c() < 1e-3, "{thermocouple}: {junction} came back as {back}");
    }

    #[test]
    fn a_hotter_junction_never_gives_less_emf(
        thermocouple in any_type(), low in 0.0..=1.0_f64, high in 0.0..=1.0_f64,
    ) {
        let (low, high) = (up(thermocouple, lesser(low, high)), up(thermocouple, greater(low, high)));
        let emf = |t| thermocouple.emf(t).expect("inside the range");
        // 1 µV: the printed coefficients leave steps of that size where two pieces meet.
        prop_assert!(emf(high).mv() >= emf(low).mv() - 0.001);
    }

    #[test]
    fn whatever_a_source_says_is_a_temperature_or_a_fault(
        thermocouple in any_type(), amplifier in any_chip(), said in any_said(), faults in any_faults(),
    ) {
        let sensor = Sensor { thermocouple, amplifier, calibration: Calibration::NONE };
        if let Ok(measured) = sensor.measure(&Report::single(said, faults)) {
            prop_assert!(faults.is_none() && said != Said::Nothing);
            prop_assert!(thermocouple.range().contains(&measured.junction));
        }
    }

    #[test]
    fn every_bit_pattern_of_a_frame_is_a_temperature_or_a_fault(frame in any::<u32>()) {
        let words = frame.cast_signed();
        let (junction, cold_junction) = (words >> 18, (words << 16) >> 20);
        let sensor = Sensor {
            thermocouple: Thermocouple::K,
            amplifier: Amplifier::Max31855,
            calibration: Calibration::NONE,
        };
        let report = Report::single(Said::Words { junction, cold_junction }, ChipFaults::NONE);
        if let Ok(measured) = sensor.measure(&report) {
            prop_assert!(Thermocouple::K.range().contains(&measured.junction));
        }
    }

    #[test]
    fn a_healthy_chip_tells_the_truth_over_the_whole_range(
        amplifier in any_chip(), true_c in 20.0..1000.0_f64, box_c in 0.0..60.0_f64,
    ) {
        let sensor = Sensor { thermocouple: Thermocouple::K, amplifier, calibration: Calibration::NONE };
        let truth = Celsius::new(true_c).expect("a temperature");
        let cold = Celsius::new(box_c).expect("a temperature");
        let measured = sensor.measure(&sensor.would_say(truth, cold)).expect("inside the range");
        // Half a step of the junction and of the cold junction, each stretched by the slopes; a
        // MAX6675 keeps its cold junction to itself, which costs up to 1 °C from 0 to 60 °C.
        let own = if amplifier == Amplifier::Max6675 { 1.0 } else { 0.02 };
        let within = amplifier.junction_step().c() * 0.6 + own + 0.032;
        prop_assert!((measured.junction - truth).magnitude().c() < within, "{} for {true_c}", measured.junction);
    }

    #[test]
    fn heat_work_and_the_cone_only_grow(
        temperatures in prop::collection::vec(any_celsius(), 1..40), span_s in 0..100_000_u64
    ) {
        let mut work = HeatWork::NONE;
        for t in temperatures {
            let before = work;
            work.add(t, Millis::from_seconds(span_s));
            for cone in Cone::ALL {
                let done = work.progress(cone);
                prop_assert!(done.is_finite() && done >= before.progress(cone));
                let bend = Bend::after(done).degrees();
                prop_assert!((8.0 - 1e-9..=120.0).contains(&bend));
            }
            let reached = work.reached();
            prop_assert!(reached.is_none_or(|ordinal| (-21.0..=14.0).contains(&ordinal)));
            prop_assert!(reached >= before.reached());
            let spread = work.spread(CelsiusDelta::new(7.0).expect("a difference"));
            prop_assert!(spread.least <= spread.likely && spread.likely <= spread.most);
        }
    }
}
