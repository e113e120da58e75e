//! Pyrometric cones: their numbers, their order and the chart of their end points.
//!
//! A cone's *end point* is the temperature at which it has bent by 90°, its tip level with the
//! top of its base, after the last 100 °C at a stated rate. From coolest to hottest:
//! 022, 021 … 06, 05½, 05 … 01, 1, 2 … 5, 5½, 6 … 14.

mod chart;

use core::fmt;

use crate::units::{Celsius, CelsiusPerHour};

/// How many cones there are.
pub const CONES: usize = 38;

/// A cone number, 022 (coolest) to 14 (hottest), half cones included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cone(pub(crate) u8);

/// How a cone is made and set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Large cone in a plaque or holder.
    Large,
    /// The same, of iron-free material.
    LargeIronFree,
    /// Large cone that stands by itself.
    SelfSupporting,
    /// The same, of iron-free material.
    SelfSupportingIronFree,
    /// Small cone, fast fired.
    Small,
}

/// How far a cell of the chart as read can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Confidence {
    /// Two or more printings agree.
    Agreed,
    /// The °C and °F editions of one printing agree.
    OnePrinting,
    /// In one older copy only.
    OldCopy,
    /// Out of line with its neighbours: perhaps a misprint.
    Suspect,
}

/// One cell of the chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EndPoint {
    /// The cone.
    pub cone: Cone,
    /// How it is made and set.
    pub kind: Kind,
    /// The rate of the last 100 °C, in °C/h.
    pub rate_c_per_h: u16,
    /// Where it is down, in °C; the maker's batches vary by ±2 °C.
    pub end_point_c: u16,
    /// How far the cell can be trusted.
    pub confidence: Confidence,
}

/// Number as potters write it, and ordinal, coolest first.
const NUMBERS: [(&str, f64); CONES] = [
    ("022", -21.0),
    ("021", -20.0),
    ("020", -19.0),
    ("019", -18.0),
    ("018", -17.0),
    ("017", -16.0),
    ("016", -15.0),
    ("015", -14.0),
    ("014", -13.0),
    ("013", -12.0),
    ("012", -11.0),
    ("011", -10.0),
    ("010", -9.0),
    ("09", -8.0),
    ("08", -7.0),
    ("07", -6.0),
    ("06", -5.0),
    ("05½", -4.5),
    ("05", -4.0),
    ("04", -3.0),
    ("03", -2.0),
    ("02", -1.0),
    ("01", 0.0),
    ("1", 1.0),
    ("2", 2.0),
    ("3", 3.0),
    ("4", 4.0),
    ("5", 5.0),
    ("5½", 5.5),
    ("6", 6.0),
    ("7", 7.0),
    ("8", 8.0),
    ("9", 9.0),
    ("10", 10.0),
    ("11", 11.0),
    ("12", 12.0),
    ("13", 13.0),
    ("14", 14.0),
];

impl Cone {
    /// The coolest.
    pub const COOLEST: Self = Self(0);
    /// The hottest.
    pub const HOTTEST: Self = Self(37);

    /// Every cone, coolest first.
    pub const ALL: [Self; CONES] = all();

    /// A cone as written: `06`, `6`, `022`, `5½`, `5.5`, `5 1/2`, `05½`.
    ///
    /// The leading zero counts: 06 is a bisque, 6 a stoneware glaze, 220 °C hotter.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let half = ["½", ".5", "1/2"].into_iter().find_map(|mark| text.strip_suffix(mark));
        let whole = half.unwrap_or(text).trim_end();
        Self::ALL.into_iter().find(|cone| {
            let name = cone.name();
            match (name.strip_suffix('½'), half) {
                (Some(stem), Some(_)) => stem == whole,
                (None, None) => name == whole,
                (Some(_), None) | (None, Some(_)) => false,
            }
        })
    }

    /// The cone as potters write it.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.number().0
    }

    /// Its place on a scale of whole numbers: 022 = −21 … 01 = 0, 1 = 1 … 14 = 14; a half cone
    /// half a number below the next: 05½ = −4.5, 5½ = 5.5.
    #[must_use]
    pub fn ordinal(self) -> f64 {
        self.number().1
    }

    /// Its place in [`Cone::ALL`].
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }

    /// The next hotter one on the chart, half cones included.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        (self < Self::HOTTEST).then(|| Self(self.0 + 1))
    }

    /// The next cooler one on the chart, half cones included.
    #[must_use]
    pub fn previous(self) -> Option<Self> {
        self.0.checked_sub(1).map(Self)
    }

    /// Whether it is 05½ or 5½.
    #[must_use]
    pub fn is_half(self) -> bool {
        self.name().ends_with('½')
    }

    /// The next hotter whole cone: the guard when this is the firing cone.
    #[must_use]
    pub fn hotter(self) -> Option<Self> {
        let next = self.next()?;
        if next.is_half() { next.next() } else { Some(next) }
    }

    /// The next cooler whole cone: the guide when this is the firing cone.
    #[must_use]
    pub fn cooler(self) -> Option<Self> {
        let previous = self.previous()?;
        if previous.is_half() { previous.previous() } else { Some(previous) }
    }

    /// The cone's cells of the chart, every kind and rate.
    pub fn chart(self) -> impl Iterator<Item = &'static EndPoint> {
        chart::CHART.iter().filter(move |cell| cell.cone == self)
    }

    fn number(self) -> (&'static str, f64) {
        // The field is below CONES by construction.
        NUMBERS.get(self.index()).copied().unwrap_or(("", f64::NAN))
    }
}

impl EndPoint {
    /// The end point.
    #[must_use]
    pub fn end_point(&self) -> Option<Celsius> {
        Celsius::new(f64::from(self.end_point_c))
    }

    /// The rate.
    #[must_use]
    pub fn rate(&self) -> Option<CelsiusPerHour> {
        CelsiusPerHour::new(f64::from(self.rate_c_per_h))
    }
}

impl fmt::Display for Cone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

#[allow(clippy::indexing_slicing, reason = "evaluated while compiling, never in the program")]
const fn all() -> [Cone; CONES] {
    let mut cones = [Cone(0); CONES];
    let mut index = 0;
    let mut place: u8 = 0;
    while index < CONES {
        cones[index] = Cone(place);
        index += 1;
        place += 1;
    }
    cones
}
