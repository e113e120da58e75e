//! The phases of a kiln, as people and files name them.

/// What the kiln is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Phase {
    /// No firing.
    Resting,
    /// Lit for a later time; no heat yet.
    SetForLater,
    /// Heating towards a segment's target.
    Climbing,
    /// Holding a segment's target.
    Soaking,
    /// Cooling at a rate, with heat as needed.
    SlowCooling,
    /// A person asked to keep the present setpoint.
    Staying,
    /// Elements off, falling by itself.
    Cooling,
    /// Elements off and cold enough to open.
    CoolEnoughToOpen,
    /// Latched safety shutdown.
    Tripped,
}

impl Phase {
    /// Every phase.
    pub const ALL: [Self; 9] = [
        Self::Resting,
        Self::SetForLater,
        Self::Climbing,
        Self::Soaking,
        Self::SlowCooling,
        Self::Staying,
        Self::Cooling,
        Self::CoolEnoughToOpen,
        Self::Tripped,
    ];

    /// The name in files and protocols.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Resting => "resting",
            Self::SetForLater => "set-for-later",
            Self::Climbing => "climbing",
            Self::Soaking => "soaking",
            Self::SlowCooling => "slow-cooling",
            Self::Staying => "staying",
            Self::Cooling => "cooling",
            Self::CoolEnoughToOpen => "cool-enough-to-open",
            Self::Tripped => "tripped",
        }
    }

    /// Whether heat may be given in this phase, and so the contactor be closed.
    #[must_use]
    pub const fn may_heat(self) -> bool {
        match self {
            Self::Climbing | Self::Soaking | Self::SlowCooling | Self::Staying => true,
            Self::Resting | Self::SetForLater | Self::Cooling | Self::CoolEnoughToOpen | Self::Tripped => {
                false
            }
        }
    }
}
