//! The controller: a value whose only door is the step.
//!
//! One step goes one way: reports → temperatures → interlocks → orders → the schedule's clock →
//! duties → relay levels → decision. Each part has its own file; this one only leads from one to
//! the next.

use heapless::Vec;
use pyrometry::amplifier::SensorFault;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Duty, Joules, Millis};

use crate::carried::Carried;
use crate::contactor::Contactor;
use crate::decision::{BankLevels, ClimbEnd, Decision};
use crate::expected::Expected;
use crate::finding::Finding;
use crate::interlock::{Interlocks, Judgement, Seen};
use crate::kiln::Kiln;
use crate::model::KilnModel;
use crate::observation::Observation;
use crate::order::Outcome;
use crate::programme::Programme;
use crate::regulator::Regulator;
use crate::shaper::Shaper;
use crate::stage::Stage;
use crate::switching::Switching;
use crate::together::Together;
use crate::transition::Event;
use crate::wear::Wear;
use crate::zones::{Chamber, Measurements, Zones};
use crate::{BANKS_MOST, ORDERS_MOST, PROBES_MOST};

/// How often the cone reached is worked out: nobody reads it faster.
const CONE_EVERY: Millis = Millis::from_seconds(10);

/// What a firing needs besides the kiln, frozen at light-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Firing {
    /// What to run.
    pub programme: Programme,
    /// How long after the first step heating may begin.
    pub delay: Millis,
    /// What the firing is forecast to take from then until its last segment ends.
    pub forecast: Expected,
    /// The kiln's thermal model as firings before have shown it; only the regulators go by it. The
    /// interlocks keep to the kiln file's.
    pub learned: Option<KilnModel>,
}

/// What survives from before: restarts, power cuts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Start {
    /// A trip that nobody has cleared yet.
    pub latched: Option<Finding>,
    /// Where the firing stood that this one carries on.
    pub carried: Option<Carried>,
}

/// Everything a controller is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The kiln.
    pub kiln: Kiln,
    /// The firing; `None` at rest.
    pub firing: Option<Firing>,
    /// What survives from before.
    pub start: Start,
}

impl Setup {
    /// The model that the regulators go by.
    pub(crate) fn model(&self) -> &KilnModel {
        self.firing.as_ref().and_then(|firing| firing.learned.as_ref()).unwrap_or(&self.kiln.model)
    }
}

/// The controller of one firing, or of one rest between firings.
#[derive(Clone, Debug)]
pub struct Controller {
    pub(crate) setup: Setup,
    pub(crate) stage: Stage,
    pub(crate) interlocks: Interlocks,
    pub(crate) zones: Zones,
    pub(crate) chamber: Option<Chamber>,
    pub(crate) shaper: Option<Shaper>,
    pub(crate) together: Together,
    pub(crate) regulators: Vec<Regulator, PROBES_MOST>,
    pub(crate) switching: Switching,
    pub(crate) wear: Wear,
    pub(crate) duty: [Duty; BANKS_MOST],
    /// What the supply carries of all banks' power.
    pub(crate) supply_share: f64,
    pub(crate) banks: BankLevels,
    contactor: Contactor,
    pub(crate) last_at: Option<Millis>,
    /// Time since heating began, stays not counted: what the forecast is compared with.
    pub(crate) elapsed: Millis,
    /// Time since heating began, stays counted: what the longest firing is compared with.
    pub(crate) alight: Millis,
    /// Energy given to the elements in that time.
    pub(crate) given: Joules,
    pub(crate) forecast: Option<Expected>,
    /// The programme's maximum, or where the kiln was found if hotter; `None` before it begins.
    pub(crate) plan_hottest: Option<Celsius>,
    pub(crate) heat_work: HeatWork,
    /// The time between a firing and its carrying on, until its heat-work is counted.
    gap: Millis,
    /// The cone reached, worked out anew every [`CONE_EVERY`].
    pub(crate) cone: Option<f64>,
    cone_at: Option<Millis>,
    /// When it was last asked whether the climb's cone will be down.
    pub(crate) cone_asked_at: Option<Millis>,
    pub(crate) climb_end: Option<ClimbEnd>,
}

impl Controller {
    /// A controller that has seen nothing yet.
    #[must_use]
    pub fn new(setup: Setup) -> Self {
        let stage = match (&setup.start.latched, &setup.firing) {
            (Some(_), _) => Stage::Tripped,
            (None, Some(firing)) => Stage::SetForLater { due: firing.delay },
            (None, None) => Stage::Resting,
        };
        let carried = setup.start.carried;
        Self {
            interlocks: Interlocks::new(&setup.kiln, setup.start.latched),
            supply_share: setup.kiln.carried().w() / setup.kiln.rated().w(),
            forecast: setup.firing.as_ref().map(|firing| firing.forecast),
            setup,
            plan_hottest: None,
            stage,
            zones: Zones::default(),
            chamber: None,
            shaper: None,
            together: Together::new(),
            regulators: Vec::new(),
            switching: Switching::default(),
            wear: Wear::default(),
            duty: [Duty::OFF; BANKS_MOST],
            banks: BankLevels::default(),
            contactor: Contactor::default(),
            last_at: None,
            elapsed: carried.map_or(Millis::ZERO, |carried| carried.elapsed),
            given: carried.map_or(Joules::ZERO, |carried| carried.given),
            alight: carried.map_or(Millis::ZERO, |carried| carried.alight),
            heat_work: carried.map_or(HeatWork::NONE, |carried| carried.heat_work_at_its_end()),
            gap: carried.map_or(Millis::ZERO, |carried| carried.gap),
            cone: None,
            cone_at: None,
            cone_asked_at: None,
            climb_end: None,
        }
    }

    /// What it was made from.
    #[must_use]
    pub const fn setup(&self) -> &Setup {
        &self.setup
    }

    /// Sees, decides. Call once a second; a gap over 5 s counts as a stale reading.
    pub fn step(&mut self, observation: &Observation<'_>) -> Decision {
        let at = observation.at;
        let span = at.since(self.last_at.unwrap_or(at));
        self.last_at = Some(at);
        self.climb_end = None;

        self.forecast =
            observation.forecast.map(|left| left.after(self.elapsed, self.given)).or(self.forecast);
        let measurements = measure(&self.setup.kiln, observation);
        self.light_if_due(at);
        self.contactor.see(observation.contactor);
        let judgement = self.judge(observation, span, &measurements);
        self.zones.take(&measurements, judgement.usable, at);
        self.chamber = self.zones.chamber(at);
        self.work_heat(span, at);
        if judgement.trip.is_some() {
            self.on(Event::Trip);
        }
        self.begin_when_read();
        let outcomes = self.obey(observation);
        let waiting = self.run_schedule(span);
        self.heat(&judgement, span, at);
        let permission = self.stage.may_heat() && judgement.trip.is_none() && self.contactor.may_close();
        self.contactor.permit(permission);
        self.decide(at, &measurements, judgement, outcomes, waiting)
    }

    /// Counts the heat-work of this step, the first time with that of a gap before it.
    fn work_heat(&mut self, span: Millis, at: Millis) {
        let gap = core::mem::take(&mut self.gap);
        match self.chamber {
            Some(chamber) => self.heat_work.add(chamber.mean, gap + span),
            None => self.heat_work.break_off(),
        }
        if self.cone_at.is_none_or(|then| at.since(then) >= CONE_EVERY) {
            self.cone_at = Some(at);
            self.cone = self.heat_work.reached();
        }
    }

    fn light_if_due(&mut self, at: Millis) {
        if let Stage::SetForLater { due } = self.stage
            && at >= due
        {
            self.on(Event::Due);
        }
    }

    fn judge(
        &mut self,
        observation: &Observation<'_>,
        span: Millis,
        measurements: &Measurements,
    ) -> Judgement {
        self.interlocks.judge(&Seen {
            since_last: span,
            phase: self.stage.phase(),
            kiln: &self.setup.kiln,
            reports: observation.probes,
            measured: measurements,
            setpoint: self.stage.setpoint(),
            plan_hottest: self.plan_hottest,
            lid: observation.lid,
            amps: observation.amps,
            contactor: observation.contactor,
            permitted: self.contactor.permitted,
            banks: self.banks,
            elapsed: self.elapsed,
            given: self.given,
            alight: self.alight,
            forecast: self.forecast,
        })
    }

    /// Duties and levels for this step; nothing while heat is not permitted.
    fn heat(&mut self, judgement: &Judgement, span: Millis, at: Millis) {
        // What refuses light-up at rest withholds in the very step in which heat is permitted again; and
        // no bank closes before the contactor.
        let withheld = judgement.withheld.is_some()
            || judgement.trip.is_some()
            || judgement.refuses_light_up.is_some()
            || !self.contactor.carries();
        let duty = self.regulate(span, withheld, at);
        self.duty = if withheld { [Duty::OFF; BANKS_MOST] } else { duty };
        self.banks = if withheld || !self.stage.may_heat() {
            self.switching.all_off(at)
        } else {
            let swings = self.swings(at);
            let alone = self.interlocks.not_felt();
            let levels = self.switching.levels(&self.setup.kiln, &self.duty, &swings, alone, at);
            self.wear.see(&self.setup.kiln, alone, self.banks, levels, span);
            levels
        };
    }

    fn decide(
        &self,
        at: Millis,
        measurements: &Measurements,
        judgement: Judgement,
        outcomes: Vec<Outcome, ORDERS_MOST>,
        waiting: bool,
    ) -> Decision {
        let phase = self.stage.phase();
        let setpoint = self.stage.setpoint();
        let chamber = self.chamber.map(|chamber| chamber.mean);
        let mut junctions = [None; PROBES_MOST];
        for (slot, measurement) in junctions.iter_mut().zip(measurements) {
            *slot = measurement.ok().map(|measured| measured.junction);
        }
        Decision {
            at,
            phase,
            segment: self.stage.run().map(|run| run.segment),
            setpoint,
            junctions,
            chamber,
            lag: setpoint.zip(chamber).map(|(setpoint, chamber)| setpoint - chamber),
            duty: self.duty,
            banks: self.banks,
            permission: self.contactor.permitted,
            waiting,
            trip: judgement.trip,
            withheld: judgement.withheld,
            refuses_light_up: judgement.refuses_light_up,
            notices: judgement.notices,
            cone: self.cone,
            climb_end: self.climb_end,
            outcomes,
        }
    }

    /// The heat-work done so far.
    #[must_use]
    pub const fn heat_work(&self) -> &HeatWork {
        &self.heat_work
    }

    /// The programme being fired.
    pub(crate) fn programme(&self) -> Option<&Programme> {
        self.setup.firing.as_ref().map(|firing| &firing.programme)
    }

    /// Where the setpoint leaves from when a segment begins: from the plan if it has a setpoint,
    /// from the kiln if not.
    pub(crate) fn leaving_from(&self) -> Option<Celsius> {
        self.stage.setpoint().or(self.chamber.map(|chamber| chamber.mean))
    }
}

fn measure(kiln: &Kiln, observation: &Observation<'_>) -> Measurements {
    let mut measurements = Measurements::new();
    for (probe, number) in kiln.probes.iter().zip(0_usize..) {
        let measured = match observation.probes.get(number) {
            Some(report) => probe.sensor.measure(report),
            None => Err(SensorFault::NoAnswer),
        };
        if measurements.push(measured).is_err() {
            break; // there is room for every probe a kiln can have
        }
    }
    measurements
}
