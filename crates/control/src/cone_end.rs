//! Ending a climb on a cone: the cone as it will be unloaded, cooling included.
//!
//! Heat-work goes on after the climb: through the segment's soak, through slow cooling, through
//! the first minutes of a natural fall. So the climb ends when the work done and the work still to
//! come together bring the cone down.

use pyrometry::cone::Cone;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis, greater};

use crate::controller::Controller;
use crate::plan::Leg;
use crate::programme::{Programme, Segment, Target};
use crate::stage::Stage;

/// How often the question is asked: at 60 °C/h the kiln moves 0.08 °C in between.
const ASKED_EVERY: Millis = Millis::from_seconds(5);

/// Work already done, below which what is still to come cannot bring a cone down: slow cooling at
/// 50 °C/h after a climb at 60 °C/h adds about as much as the climb did.
const WORTH_ASKING: f64 = 0.2;

/// Below this far under the peak, cooling adds nothing that counts: a tenth of the rate every
/// 25 to 35 °C (from the rate law's slopes).
const COUNTED_C: f64 = 120.0;

/// Natural cooling taken when nothing is known of the kiln: quick, so little is counted on.
const FALL_QUICK_C_PER_H: f64 = 600.0;

impl Controller {
    /// The cone that ends the present climb, and where it may be waited for.
    pub(crate) fn cone_aimed_at(&self) -> Option<(Cone, Celsius, Millis)> {
        let Stage::Running(run) = self.stage else { return None };
        if !matches!(run.leg, Leg::Moving { .. } | Leg::Landing { .. } | Leg::AwaitingCone { .. }) {
            return None;
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
        let to_come = Rest { from: chamber.mean, fall_c_per_h: self.natural_fall_c_per_h() };
        to_come.added_to(&self.heat_work, programme, run.segment).progress(cone) >= 1.0
    }

    /// How fast the kiln would fall by itself now, from what lining and leaks take.
    fn natural_fall_c_per_h(&self) -> f64 {
        let falls_c_per_s = self
            .regulators
            .iter()
            .map(|regulator| regulator.natural_fall_c_per_s(&self.setup.kiln))
            .fold(0.0, greater);
        if falls_c_per_s > 0.0 { falls_c_per_s * 3600.0 } else { FALL_QUICK_C_PER_H }
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
    Rest { from, fall_c_per_h: fall.c_per_h().abs() }.added_to(done, programme, segment)
}

/// What follows a climb that ends now.
struct Rest {
    from: Celsius,
    fall_c_per_h: f64,
}

impl Rest {
    /// The heat-work after the rest of the programme, as far as it counts.
    fn added_to(&self, done: &HeatWork, programme: &Programme, segment: u8) -> HeatWork {
        let mut work = *done;
        let mut at = self.from;
        let later = programme.segments().iter().skip(usize::from(segment));
        for (segment, number) in later.zip(0_u8..) {
            let (to, rate_c_per_h, soak) = match *segment {
                // The climb that ends now: only its soak is still to come.
                Segment::Climb { soak, .. } if number == 0 => (at, self.fall_c_per_h, soak),
                // Heated again: what comes then is that segment's own affair.
                Segment::Climb { .. } => return work,
                Segment::SlowCool { rate, to, soak } => (to, rate.c_per_h().abs(), soak),
                Segment::LetFall { to, soak } => (to, self.fall_c_per_h, soak),
                Segment::Watch { .. } => break,
            };
            fall(&mut work, at, to, rate_c_per_h);
            work.add(to, soak);
            at = to;
            if self.from.c() - at.c() > COUNTED_C {
                return work;
            }
        }
        let cold = Celsius::new(self.from.c() - COUNTED_C).unwrap_or(Celsius::LEAST);
        fall(&mut work, at, cold, self.fall_c_per_h);
        work
    }
}

/// Adds a straight fall, which `HeatWork::add` counts exactly however long it is.
fn fall(work: &mut HeatWork, from: Celsius, to: Celsius, rate_c_per_h: f64) {
    let hours = greater(0.0, (from - to).c()) / greater(1.0, rate_c_per_h);
    work.add(to, Millis::from_seconds_f64(hours * 3600.0).unwrap_or(Millis::ZERO));
}
