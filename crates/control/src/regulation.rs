//! The zones' regulators, led along the rounded schedule.

use pyrometry::units::{Duty, Millis, Watts};

use crate::BANKS_MOST;
use crate::controller::Controller;
use crate::kiln::Kiln;
use crate::regulator::{Integration, Regulator};
use crate::shaper::{LOOK_AHEAD, Reference, Shaper};

impl Controller {
    /// The duty of every bank. Where no heat is wanted the regulators only watch the kiln.
    pub(crate) fn regulate(&mut self, span: Millis, withheld: bool, at: Millis) -> [Duty; BANKS_MOST] {
        self.meet_the_kiln(at);
        let Some(later) = self.stage.setpoint_after(LOOK_AHEAD) else {
            self.only_watch(span, at);
            return [Duty::OFF; BANKS_MOST];
        };
        let leaving = self.chamber.map_or(later, |chamber| chamber.mean);
        let reference = self.shaper.get_or_insert(Shaper::at_rest(leaving)).follow(later, span);
        let another_decides = withheld || self.switching.starved(&self.setup.kiln);
        let integration = if another_decides { Integration::Held } else { Integration::Free };
        self.zone_duties(reference, integration, span, at)
    }

    fn zone_duties(
        &mut self,
        reference: Reference,
        integration: Integration,
        span: Millis,
        at: Millis,
    ) -> [Duty; BANKS_MOST] {
        let (kiln, supply_share) = (&self.setup.kiln, self.supply_share);
        let mut duty = [Duty::OFF; BANKS_MOST];
        for (regulator, number) in self.regulators.iter_mut().zip(0_u8..) {
            let Some(reading) = self.zones.reading(usize::from(number), at) else { continue };
            // A regulator's full power is what the supply carries, of which the banks take turns.
            let given = Duty::limited(given_to(kiln, &self.duty, number).ratio() / supply_share);
            let regulated = regulator.duty(kiln, reference, reading, given, integration, span);
            let asked = Duty::limited(regulated.ratio() * supply_share);
            for (slot, bank) in duty.iter_mut().zip(&kiln.banks) {
                if bank.probe == number {
                    *slot = asked;
                }
            }
        }
        duty
    }

    /// Makes the regulators once there is a reading to make them from.
    fn meet_the_kiln(&mut self, at: Millis) {
        let kiln = &self.setup.kiln;
        let whole = zone_power(kiln, None);
        for number in (0_u8..).take(kiln.probes.len()).skip(self.regulators.len()) {
            let Some(reading) = self.zones.reading(usize::from(number), at) else { return };
            let power = zone_power(kiln, Some(number));
            let carried = Watts::new(power.w() * self.supply_share).unwrap_or(power);
            let regulator = Regulator::new(kiln, power.w() / whole.w(), carried, reading);
            if self.regulators.push(regulator).is_err() {
                return;
            }
        }
    }

    fn only_watch(&mut self, span: Millis, at: Millis) {
        self.shaper = None;
        for (number, regulator) in self.regulators.iter_mut().enumerate() {
            if let Some(reading) = self.zones.reading(number, at) {
                regulator.watch(reading, span);
            }
        }
    }
}

/// Power of the banks that a probe governs, or of all banks.
fn zone_power(kiln: &Kiln, probe: Option<u8>) -> Watts {
    kiln.banks
        .iter()
        .filter(|bank| probe.is_none_or(|probe| bank.probe == probe))
        .fold(Watts::ZERO, |sum, bank| sum + bank.power)
}

/// The duty that a zone's banks were asked for in the step before: alike for all of them.
fn given_to(kiln: &Kiln, duty: &[Duty; BANKS_MOST], probe: u8) -> Duty {
    kiln.banks.iter().zip(duty).find(|(bank, _)| bank.probe == probe).map_or(Duty::OFF, |(_, duty)| *duty)
}
