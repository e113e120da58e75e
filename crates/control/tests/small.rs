//! A test kiln as small as a kiln file may describe, cold.

mod common;

use common::{Bench, climb};
use control::{Phase, SwitchKind};
use kiln_sim::{BankSpec, Brick, Enclosure, KilnSpec, Layer, ProbeSpec, Ware};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Millis, Watts, greater};

/// Half a litre in fibre, 60 W in one bank.
fn small() -> KilnSpec {
    let usual = KilnSpec::default();
    KilnSpec {
        chamber_l: 0.5,
        lining: vec![Layer { brick: Brick::FIBRE_BLANKET, thickness_m: 0.05 }],
        ware: Ware { mass_kg: 0.5, area_m2: 0.05, core_lag_s: 30.0 },
        banks: vec![BankSpec { zone: 0, rated_w: 60.0 }],
        probes: vec![ProbeSpec { thermocouple: Thermocouple::S, ..ProbeSpec::default() }],
        leak_w_per_k: 0.02,
        gaps_m2: 2.0e-5,
        ambient_c: 20.0,
        start_c: 20.0,
        enclosure: Enclosure { from_kiln_w_per_k: 0.02, ..usual.enclosure },
        ..usual
    }
}

#[test]
fn a_small_cold_kiln_does_not_leave_its_plan_behind() {
    let body = insight::Body {
        chamber: insight::Chamber::Volume { m3: 0.5e-3 },
        lining: insight::Lining::Fibre,
        wall_m: 0.05,
    };
    let mut bench = Bench::new(&small(), 0.5, &[climb(120.0, 28.0, 0), climb(80.0, 34.0, 1)]);
    bench.begin_anew_with(|kiln| {
        kiln.model = insight::guess(&body, Watts::new(60.0).unwrap(), 0.5).unwrap();
        for bank in &mut kiln.banks {
            bank.switch = SwitchKind::SolidState;
            bank.on_least = Millis::from_seconds(1);
            bank.off_least = Millis::from_seconds(1);
            bank.cycle_least = Millis::from_seconds(4);
        }
    });
    let mut above_c = f64::MIN;
    loop {
        let decision = bench.step(&[]);
        if !matches!(decision.phase, Phase::Climbing | Phase::Soaking) {
            break;
        }
        above_c = greater(above_c, bench.true_junction_c() - decision.setpoint.unwrap().c());
    }
    assert!(above_c < 3.0, "{above_c} °C");
}
