//! A firing on the simulated kiln, stepped by hand.
#![allow(dead_code, reason = "each test file uses its own part of the bench")]

use control::{
    Bank, Carried, Certainty, Contact, Controller, Decision, Firing, Kiln, KilnModel, Observation, Order,
    Pace, Parameters, Probe, Programme, Segment, Setup, Start, SwitchKind, Target,
};
use hal::Level;
use kiln_sim::{KilnSpec, Lid, Plant, Switches};
use pyrometry::amplifier::{Report, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::cone::Cone;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis, Watts};

/// One firing: controller, plant, and what has been decided last.
pub(crate) struct Bench {
    pub(crate) controller: Controller,
    pub(crate) plant: Plant,
    pub(crate) switches: Switches,
    /// The chamber through the last gap without power, second by second.
    gap_c: Vec<f64>,
    second: u64,
    /// A forecast of what is left, for the next step.
    pub(crate) forecast: Option<control::Expected>,
    /// What the lid's contact says.
    pub(crate) lid: Contact,
    /// What the contactor's mirror contact says; it follows the plant once it is fitted.
    pub(crate) mirror: Contact,
    /// What the probes reported last.
    pub(crate) reports: Vec<Report>,
    /// Closings of each relay.
    pub(crate) operations: [u32; control::BANKS_MOST],
}

pub(crate) fn celsius(c: f64) -> Celsius {
    Celsius::new(c).unwrap()
}

pub(crate) fn climb(rate_c_per_h: f64, to_c: f64, soak_min: u64) -> Segment {
    Segment::Climb {
        pace: Pace::Rate(CelsiusPerHour::new(rate_c_per_h).unwrap()),
        target: Target::Temperature(celsius(to_c)),
        soak: Millis::from_minutes(soak_min),
    }
}

pub(crate) fn flat_out(to_c: f64, soak_min: u64) -> Segment {
    Segment::Climb {
        pace: Pace::FlatOut,
        target: Target::Temperature(celsius(to_c)),
        soak: Millis::from_minutes(soak_min),
    }
}

/// A climb that ends on a cone as unloaded.
pub(crate) fn to_cone(rate_c_per_h: f64, cone: Cone, no_hotter_than_c: f64, at_most_min: u64) -> Segment {
    Segment::Climb {
        pace: Pace::Rate(CelsiusPerHour::new(rate_c_per_h).unwrap()),
        target: Target::Cone {
            cone,
            no_hotter_than: celsius(no_hotter_than_c),
            at_most: Millis::from_minutes(at_most_min),
        },
        soak: Millis::ZERO,
    }
}

pub(crate) fn slow_cool(rate_c_per_h: f64, to_c: f64) -> Segment {
    Segment::SlowCool {
        rate: CelsiusPerHour::new(rate_c_per_h).unwrap(),
        to: celsius(to_c),
        soak: Millis::ZERO,
    }
}

pub(crate) fn let_fall(to_c: f64) -> Segment {
    Segment::LetFall { to: celsius(to_c), soak: Millis::ZERO }
}

pub(crate) fn programme(segments: &[Segment]) -> Programme {
    Programme::new(heapless::Vec::from_slice(segments).unwrap()).unwrap()
}

/// The kiln file a potter would write for a plant, guessing the load.
pub(crate) fn kiln_of(spec: &KilnSpec, guessed_load_kg: f64) -> Kiln {
    let lining_m = spec.lining.iter().map(|layer| layer.thickness_m).sum();
    let power_w: f64 = spec.banks.iter().map(|bank| bank.rated_w).sum();
    Kiln {
        probes: spec
            .probes
            .iter()
            .map(|probe| Probe {
                sensor: Sensor {
                    thermocouple: probe.thermocouple,
                    amplifier: probe.amplifier,
                    calibration: Calibration::NONE,
                },
            })
            .collect(),
        banks: spec
            .banks
            .iter()
            .map(|bank| Bank {
                power: Watts::new(bank.rated_w).unwrap(),
                current: None,
                switch: SwitchKind::Mechanical,
                on_least: Millis::from_seconds(2),
                off_least: Millis::from_seconds(2),
                cycle_least: Millis::from_seconds(10),
                probe: u8::try_from(bank.zone).unwrap(),
            })
            .collect(),
        switching: control::Closeness::Sparing,
        ceiling: celsius(1300.0),
        supply_limit: Watts::new(power_w).unwrap(),
        firing_longest: Millis::from_hours(48),
        stay_longest: Millis::from_hours(4),
        open_below: celsius(100.0),
        model: KilnModel::new(Parameters {
            certainty: Certainty::Guessed,
            ware_j_per_k: guessed_load_kg * 1000.0,
            quick_j_per_k: 500.0 + 0.35 * power_w, // as `insight::guess`
            wall_area_m2: 1.75,
            wall_thickness_m: lining_m,
            brick_kg_per_m3: 490.0,
            conductivity_ratio: 1.0,
            leak_w_per_k: 0.5,
            power_ratio: 0.97,
        })
        .unwrap(),
    }
}

impl Bench {
    pub(crate) fn new(spec: &KilnSpec, guessed_load_kg: f64, segments: &[Segment]) -> Self {
        let firing = Firing {
            programme: programme(segments),
            delay: Millis::ZERO,
            forecast: control::Expected::lasting(Millis::from_hours(30)),
            learned: None,
        };
        Self::with(spec, guessed_load_kg, Some(firing), &Start::default())
    }

    pub(crate) fn with(spec: &KilnSpec, guessed_load_kg: f64, firing: Option<Firing>, start: &Start) -> Self {
        let kiln = kiln_of(spec, guessed_load_kg);
        Self {
            controller: Controller::new(Setup { kiln, firing, start: *start }),
            plant: Plant::new(spec, 7).unwrap(),
            switches: Switches { lid: Lid::Shut, ..Switches::default() },
            gap_c: Vec::new(),
            second: 0,
            forecast: None,
            lid: Contact::NotFitted,
            mirror: Contact::NotFitted,
            reports: Vec::new(),
            operations: [0; control::BANKS_MOST],
        }
    }

    /// Begins anew with a kiln file that differs.
    pub(crate) fn begin_anew_with(&mut self, change: impl Fn(&mut Kiln)) {
        let mut setup = self.controller.setup().clone();
        change(&mut setup.kiln);
        self.controller = Controller::new(setup);
    }

    /// One second of kiln and controller.
    pub(crate) fn step(&mut self, orders: &[Order]) -> Decision {
        self.step_seeing(orders, |report| report)
    }

    /// The same, with the probes' reports spoiled on their way.
    pub(crate) fn step_seeing(&mut self, orders: &[Order], spoil: impl Fn(Report) -> Report) -> Decision {
        self.plant.step(Millis::from_seconds(1), &self.switches);
        if self.mirror != Contact::NotFitted {
            self.mirror = if self.plant.contactor_is_closed() { Contact::Shut } else { Contact::Open };
        }
        let reports: Vec<Report> = (0..self.controller.setup().kiln.probes.len())
            .map(|probe| spoil(self.plant.report(probe)))
            .collect();
        let decision = self.controller.step(&Observation {
            at: Millis::from_seconds(self.second),
            probes: &reports,
            lid: self.lid,
            contactor: self.mirror,
            amps: [None; control::BANKS_MOST],
            orders,
            forecast: self.forecast.take(),
        });
        self.second += 1;
        self.reports = reports;
        for ((on, level), closings) in
            decision.banks.iter().zip(&mut self.switches.banks).zip(&mut self.operations)
        {
            let next = if *on { Level::On } else { Level::Off };
            *closings += u32::from(next == Level::On && *level == Level::Off);
            *level = next;
        }
        self.switches.contactor = if decision.permission { Level::On } else { Level::Off };
        decision
    }

    /// Lets time pass without a step, as when a controller is not called.
    pub(crate) fn miss(&mut self, seconds: u64) {
        self.plant.step(Millis::from_seconds(seconds), &self.switches);
        self.second += seconds;
    }

    /// Lets the kiln stand without power, and begins the time anew as a new program does.
    pub(crate) fn lose_power(&mut self, seconds: u64) {
        let unpowered = Switches { lid: Lid::Shut, ..Switches::default() };
        self.gap_c = vec![self.true_junction_c()];
        for _ in 0..seconds {
            self.plant.step(Millis::from_seconds(1), &unpowered);
            self.gap_c.push(self.true_junction_c());
        }
        self.switches = unpowered;
        self.second = 0;
    }

    /// A controller that carries the firing on.
    pub(crate) fn carry_on(&mut self, carried: &Carried) {
        let setup = self.controller.setup().clone();
        self.controller =
            Controller::new(Setup { start: Start { latched: None, carried: Some(*carried) }, ..setup });
    }

    /// What the last gap did to a cone by the junction's true temperature.
    pub(crate) fn true_work_in_the_gap(&self, cone: Cone) -> f64 {
        let mut work = HeatWork::NONE;
        for (c, seconds) in self.gap_c.iter().zip([0].into_iter().chain(std::iter::repeat(1))) {
            work.add(celsius(*c), Millis::from_seconds(seconds));
        }
        work.progress(cone)
    }

    /// Steps until something is so; panics with the last decision when it never is.
    pub(crate) fn until(&mut self, most_seconds: u64, so: impl Fn(&Decision) -> bool) -> Decision {
        let mut last = self.step(&[]);
        for _ in 0..most_seconds {
            if so(&last) {
                return last;
            }
            last = self.step(&[]);
        }
        panic!("not within {most_seconds} s: {last:?}");
    }

    pub(crate) fn true_junction_c(&self) -> f64 {
        self.plant.truth().junction(0).unwrap().c()
    }

    pub(crate) fn second(&self) -> u64 {
        self.second
    }
}
