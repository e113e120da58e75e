//! Control laws compared on simulated kilns.
mod case;
mod fire;
mod schedule;
mod track;

fn main() {
    let one = |case: &case::Case| {
        let track = fire::fire(case, case.kiln.model);
        let f = track.figures();
        println!(
            "{:>6} {:>6.1} kg lag {:>4.1} noise {:>4.2} rms {:.3} cool {:.3} over {:.2} span {:.2} ops {} {}",
            case.seed,
            case.spec.ware.mass_kg,
            case.spec.probes[0].lag_s,
            case.spec.probes[0].noise_c,
            f.climb_rms_c,
            f.cooling_rms_c,
            f.overshoot_c,
            f.soak_span_c,
            f.operations,
            track.ended.unwrap_or_default(),
        );
    };
    one(&case::reference(1, case::RELAY));
    one(&case::reference(2, case::RELAY));
    for seed in 0..20 {
        one(&case::drawn(seed, case::RELAY));
    }
}
