//! A test kiln as small as a kiln file may describe, cold.

mod common;

use common::{Bench, climb};
use control::{Phase, SwitchKind};
use kiln_sim::KilnSpec;
use pyrometry::units::{Millis, Watts, greater};

#[test]
fn a_small_cold_kiln_does_not_leave_its_plan_behind() {
    let body = insight::Body {
        chamber: insight::Chamber::Volume { m3: 0.5e-3 },
        lining: insight::Lining::Fibre,
        wall_m: 0.05,
    };
    let mut bench = Bench::new(&KilnSpec::test_kiln(), 0.5, &[climb(120.0, 28.0, 0), climb(80.0, 34.0, 1)]);
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
