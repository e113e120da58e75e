//! Whole firings: the energy balance, the step's own error, and plausibility against practice.

use crate::common::{SECOND, all_on, quiet, run, zoned};
use hal::Level;
use kiln_sim::{KilnSpec, Plant, Switches};
use pyrometry::units::{Celsius, Millis};

fn junction(plant: &Plant) -> f64 {
    plant.truth().junction(0).expect("a probe").c()
}

/// A crude firing: full power to 1000 °C, then one bank of two in turns, off above 1220 °C.
fn switching(plant: &Plant, second: u32) -> Switches {
    let mut switches = all_on();
    let at_c = junction(plant);
    if at_c > 1220.0 || second > 16_000 {
        switches = Switches::default();
    } else if at_c > 1000.0 {
        switches.banks[usize::from((second / 20).is_multiple_of(2))] = Level::Off;
    }
    switches
}

fn full_power_to(plant: &mut Plant, at_c: f64) -> u32 {
    let mut seconds = 0;
    while junction(plant) < at_c && seconds < 100_000 {
        plant.step(SECOND, &all_on());
        seconds += 1;
    }
    seconds
}

#[test]
fn the_energy_of_a_whole_firing_adds_up_within_a_thousandth() {
    for zones in 1..=4 {
        let mut plant =
            Plant::new(&KilnSpec { mains_wander: 0.01, ..zoned(zones) }, 7).expect("a checked kiln");
        for second in 0..40_000 {
            let switches = switching(&plant, second);
            plant.step(SECOND, &switches);
        }
        let energy = plant.energy();
        let share = energy.residue_j().abs() / energy.electrical.j();
        assert!(energy.electrical.j() > 5.0e7, "it fired");
        println!("energy residue, {zones} zones: {share:.1e}");
        assert!(share < 1.0e-3, "{zones} zones: {share:.1e} of the energy is unaccounted for");
    }
}

#[test]
fn a_step_of_one_second_differs_from_one_of_a_twentieth_by_less_than_a_fiftieth_of_a_degree() {
    let mut coarse = Plant::new(&quiet(), 1).expect("a checked kiln");
    let mut fine = Plant::new(&quiet(), 1).expect("a checked kiln");
    let (mut worst, mut worst_slow): (f64, f64) = (0.0, 0.0);
    for second in 0..25_000 {
        let switches = switching(&coarse, second);
        coarse.step(SECOND, &switches);
        for _ in 0..20 {
            fine.step(Millis::new(50), &switches);
        }
        worst = worst.max((junction(&coarse) - junction(&fine)).abs());
        let core = |plant: &Plant| plant.truth().ware_core(0).expect("a zone").c();
        worst_slow = worst_slow.max((core(&coarse) - core(&fine)).abs());
    }
    println!("time-step error: junction {worst:.4} °C, ware core {worst_slow:.4} °C");
    assert!(worst < 0.02, "junction: {worst:.4} °C");
    assert!(worst_slow < 0.002, "ware core: {worst_slow:.4} °C");
}

/// 150 L at 11.5 kW, lightly loaded: 2 to 4 h flat out to 1200 °C is common practice, no source.
/// The loss at 1250 °C is checked against steady conduction through the brick of the VDI Heat
/// Atlas at its mean temperature, (k/L)·A·ΔT.
#[test]
fn flat_out_it_reaches_1200_in_two_to_four_hours_and_loses_what_its_brick_conducts() {
    let mut plant = Plant::new(&quiet(), 1).expect("a checked kiln");
    let hours = f64::from(full_power_to(&mut plant, 1200.0)) / 3600.0;
    println!("flat out to 1200 °C: {hours:.2} h");
    assert!((2.0..4.0).contains(&hours), "{hours:.2} h");
    for second in 0..40_000_u32 {
        let switches = if junction(&plant) < 1250.0 { all_on() } else { Switches::default() };
        plant.step(SECOND, &switches);
        if second == 30_000 {
            let outer_c = plant.truth().outer_face(0).expect("a zone").c();
            let hot_c = plant.truth().hot_face(0).expect("a zone").c();
            let before = plant.energy().shell.j();
            plant.step(SECOND, &Switches::default());
            let lost_w = plant.energy().shell.j() - before;
            let mean_k = 0.10 + 1.0e-4 * 0.5 * (hot_c + outer_c);
            let side_m = 0.150_f64.cbrt();
            let conducted_w = mean_k * 6.0 * side_m * (side_m + 0.152) / 0.076 * (hot_c - outer_c);
            let ratio = lost_w / conducted_w;
            println!("loss at 1250 °C: {lost_w:.0} W, {conducted_w:.0} W by hand");
            assert!((ratio - 1.0).abs() < 0.01, "{lost_w:.0} W against {conducted_w:.0} W by hand");
            return;
        }
    }
    panic!("the soak was not reached");
}

/// Measured on an outside simulated furnace of the same size: slope per unit duty 0.58 °C/s at
/// 150 °C falling to 0.35 at 1200 °C, with 10 to 65 kg; with this light load about twice that when
/// cold. What is compared is the change of slope that full power makes
/// against none, one minute later.
#[test]
fn the_slope_that_full_power_makes_falls_as_the_kiln_gets_hotter() {
    let slope_at = |at_c: f64| {
        let mut heated = Plant::new(&KilnSpec { start_c: 18.0, ..quiet() }, 1).expect("a checked kiln");
        while junction(&heated) < at_c {
            let second = heated.now().ms() / 1000;
            heated.step(SECOND, &if second % 20 < 10 { all_on() } else { Switches::default() });
        }
        let mut idle = heated.clone();
        let gap = |hot: &Plant, cold: &Plant| junction(hot) - junction(cold);
        run(&mut heated, 40, &all_on());
        run(&mut idle, 40, &Switches::default());
        let before = gap(&heated, &idle);
        run(&mut heated, 20, &all_on());
        run(&mut idle, 20, &Switches::default());
        (gap(&heated, &idle) - before) / 20.0
    };
    let [cold, hot] = [150.0, 1150.0].map(slope_at);
    println!("slope per unit duty: {cold:.3} °C/s at 150 °C, {hot:.3} at 1150 °C");
    assert!((0.3..1.2).contains(&cold), "{cold:.3} °C/s at 150 °C");
    assert!((0.2..0.7).contains(&hot), "{hot:.3} °C/s at 1150 °C");
    assert!(hot < cold);
}

/// A shut electric kiln of this wall falls a few hundred degrees an hour from the top, some tens
/// near 300 °C, and is left overnight before it is opened: common practice, no source.
#[test]
fn unpowered_it_cools_as_a_shut_kiln_of_thin_brick_does() {
    let mut plant = Plant::new(&quiet(), 1).expect("a checked kiln");
    full_power_to(&mut plant, 1240.0);
    let mut rate_at = |at_c: f64| {
        while junction(&plant) > at_c {
            plant.step(SECOND, &Switches::default());
        }
        let before = junction(&plant);
        run(&mut plant, 600, &Switches::default());
        (before - junction(&plant)) * 6.0
    };
    let [hot, middle, cool] = [1100.0, 700.0, 300.0].map(&mut rate_at);
    println!("cooling: {hot:.0}, {middle:.0}, {cool:.0} °C/h at 1100, 700, 300 °C");
    assert!((200.0..600.0).contains(&hot), "{hot:.0} °C/h at 1100 °C");
    assert!((80.0..250.0).contains(&middle), "{middle:.0} °C/h at 700 °C");
    assert!((30.0..90.0).contains(&cool), "{cool:.0} °C/h at 300 °C");
    let hours = || plant.now().hours();
    assert!(hours() > 5.0, "{:.1} h", hours());
}

#[test]
fn in_a_climb_the_core_of_the_ware_lags_its_surface() {
    let mut plant = Plant::new(&quiet(), 1).expect("a checked kiln");
    full_power_to(&mut plant, 900.0);
    let truth = plant.truth();
    let lag = truth.ware_surface(0).expect("a zone").c() - truth.ware_core(0).expect("a zone").c();
    assert!((10.0..60.0).contains(&lag), "{lag:.1} °C");
}

#[test]
fn the_zone_that_is_heated_alone_is_the_hottest_and_warms_its_neighbours_in_order() {
    let mut plant = Plant::new(&zoned(4), 1).expect("a checked kiln");
    let mut switches = Switches { contactor: Level::On, ..Switches::default() };
    switches.banks[0] = Level::On;
    run(&mut plant, 7200, &switches);
    let ware: Vec<f64> = (0..4).filter_map(|zone| plant.truth().ware_surface(zone)).map(Celsius::c).collect();
    assert!(ware.windows(2).all(|pair| pair[0] > pair[1]), "{ware:?}");
    assert!(ware[3] > 30.0, "{ware:?}");
    assert!(plant.truth().ware_surface(4).is_none());
}

#[test]
fn the_same_seed_gives_the_same_firing_bit_for_bit_and_another_does_not() {
    let said = |seed| {
        let mut plant = Plant::new(&KilnSpec::default(), seed).expect("a checked kiln");
        (0..2000_u32)
            .map(|second| {
                let switches = switching(&plant, second);
                plant.step(SECOND, &switches);
                format!("{:?}", plant.report(0).said)
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(said(3), said(3));
    assert_ne!(said(3), said(4));
}
