//! What is really so in the simulated kiln, for tests and summaries: no controller may see it.

use pyrometry::units::{Celsius, Joules};

use crate::heat::NODES;
use crate::plant::Plant;

/// The plant as it is. Indexes follow the specification; what does not exist is `None`.
#[derive(Clone, Copy)]
pub struct Truth<'a> {
    pub(crate) plant: &'a Plant,
}

/// Where energy came from and went since the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Energy {
    /// Drawn from the mains by the elements.
    pub electrical: Joules,
    /// Lost from the outer face.
    pub shell: Joules,
    /// Lost through gaps and lid.
    pub openings: Joules,
    /// Gained by elements, ware and lining, from their temperatures.
    pub stored: Joules,
}

impl Energy {
    /// What does not add up, J: nothing, but for the steps' own error. Probes and enclosure are
    /// outside the balance: they take no heat from the kiln that it would miss.
    #[must_use]
    pub fn residue_j(&self) -> f64 {
        self.electrical.j() - self.shell.j() - self.openings.j() - self.stored.j()
    }
}

impl Truth<'_> {
    /// A thermocouple's junction.
    #[must_use]
    pub fn junction(&self, probe: usize) -> Option<Celsius> {
        let known = self.plant.spec.probes.len();
        celsius(self.plant.heat.junctions.get(probe).filter(|_| probe < known).copied())
    }

    /// The elements of a bank.
    #[must_use]
    pub fn element(&self, bank: usize) -> Option<Celsius> {
        let known = self.plant.spec.banks.len();
        celsius(self.plant.heat.elements.get(bank).filter(|_| bank < known).copied())
    }

    /// Surface of a zone's ware.
    #[must_use]
    pub fn ware_surface(&self, zone: usize) -> Option<Celsius> {
        celsius(self.zone(zone).map(|at| at.ware_surface))
    }

    /// Core of a zone's ware.
    #[must_use]
    pub fn ware_core(&self, zone: usize) -> Option<Celsius> {
        celsius(self.zone(zone).map(|at| at.ware_core))
    }

    /// Hot face of a zone's lining.
    #[must_use]
    pub fn hot_face(&self, zone: usize) -> Option<Celsius> {
        celsius(self.zone(zone).map(|at| at.wall[0]))
    }

    /// Outer face of a zone's lining.
    #[must_use]
    pub fn outer_face(&self, zone: usize) -> Option<Celsius> {
        celsius(self.zone(zone).map(|at| at.wall[NODES - 1]))
    }

    /// The box with the electronics: every amplifier's cold junction.
    #[must_use]
    pub fn enclosure(&self) -> Celsius {
        held(self.plant.heat.enclosure)
    }

    /// The thermocouples' terminal heads.
    #[must_use]
    pub fn terminal_head(&self) -> Celsius {
        held(self.plant.head_c())
    }

    /// The hottest that anything in the chamber is.
    #[must_use]
    pub fn hottest(&self) -> Celsius {
        let elements = (0..self.plant.spec.banks.len()).filter_map(|bank| self.element(bank));
        let zones = (0..self.plant.spec.zones).filter_map(|zone| self.ware_surface(zone));
        elements.chain(zones).fold(Celsius::LEAST, Celsius::hotter)
    }

    fn zone(&self, zone: usize) -> Option<&crate::heat::ZoneHeat> {
        self.plant.heat.zones.get(zone).filter(|_| zone < self.plant.spec.zones)
    }
}

fn celsius(value: Option<f64>) -> Option<Celsius> {
    value.map(held)
}

/// The plant's physics keeps every temperature far inside the unit's range.
fn held(value_c: f64) -> Celsius {
    Celsius::new(value_c).unwrap_or(Celsius::GREATEST)
}
