//! A switch between command and element: mechanical relay, solid-state switch or contactor.

use hal::Level;

/// What is wrong with a switch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum SwitchCondition {
    #[default]
    Sound,
    /// Its contacts weld the next time they close, or at once if they are closed.
    Welds,
    /// It conducts whatever it is told.
    Shorted,
    /// One of its two half-waves conducts whatever it is told.
    HalfShorted,
    /// It never conducts.
    StuckOpen,
}

/// A switch and the closings it has made.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Relay {
    closed: bool,
    operations: u64,
}

impl Relay {
    /// Obeys as far as its condition lets it. An operation is one closing.
    pub(crate) fn drive(&mut self, level: Level, condition: SwitchCondition) {
        let closes = match condition {
            SwitchCondition::Sound | SwitchCondition::HalfShorted => level == Level::On,
            SwitchCondition::Welds => self.closed || level == Level::On,
            SwitchCondition::Shorted => true,
            SwitchCondition::StuckOpen => false,
        };
        if closes && !self.closed {
            self.operations += 1;
        }
        self.closed = closes;
    }

    /// The share of full power it lets through.
    pub(crate) fn share(&self, condition: SwitchCondition) -> f64 {
        if self.closed {
            1.0
        } else if condition == SwitchCondition::HalfShorted {
            0.5 // one half-wave of two
        } else {
            0.0
        }
    }

    /// Whether its main contacts touch.
    pub(crate) fn is_closed(&self) -> bool {
        self.closed
    }

    pub(crate) fn operations(&self) -> u64 {
        self.operations
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(levels: &[Level], condition: SwitchCondition) -> Relay {
        let mut relay = Relay::default();
        for level in levels {
            relay.drive(*level, condition);
        }
        relay
    }

    #[test]
    fn one_operation_is_one_closing() {
        let levels = [Level::On, Level::On, Level::Off, Level::On, Level::Off];
        assert_eq!(after(&levels, SwitchCondition::Sound).operations(), 2);
        assert_eq!(after(&levels, SwitchCondition::StuckOpen).operations(), 0);
    }

    #[test]
    fn a_welding_relay_obeys_until_it_closes_and_never_opens_again() {
        assert_eq!(after(&[Level::Off], SwitchCondition::Welds).share(SwitchCondition::Welds), 0.0);
        assert_eq!(
            after(&[Level::On, Level::Off], SwitchCondition::Welds).share(SwitchCondition::Welds),
            1.0
        );
    }

    #[test]
    fn a_half_shorted_switch_gives_half_power_when_off_and_full_when_on() {
        let half = SwitchCondition::HalfShorted;
        assert_eq!(after(&[Level::Off], half).share(half), 0.5);
        assert_eq!(after(&[Level::On], half).share(half), 1.0);
    }
}
