//! Healthy kilns of one kiln file never trip: half to double the load, mains ±10 %, walls ±15 %,
//! 3 to 34 °C in the shed, and a model that only guesses.

use super::plant::{Build, Firing};

#[test]
fn healthy_kilns_of_every_build_fire_and_cool_without_a_trip() {
    for load in [0.5, 1.0, 2.0] {
        for mains in [0.9, 1.1] {
            for walls in [0.85, 1.15] {
                for ambient_c in [3.0, 34.0] {
                    let build = Build { load, mains, walls, ambient_c };
                    let mut firing = Firing::new(build);
                    assert_eq!(firing.climb(60.0, 120.0), None, "{build:?}");
                    assert_eq!(firing.climb(250.0, 1_050.0), None, "{build:?}");
                    assert_eq!(firing.soak(1_800, 1_050.0), None, "{build:?}");
                    assert_eq!(firing.cool(4 * 3_600), None, "{build:?}");
                }
            }
        }
    }
}

#[test]
fn a_healthy_kiln_heated_flat_out_from_cold_and_shut_off_early_does_not_trip() {
    for load in [0.5, 1.0, 2.0] {
        for to_c in [80.0, 150.0, 300.0, 700.0] {
            let build = Build { load, ..Build::USUAL };
            let mut firing = Firing::new(build);
            assert_eq!(firing.climb(2_000.0, to_c), None, "{build:?} to {to_c}");
            assert_eq!(firing.cool(3 * 3_600), None, "{build:?} from {to_c}");
        }
    }
}
