//! The words of a kiln file: kinds of part, each one of a few.

use control::{Closeness, SwitchKind};
use hal::amplifier::Mains;
use hal::pins::Energised;
use hal::{ClosedAt, Sensed};
use insight::Lining;
use pyrometry::amplifier::Amplifier;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::uncertainty::{self, Lead};

use crate::files::words::words;

words! {
    /// What the chamber is lined with.
    pub(in crate::files) enum WallWord, "wall", "a kind of wall" {
        /// Insulating firebrick, light enough to float.
        SoftBrick = "soft brick",
        /// Dense firebrick.
        HardBrick = "hard brick",
        /// Ceramic fibre blanket or board.
        Fibre = "fibre",
    }
}

words! {
    /// What runs the kiln's electronics.
    pub enum BoardKind, "board", "a kind of board" {
        /// No electronics at all: a kiln computed from this file.
        Simulated = "simulated",
        /// A Raspberry Pi and its header.
        RaspberryPi = "raspberry-pi",
        /// Another computer with Linux's GPIO and SPI character devices.
        Linux = "linux",
    }
}

words! {
    /// How mechanical switches are used.
    pub(in crate::files) enum ClosenessWord, "switching", "a way to use switches" {
        /// As few operations as the ware forgives.
        Sparing = "sparing",
        /// Closer to the schedule, at twice the operations.
        Close = "close",
    }
}

impl ClosenessWord {
    /// What the controller is told.
    pub(super) const fn closeness(self) -> Closeness {
        match self {
            Self::Sparing => Closeness::Sparing,
            Self::Close => Closeness::Close,
        }
    }
}

words! {
    /// The mains' frequency.
    pub(in crate::files) enum MainsWord, "mains", "the mains' frequency" {
        /// As in most of the world.
        Hertz50 = "50 Hz",
        /// As in the Americas and parts of Asia.
        Hertz60 = "60 Hz",
    }
}

impl MainsWord {
    /// What a chip is set to.
    pub(super) const fn mains(self) -> Mains {
        match self {
            Self::Hertz50 => Mains::Hertz50,
            Self::Hertz60 => Mains::Hertz60,
        }
    }
}

words! {
    /// The level at which something is energised.
    pub enum ActiveLevel, "active", "a level" {
        /// Energised when the pin is at the supply.
        High = "high",
        /// Energised when the pin is at ground.
        Low = "low",
    }
}

impl ActiveLevel {
    /// The same for the board.
    pub(super) const fn energised(self) -> Energised {
        match self {
            Self::High => Energised::High,
            Self::Low => Energised::Low,
        }
    }
}

words! {
    /// What a contact senses.
    pub(in crate::files) enum SensedWord, "senses", "something that a contact senses" {
        /// Whether the lid is shut.
        Lid = "lid",
        /// Whether the safety contactor is closed.
        Contactor = "contactor",
        /// Whether somebody presses the button at the kiln.
        PresenceButton = "presence button",
    }
}

words! {
    /// The level of a pin at which what its contact senses is closed.
    pub(in crate::files) enum ClosedLevel, "closed_at", "a level" {
        /// At the supply.
        High = "high",
        /// At ground.
        Low = "low",
    }
}

words! {
    /// How a person shows to be at the kiln at light-up.
    pub(in crate::files) enum PresenceWord, "presence", "a way to show that somebody is there" {
        /// By pressing a button there.
        Button = "button",
        /// By confirming it.
        Checklist = "checklist",
        /// Not at all.
        NotAsked = "not asked",
    }
}

words! {
    /// What switches a bank.
    pub(in crate::files) enum SwitchWord, "switch", "a kind of switch" {
        /// A relay or contactor with moving contacts.
        Mechanical = "mechanical",
        /// A solid-state relay.
        SolidState = "solid-state",
    }
}

words! {
    /// A thermocouple type.
    pub(in crate::files) enum TypeLetter, "thermocouple", "a thermocouple type" {
        /// Platinum-rhodium, for the hottest kilns; of no use below about 250 °C.
        B = "B",
        /// Nickel-chromium / copper-nickel.
        E = "E",
        /// Iron / copper-nickel.
        J = "J",
        /// Nickel-chromium / nickel-aluminium, the commonest in kilns.
        K = "K",
        /// Nickel-chromium-silicon / nickel-silicon, steadier than K.
        N = "N",
        /// Platinum with 13 % rhodium.
        R = "R",
        /// Platinum with 10 % rhodium.
        S = "S",
        /// Copper / copper-nickel.
        T = "T",
    }
}

words! {
    /// A thermocouple's tolerance class.
    pub enum ToleranceClass, "class", "a tolerance class" {
        /// IEC 60584-1 class 1.
        One = "1",
        /// IEC 60584-1 class 2.
        Two = "2",
        /// ASTM E230 standard limits.
        Standard = "standard",
        /// ASTM E230 special limits.
        Special = "special",
    }
}

words! {
    /// What joins a probe to its amplifier.
    pub(in crate::files) enum LeadWord, "lead", "a kind of lead" {
        /// The thermocouple's own wire reaches the amplifier.
        OwnWire = "own wire",
        /// Extension or compensating wire from the probe's head.
        Extension = "extension",
    }
}

words! {
    /// An amplifier chip.
    pub(in crate::files) enum ChipWord, "amplifier", "an amplifier chip" {
        /// MAX31855: one part per thermocouple type, straight line.
        Max31855 = "MAX31855",
        /// MAX31856: all types, linearised.
        Max31856 = "MAX31856",
        /// MAX6675: type K to 1023 °C.
        Max6675 = "MAX6675",
        /// MCP9600 or MCP9601, on I2C.
        Mcp9600 = "MCP9600",
    }
}

words! {
    /// An analogue-to-digital converter.
    pub(in crate::files) enum ConverterWord, "converter chip", "a converter chip" {
        /// MCP3008: eight inputs of 10 bits, on SPI.
        Mcp3008 = "MCP3008",
    }
}

words! {
    /// What happens when power returns in the middle of a firing.
    pub(in crate::files) enum ReturnWord, "on_return", "what to do when power returns" {
        /// The kiln stays off.
        RemainOff = "remain off",
        /// The firing carries on from the temperature found, within the bounds of this section.
        CarryOn = "carry on",
    }
}

impl WallWord {
    pub(super) const fn lining(self) -> Lining {
        match self {
            Self::SoftBrick => Lining::SoftBrick,
            Self::HardBrick => Lining::HardBrick,
            Self::Fibre => Lining::Fibre,
        }
    }
}

impl SwitchWord {
    pub(super) const fn kind(self) -> SwitchKind {
        match self {
            Self::Mechanical => SwitchKind::Mechanical,
            Self::SolidState => SwitchKind::SolidState,
        }
    }
}

impl SensedWord {
    pub(super) const fn sensed(self) -> Sensed {
        match self {
            Self::Lid => Sensed::Lid,
            Self::Contactor => Sensed::Contactor,
            Self::PresenceButton => Sensed::PresenceButton,
        }
    }
}

impl ClosedLevel {
    pub(super) const fn closed_at(self) -> ClosedAt {
        match self {
            Self::High => ClosedAt::High,
            Self::Low => ClosedAt::Low,
        }
    }
}

impl TypeLetter {
    pub(super) const fn thermocouple(self) -> Thermocouple {
        match self {
            Self::B => Thermocouple::B,
            Self::E => Thermocouple::E,
            Self::J => Thermocouple::J,
            Self::K => Thermocouple::K,
            Self::N => Thermocouple::N,
            Self::R => Thermocouple::R,
            Self::S => Thermocouple::S,
            Self::T => Thermocouple::T,
        }
    }
}

impl ToleranceClass {
    pub(super) const fn class(self) -> uncertainty::ToleranceClass {
        match self {
            Self::One => uncertainty::ToleranceClass::Class1,
            Self::Two => uncertainty::ToleranceClass::Class2,
            Self::Standard => uncertainty::ToleranceClass::Standard,
            Self::Special => uncertainty::ToleranceClass::Special,
        }
    }
}

impl LeadWord {
    pub(super) const fn lead(self) -> Lead {
        match self {
            Self::OwnWire => Lead::None,
            Self::Extension => Lead::Extension,
        }
    }
}

impl ChipWord {
    pub(super) const fn amplifier(self) -> Amplifier {
        match self {
            Self::Max31855 => Amplifier::Max31855,
            Self::Max31856 => Amplifier::Max31856,
            Self::Max6675 => Amplifier::Max6675,
            Self::Mcp9600 => Amplifier::Mcp9600,
        }
    }
}
