//! A kiln for these tests, of other build than the controller's model: elements, ware and a lining
//! of twelve cells that exchange heat by radiation, and a probe that lags.

use pyrometry::units::between;

use super::*;

const STEFAN_BOLTZMANN: f64 = 5.670_374e-8; // W/m²K⁴, CODATA 2018
const CELLS: usize = 12;

/// What may differ between kilns of the same kiln file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Build {
    pub(super) load: f64,
    pub(super) mains: f64,
    pub(super) walls: f64,
    pub(super) ambient_c: f64,
}

impl Build {
    pub(super) const USUAL: Self = Self { load: 1.0, mains: 1.0, walls: 1.0, ambient_c: 20.0 };
}

#[derive(Clone)]
pub(super) struct Plant {
    build: Build,
    elements_c: f64,
    ware_c: f64,
    cells_c: [f64; CELLS],
    probe_c: f64,
}

fn radiated_w(area_m2: f64, from_c: f64, to_c: f64) -> f64 {
    let fourth = |c: f64| (c + 273.15).powi(4);
    0.7 * STEFAN_BOLTZMANN * area_m2 * (fourth(from_c) - fourth(to_c))
}

impl Plant {
    pub(super) fn new(build: Build) -> Self {
        let at = build.ambient_c;
        Self { build, elements_c: at, ware_c: at, cells_c: [at; CELLS], probe_c: at }
    }

    /// One second with some of the rated 10 kW; `share` of it reaches the elements.
    pub(super) fn second(&mut self, banks: usize, share: f64) -> f64 {
        const AREA_M2: f64 = 1.6;
        const CELL_M: f64 = 0.114 / 12.0;
        const CELL_J_PER_K: f64 = AREA_M2 * CELL_M * 490.0 * 990.0;
        let given_w = f64::from(u32::try_from(banks).unwrap()) * 5_000.0 * share * self.build.mains.powi(2);
        let to_ware_w = radiated_w(0.25, self.elements_c, self.ware_c);
        let to_wall_w = radiated_w(0.25, self.elements_c, self.cells_c[0]);
        let wall_to_ware_w =
            radiated_w(0.6, self.cells_c[0], self.ware_c) + 8.0 * (self.cells_c[0] - self.ware_c);
        let leak_w = 1.0 * self.build.walls * (self.ware_c - self.build.ambient_c);
        self.elements_c += (given_w - to_ware_w - to_wall_w) / 3_500.0;
        self.ware_c += (to_ware_w + wall_to_ware_w - leak_w) / (30_000.0 * self.build.load);
        let mut inflow_w = to_wall_w - wall_to_ware_w;
        for cell in 0..CELLS {
            let next_c = self.cells_c.get(cell + 1).copied();
            let mean_c = 0.5 * (self.cells_c[cell] + next_c.unwrap_or(self.build.ambient_c));
            let k = (0.1 + 1.0e-4 * mean_c) * self.build.walls;
            let outflow_w = match next_c {
                Some(next_c) => k * AREA_M2 / CELL_M * (self.cells_c[cell] - next_c),
                None => 10.0 * AREA_M2 * (self.cells_c[cell] - self.build.ambient_c),
            };
            self.cells_c[cell] += (inflow_w - outflow_w) / CELL_J_PER_K;
            inflow_w = outflow_w;
        }
        self.probe_c += (self.chamber_c() - self.probe_c) / 40.0; // a sheathed probe's lag, s
        self.probe_c
    }

    /// What a probe without lag would say.
    pub(super) fn chamber_c(&self) -> f64 {
        0.1 * self.elements_c + 0.5 * self.ware_c + 0.4 * self.cells_c[0]
    }
}

/// A plant under a plain proportional-integral control, watched by the interlocks.
pub(super) struct Firing {
    pub(super) rig: Rig,
    pub(super) plant: Plant,
    /// Share of the power asked for that comes.
    pub(super) share: f64,
    /// Banks that heat whatever they are told.
    pub(super) welded: usize,
    /// How the amplifier falsifies what the probe says.
    pub(super) amplifier: fn(f64) -> f64,
    /// Noise before the amplifier rounds, °C, and the amplifier's step.
    pub(super) noise_c: f64,
    pub(super) step_c: f64,
    second: f64,
    integral: f64,
    pub(super) reading_c: f64,
}

impl Firing {
    pub(super) fn new(build: Build) -> Self {
        let mut rig = Rig::climbing();
        rig.cold_junction_c = build.ambient_c + 5.0;
        let plant = Plant::new(build);
        Self {
            rig,
            plant,
            share: 1.0,
            welded: 0,
            amplifier: |true_c| true_c,
            noise_c: 0.2,
            step_c: 1.0 / 128.0,
            second: 0.0,
            integral: 0.0,
            reading_c: build.ambient_c,
        }
    }

    /// One second towards a setpoint, or off.
    pub(super) fn second(&mut self, setpoint_c: Option<f64>) -> Judgement {
        self.rig.setpoint = setpoint_c.map(celsius);
        let banks = setpoint_c.map_or(0, |setpoint_c| self.banks(setpoint_c));
        self.rig.banks_on(banks);
        self.second += 1.0;
        let true_c = self.plant.second(banks.max(self.welded), self.share);
        let said_c = (self.amplifier)(true_c) + self.noise_c * noise(self.second);
        self.reading_c = (said_c / self.step_c).round() * self.step_c;
        self.rig.read(self.reading_c)
    }

    fn banks(&mut self, setpoint_c: f64) -> usize {
        let lag_c = setpoint_c - self.reading_c;
        self.integral = between(self.integral + lag_c * 0.0005, 0.0, 1.0);
        let duty = between(0.05 * lag_c + self.integral, 0.0, 1.0);
        if duty * 20.0 > self.second % 20.0 { 2 } else { 0 }
    }

    /// Climbs from where it is, its clock waiting for the kiln; the first trip ends it.
    pub(super) fn climb(&mut self, c_per_h: f64, to_c: f64) -> Option<Finding> {
        self.rig.phase = Phase::Climbing;
        let mut setpoint_c = self.reading_c;
        for _ in 0..200_000 {
            if (setpoint_c - self.reading_c).abs() < 8.0 {
                setpoint_c += c_per_h / 3600.0;
            }
            if setpoint_c >= to_c {
                return None;
            }
            if let Some(trip) = self.second(Some(setpoint_c)).trip {
                return Some(trip);
            }
        }
        None
    }

    pub(super) fn soak(&mut self, seconds: u32, at_c: f64) -> Option<(u32, Finding)> {
        self.rig.phase = Phase::Soaking;
        (0..seconds).find_map(|second| self.second(Some(at_c)).trip.map(|trip| (second, trip)))
    }

    pub(super) fn cool(&mut self, seconds: u32) -> Option<(u32, Finding)> {
        self.rig.phase = Phase::Cooling;
        (0..seconds).find_map(|second| self.second(None).trip.map(|trip| (second, trip)))
    }
}
