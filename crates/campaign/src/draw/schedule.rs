//! Random schedules: candling, climbs, soaks, a cone now and then, and what follows the top.

use control::{Pace, Programme, Segment, Target};
use heapless::Vec;
use pyrometry::cone::Cone;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis};

use super::kiln::Drawn;
use crate::chance::Chance;

type Segments = Vec<Segment, { control::SEGMENTS_MOST }>;

pub(crate) fn draw(chance: &mut Chance, drawn: &Drawn) -> Programme {
    let mut segments = Segments::new();
    let from_c = drawn.spec.start_c.max(40.0) + 20.0;
    let top_c = chance.between((0.5 * drawn.made_for_c).max(from_c), drawn.made_for_c);
    let mut at_c = from_c;
    if at_c < 90.0 && chance.happens(0.4) {
        at_c = chance.between(at_c, 120.0);
        add(&mut segments, climb(chance, (30.0, 80.0), at_c, (30, 240)));
    }
    for _ in 0..chance.count(0, 3) {
        at_c = chance.between(at_c, top_c);
        add(&mut segments, climb(chance, (30.0, 400.0), at_c, (0, 60)));
    }
    add(&mut segments, last_climb(chance, top_c));
    fall(chance, &mut segments, top_c);
    Programme::new(segments).expect("segments are drawn in order")
}

fn add(segments: &mut Segments, segment: Segment) {
    segments.push(segment).expect("a dozen segments fit");
}

fn celsius(c: f64) -> Celsius {
    Celsius::new(c).unwrap_or(Celsius::LEAST)
}

fn climb(chance: &mut Chance, rates_c_per_h: (f64, f64), to_c: f64, soak_min: (u64, u64)) -> Segment {
    let rate = CelsiusPerHour::new(chance.scale(rates_c_per_h.0, rates_c_per_h.1));
    let pace = if chance.happens(0.1) { Pace::FlatOut } else { rate.map_or(Pace::FlatOut, Pace::Rate) };
    let soak = if chance.happens(0.5) { chance.count(soak_min.0, soak_min.1) } else { soak_min.0 };
    Segment::Climb { pace, target: Target::Temperature(celsius(to_c)), soak: Millis::from_minutes(soak) }
}

/// To a temperature, or to a cone that is down somewhat below it.
fn last_climb(chance: &mut Chance, top_c: f64) -> Segment {
    let segment = climb(chance, (60.0, 250.0), top_c, (0, 90));
    let known = |cone: &Cone| {
        let end_c =
            cone.chart().filter_map(pyrometry::cone::EndPoint::end_point).map(Celsius::c).fold(0.0, f64::max);
        end_c > top_c - 60.0 && end_c < top_c - 15.0
    };
    let cone = Cone::ALL.into_iter().find(known);
    match (segment, cone) {
        (Segment::Climb { pace, soak, .. }, Some(cone)) if chance.happens(0.3) => {
            let at_most = Millis::from_minutes(chance.count(10, 60));
            Segment::Climb {
                pace,
                target: Target::Cone { cone, no_hotter_than: celsius(top_c), at_most },
                soak,
            }
        }
        (segment, _) => segment,
    }
}

/// After the top: nothing, or a fall, a slow cooling, a watch.
fn fall(chance: &mut Chance, segments: &mut Segments, top_c: f64) {
    let mut at_c = top_c;
    if chance.happens(0.3) {
        at_c -= chance.between(20.0, 200.0);
        let soak = Millis::from_minutes(chance.count(0, 60));
        add(segments, Segment::LetFall { to: celsius(at_c), soak });
    }
    if chance.happens(0.3) {
        at_c -= chance.between(20.0, 250.0);
        if let Some(rate) = CelsiusPerHour::new(-chance.scale(30.0, 150.0)) {
            let soak = Millis::from_minutes(chance.count(0, 30));
            add(segments, Segment::SlowCool { rate, to: celsius(at_c), soak });
        }
    }
    if chance.happens(0.1) {
        add(segments, Segment::Watch { lasting: Millis::from_minutes(chance.count(5, 60)) });
    }
}
