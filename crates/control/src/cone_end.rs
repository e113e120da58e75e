//! Ending a climb on a cone: the cone as it will be unloaded, cooling included.
//!
//! Heat-work goes on after the climb: through the segment's soak, through slow cooling, through
//! the first minutes of a natural fall. So the climb ends when the work done and the work still to
//! come together bring the cone down.

use pyrometry::cone::Cone;
use pyrometry::constant;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis, greater};

use crate::controller::Controller;
use crate::fall::{COUNTED_C, Fall};
use crate::plan::{Leg, Then};
use crate::programme::{Programme, Segment, Target};
use crate::stage::Stage;

/// How often the question is asked: at 60 °C/h the kiln moves 0.08 °C in between.
const ASKED_EVERY: Millis = Millis::from_seconds(5);

/// Work already done, below which what is still to come cannot bring a cone down: slow cooling at
/// 50 °C/h after a climb at 60 °C/h adds about as much as the climb did.
const WORTH_ASKING: f64 = 0.2;

/// Natural cooling taken when nothing is known of the kiln: quick, so little is counted on.
const FALL_QUICK: CelsiusPerHour = constant!(CelsiusPerHour, -600.0);

impl Controller {
    /// The cone that ends the present climb, and where it may be waited for.
    pub(crate) fn cone_aimed_at(&self) -> Option<(Cone, Celsius, Millis)> {
        let Stage::Running(run) = self.stage else { return None };
        match run.leg {
            Leg::Moving { then: Then::AsWritten | Then::WaitHaving { .. }, .. }
            | Leg::AwaitingCone { .. } => {}
            Leg::Moving { then: Then::SoakFor { .. }, .. }
            | Leg::Soaking { .. }
            | Leg::Falling { .. }
            | Leg::Watching { .. } => return None,
        }
        match self.programme()?.segments().get(usize::from(run.segment))? {
            Segment::Climb { target: Target::Cone { cone, no_hotter_than, at_most }, .. } => {
                Some((*cone, *no_hotter_than, *at_most))
            }
            Segment::Climb { target: Target::Temperature(_), .. }
            | Segment::SlowCool { .. }
            | Segment::LetFall { .. }
            | Segment::Watch { .. } => None,
        }
    }

    /// Whether the cone will be down once the kiln is unloaded, if the climb ended now.
    pub(crate) fn cone_will_be_down(&mut self, cone: Cone, at: Millis) -> bool {
        let asked_lately = self.cone_asked_at.is_some_and(|then| at.since(then) < ASKED_EVERY);
        if asked_lately || self.heat_work.progress(cone) < WORTH_ASKING {
            return false;
        }
        self.cone_asked_at = Some(at);
        let (Stage::Running(run), Some(chamber), Some(programme)) =
            (self.stage, self.chamber, self.programme())
        else {
            return false;
        };
        let to_come = Rest { from: chamber.mean, fall: self.natural_fall(chamber.mean) };
        to_come.added_to(&self.heat_work, programme, run.segment).progress(cone) >= 1.0
    }

    /// How the kiln would fall by itself from here: as its quickest zone.
    fn natural_fall(&self, from: Celsius) -> Fall {
        self.regulators
            .iter()
            .map(|regulator| regulator.natural_fall(self.setup.model(), from))
            .reduce(|one, other| if other.lasts_s() < one.lasts_s() { other } else { one })
            .unwrap_or(Fall::steady(FALL_QUICK))
    }
}

/// The heat-work as unloaded if the climb of this segment (counted from zero) ended now, at `from`,
/// in a kiln that falls at `fall` (its sign does not matter) without heat. For forecasts, which
/// must end a climb where the controller does.
#[must_use]
pub fn heat_work_unloaded(
    done: &HeatWork,
    programme: &Programme,
    segment: u8,
    from: Celsius,
    fall: CelsiusPerHour,
) -> HeatWork {
    Rest { from, fall: Fall::steady(fall) }.added_to(done, programme, segment)
}

/// What follows a climb that ends now.
struct Rest {
    from: Celsius,
    fall: Fall,
}

impl Rest {
    /// The heat-work after the rest of the programme, as far as it counts.
    fn added_to(&self, done: &HeatWork, programme: &Programme, segment: u8) -> HeatWork {
        let mut work = *done;
        let mut at = self.from;
        let later = programme.segments().iter().skip(usize::from(segment));
        for (segment, number) in later.zip(0_u8..) {
            let (to, rate, soak) = match *segment {
                // The climb that ends now: only its soak is still to come.
                Segment::Climb { soak, .. } if number == 0 => (at, None, soak),
                // Heated again: what comes then is that segment's own affair.
                Segment::Climb { .. } => return work,
                // A cooling that the kiln is past already is passed over, its soak with it.
                Segment::SlowCool { to, .. } | Segment::LetFall { to, .. } if to > at => continue,
                Segment::SlowCool { rate, to, soak } => (to, Some(rate), soak),
                Segment::LetFall { to, soak } => (to, None, soak),
                Segment::Watch { .. } => break,
            };
            match rate {
                Some(rate) => cool(&mut work, at, to, rate),
                None => self.fall.add_to(&mut work, self.from, at, to),
            }
            if self.from.c() - to.c() > COUNTED_C {
                return work;
            }
            work.add(to, soak);
            at = to;
        }
        self.fall.add_to(&mut work, self.from, at, Celsius::LEAST);
        work
    }
}

/// Adds cooling at a rate, a straight line, which `HeatWork::add` counts exactly however long.
fn cool(work: &mut HeatWork, from: Celsius, to: Celsius, rate: CelsiusPerHour) {
    let hours = greater(0.0, (from - to).c()) / greater(1.0, rate.c_per_h().abs());
    work.add(to, Millis::from_seconds_f64(hours * 3600.0).unwrap_or(Millis::ZERO));
}
