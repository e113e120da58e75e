//! The bounds of a specification, and the error that names the field outside them.

use core::fmt;

use super::KilnSpec;
use crate::{BANKS_MOST, PROBES_MOST, ZONES_MOST};

/// A field of a specification that no simulated kiln can have.
#[derive(Clone, Debug, PartialEq)]
pub struct SpecFault {
    /// The field, as in `banks[1].rated_w`.
    pub field: String,
    /// What is wrong with it and what would be right.
    pub reason: String,
}

impl fmt::Display for SpecFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field, self.reason)
    }
}

impl core::error::Error for SpecFault {}

fn fault(field: impl Into<String>, reason: impl Into<String>) -> SpecFault {
    SpecFault { field: field.into(), reason: reason.into() }
}

/// Whether `value` lies in the bounds; a NaN lies nowhere.
fn within(field: impl Into<String>, value: f64, low: f64, high: f64) -> Result<(), SpecFault> {
    if value >= low && value <= high {
        return Ok(());
    }
    Err(fault(field, format!("{value} is outside {low} to {high}")))
}

fn counted(field: &str, count: usize, most: usize) -> Result<(), SpecFault> {
    if (1..=most).contains(&count) {
        return Ok(());
    }
    Err(fault(field, format!("{count} given, 1 to {most} possible")))
}

impl KilnSpec {
    /// Checks every field against the bounds its documentation states.
    pub fn check(&self) -> Result<(), SpecFault> {
        counted("zones", self.zones, ZONES_MOST)?;
        within("chamber_l", self.chamber_l, 0.5, 3000.0)?;
        within("rated_v", self.rated_v, 50.0, 1000.0)?;
        within("mains_v", self.mains_v, 50.0, 1000.0)?;
        within("mains_wander", self.mains_wander, 0.0, 0.1)?;
        within("leak_w_per_k", self.leak_w_per_k, 0.0, 50.0)?;
        within("gaps_m2", self.gaps_m2, 0.0, 0.05)?;
        within("zone_opening", self.zone_opening, 0.0, 1.0)?;
        within("ambient_c", self.ambient_c, -30.0, 50.0)?;
        within("start_c", self.start_c, -30.0, 1350.0)?;
        within("ware.mass_kg", self.ware.mass_kg, 0.5, 2000.0)?;
        within("ware.area_m2", self.ware.area_m2, 0.05, 50.0)?;
        within("ware.core_lag_s", self.ware.core_lag_s, 10.0, 3600.0)?;
        within("wire.diameter_mm", self.wire.diameter_mm, 0.5, 8.0)?;
        within("wire.surface_load_w_per_cm2", self.wire.surface_load_w_per_cm2, 0.3, 5.0)?;
        self.check_enclosure()?;
        self.check_lining()?;
        self.check_banks()?;
        self.check_probes()
    }

    fn check_enclosure(&self) -> Result<(), SpecFault> {
        let enclosure = &self.enclosure;
        within("enclosure.capacity_j_per_k", enclosure.capacity_j_per_k, 100.0, 1.0e5)?;
        within("enclosure.to_ambient_w_per_k", enclosure.to_ambient_w_per_k, 0.05, 50.0)?;
        within("enclosure.from_kiln_w_per_k", enclosure.from_kiln_w_per_k, 0.0, 10.0)?;
        within("enclosure.own_w", enclosure.own_w, 0.0, 200.0)?;
        within("enclosure.head_share", enclosure.head_share, 0.0, 1.0)
    }

    fn check_lining(&self) -> Result<(), SpecFault> {
        counted("lining", self.lining.len(), 3)?;
        for (index, layer) in self.lining.iter().enumerate() {
            let named = |field: &str| format!("lining[{index}].{field}");
            within(named("thickness_m"), layer.thickness_m, 0.01, 0.5)?;
            within(named("brick.density_kg_per_m3"), layer.brick.density_kg_per_m3, 50.0, 4000.0)?;
            for at_c in [-30.0, 700.0, 1400.0] {
                within(named("brick.conductivity"), layer.brick.conductivity_w_per_mk(at_c), 0.01, 20.0)?;
                within(
                    named("brick.heat_capacity"),
                    layer.brick.heat_capacity_j_per_kgk(at_c),
                    200.0,
                    3000.0,
                )?;
            }
        }
        Ok(())
    }

    fn check_banks(&self) -> Result<(), SpecFault> {
        counted("banks", self.banks.len(), BANKS_MOST)?;
        for (index, bank) in self.banks.iter().enumerate() {
            self.check_zone(format!("banks[{index}].zone"), bank.zone)?;
            within(format!("banks[{index}].rated_w"), bank.rated_w, 50.0, 60_000.0)?;
        }
        for zone in 0..self.zones {
            if !self.banks.iter().any(|bank| bank.zone == zone) {
                return Err(fault("banks", format!("none heats zone {zone}")));
            }
        }
        Ok(())
    }

    fn check_probes(&self) -> Result<(), SpecFault> {
        counted("probes", self.probes.len(), PROBES_MOST)?;
        for (index, probe) in self.probes.iter().enumerate() {
            let named = |field: &str| format!("probes[{index}].{field}");
            self.check_zone(named("zone"), probe.zone)?;
            within(named("lag_s"), probe.lag_s, 1.0, 300.0)?;
            within(named("element_view"), probe.element_view, 0.0, 1.0)?;
            within(named("noise_c"), probe.noise_c, 0.0, 5.0)?;
            within(named("error_c"), probe.error_c, -30.0, 30.0)?;
            if !probe.amplifier.serves(probe.thermocouple) {
                let reason = format!("{:?} is not made for type {:?}", probe.amplifier, probe.thermocouple);
                return Err(fault(named("amplifier"), reason));
            }
        }
        Ok(())
    }

    fn check_zone(&self, field: String, zone: usize) -> Result<(), SpecFault> {
        if zone < self.zones {
            return Ok(());
        }
        Err(fault(field, format!("zone {zone} does not exist, the last is {}", self.zones - 1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pyrometry::amplifier::Amplifier;
    use pyrometry::thermocouple::Thermocouple;

    fn refused(change: impl Fn(&mut KilnSpec)) -> String {
        let mut spec = KilnSpec::default();
        change(&mut spec);
        spec.check().expect_err("refused").to_string()
    }

    #[test]
    fn a_field_out_of_bounds_is_named_with_its_value_and_bounds() {
        assert_eq!(refused(|s| s.chamber_l = f64::NAN), "chamber_l: NaN is outside 0.5 to 3000");
        assert_eq!(refused(|s| s.banks[1].rated_w = 9.0), "banks[1].rated_w: 9 is outside 50 to 60000");
        assert_eq!(refused(|s| s.probes[0].zone = 2), "probes[0].zone: zone 2 does not exist, the last is 0");
        assert_eq!(refused(|s| s.zones = 2), "banks: none heats zone 1");
        assert_eq!(refused(|s| s.banks.clear()), "banks: 0 given, 1 to 8 possible");
    }

    #[test]
    fn a_chip_that_is_not_made_for_the_wire_is_refused() {
        let reason = refused(|s| {
            s.probes[0].amplifier = Amplifier::Max6675;
            s.probes[0].thermocouple = Thermocouple::S;
        });
        assert_eq!(reason, "probes[0].amplifier: Max6675 is not made for type S");
    }

    #[test]
    fn the_default_kiln_is_accepted() {
        assert_eq!(KilnSpec::default().check(), Ok(()));
    }
}
