//! The run of a forecast: the schedule's clock against the simulated kiln.

use control::{Kiln, Pace, Programme, Segment, Target, WAITS_BEYOND, heat_work_unloaded};
use pyrometry::cone::Cone;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, CelsiusPerHour, Duty, Joules, Millis};

use super::{Arrival, Forecast, Point, SegmentForecast};
use crate::fire::{Fire, Wish};

/// Length of a step: short against everything a schedule does, and 16 h take 4,000 of them.
const STEP_S: f64 = 15.0;
const STEP: Millis = Millis::from_seconds(15);
/// One point of the curves in so many steps: a minute.
const STEPS_A_POINT: u32 = 4;
/// A kiln at full power, or with its elements off, that moves less than this in an hour has
/// stalled (the controller tells of 2 °C in 15 min; a forecast can be surer).
const STALLED_C_PER_H: f64 = 2.0;
/// Waiting shorter than this is no lateness anybody would notice.
const LATE_FROM: Millis = Millis::from_minutes(2);
/// Longest natural cooling that is followed.
const COOLING_LONGEST: Millis = Millis::from_hours(7 * 24);

pub(super) struct Run {
    fire: Fire,
    now: Millis,
    setpoint_c: Option<f64>,
    waited: Millis,
    heated_until: Millis,
    hottest_c: f64,
    heat_work: HeatWork,
    energy_j: f64,
    steps: u32,
    points: Vec<Point>,
}

/// How a way to a target came out.
enum Way {
    There,
    Stalled,
    /// At a cone's bound as long as its segment allows; the controller soaks there and goes on.
    ConeNotDown,
}

/// The question that ends a climb to a cone.
struct Unloaded<'a> {
    cone: Cone,
    programme: &'a Programme,
    segment: u8,
}

impl Unloaded<'_> {
    /// Whether the cone will be down as unloaded, if the climb ended now.
    fn is_down(&self, run: &Run) -> bool {
        let (Some(from), Some(fall)) =
            (Celsius::new(run.fire.chamber_c), CelsiusPerHour::new(run.fire.falls_c_per_h()))
        else {
            return false;
        };
        let work = heat_work_unloaded(&run.heat_work, self.programme, self.segment, from, fall);
        work.progress(self.cone) >= 1.0
    }
}

impl Run {
    pub(super) fn begin(kiln: &Kiln, start: Celsius) -> Self {
        let mut run = Self {
            fire: Fire::found_at(kiln, start.c()),
            now: Millis::ZERO,
            setpoint_c: None,
            waited: Millis::ZERO,
            heated_until: Millis::ZERO,
            hottest_c: start.c(),
            heat_work: HeatWork::NONE,
            energy_j: 0.0,
            steps: 0,
            points: Vec::new(),
        };
        run.note(0.0);
        run
    }

    /// After the heat-work of an earlier part of the firing.
    pub(super) fn having_worked(self, heat_work: &HeatWork) -> Self {
        Self { heat_work: *heat_work, ..self }
    }

    pub(super) const fn now(&self) -> Millis {
        self.now
    }

    pub(super) fn segment(
        &mut self,
        programme: &Programme,
        number: u8,
        segment: &Segment,
    ) -> SegmentForecast {
        let (begins, cone_begins) = (self.now, self.heat_work.reached());
        self.waited = Millis::ZERO;
        let (way, soak) = match *segment {
            Segment::Climb { pace, target: Target::Temperature(to), soak } => {
                (self.ramp(pace.rate().c_per_h(), to.c()), soak)
            }
            Segment::Climb { pace, target: Target::Cone { cone, no_hotter_than, at_most }, soak } => {
                let unloaded = Unloaded { cone, programme, segment: number };
                (self.climb_to_cone(pace, &unloaded, no_hotter_than.c(), at_most), soak)
            }
            Segment::SlowCool { rate, to, soak } => (self.ramp(rate.c_per_h(), to.c()), soak),
            Segment::LetFall { to, soak } => (self.let_fall(to.c()), soak),
            Segment::Watch { lasting } => {
                self.watch(lasting);
                (Way::There, Millis::ZERO)
            }
        };
        let (arrives, cone_arrives) = (self.now, self.heat_work.reached());
        let here = |arrival: fn(Celsius) -> Arrival| {
            Celsius::new(self.fire.chamber_c).map_or(Arrival::AsWritten, arrival)
        };
        let arrival = match way {
            Way::Stalled => here(Arrival::Never),
            Way::ConeNotDown => here(Arrival::ConeNotDown),
            Way::There if self.waited >= LATE_FROM => Arrival::Late(self.waited),
            Way::There => Arrival::AsWritten,
        };
        match way {
            Way::There | Way::ConeNotDown => self.soak(soak),
            Way::Stalled => self.setpoint_c = Some(self.fire.chamber_c),
        }
        let cone_ends = self.heat_work.reached();
        SegmentForecast { begins, arrives, ends: self.now, arrival, cone_begins, cone_arrives, cone_ends }
    }

    /// One step of the kiln.
    fn advance(&mut self, wish: Wish) {
        let duty = self.fire.advance(wish, STEP_S);
        self.now += STEP;
        if duty > 0.0 {
            self.heated_until = self.now;
        }
        self.energy_j += self.fire.energy_j(duty, STEP_S);
        if let Some(chamber) = Celsius::new(self.fire.chamber_c) {
            self.heat_work.add(chamber, STEP);
        }
        if self.fire.chamber_c > self.hottest_c {
            self.hottest_c = self.fire.chamber_c;
        }
        self.steps += 1;
        if self.steps.is_multiple_of(STEPS_A_POINT) {
            self.note(duty);
        }
    }

    fn note(&mut self, duty: f64) {
        let Some(expected) = Celsius::new(self.fire.chamber_c) else { return };
        let planned = self.setpoint_c.and_then(Celsius::new);
        self.points.push(Point { at: self.now, planned, expected, duty: Duty::limited(duty) });
    }

    /// Moves the setpoint at a rate of either sign; it waits for a kiln that cannot follow.
    fn ramp(&mut self, c_per_h: f64, to_c: f64) -> Way {
        let mut watch = StallWatch::begin(self);
        loop {
            let before_c = self.setpoint_c.unwrap_or(self.fire.chamber_c);
            if (to_c - before_c) * c_per_h <= 0.0 && !self.is_behind(before_c, c_per_h) {
                return Way::There;
            }
            let setpoint_c = self.moved_setpoint(c_per_h, to_c);
            if setpoint_c != before_c {
                watch = StallWatch::begin(self);
            }
            self.setpoint_c = Some(setpoint_c);
            self.advance(Wish::Reach(setpoint_c));
            if watch.has_stalled(self) {
                return Way::Stalled;
            }
        }
    }

    /// The setpoint one step on: at the rate, not beyond `to_c`, and not while the kiln is behind.
    fn moved_setpoint(&mut self, c_per_h: f64, to_c: f64) -> f64 {
        let setpoint_c = self.setpoint_c.unwrap_or(self.fire.chamber_c);
        if self.is_behind(setpoint_c, c_per_h) {
            self.waited += STEP;
            return setpoint_c;
        }
        let moved_c = setpoint_c + c_per_h / 3600.0 * STEP_S;
        if (to_c - moved_c) * c_per_h > 0.0 { moved_c } else { to_c }
    }

    /// Whether the kiln is beyond the band in which the schedule's clock goes on.
    fn is_behind(&self, setpoint_c: f64, c_per_h: f64) -> bool {
        (setpoint_c - self.fire.chamber_c) * c_per_h.signum() > WAITS_BEYOND.c()
    }

    /// Ends when the cone will be down as unloaded; at its bound, or where the kiln stalls, it waits
    /// for the cone as long as the segment allows.
    fn climb_to_cone(
        &mut self,
        pace: Pace,
        unloaded: &Unloaded<'_>,
        no_hotter_than_c: f64,
        at_most: Millis,
    ) -> Way {
        const AT_BOUND_C: f64 = 1.0;
        let mut watch = StallWatch::begin(self);
        let mut waits_until = None;
        while !unloaded.is_down(self) {
            let setpoint_c = self.moved_setpoint(pace.rate().c_per_h(), no_hotter_than_c);
            self.setpoint_c = Some(setpoint_c);
            self.advance(Wish::Reach(setpoint_c));
            let waits = watch.has_stalled(self) || self.fire.chamber_c > no_hotter_than_c - AT_BOUND_C;
            if waits && self.now >= *waits_until.get_or_insert(self.now + at_most) {
                self.setpoint_c = Some(self.fire.chamber_c);
                return Way::ConeNotDown;
            }
        }
        self.setpoint_c = Some(self.fire.chamber_c);
        Way::There
    }

    fn let_fall(&mut self, to_c: f64) -> Way {
        self.setpoint_c = None;
        let mut watch = StallWatch::begin(self);
        while self.fire.chamber_c > to_c {
            self.advance(Wish::Off);
            if watch.has_stalled(self) {
                return Way::Stalled;
            }
        }
        self.setpoint_c = Some(to_c);
        Way::There
    }

    fn soak(&mut self, lasting: Millis) {
        let ends = self.now + lasting;
        let held_c = self.setpoint_c.unwrap_or(self.fire.chamber_c);
        while self.now < ends {
            self.advance(Wish::Reach(held_c));
        }
    }

    fn watch(&mut self, lasting: Millis) {
        self.setpoint_c = None;
        let ends = self.now + lasting;
        while self.now < ends {
            self.advance(Wish::Off);
        }
    }

    /// Lets the kiln cool by itself; when it is colder than that, or `None` after a week.
    pub(super) fn cool_until(&mut self, below: Celsius) -> Option<Millis> {
        self.setpoint_c = None;
        let latest = self.now + COOLING_LONGEST;
        while self.fire.chamber_c >= below.c() {
            if self.now >= latest {
                return None;
            }
            self.advance(Wish::Off);
        }
        Some(self.now)
    }

    pub(super) fn finish(
        self,
        duration: Millis,
        opens: Option<Millis>,
        segments: Vec<SegmentForecast>,
    ) -> Forecast {
        Forecast {
            duration,
            end_of_heating: self.heated_until,
            opens,
            hottest: Celsius::new(self.hottest_c).unwrap_or(Celsius::GREATEST),
            cone: self.heat_work.reached(),
            energy: Joules::new(self.energy_j).unwrap_or(Joules::GREATEST),
            segments,
            points: self.points,
        }
    }
}

/// Notices that the kiln has stopped moving.
struct StallWatch {
    since: Millis,
    chamber_c: f64,
}

impl StallWatch {
    const fn begin(run: &Run) -> Self {
        Self { since: run.now, chamber_c: run.fire.chamber_c }
    }

    fn has_stalled(&mut self, run: &Run) -> bool {
        if run.now.since(self.since) < Millis::from_hours(1) {
            return false;
        }
        let moved_c = (run.fire.chamber_c - self.chamber_c).abs();
        *self = Self::begin(run);
        moved_c < STALLED_C_PER_H
    }
}
