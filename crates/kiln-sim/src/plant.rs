//! The simulated kiln as a whole: switches in, reports out, time only by steps.

use fastrand::Rng;
use hal::Level;
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::units::{Amps, Joules, Millis, Watts};

use crate::body::{Body, Drive};
use crate::conditions::{Conditions, LidForced};
use crate::element::resistance_factor;
use crate::fault::{FaultRefused, Timed, check};
use crate::heat::{Heat, NODES};
use crate::noise::normal;
use crate::probe::{Around, Drawing, Probe};
use crate::relay::Relay;
use crate::spec::{KilnSpec, SpecFault};
use crate::truth::{Energy, Truth};
use crate::{BANKS_MOST, PROBES_MOST};

const MAINS_WANDERS_S: f64 = 600.0; // correlation time of the mains' wander: loads of a street come and go in minutes; engineering judgement

/// What the lid does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Lid {
    /// Shut.
    #[default]
    Shut,
    /// Wide open.
    Open,
}

/// How everything that people and electronics switch stands during a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Switches {
    /// Each bank's command, in the specification's order.
    pub banks: [Level; BANKS_MOST],
    /// The safety contactor's coil.
    pub contactor: Level,
    /// The lid.
    pub lid: Lid,
}

/// A simulated kiln. A clone goes on as the original would.
#[derive(Clone)]
pub struct Plant {
    pub(crate) spec: KilnSpec,
    pub(crate) heat: Heat,
    body: Body,
    relays: [Relay; BANKS_MOST],
    contactor: Relay,
    probes: Vec<Probe>,
    faults: Vec<Timed>,
    pub(crate) conditions: Conditions,
    change_next: Option<Millis>,
    now: Millis,
    wander: f64,
    mains_random: Rng,
    stored_at_start_j: f64,
    cold_w: [f64; BANKS_MOST],
    drawing: Drawing,
    lid: Lid,
}

impl Plant {
    /// A kiln of that specification, all at `start_c` and everything off. The same specification,
    /// seed, faults and steps give the same kiln bit for bit.
    pub fn new(spec: &KilnSpec, seed: u64) -> Result<Self, SpecFault> {
        spec.check()?;
        let body = Body::new(spec);
        let mut heat = Heat::at(spec.start_c);
        heat.enclosure = spec.ambient_c;
        let mut random = Rng::with_seed(seed);
        let probes = spec.probes.iter().map(|probe| Probe::new(*probe, random.fork())).collect();
        let stored_at_start_j = body.stored_j(&heat);
        Ok(Self {
            spec: spec.clone(),
            heat,
            body,
            relays: [Relay::default(); BANKS_MOST],
            contactor: Relay::default(),
            probes,
            faults: Vec::new(),
            conditions: Conditions::default(),
            change_next: None,
            now: Millis::ZERO,
            wander: normal(&mut random) * spec.mains_wander,
            mains_random: random,
            stored_at_start_j,
            cold_w: [0.0; BANKS_MOST],
            drawing: Drawing::Nothing,
            lid: Lid::Shut,
        })
    }

    /// Puts these faults in the place of all before. An onset already past takes effect at once.
    pub fn schedule(&mut self, faults: &[Timed]) -> Result<(), FaultRefused> {
        check(faults, &self.spec)?;
        self.faults = faults.to_vec();
        (self.conditions, self.change_next) = Conditions::at(self.now, &self.faults);
        Ok(())
    }

    /// Lets time pass with the switches standing so. Allocates nothing.
    pub fn step(&mut self, span: Millis, switches: &Switches) {
        if self.change_next.is_some_and(|change| change <= self.now) {
            (self.conditions, self.change_next) = Conditions::at(self.now, &self.faults);
        }
        let span_s = span.seconds();
        self.switch(switches);
        let drive = self.drive(span_s);
        let mut left_s = span_s;
        let mut steps = libm::ceil(span_s / self.body.span_most_s());
        while steps > 0.0 {
            let part_s = left_s / steps;
            self.body.step(&mut self.heat, &drive, part_s);
            left_s -= part_s;
            steps -= 1.0;
        }
        self.now += span;
    }

    fn switch(&mut self, switches: &Switches) {
        self.contactor.drive(switches.contactor, self.conditions.contactor);
        for ((relay, level), bank) in self.relays.iter_mut().zip(switches.banks).zip(&self.conditions.banks) {
            relay.drive(level, bank.switch);
        }
        self.lid = match self.conditions.lid {
            LidForced::Open => Lid::Open,
            LidForced::No => switches.lid,
        };
    }

    fn drive(&mut self, span_s: f64) -> Drive {
        let mut drive = Drive {
            more_leak_w_per_k: self.conditions.more_leak_w_per_k,
            more_enclosure_w: self.conditions.more_enclosure_w,
            lid_m2: match self.lid {
                Lid::Shut => 0.0,
                Lid::Open => self.body.lid_m2(),
            },
            ..Drive::default()
        };
        let volts = self.volts(span_s) * self.contactor.share(self.conditions.contactor);
        self.drawing = Drawing::Nothing;
        for bank in 0..self.spec.banks.len() {
            let condition = &self.conditions.banks[bank];
            let siemens = self.body.element(bank).conductance_s * condition.conductance_ratio;
            let cold_w = volts * volts * siemens * self.relays[bank].share(condition.switch);
            if cold_w > 0.0 {
                self.drawing = Drawing::Current;
            }
            drive.cold_w[bank] = cold_w;
        }
        self.cold_w = drive.cold_w;
        for probe in 0..PROBES_MOST {
            drive.withdrawn[probe] = self.conditions.probes[probe].withdrawn;
        }
        drive
    }

    /// The mains, wandering as a first-order process of the specified deviation.
    fn volts(&mut self, span_s: f64) -> f64 {
        if self.spec.mains_wander > 0.0 {
            let share = span_s / (MAINS_WANDERS_S + span_s);
            let kick = self.spec.mains_wander * libm::sqrt(2.0 * share) * normal(&mut self.mains_random);
            self.wander += kick - share * self.wander;
        }
        self.spec.mains_v * (1.0 + self.wander) * self.conditions.mains_ratio
    }

    /// What a probe's amplifier says now. Each call draws new noise; a probe that the kiln does not
    /// have does not answer.
    pub fn report(&mut self, probe: usize) -> Report {
        let around = Around {
            now: self.now,
            junction_c: self.heat.junctions.get(probe).copied().unwrap_or_default(),
            head_c: self.head_c(),
            cold_junction_c: self.heat.enclosure,
            drawing: self.drawing,
        };
        match self.probes.get_mut(probe) {
            Some(asked) => asked.report(&around, &self.conditions.probes[probe]),
            None => Report::single(Said::Nothing, ChipFaults::NO_ANSWER),
        }
    }

    /// A bank's current in the last step; `None` for a bank that the kiln does not have.
    #[must_use]
    pub fn amps(&self, bank: usize) -> Option<Amps> {
        let watts = self.power(bank)?.w();
        let conductance = self.body.element(bank).conductance_s
            * self.conditions.banks[bank].conductance_ratio
            / resistance_factor(self.heat.elements[bank]);
        Amps::new(libm::sqrt(watts * conductance))
    }

    /// A bank's power in the last step; `None` for a bank that the kiln does not have.
    #[must_use]
    pub fn power(&self, bank: usize) -> Option<Watts> {
        if bank >= self.spec.banks.len() {
            return None;
        }
        Watts::new(self.cold_w[bank] / resistance_factor(self.heat.elements[bank]))
    }

    /// Closings a bank's relay has made.
    #[must_use]
    pub fn relay_operations(&self, bank: usize) -> Option<u64> {
        self.relays.get(bank).map(Relay::operations)
    }

    /// Closings the safety contactor has made.
    #[must_use]
    pub fn contactor_operations(&self) -> u64 {
        self.contactor.operations()
    }

    /// Whether the safety contactor's main contacts really touch.
    #[must_use]
    pub fn contactor_is_closed(&self) -> bool {
        self.contactor.is_closed()
    }

    /// What the lid really does.
    #[must_use]
    pub fn lid(&self) -> Lid {
        self.lid
    }

    /// The specification.
    #[must_use]
    pub fn spec(&self) -> &KilnSpec {
        &self.spec
    }

    /// Time since the start.
    #[must_use]
    pub fn now(&self) -> Millis {
        self.now
    }

    /// What is really so.
    #[must_use]
    pub fn truth(&self) -> Truth<'_> {
        Truth { plant: self }
    }

    /// Where energy came from and went since the start.
    #[must_use]
    pub fn energy(&self) -> Energy {
        let joules = |j: f64| Joules::new(j).unwrap_or(Joules::GREATEST);
        Energy {
            electrical: joules(self.heat.ledger.electrical),
            shell: joules(self.heat.ledger.shell),
            openings: joules(self.heat.ledger.openings),
            stored: joules(self.body.stored_j(&self.heat) - self.stored_at_start_j),
        }
    }

    /// The terminal head stands between ambient and the top zone's outer face.
    pub(crate) fn head_c(&self) -> f64 {
        let ambient_c = self.body.ambient_c();
        ambient_c + self.spec.enclosure.head_share * (self.heat.zones[0].wall[NODES - 1] - ambient_c)
    }
}
