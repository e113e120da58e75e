//! SR-46: whether what the probes read can be true of this kiln, as far as anything is known of it: its cold
//! junctions, and where the record of the latest firing left it.

use pyrometry::constant;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, CelsiusDelta, Millis};

use crate::files::kiln::KilnFile;
use crate::files::time;

/// How far a cold kiln may read from its cold junction: a box warmed by its electronics or the sun,
/// in a shed as cold as a winter's night left it. Engineering judgement; reversed wires on a kiln
/// that is 50 °C above its box read 100 °C lower.
const AGREES_WITHIN: CelsiusDelta = constant!(CelsiusDelta, 30.0);
/// A load of double the guess and a wall 40 % out cool 0.36 times as fast as the model (SR-22).
const SLOWER: u64 = 3;
/// With its lid thrown open a kiln cools faster than by any model: by so many times, at most.
/// Engineering judgement.
const FASTER: u64 = 10;

/// Below this a type B tells nothing (its emf stays under 0.3 mV, IEC 60584-1).
const TYPE_B_FROM: Celsius = constant!(Celsius, 250.0);

/// What a probe reads, with its cold junction.
#[derive(Clone, Copy, Debug)]
pub(super) struct Read {
    pub(super) junction: Celsius,
    pub(super) cold_junction: Celsius,
}

/// Where the kiln was left, and how long ago.
#[derive(Clone, Copy, Debug)]
pub(super) struct Left {
    pub(super) at: Celsius,
    pub(super) ago: Millis,
}

/// Why what a probe reads cannot be; `None` when it can, as far as anything is known.
pub(super) fn why_not(kiln: &KilnFile, probe: usize, read: Read, left: Option<Left>) -> Option<String> {
    let Read { junction, cold_junction } = read;
    let part = kiln.probes.get(probe)?;
    let say = |celsius| kiln.scale.say(celsius);
    // A type B says next to nothing below some 250 °C.
    let type_b = kiln.kiln.probes.get(probe)?.sensor.thermocouple == Thermocouple::B;
    let cooled = |left: Left, ms| insight::cooled(&kiln.kiln, left.at, cold_junction, Millis::new(ms));
    let coldest = left.map_or(cold_junction, |left| cooled(left, left.ago.ms().saturating_mul(FASTER)));
    let hottest = left.map(|left| cooled(left, left.ago.ms() / SLOWER));
    let reads = format!("Probe \"{}\" reads {}", part.name, say(junction));
    let known = left.map_or(String::new(), |left| {
        format!(
            "; {} ago the kiln was left at {}",
            time::say(Millis::from_minutes(left.ago.ms() / 60_000)),
            say(left.at)
        )
    });
    if junction < coldest - AGREES_WITHIN && !(type_b && coldest < TYPE_B_FROM) {
        let than = match left {
            Some(_) if coldest > cold_junction => format!(" and cannot be colder than {}", say(coldest)),
            Some(_) | None => format!(", far colder than its cold junction, {}", say(cold_junction)),
        };
        return Some(format!(
            "{reads}{than}{known}. Look at: the thermocouple, is it in the kiln; its polarity at both ends; \
             its type; a lead shorted before the tip; the clock of this computer."
        ));
    }
    if hottest.is_some_and(|hottest| junction > hottest + AGREES_WITHIN) {
        let than = hottest.map_or(String::new(), say);
        return Some(format!(
            "{reads}, and should be no hotter than {than}{known}. Look at: whether anything heats the kiln, \
             and if so pull the breaker; the thermocouple's type and polarity; the clock of this computer. If \
             it was fired without saggar, let it cool first."
        ));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn why(junction_c: f64, left: Option<(f64, u64)>) -> Option<String> {
        let kiln = crate::kilns::simulated().expect("the simulated kiln");
        let c = |c| Celsius::new(c).expect("a temperature");
        let read = Read { junction: c(junction_c), cold_junction: c(18.0) };
        why_not(&kiln, 0, read, left.map(|(at, min)| Left { at: c(at), ago: Millis::from_minutes(min) }))
    }

    #[test]
    fn sr_46_a_cold_kiln_agrees_with_its_cold_junction_within_thirty_degrees_and_not_beyond() {
        let month = Some((900.0, 30 * 24 * 60));
        for (bound, beyond) in [(47.9, 48.1), (-11.9, -12.1)] {
            assert_eq!(why(bound, month), None);
            assert!(why(beyond, month).is_some(), "{beyond}");
        }
        assert!(why(-12.1, None).expect("colder than cold").contains("polarity at both ends"));
    }

    #[test]
    fn sr_46_a_kiln_of_which_nothing_is_known_may_be_found_as_hot_as_it_is() {
        assert_eq!(why(300.0, None), None);
        assert_eq!(why(1200.0, None), None);
    }

    #[test]
    fn sr_46_a_kiln_that_ought_to_be_cold_and_reads_300_is_refused_with_what_to_look_at() {
        let said = why(300.0, Some((900.0, 3 * 24 * 60))).expect("nothing keeps it hot for three days");
        assert!(said.contains("reads 300 °C") && said.contains("3 d ago"), "{said}");
        assert!(said.contains("pull the breaker"), "{said}");
    }

    #[test]
    fn sr_46_a_kiln_at_900_ten_minutes_ago_that_reads_30_is_refused_and_one_that_cooled_a_little_is_not() {
        assert!(why(30.0, Some((900.0, 10))).expect("brick holds its heat").contains("10 min ago"));
        for c in [820.0, 870.0, 900.0] {
            assert_eq!(why(c, Some((900.0, 10))), None, "{c}");
        }
        assert!(why(950.0, Some((900.0, 10))).is_some(), "it does not warm without heat");
    }

    #[test]
    fn sr_46_a_kiln_thrown_open_at_200_may_be_cold_an_hour_later() {
        assert_eq!(why(60.0, Some((200.0, 60))), None);
    }
}
