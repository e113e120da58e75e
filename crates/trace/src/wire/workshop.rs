//! The kiln and everything else a controller is made from.

use control::{BANKS_MOST, Certainty, Closeness, KilnModel, PROBES_MOST, Parameters, SwitchKind};
use pyrometry::units::{Amps, Celsius, Millis, Watts};
use serde::{Deserialize, Serialize};

use super::{Carried, Exact, Few, Finding, Firing, Named, Number, Probe, WireFault};

/// Everything a controller is made from.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Setup {
    /// Parts and limits.
    pub kiln: Kiln,
    /// The firing; none at rest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub firing: Option<Firing>,
    /// A trip from before that nobody has cleared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub latched: Option<Finding>,
    /// Where the firing stood that this one carries on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carried: Option<Carried>,
}

/// Parts and limits of the kiln.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Kiln {
    /// One probe a zone.
    pub probes: Few<Probe, PROBES_MOST>,
    /// The banks.
    pub banks: Few<Bank, BANKS_MOST>,
    /// How its mechanical switches are used; sparingly where it is not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub switching: Option<Named<Closeness>>,
    /// No junction may be hotter.
    pub ceiling_c: Exact<Celsius>,
    /// The most the energised banks may draw together.
    pub supply_limit_w: Exact<Watts>,
    /// The longest firing, ms.
    pub firing_longest_ms: u64,
    /// The longest stay, ms.
    pub stay_longest_ms: u64,
    /// Cool enough to open below this.
    pub open_below_c: Exact<Celsius>,
    /// What is known of its thermal behaviour.
    pub model: Model,
}

/// The elements switched together.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Bank {
    power_w: Exact<Watts>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    current_a: Option<Exact<Amps>>,
    switch: Named<SwitchKind>,
    on_least_ms: u64,
    off_least_ms: u64,
    window_ms: u64,
    probe: u8,
}

/// The thermal model's parameters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs, reason = "the fields are those of control::Parameters, documented there")]
pub struct Model {
    pub certainty: Named<Certainty>,
    pub ware_j_per_k: Number,
    pub quick_j_per_k: Number,
    pub wall_area_m2: Number,
    pub wall_thickness_m: Number,
    pub brick_kg_per_m3: Number,
    pub conductivity_ratio: Number,
    pub leak_w_per_k: Number,
    pub power_ratio: Number,
}

impl From<&KilnModel> for Model {
    fn from(model: &KilnModel) -> Self {
        let Parameters {
            certainty,
            ware_j_per_k,
            quick_j_per_k,
            wall_area_m2,
            wall_thickness_m,
            brick_kg_per_m3,
            conductivity_ratio,
            leak_w_per_k,
            power_ratio,
        } = *model.parameters();
        Self {
            certainty: Named(certainty),
            ware_j_per_k: Number(ware_j_per_k),
            quick_j_per_k: Number(quick_j_per_k),
            wall_area_m2: Number(wall_area_m2),
            wall_thickness_m: Number(wall_thickness_m),
            brick_kg_per_m3: Number(brick_kg_per_m3),
            conductivity_ratio: Number(conductivity_ratio),
            leak_w_per_k: Number(leak_w_per_k),
            power_ratio: Number(power_ratio),
        }
    }
}

impl TryFrom<Model> for KilnModel {
    type Error = WireFault;

    fn try_from(model: Model) -> Result<Self, WireFault> {
        Self::new(Parameters {
            certainty: model.certainty.0,
            ware_j_per_k: model.ware_j_per_k.0,
            quick_j_per_k: model.quick_j_per_k.0,
            wall_area_m2: model.wall_area_m2.0,
            wall_thickness_m: model.wall_thickness_m.0,
            brick_kg_per_m3: model.brick_kg_per_m3.0,
            conductivity_ratio: model.conductivity_ratio.0,
            leak_w_per_k: model.leak_w_per_k.0,
            power_ratio: model.power_ratio.0,
        })
        .map_err(|fault| WireFault::new(fault.field, "outside what any kiln can have"))
    }
}

impl From<&control::Bank> for Bank {
    fn from(bank: &control::Bank) -> Self {
        let control::Bank { power, current, switch, on_least, off_least, cycle_least, probe } = *bank;
        Self {
            power_w: Exact(power),
            current_a: current.map(Exact),
            switch: Named(switch),
            on_least_ms: on_least.ms(),
            off_least_ms: off_least.ms(),
            window_ms: cycle_least.ms(),
            probe,
        }
    }
}

impl From<Bank> for control::Bank {
    fn from(bank: Bank) -> Self {
        Self {
            power: bank.power_w.0,
            current: bank.current_a.map(|current| current.0),
            switch: bank.switch.0,
            on_least: Millis::new(bank.on_least_ms),
            off_least: Millis::new(bank.off_least_ms),
            cycle_least: Millis::new(bank.window_ms),
            probe: bank.probe,
        }
    }
}

impl From<&control::Kiln> for Kiln {
    fn from(kiln: &control::Kiln) -> Self {
        let control::Kiln {
            probes,
            banks,
            switching,
            ceiling,
            supply_limit,
            firing_longest,
            stay_longest,
            open_below,
            model,
        } = kiln;
        Self {
            probes: Few::of(probes, |probe| Probe::from(probe)),
            banks: Few::of(banks, |bank| Bank::from(bank)),
            switching: (*switching != Closeness::default()).then_some(Named(*switching)),
            ceiling_c: Exact(*ceiling),
            supply_limit_w: Exact(*supply_limit),
            firing_longest_ms: firing_longest.ms(),
            stay_longest_ms: stay_longest.ms(),
            open_below_c: Exact(*open_below),
            model: Model::from(model),
        }
    }
}

impl TryFrom<Kiln> for control::Kiln {
    type Error = WireFault;

    fn try_from(kiln: Kiln) -> Result<Self, WireFault> {
        let probes = kiln.probes.try_each(control::Probe::try_from)?;
        let banks = kiln.banks.each(control::Bank::from);
        if let Some(bank) = banks.iter().find(|bank| usize::from(bank.probe) >= probes.len()) {
            let reason = format!("a bank is governed by probe {}, of {}", bank.probe, probes.len());
            return Err(WireFault::new("banks", reason));
        }
        Ok(Self {
            probes,
            banks,
            switching: kiln.switching.map_or_else(Closeness::default, |named| named.0),
            ceiling: kiln.ceiling_c.0,
            supply_limit: kiln.supply_limit_w.0,
            firing_longest: Millis::new(kiln.firing_longest_ms),
            stay_longest: Millis::new(kiln.stay_longest_ms),
            open_below: kiln.open_below_c.0,
            model: kiln.model.try_into()?,
        })
    }
}

impl From<&control::Setup> for Setup {
    fn from(setup: &control::Setup) -> Self {
        let control::Setup { kiln, firing, start: control::Start { latched, carried } } = setup;
        Self {
            kiln: Kiln::from(kiln),
            firing: firing.as_ref().map(Firing::from),
            latched: latched.map(Finding::from),
            carried: carried.as_ref().map(Carried::from),
        }
    }
}

impl TryFrom<Setup> for control::Setup {
    type Error = WireFault;

    fn try_from(setup: Setup) -> Result<Self, WireFault> {
        Ok(Self {
            kiln: setup.kiln.try_into()?,
            firing: setup.firing.map(control::Firing::try_from).transpose()?,
            start: control::Start {
                latched: setup.latched.map(control::Finding::from),
                carried: setup.carried.map(control::Carried::try_from).transpose()?,
            },
        })
    }
}
