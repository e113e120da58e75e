//! What a kiln that is left alone comes down to.

use control::Kiln;
use pyrometry::units::{Celsius, Millis};

use crate::fire::{Fire, Wish};

/// Short against what a kiln takes to cool.
const STEP_S: f64 = 60.0;
/// After so long every kiln is as warm as its room.
const LONGEST: Millis = Millis::from_hours(7 * 24);

/// What a kiln of that temperature, heated through, has cooled to after a time without heat.
#[must_use]
pub fn cooled(kiln: &Kiln, from: Celsius, room: Celsius, span: Millis) -> Celsius {
    if span >= LONGEST {
        return room;
    }
    let mut fire = Fire::found_in(kiln, from.c(), room.c());
    let mut left_s = span.seconds();
    while left_s > 0.0 {
        let step_s = if left_s < STEP_S { left_s } else { STEP_S };
        let _off = fire.advance(Wish::Off, step_s);
        left_s -= step_s;
    }
    Celsius::new(fire.chamber_c).unwrap_or(room)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forecast::tests::kiln;
    use pyrometry::constant;

    #[test]
    fn a_hot_kiln_falls_towards_its_room_and_not_below_it() {
        let (hot, room) = (constant!(Celsius, 900.0), constant!(Celsius, 20.0));
        let after = |hours| cooled(&kiln(11_000.0), hot, room, Millis::from_hours(hours)).c();
        assert_eq!(after(0), 900.0);
        assert!((700.0..899.0).contains(&after(1)), "{}", after(1));
        assert!(after(24) < after(12) && after(12) < after(1));
        assert!((20.0..30.0).contains(&after(6 * 24)), "{}", after(6 * 24));
        assert_eq!(after(24 * 30), 20.0);
    }
}
