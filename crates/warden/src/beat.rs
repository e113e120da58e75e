//! The message that keeps the contactor closed.

/// Whether the interlocks and the phase permit heat.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Permission {
    /// No heat.
    #[default]
    Refused,
    /// Heat may be given.
    Granted,
}

/// How often each stage of the control loop has run. A loop that skips a stage stops counting it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stages {
    /// Probes and contacts were read.
    pub read: u32,
    /// The controller decided.
    pub decided: u32,
    /// Relays were driven.
    pub acted: u32,
    /// The step was handed to the trace.
    pub recorded: u32,
}

/// One beat.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Beat {
    /// Counts up by one from beat to beat, around the end.
    pub sequence: u32,
    /// What the control loop permits.
    pub permission: Permission,
    /// Proof that the whole loop ran.
    pub stages: Stages,
}

impl Stages {
    /// Whether every stage ran since `before`. Counters go around their end.
    #[must_use]
    pub const fn all_advanced_since(self, before: Self) -> bool {
        advanced(self.read, before.read)
            && advanced(self.decided, before.decided)
            && advanced(self.acted, before.acted)
            && advanced(self.recorded, before.recorded)
    }
}

/// Whether a counter moved forward: by at least one and less than half its range.
const fn advanced(now: u32, before: u32) -> bool {
    let moved = now.wrapping_sub(before);
    moved >= 1 && moved < u32::MAX / 2
}
