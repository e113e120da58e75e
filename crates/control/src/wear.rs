//! What a zone's relays have turned beyond, or saved of, the operations they are allowed an hour.
//!
//! How often a given swing of the heat makes relays turn is the kiln's: its power, what answers at once, where
//! the thermocouple sits. A fixed swing wears one kiln's relays half as much again as another's, and
//! leaves that other swinging more than it need. So the swing is what the operations turn out to allow: it widens with
//! what was turned too much and narrows with what was saved.

use pyrometry::units::{Millis, between};

use crate::PROBES_MOST;
use crate::decision::BankLevels;
use crate::kiln::{Kiln, SwitchKind};

/// Closings of each bank an hour: a little less than 900 in a firing of 16 h.
const ALLOWED_PER_H: f64 = 53.0;

/// What is saved or turned too much counts up to so many closings: a soak's half hour of close switching is
/// to be made up for in an hour or two, not until the firing ends.
const BEYOND_MOST: f64 = 20.0;

/// Each closing beyond, or saved, widens or narrows the swing by so much of itself.
const WIDENS_BY: f64 = 0.04;

/// Closings beyond the allowance, of each zone's relays on average.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Wear {
    beyond: [f64; PROBES_MOST],
}

impl Wear {
    /// A step in which heat may be given: the levels before and from now on. A zone with a bank that is
    /// trimmed `alone` is not held to the allowance: its banks turn more often than any swing makes up for.
    pub(crate) fn see(
        &mut self,
        kiln: &Kiln,
        alone: BankLevels,
        before: BankLevels,
        now: BankLevels,
        span: Millis,
    ) {
        for (beyond, zone) in self.beyond.iter_mut().zip(0_u8..) {
            let (mut closed, mut banks, mut counts) = (0.0, 0.0, true);
            for (((bank, alone), before), now) in kiln.banks.iter().zip(alone).zip(before).zip(now) {
                counts &= bank.probe != zone || !alone;
                if bank.probe == zone && bank.switch == SwitchKind::Mechanical {
                    banks += 1.0;
                    closed += if now && !before { 1.0 } else { 0.0 };
                }
            }
            if banks > 0.0 {
                let turned = *beyond + closed / banks - ALLOWED_PER_H * span.hours();
                *beyond = if counts { between(turned, -BEYOND_MOST, BEYOND_MOST) } else { 0.0 };
            }
        }
    }

    /// How many times as wide the swing of a zone's heat is to be.
    pub(crate) fn widens(&self, zone: u8) -> f64 {
        1.0 + WIDENS_BY * self.beyond.get(usize::from(zone)).copied().unwrap_or(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::BANKS_MOST;
    use crate::testing::kiln_with_banks;

    fn levels(on: &[usize]) -> BankLevels {
        core::array::from_fn::<_, BANKS_MOST, _>(|bank| on.contains(&bank))
    }

    /// Two banks, of which each closes every so many seconds, for hours.
    fn widened_after(hours: u64, every_s: u64) -> f64 {
        let kiln = kiln_with_banks(2, 1.0);
        let (mut wear, mut before) = (Wear::default(), levels(&[]));
        for second in 0..hours * 3600 {
            let now = if second % every_s < every_s / 2 { levels(&[0, 1]) } else { levels(&[]) };
            wear.see(&kiln, levels(&[]), before, now, Millis::from_seconds(1));
            before = now;
        }
        wear.widens(0)
    }

    #[test]
    fn as_many_closings_as_allowed_leave_the_swing_as_it_is() {
        let allowed = widened_after(8, 68); // 52.9 an hour
        assert!((allowed - 1.0).abs() < 0.1, "{allowed}");
    }

    #[test]
    fn too_many_widen_it_and_savings_narrow_it_within_bounds() {
        let one_hour = widened_after(1, 60); // 60 where 53 are allowed
        assert!((one_hour - (1.0 + 0.04 * 7.0)).abs() < 0.01, "{one_hour}");
        assert!((widened_after(12, 30) - 1.8).abs() < 0.05, "as much as counts");
        assert!((widened_after(12, 3000) - 0.2).abs() < 0.05, "as much as is saved");
    }

    #[test]
    fn a_switch_that_does_not_wear_does_not_count() {
        let mut kiln = kiln_with_banks(2, 1.0);
        kiln.banks[0].switch = SwitchKind::SolidState;
        let mut wear = Wear::default();
        wear.see(&kiln, levels(&[]), levels(&[]), levels(&[0]), Millis::ZERO);
        assert!((wear.widens(0) - 1.0).abs() < 1e-12, "{}", wear.widens(0));
        wear.see(&kiln, levels(&[]), levels(&[0]), levels(&[0, 1]), Millis::ZERO);
        assert!((wear.widens(0) - 1.04).abs() < 1e-12, "one closing of one relay: {}", wear.widens(0));
    }

    #[test]
    fn where_a_bank_is_trimmed_alone_nothing_counts() {
        let kiln = kiln_with_banks(2, 1.0);
        let mut wear = Wear::default();
        wear.see(&kiln, levels(&[1]), levels(&[]), levels(&[0, 1]), Millis::ZERO);
        assert!((wear.widens(0) - 1.0).abs() < 1e-12, "{}", wear.widens(0));
        let mut kiln = kiln;
        kiln.banks[1].switch = SwitchKind::SolidState;
        wear.see(&kiln, levels(&[1]), levels(&[]), levels(&[0, 1]), Millis::ZERO);
        assert!((wear.widens(0) - 1.0).abs() < 1e-12, "nor of its fellow: {}", wear.widens(0));
    }

    #[test]
    fn a_relay_that_stays_on_has_closed_once_and_another_zone_is_not_worn_by_it() {
        let kiln = kiln_with_banks(2, 1.0);
        let mut wear = Wear::default();
        wear.see(&kiln, levels(&[]), levels(&[]), levels(&[0]), Millis::ZERO);
        wear.see(&kiln, levels(&[]), levels(&[0]), levels(&[0]), Millis::ZERO);
        assert!((wear.widens(0) - 1.02).abs() < 1e-12, "half a closing a bank: {}", wear.widens(0));
        assert!((wear.widens(1) - 1.0).abs() < 1e-12);
    }
}
