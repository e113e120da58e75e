//! The forecast of a firing that is carried on after a gap, from where it is found.

use control::{Carried, Expected, Kiln, Programme};
use pyrometry::units::{Celsius, Millis};

use super::run::Run;
use super::{Arrival, Forecast, SegmentForecast, longest_of};

/// What is left of a firing, found at a temperature. Segments that lie behind take no time; times
/// count from where it is carried on.
#[must_use]
pub fn forecast_carried(
    kiln: &Kiln,
    programme: &Programme,
    carried: &Carried,
    found_at: Celsius,
) -> Forecast {
    let mut run = Run::begin(kiln, found_at).having_worked(&carried.heat_work);
    let behind = SegmentForecast {
        begins: Millis::ZERO,
        arrives: Millis::ZERO,
        ends: Millis::ZERO,
        arrival: Arrival::AsWritten,
        cone_begins: None,
        cone_arrives: None,
        cone_ends: None,
    };
    let segments = (0_u8..).zip(programme.segments()).map(|(number, segment)| {
        if number < carried.segment {
            return behind;
        }
        let segment = if number == carried.segment { &carried.rest_of(segment) } else { segment };
        run.segment(programme, number, segment)
    });
    let segments = segments.collect();
    let duration = run.now();
    let opens = run.cool_until(kiln.open_below);
    run.finish(duration, opens, segments)
}

/// What the whole firing is to take, the heating before the gap counted, in a kiln whose load may be
/// twice what was guessed: what it is held to.
#[must_use]
pub fn longest_carried(kiln: &Kiln, programme: &Programme, carried: &Carried, found_at: Celsius) -> Expected {
    let left = longest_of(kiln, |kiln| forecast_carried(kiln, programme, carried, found_at));
    left.after(carried.elapsed, carried.given)
}
