//! The zones' regulators, led along the rounded schedule.

use pyrometry::units::{Celsius, Duty, Joules, Millis, Watts, greater};

use crate::controller::Controller;
use crate::finding::Interlock;
use crate::kiln::{Closeness, Kiln};
use crate::phase::Phase;
use crate::regulator::{Integration, Regulator};
use crate::shaper::{LOOK_AHEAD, Reference, Shaper};
use crate::switching::Swings;
use crate::together::Together;
use crate::{BANKS_MOST, PROBES_MOST};

/// How far the chamber may swing between the relays' operations, from lowest to highest: by the model,
/// which leaves out the elements' lag. Fitted on simulated kilns: close takes about 1,700 operations of
/// each relay in a firing of 16 h, see `docs/control.md`.
const SPARING_C: f64 = 1.8;
/// A zone's only bank turns so often that its elements even out more of it; no swing that a firing bears
/// would keep it to the operations allowed.
const SPARING_ALONE_C: f64 = 2.2;
const SPARING_SOAK_C: f64 = 0.4;
const CLOSE_C: f64 = 0.4;
const CLOSE_SOAK_C: f64 = 0.25;

/// A zone this far from its reference, further than the widest swing carries it, is switched as in a soak: of
/// a bank that has died and one that is sound the long turns of a wide swing carry it away by degrees more.
const ASTRAY_C: f64 = 2.0;

/// So long before it arrives a climb or a slow cooling swings no more than its soak.
const ARRIVES_WITHIN: Millis = Millis::from_minutes(4);

impl Controller {
    /// The duty of every bank. Where no heat is wanted the regulators only watch the kiln.
    pub(crate) fn regulate(&mut self, span: Millis, withheld: bool, at: Millis) -> [Duty; BANKS_MOST] {
        self.meet_the_kiln(at);
        let Some(later) = self.stage.setpoint_after(LOOK_AHEAD) else {
            self.only_watch(span, at);
            return [Duty::OFF; BANKS_MOST];
        };
        let leaving = self.chamber.map_or(later, |chamber| chamber.mean);
        let plan = self.shaper.get_or_insert(Shaper::at_rest(leaving)).follow(later, span);
        let reference = self.led_by_the_slowest(plan, span);
        let another_decides = withheld || self.switching.starved();
        let integration = if another_decides { Integration::Held } else { Integration::Free };
        self.zone_duties(reference, integration, span, at)
    }

    /// What a zone's regulator goes by: its own reading, or, while zones read too far apart and one of them
    /// must be wrong, the hottest (SR-13).
    fn guide(&self, zone: u8, at: Millis) -> Option<Celsius> {
        let own = self.zones.reading(usize::from(zone), at)?;
        if !self.interlocks.stands(Interlock::ZonesApart) {
            return Some(own);
        }
        Some(self.chamber.map_or(own, |chamber| chamber.hottest))
    }

    /// What the zones are to follow together; a single one follows the plan.
    fn led_by_the_slowest(&mut self, plan: Reference, span: Millis) -> Reference {
        if self.regulators.len() < 2 {
            return plan;
        }
        self.together.lead(plan, self.regulators.iter().filter_map(Regulator::smoothed_c), span)
    }

    fn zone_duties(
        &mut self,
        reference: Reference,
        integration: Integration,
        span: Millis,
        at: Millis,
    ) -> [Duty; BANKS_MOST] {
        let guides: [Option<Celsius>; PROBES_MOST] =
            core::array::from_fn(|zone| u8::try_from(zone).ok().and_then(|zone| self.guide(zone, at)));
        let (kiln, model, supply_share) = (&self.setup.kiln, self.setup.model(), self.supply_share);
        let mut duty = [Duty::OFF; BANKS_MOST];
        for ((regulator, guide), number) in self.regulators.iter_mut().zip(guides).zip(0_u8..) {
            let Some(reading) = guide else { continue };
            // A regulator's full power is what the supply carries, of which the banks take turns.
            let given = Duty::limited(given_to(kiln, &self.duty, number).ratio() / supply_share);
            let regulated = regulator.duty(model, reference, reading, given, integration, span);
            let asked = Duty::limited(regulated.ratio() * supply_share);
            for (slot, bank) in duty.iter_mut().zip(&kiln.banks) {
                if bank.probe == number {
                    *slot = asked;
                }
            }
        }
        duty
    }

    /// How much heat each zone forgives to come too early or too late: less in soaks and stays, where the
    /// ware cares most, and where it is astray.
    pub(crate) fn swings(&self, at: Millis) -> Swings {
        let mut swings = [Joules::ZERO; PROBES_MOST];
        // By the kiln file's model: one that was fitted has a lag where this has a capacity.
        let model = &self.setup.kiln.model;
        for ((swing, regulator), number) in swings.iter_mut().zip(&self.regulators).zip(0_u8..) {
            let Some(reading) = self.zones.reading(usize::from(number), at) else { continue };
            *swing = regulator.swing(model, reading, self.forgiven_c(number));
        }
        swings
    }

    fn forgiven_c(&self, zone: u8) -> f64 {
        let kiln = &self.setup.kiln;
        let alone = kiln.banks.iter().filter(|bank| bank.probe == zone).count() == 1;
        let astray = self.regulators.get(usize::from(zone)).is_some_and(|zone| zone.off_c() > ASTRAY_C);
        let still = matches!(self.stage.phase(), Phase::Soaking | Phase::Staying);
        match (kiln.switching, still || astray || self.soon_arrives()) {
            (Closeness::Sparing, true) => SPARING_SOAK_C,
            (Closeness::Close, true) => CLOSE_SOAK_C,
            (Closeness::Sparing, false) if alone => SPARING_ALONE_C,
            (Closeness::Sparing, false) => greater(SPARING_SOAK_C, SPARING_C * self.wear.widens(zone)),
            (Closeness::Close, false) => CLOSE_C,
        }
    }

    /// Whether the setpoint stands still before long, where a swing would be carried into the soak.
    fn soon_arrives(&self) -> bool {
        let after = |ahead| self.stage.setpoint_after(ahead);
        after(ARRIVES_WITHIN) == after(ARRIVES_WITHIN + LOOK_AHEAD)
    }

    /// Makes the regulators once there is a reading to make them from.
    fn meet_the_kiln(&mut self, at: Millis) {
        let kiln = &self.setup.kiln;
        let whole = kiln.rated();
        for number in (0_u8..).take(kiln.probes.len()).skip(self.regulators.len()) {
            let Some(reading) = self.zones.reading(usize::from(number), at) else { return };
            let power = kiln.of_zone(number);
            let carried = Watts::new(power.w() * self.supply_share).unwrap_or(power);
            let regulator = Regulator::new(self.setup.model(), power.w() / whole.w(), carried, reading);
            if self.regulators.push(regulator).is_err() {
                return;
            }
        }
    }

    fn only_watch(&mut self, span: Millis, at: Millis) {
        self.shaper = None;
        self.together = Together::new();
        for (number, regulator) in self.regulators.iter_mut().enumerate() {
            if let Some(reading) = self.zones.reading(number, at) {
                regulator.watch(reading, span);
            }
        }
    }
}

/// The duty that a zone's banks were asked for in the step before: alike for all of them.
fn given_to(kiln: &Kiln, duty: &[Duty; BANKS_MOST], probe: u8) -> Duty {
    kiln.banks.iter().zip(duty).find(|(bank, _)| bank.probe == probe).map_or(Duty::OFF, |(_, duty)| *duty)
}
