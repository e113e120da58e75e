//! What each fault of mains, switches, elements, lid and box does, and the board made of the plant.

use crate::common::{SECOND, all_on, quiet, run, suffering};
use hal::{Board, Contactor, Level, Sensed};
use kiln_sim::{
    BankFault, CurrentSensing, Fault, Input, KilnSpec, Lid, Plant, SimulatedBoard, Switches, Timed,
};
use pyrometry::units::{Millis, Watts};

fn watts(plant: &Plant) -> f64 {
    (0..2).filter_map(|bank| plant.power(bank)).map(Watts::w).sum()
}

fn full_power(fault: Fault) -> f64 {
    let mut plant = suffering(&quiet(), fault);
    plant.step(SECOND, &all_on());
    watts(&plant)
}

fn power_when_off_again(fault: Fault, contactor: Level) -> f64 {
    let mut plant = suffering(&quiet(), fault);
    run(&mut plant, 2, &all_on());
    run(&mut plant, 2, &Switches { contactor, ..Switches::default() });
    watts(&plant)
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1.0, "{found:.1} W, not {expected} W");
}

#[test]
fn a_welded_relay_or_shorted_switch_heats_when_told_not_to_until_the_contactor_opens() {
    for (fault, left_w) in [
        (BankFault::RelayWelds, 5750.0),
        (BankFault::SwitchShorted, 5750.0),
        (BankFault::SwitchHalfShorted, 2875.0),
    ] {
        near(power_when_off_again(Fault::Bank(0, fault), Level::On), left_w);
        near(power_when_off_again(Fault::Bank(0, fault), Level::Off), 0.0);
    }
}

#[test]
fn a_welded_contactor_alone_heats_nothing_once_the_relays_open() {
    near(power_when_off_again(Fault::ContactorWelds, Level::Off), 0.0);
    let mut plant = suffering(&quiet(), Fault::ContactorWelds);
    run(&mut plant, 2, &all_on());
    run(&mut plant, 2, &Switches { contactor: Level::Off, ..all_on() });
    near(watts(&plant), 11_500.0);
}

#[test]
fn dead_relays_banks_contactor_and_mains_take_their_share_of_power() {
    near(full_power(Fault::Bank(0, BankFault::RelayStuckOpen)), 5750.0);
    near(full_power(Fault::Bank(0, BankFault::ElementsBroken { share: 1.0 })), 5750.0);
    near(full_power(Fault::Bank(0, BankFault::ElementsBroken { share: 0.5 })), 8625.0);
    near(full_power(Fault::Bank(1, BankFault::ElementsAged { resistance_ratio: 1.25 })), 10_350.0);
    near(full_power(Fault::ContactorStuckOpen), 0.0);
    near(full_power(Fault::PowerCut), 0.0);
}

#[test]
fn power_goes_with_the_square_of_the_mains_tension() {
    near(full_power(Fault::MainsSag { ratio: 0.9 }), 11_500.0 * 0.81);
}

#[test]
fn a_sag_recovers_when_it_is_over() {
    let mut plant = Plant::new(&quiet(), 1).expect("a checked kiln");
    let (onset, until) = (Millis::from_seconds(3), Some(Millis::from_seconds(5)));
    plant.schedule(&[Timed { onset, until, fault: Fault::PowerCut }]).expect("a possible fault");
    let powered: Vec<bool> = (0..8)
        .map(|_| {
            plant.step(SECOND, &all_on());
            watts(&plant) > 0.0
        })
        .collect();
    assert_eq!(powered, [true, true, true, false, false, true, true, true]);
}

#[test]
fn an_open_lid_lets_the_kiln_fall_fast_and_its_contact_tells_unless_it_sticks() {
    let fallen = |faults: &[Fault]| {
        let spec = KilnSpec { start_c: 900.0, ..quiet() };
        let mut plant = Plant::new(&spec, 1).expect("a checked kiln");
        let faults: Vec<Timed> =
            faults.iter().map(|fault| Timed { onset: Millis::ZERO, until: None, fault: *fault }).collect();
        plant.schedule(&faults).expect("possible faults");
        let (mut board, _contactor) = SimulatedBoard::new(plant);
        for _ in 0..60 {
            board.advance(SECOND);
        }
        let ware_c = board.plant().truth().ware_surface(0).expect("a zone").c();
        (900.0 - ware_c, board.is_closed(Sensed::Lid))
    };
    let (shut, contact) = fallen(&[]);
    assert!(shut < 10.0 && contact == Some(Ok(true)), "{shut:.1} °C");
    let (open, contact) = fallen(&[Fault::LidOpened]);
    assert!(open > 50.0 && contact == Some(Ok(false)), "{open:.1} °C");
    assert_eq!(fallen(&[Fault::LidOpened, Fault::LidContactStuckShut]).1, Some(Ok(true)));
    assert!(matches!(fallen(&[Fault::LidContactDead]).1, Some(Err(_))));
}

#[test]
fn a_leak_cools_the_kiln_and_a_heater_in_the_box_warms_the_cold_junction() {
    let after = |fault: Fault| {
        let mut plant = suffering(&KilnSpec { start_c: 900.0, ..quiet() }, fault);
        run(&mut plant, 1800, &Switches::default());
        (plant.truth().ware_surface(0).expect("a zone").c(), plant.truth().enclosure().c())
    };
    let sound = after(Fault::MainsSag { ratio: 1.0 });
    assert!(after(Fault::LeakGrown { w_per_k: 3.0 }).0 < sound.0 - 20.0);
    assert!(after(Fault::EnclosureHeated { w: 120.0 }).1 > sound.1 + 30.0);
}

#[test]
fn closings_are_counted_for_each_relay_and_the_contactor() {
    let mut plant = Plant::new(&quiet(), 1).expect("a checked kiln");
    for _ in 0..5 {
        run(&mut plant, 2, &all_on());
        run(&mut plant, 2, &Switches { contactor: Level::On, ..Switches::default() });
    }
    assert_eq!(plant.relay_operations(0), Some(5));
    assert_eq!(plant.contactor_operations(), 1);
}

fn board(change: impl Fn(&mut KilnSpec)) -> (SimulatedBoard, kiln_sim::SimulatedContactor) {
    let mut spec = quiet();
    change(&mut spec);
    SimulatedBoard::new(Plant::new(&spec, 1).expect("a checked kiln"))
}

#[test]
fn the_board_heats_only_with_its_contactor_closed_and_a_dropped_contactor_is_open() {
    let (mut board, mut contactor) = board(|_| {});
    board.set_bank(0, Level::On).expect("a pin");
    board.advance(SECOND);
    near(watts(board.plant()), 0.0);
    contactor.set(Level::On).expect("a coil");
    board.advance(SECOND);
    near(watts(board.plant()), 5750.0);
    drop(contactor);
    board.advance(SECOND);
    near(watts(board.plant()), 0.0);
}

#[test]
fn the_board_has_only_the_parts_its_kiln_has() {
    let (mut bare, _contactor) = board(|spec| spec.lid_contact = Input::NotFitted);
    assert!(bare.set_bank(2, Level::On).is_err());
    assert!(bare.amps(0).is_none() && bare.is_closed(Sensed::Lid).is_none());
    let (mut sensed, mut contactor) = board(|spec| spec.current_sensing = CurrentSensing::EachBank);
    contactor.set(Level::On).expect("a coil");
    sensed.set_bank(0, Level::On).expect("a pin");
    sensed.advance(SECOND);
    let amps = sensed.amps(0).expect("a sensor").expect("a current").a();
    assert!((amps - 25.0).abs() < 0.01, "{amps} A, not 5750 W over 230 V");
    sensed.set_lid(Lid::Open);
    sensed.advance(SECOND);
    assert_eq!(sensed.is_closed(Sensed::Lid), Some(Ok(false)));
}

#[test]
fn a_dead_pin_leaves_its_relay_as_it_is_even_when_all_go_off() {
    let (mut board, mut contactor) = board(|_| {});
    contactor.set(Level::On).expect("a coil");
    board.set_bank(0, Level::On).expect("a pin");
    board.set_bank(1, Level::On).expect("a pin");
    let fault = Fault::Bank(0, BankFault::PinDead);
    board
        .plant_mut()
        .schedule(&[Timed { onset: Millis::ZERO, until: None, fault }])
        .expect("a possible fault");
    assert!(board.set_bank(0, Level::Off).is_err());
    board.all_off();
    board.advance(SECOND);
    near(watts(board.plant()), 5750.0);
}
