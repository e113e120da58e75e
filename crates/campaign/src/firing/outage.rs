//! The power goes, computer and all, and comes back: the kiln is carried on within the bounds of its
//! file, or stays off (SR-40).

use control::{Controller, Setup, Start};
use pyrometry::units::{Celsius, CelsiusDelta, Millis};
use warden::Warden;

use super::Firing;

/// What a kiln file allows at the most.
const GAP_MOST: Millis = Millis::from_minutes(15);
const DROP_MOST: CelsiusDelta = pyrometry::constant!(CelsiusDelta, 100.0);
/// A kiln that was off is not hotter than it was.
const HOTTER_MOST: CelsiusDelta = pyrometry::constant!(CelsiusDelta, 15.0);

impl Firing<'_> {
    /// Whether the power is away in this second.
    pub(super) fn is_powerless(&self) -> bool {
        self.lost_until.is_some_and(|until_s| self.second < until_s)
    }

    /// Loses the power where that is due and a firing runs that could be carried on.
    pub(super) fn lose_power(&mut self) {
        let Some((at_s, lasting_s)) = self.case.doings.power_lost else { return };
        let due = self.second >= at_s && self.lost_until.is_none() && self.tripped_at.is_none();
        if due && self.controller.to_carry(Millis::ZERO).is_some() {
            self.lost_until = Some(self.second + lasting_s);
            self.lost_at = self.second;
            self.all_off();
        }
    }

    /// The program starts anew once the power is back.
    pub(super) fn come_back(&mut self) -> bool {
        if self.lost_until != Some(self.second) {
            return false;
        }
        let firing = self.carried_on();
        let start = Start { latched: None, carried: firing.as_ref().map(|(_, carried)| *carried) };
        let setup = Setup { kiln: self.case.kiln.clone(), firing: firing.map(|(firing, _)| firing), start };
        self.controller = Controller::new(setup);
        self.warden = Warden::default();
        self.warden.arm(self.at());
        self.began = self.second;
        true
    }

    fn carried_on(&mut self) -> Option<(control::Firing, control::Carried)> {
        let gap = Millis::from_seconds(self.second - self.lost_at);
        let carried = self.controller.to_carry(gap).filter(|_| gap <= GAP_MOST)?;
        let found_at = self.found_at()?;
        let (drop, rise) = (carried.chamber - found_at, found_at - carried.chamber);
        if drop > DROP_MOST || rise > HOTTER_MOST {
            return None;
        }
        let (kiln, programme) = (&self.case.kiln, &self.case.programme);
        let forecast = insight::longest_carried(kiln, programme, &carried, found_at);
        let firing = control::Firing {
            programme: programme.clone(),
            delay: Millis::ZERO,
            forecast,
            learned: self.case.learned,
        };
        Some((firing, carried))
    }

    /// The mean of all probes; `None` where one of them says nothing.
    fn found_at(&mut self) -> Option<Celsius> {
        use hal::Board;
        let (mut sum_c, mut count) = (0.0, 0.0);
        for (number, probe) in self.case.kiln.probes.iter().enumerate() {
            sum_c += probe.sensor.measure(&self.board.report(number)).ok()?.junction.c();
            count += 1.0;
        }
        Celsius::new(sum_c / count)
    }
}
