//! The kiln as a body: chamber, wall, ceiling, supply, and the limits of every firing.

use std::ops::Range;

use insight::{Body, Chamber};
use pyrometry::constant;
use pyrometry::units::{Celsius, Millis, Watts};

use super::wire::{KilnSection, LimitsSection};
use crate::files::leaf::Lasting;
use crate::files::number::{Degrees, Millimetres};
use crate::files::problem::Problems;
use crate::files::scale::Scale;
use crate::files::time;
use crate::files::wire::At;

/// Hard bound of every ceiling: `FeCrAl` wire's highest use, and cone 14 (makers' tables).
const CEILING_HIGHEST: Celsius = constant!(Celsius, 1400.0);
/// A ceiling below this fires nothing: lustres begin at about 600 °C.
const CEILING_LOWEST: Celsius = constant!(Celsius, 100.0);
/// Advice on opening ranges from 38 to 200 °C (potters' texts); 30 °C is a warm day.
const OPEN_HIGHEST: Celsius = constant!(Celsius, 200.0);
const OPEN_LOWEST: Celsius = constant!(Celsius, 30.0);
/// A stay is for a person who watches cones; nobody does that for longer (engineering judgement).
const STAY_LONGEST: Millis = Millis::from_hours(12);
const SHORTEST: Millis = Millis::from_minutes(1);
const FIRING_SHORTEST: Millis = Millis::from_hours(1);

/// Limits of every firing, checked.
pub(super) struct Limits {
    pub(super) firing_longest: Millis,
    pub(super) stay_longest: Millis,
    pub(super) open_below: Celsius,
}

/// A temperature of the file, within bounds.
pub(super) fn temperature(
    written: &At<Degrees>,
    key: &str,
    (low, high): (Celsius, Celsius),
    scale: Scale,
    problems: &mut Problems,
) -> Option<Celsius> {
    let found = scale.temperature(written.value.0).filter(|found| *found >= low && *found <= high);
    if found.is_none() {
        let wrong = format!("{key} = {} is out of bounds", written.value.0);
        let hint = scale.hint(written.value.0, high);
        problems.add(&written.span, wrong, format!("{} to {}{hint}", scale.say(low), scale.say(high)));
    }
    found
}

/// A time of the file, within bounds.
pub(super) fn lasting(
    written: &At<Lasting>,
    key: &str,
    (low, high): (Millis, Millis),
    problems: &mut Problems,
) -> Option<Millis> {
    let span = written.value.0;
    if span < low || span > high {
        let wrong = format!("{key} of {} is out of bounds", time::say(span));
        problems.add(&written.span, wrong, format!("{} to {}", time::say(low), time::say(high)));
        return None;
    }
    Some(span)
}

pub(super) fn ceiling(found: &KilnSection, scale: Scale, problems: &mut Problems) -> Option<Celsius> {
    temperature(&found.ceiling, "ceiling", (CEILING_LOWEST, CEILING_HIGHEST), scale, problems)
}

pub(super) fn limits(found: &LimitsSection, scale: Scale, problems: &mut Problems) -> Option<Limits> {
    let longest = Millis::from_hours(24 * time::LONGEST_DAYS);
    let firing = lasting(&found.longest_firing, "longest_firing", (FIRING_SHORTEST, longest), problems);
    let stay = lasting(&found.longest_stay, "longest_stay", (SHORTEST, STAY_LONGEST), problems);
    let open = temperature(&found.open_below, "open_below", (OPEN_LOWEST, OPEN_HIGHEST), scale, problems);
    Some(Limits { firing_longest: firing?, stay_longest: stay?, open_below: open? })
}

pub(super) fn body(section: &At<KilnSection>, problems: &mut Problems) -> Option<Body> {
    let found = &section.value;
    let chamber = chamber(found, &section.span, problems)?;
    Some(Body { chamber, lining: found.wall.value.lining(), wall_m: found.wall_mm.value.0 / 1000.0 })
}

fn chamber(found: &KilnSection, span: &Range<usize>, problems: &mut Problems) -> Option<Chamber> {
    let metres = |length: &At<Millimetres>| length.value.0 / 1000.0;
    match (&found.volume_l, &found.width_mm, &found.depth_mm, &found.diameter_mm, &found.height_mm) {
        (Some(volume), None, None, None, None) => Some(Chamber::Volume { m3: volume.value.0 / 1000.0 }),
        (None, Some(width), Some(depth), None, Some(height)) => {
            Some(Chamber::Square { width_m: metres(width), depth_m: metres(depth), height_m: metres(height) })
        }
        (None, None, None, Some(diameter), Some(height)) => {
            Some(Chamber::Round { diameter_m: metres(diameter), height_m: metres(height) })
        }
        _ => {
            problems.add(
                span,
                "the size of the chamber is not clear",
                "give volume_l alone; or width_mm, depth_mm and height_mm; or diameter_mm and height_mm",
            );
            None
        }
    }
}

pub(super) fn supply(section: &At<KilnSection>, problems: &mut Problems) -> Option<Watts> {
    let found = &section.value;
    match (&found.supply_w, &found.supply_a, &found.supply_v) {
        (Some(watts), None, None) => Watts::new(watts.value.0),
        (None, Some(amps), Some(volts)) => Watts::new(amps.value.0 * volts.value.0),
        _ => {
            let right = "give supply_w alone, or supply_a and supply_v: what fuse and cable allow";
            problems.add(&section.span, "the limit of the supply is not clear", right);
            None
        }
    }
}
