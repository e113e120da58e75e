//! The zones' regulators, led along the rounded schedule.

use pyrometry::units::{Duty, Millis, Watts};

use crate::BANKS_MOST;
use crate::controller::Controller;
use crate::kiln::Kiln;
use crate::regulator::{Integration, Regulator, Zone};
use crate::shaper::{LOOK_AHEAD, Shaper};

impl Controller {
    /// The duty of every bank. Where no heat is wanted the regulators only watch the kiln.
    pub(crate) fn regulate(&mut self, span: Millis, held: bool, at: Millis) -> [Duty; BANKS_MOST] {
        let mut duty = [Duty::OFF; BANKS_MOST];
        self.meet_the_kiln(at);
        let Some(later) = self.stage.setpoint_after(LOOK_AHEAD) else {
            self.only_watch(span, at);
            return duty;
        };
        let leaving = self.chamber.map_or(later, |chamber| chamber.mean);
        let reference = self.shaper.get_or_insert(Shaper::at_rest(leaving)).follow(later, span);
        let integration = if held || self.switching.starved(&self.setup.kiln) {
            Integration::Held
        } else {
            Integration::Free
        };
        let kiln = &self.setup.kiln;
        let total_w = zone_power(kiln, None).w();
        for (number, regulator) in self.regulators.iter_mut().enumerate() {
            let Some(reading) = self.zones.reading(number, at) else { continue };
            let power = zone_power(kiln, u8::try_from(number).ok());
            let zone = Zone { reference, reading, share: power.w() / total_w, power, integration };
            let asked = regulator.duty(kiln, &zone, span);
            for (slot, bank) in duty.iter_mut().zip(&kiln.banks) {
                if usize::from(bank.probe) == number {
                    *slot = asked;
                }
            }
        }
        duty
    }

    /// Makes the regulators once there is a reading to make them from.
    fn meet_the_kiln(&mut self, at: Millis) {
        while self.regulators.len() < self.setup.kiln.probes.len() {
            let Some(reading) = self.zones.reading(self.regulators.len(), at) else { return };
            if self.regulators.push(Regulator::new(&self.setup.kiln, reading)).is_err() {
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
