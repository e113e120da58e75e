//! Laws that the controller is compared with. They drive all banks together, have the schedule second
//! by second, and no interlocks.

pub(crate) mod on_off;
pub(crate) mod pid;
mod step_test;
mod window;

use control::Kiln;
use hal::Level;
use kiln_sim::{BANKS_MOST, Plant, Switches};
use pyrometry::units::Millis;

use crate::case::Case;
use crate::fire::{busiest, sampled};
use crate::schedule::Course;
use crate::track::Track;

/// What a law sees in one second.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen {
    pub(crate) setpoint_c: f64,
    pub(crate) reading_c: f64,
}

/// A control law of its own: every second it says whether the elements are to be on.
pub(crate) trait Baseline {
    fn levels(&mut self, seen: Seen) -> Level;
}

/// No firing is let go on for longer, as the controller lets none.
const LONGEST_H: u64 = 48;

/// Fires a kiln by a law.
pub(crate) fn fire(case: &Case, law: &mut impl Baseline) -> Track {
    let mut plant = case.plant();
    let mut relays = Relays::of(&case.kiln);
    let mut track = Track::default();
    let mut last_c = case.spec.start_c;
    let mut course: Option<Course> = None;
    for _ in 0..LONGEST_H * 3600 {
        plant.step(Millis::from_seconds(1), &relays.switches);
        last_c = reading_c(&mut plant, &case.kiln).unwrap_or(last_c);
        let course = course.get_or_insert_with(|| Course::from(last_c));
        let Some(planned) = course.now() else { break };
        track.samples.push(sampled(&plant, planned));
        relays.drive(law.levels(Seen { setpoint_c: planned.setpoint_c, reading_c: last_c }));
        course.go_on(last_c);
    }
    if course.is_some_and(|course| course.now().is_some()) {
        track.ended = Some(format!("not done within {LONGEST_H} h"));
    }
    track.operations = busiest(&plant);
    track
}

/// What the amplifier says, made true as the controller does it.
fn reading_c(plant: &mut Plant, kiln: &Kiln) -> Option<f64> {
    let report = plant.report(0);
    let measured = kiln.probes.first()?.sensor.measure(&report).ok()?;
    Some(measured.junction.c())
}

/// All relays as one, which stand as long as they must.
struct Relays {
    switches: Switches,
    on_least_s: f64,
    off_least_s: f64,
    stood_s: f64,
}

impl Relays {
    fn of(kiln: &Kiln) -> Self {
        let longest = |least: fn(&control::Bank) -> Millis| {
            kiln.banks.iter().map(|bank| least(bank).seconds()).fold(0.0, f64::max)
        };
        Self {
            switches: Switches { contactor: Level::On, ..Switches::default() },
            on_least_s: longest(|bank| bank.on_least),
            off_least_s: longest(|bank| bank.off_least),
            stood_s: f64::INFINITY,
        }
    }

    fn drive(&mut self, level: Level) {
        let stands = self.switches.banks[0];
        let least_s = if stands == Level::On { self.on_least_s } else { self.off_least_s };
        self.stood_s += 1.0;
        if level != stands && self.stood_s >= least_s {
            self.switches.banks = [level; BANKS_MOST];
            self.stood_s = 0.0;
        }
    }
}
