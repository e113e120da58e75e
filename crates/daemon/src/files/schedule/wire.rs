//! A schedule as it is written.

use crate::files::leaf::{ConeNumber, Goal, Lasting, Rate, Text};
use crate::files::number::Degrees;
use crate::files::scale::Scale;
use crate::files::wire::{At, wire};
use crate::files::words::words;

wire! {
    /// A firing schedule: what to do, segment by segment.
    pub(in crate::files) struct ScheduleFile {
        /// What the potter calls it.
        title: At<Text>,
        /// The scale of every temperature and rate in this file: "C" or "F".
        scale: At<Scale>,
        /// The cone it aims at, in quotes, such as "6" or "06".
        cone: Option<At<ConeNumber>>,
        /// What is done, one after another: 1 to 64 sections that begin with [[segment]].
        segment: Vec<At<SegmentSection>>,
    }

    /// One segment: a way to a target and a soak there; or a watch.
    pub(in crate::files) struct SegmentSection {
        /// Degrees per hour; negative is slow cooling. Or "flat out", as fast as the kiln can; or
        /// "let fall", elements off until `to`.
        rate: Option<At<Rate>>,
        /// Where it goes: a temperature such as 1222, or a cone such as "cone 6", as unloaded.
        to: Option<At<Goal>>,
        /// How long it holds there, such as "30 min".
        soak: Option<At<Lasting>>,
        /// For a cone: the climb stops here and waits for the cone.
        no_hotter_than: Option<At<Degrees>>,
        /// For a cone: the longest wait at `no_hotter_than`.
        at_most: Option<At<Lasting>>,
        /// In place of `rate` and `to`: no heat for this long, only watching the probes.
        watch: Option<At<Lasting>>,
        /// What to remind the potter of when this segment begins, such as "Put the plugs in".
        remind: Option<At<Text>>,
        /// What the kiln's vent does as long as this segment lasts, however hot the kiln is: "on" or "off".
        /// Without it the kiln file's temperatures say.
        vent: Option<At<Vent>>,
    }
}

words! {
    /// What a segment says of the vent.
    pub enum Vent, "vent", "what the vent does" {
        /// It runs.
        On = "on",
        /// It stands still.
        Off = "off",
    }
}
