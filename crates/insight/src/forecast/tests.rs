//! Forecasts of kilns whose behaviour is known otherwise.

use control::{Bank, Pace, Probe, Segment, SwitchKind, Target};
use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::cone::Cone;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{CelsiusPerHour, Watts};

use super::*;
use crate::{Body, Chamber, Lining, guess};

pub(crate) fn kiln(watts: f64) -> Kiln {
    let body = Body { chamber: Chamber::Volume { m3: 0.15 }, lining: Lining::SoftBrick, wall_m: 0.115 };
    let power = Watts::new(watts).unwrap();
    let sensor = Sensor {
        thermocouple: Thermocouple::K,
        amplifier: Amplifier::Max31856,
        calibration: Calibration::NONE,
    };
    let bank = Bank {
        power,
        current: None,
        switch: SwitchKind::SolidState,
        on_least: Millis::from_seconds(1),
        off_least: Millis::from_seconds(1),
        cycle_least: Millis::from_seconds(4),
        probe: 0,
    };
    Kiln {
        probes: [Probe { sensor }].into_iter().collect(),
        banks: [bank].into_iter().collect(),
        switching: control::Closeness::Sparing,
        ceiling: c(1300.0),
        supply_limit: power,
        firing_longest: Millis::from_hours(48),
        stay_longest: Millis::from_hours(3),
        open_below: c(80.0),
        model: guess(&body, power, 30.0).unwrap(),
    }
}

fn c(degrees: f64) -> Celsius {
    Celsius::new(degrees).unwrap()
}

fn climb(c_per_h: f64, to: f64, soak_minutes: u64) -> Segment {
    Segment::Climb {
        pace: Pace::Rate(CelsiusPerHour::new(c_per_h).unwrap()),
        target: Target::Temperature(c(to)),
        soak: Millis::from_minutes(soak_minutes),
    }
}

fn slow_cool(c_per_h: f64, to: f64) -> Segment {
    Segment::SlowCool { rate: CelsiusPerHour::new(c_per_h).unwrap(), to: c(to), soak: Millis::ZERO }
}

fn programme(segments: &[Segment]) -> Programme {
    Programme::new(segments.iter().copied().collect()).unwrap()
}

fn hours(span: Millis) -> f64 {
    span.hours()
}

#[test]
fn a_kiln_with_power_to_spare_takes_the_schedules_own_time() {
    let plan = programme(&[climb(100.0, 1020.0, 30), slow_cool(-50.0, 920.0)]);
    let forecast = forecast(&kiln(10_000.0), &plan, c(20.0));
    assert!((hours(forecast.duration) - 12.5).abs() < 0.05, "{}", hours(forecast.duration));
    assert!(
        forecast.segments.iter().all(|segment| segment.arrival == Arrival::AsWritten),
        "{:?}",
        forecast.segments
    );
    assert!((forecast.hottest.c() - 1020.0).abs() < 1.0);
    assert!(forecast.opens.is_some_and(|opens| opens > forecast.duration));
}

#[test]
fn a_weak_kiln_is_late_and_a_weaker_one_never_arrives() {
    let plan = programme(&[climb(300.0, 1200.0, 10)]);
    let late = forecast(&kiln(7_000.0), &plan, c(20.0));
    assert!(matches!(late.segments[0].arrival, Arrival::Late(_)), "{:?}", late.segments);
    let never = forecast(&kiln(1_500.0), &plan, c(20.0));
    let Arrival::Never(stalls) = never.segments[0].arrival else { panic!("{:?}", never.segments) };
    assert!(stalls.c() < 1100.0, "{stalls}");
}

#[test]
fn a_slow_cooling_faster_than_nature_waits_for_the_kiln() {
    let plan = programme(&[climb(150.0, 1200.0, 60), slow_cool(-900.0, 400.0)]);
    let forecast = forecast(&kiln(10_000.0), &plan, c(20.0));
    assert!(matches!(forecast.segments[1].arrival, Arrival::Late(_)), "{:?}", forecast.segments[1]);
}

#[test]
fn letting_fall_gives_no_heat_and_slows_as_it_cools() {
    let fall = |to| Segment::LetFall { to: c(to), soak: Millis::ZERO };
    let plan = programme(&[climb(150.0, 1200.0, 10), fall(1000.0), fall(800.0)]);
    let forecast = forecast(&kiln(10_000.0), &plan, c(20.0));
    assert!(forecast.end_of_heating <= forecast.segments[1].begins);
    let lasts = |index: usize| forecast.segments[index].ends.since(forecast.segments[index].begins);
    assert!(lasts(2) > lasts(1));
}

fn to_cone_6(no_hotter_than: f64, minutes: u64) -> Segment {
    Segment::Climb {
        pace: Pace::Rate(CelsiusPerHour::new(60.0).unwrap()),
        target: Target::Cone {
            cone: Cone::parse("6").unwrap(),
            no_hotter_than: c(no_hotter_than),
            at_most: Millis::from_minutes(minutes),
        },
        soak: Millis::ZERO,
    }
}

/// Orton's chart: large cone 6 ends at 1222 °C at 60 °C/h. Cooling counts, so the peak is below.
#[test]
fn a_climb_to_cone_6_ends_where_cooling_brings_the_cone_down() {
    let falls =
        forecast(&kiln(10_000.0), &programme(&[climb(150.0, 1100.0, 0), to_cone_6(1240.0, 120)]), c(20.0));
    let plan = programme(&[climb(150.0, 1100.0, 0), to_cone_6(1240.0, 120), slow_cool(-80.0, 900.0)]);
    let cools = forecast(&kiln(10_000.0), &plan, c(20.0));
    for (forecast, coldest, hottest) in [(&falls, 1216.0, 1221.5), (&cools, 1205.0, 1213.0)] {
        let peak = forecast.hottest.c();
        assert!((coldest..hottest).contains(&peak), "{peak}");
        let unloaded = forecast.cone.unwrap();
        assert!((unloaded - 6.0).abs() < 0.05, "{unloaded}");
        assert_eq!(forecast.segments[1].arrival, Arrival::AsWritten);
    }
}

#[test]
fn a_cone_held_too_cold_is_waited_for_and_then_given_up() {
    let plan =
        |minutes| programme(&[climb(150.0, 1100.0, 0), to_cone_6(1190.0, minutes), slow_cool(-80.0, 900.0)]);
    let held = forecast(&kiln(10_000.0), &plan(180), c(20.0));
    assert!((held.cone.unwrap() - 6.0).abs() < 0.05, "{:?}", held.cone);
    let given_up = forecast(&kiln(10_000.0), &plan(10), c(20.0));
    assert!(matches!(given_up.segments[1].arrival, Arrival::ConeNotDown(_)), "{:?}", given_up.segments[1]);
    assert!(given_up.cone.unwrap() < 5.9, "{:?}", given_up.cone);
}

#[test]
fn each_segments_cone_shows_what_soak_and_slow_cooling_add() {
    let plan = programme(&[climb(150.0, 1100.0, 0), climb(60.0, 1222.0, 15), slow_cool(-83.0, 900.0)]);
    let forecast = forecast(&kiln(10_000.0), &plan, c(20.0));
    let [_, peak, cooling] = forecast.segments[..] else { panic!("{:?}", forecast.segments) };
    let soak = peak.cone_ends.unwrap() - peak.cone_arrives.unwrap();
    assert!((peak.cone_arrives.unwrap() - 6.0).abs() < 0.05, "{peak:?}");
    // By hand, from the chart's 60 and 150 °C/h end points of cone 6: K rises by e in
    // 1/0.044 °C above 1222 °C, so 15 min there do 0.55 to 0.66 of the cone again and are worth a
    // ramp carried 10 to 11.5 °C on, of the 17 °C to cone 7.
    assert!((0.55..0.75).contains(&soak), "{soak}");
    assert!(cooling.cone_ends.unwrap() > peak.cone_ends.unwrap() + 0.2, "{cooling:?}");
    assert!(forecast.cone >= cooling.cone_ends);
}

#[test]
fn what_is_left_is_the_soak_and_the_segments_after_it_and_falls_as_the_firing_goes_on() {
    let plan = programme(&[climb(100.0, 200.0, 30), climb(100.0, 500.0, 60)]);
    let kiln = kiln(10_000.0);
    let at = |phase, segment, chamber: f64| {
        let decision = Decision {
            phase,
            segment,
            chamber: Some(c(chamber)),
            ..control::Controller::new(control::Setup {
                kiln: kiln.clone(),
                firing: None,
                start: control::Start::default(),
            })
            .step(&control::Observation {
                at: Millis::ZERO,
                probes: &[],
                lid: control::Contact::NotFitted,
                contactor: control::Contact::NotFitted,
                amps: [None; control::BANKS_MOST],
                orders: &[],
                forecast: None,
            })
        };
        longest_left(&kiln, &plan, &decision).map(|left| left.lasts.hours())
    };
    // By hand: 0.5 h of soak, 3 h for 300 °C, 1 h of soak.
    assert!((at(Phase::Soaking, Some(0), 200.0).unwrap() - 4.5).abs() < 0.1);
    assert!((at(Phase::Climbing, Some(1), 350.0).unwrap() - 2.5).abs() < 0.1);
    assert!((at(Phase::Soaking, Some(1), 500.0).unwrap() - 1.0).abs() < 0.01);
    assert_eq!(at(Phase::Cooling, None, 500.0), None);
}

#[test]
fn what_is_carried_on_takes_the_way_back_what_was_left_of_the_soak_and_the_segments_after_it() {
    let plan = programme(&[climb(100.0, 200.0, 30), climb(120.0, 500.0, 60), climb(100.0, 600.0, 0)]);
    let carried = control::Carried {
        segment: 1,
        left: control::Left::Soak { at: c(500.0), left: Millis::from_minutes(15) },
        chamber: c(500.0),
        gap: Millis::from_minutes(5),
        elapsed: Millis::from_hours(6),
        given: Joules::new(3.6e7).unwrap(),
        alight: Millis::from_hours(7),
        heat_work: pyrometry::heat_work::HeatWork::NONE,
    };
    let kiln = kiln(10_000.0);
    let forecast = forecast_carried(&kiln, &plan, &carried, c(440.0));
    // By hand: 0.5 h for 60 °C at 120 °C/h, 0.25 h of soak, 1 h for the last 100 °C.
    assert!((hours(forecast.duration) - 1.75).abs() < 0.1, "{:?}", forecast.duration);
    assert_eq!((forecast.segments.len(), forecast.segments[0].ends), (3, Millis::ZERO));
    let longest = longest_carried(&kiln, &plan, &carried, c(440.0));
    assert!((longest.lasts.hours() - 7.75).abs() < 0.1, "with the hours before: {longest:?}");
    let energy_j = longest.energy.unwrap().j();
    assert!(energy_j > 3.6e7 + forecast.energy.j() * 0.99, "and the energy: {longest:?}");
}

#[test]
fn a_watch_draws_nothing() {
    let plan = programme(&[Segment::Watch { lasting: Millis::from_hours(2) }]);
    let forecast = forecast(&kiln(10_000.0), &plan, c(20.0));
    assert_eq!((forecast.energy.j(), forecast.duration), (0.0, Millis::from_hours(2)));
    assert!(forecast.points.iter().all(|point| point.planned.is_none()));
}

#[test]
fn sixteen_hours_are_forecast_in_less_time_than_a_person_notices() {
    let plan = programme(&[climb(100.0, 1220.0, 60), slow_cool(-80.0, 960.0)]);
    let begun = std::time::Instant::now();
    let forecast = forecast(&kiln(10_000.0), &plan, c(20.0));
    assert!(hours(forecast.duration) > 15.0);
    assert!(begun.elapsed() < std::time::Duration::from_millis(200), "{:?}", begun.elapsed());
}
