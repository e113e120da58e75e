//! A kiln file as it is written.

use super::points::CalibrationPoints;
use super::words::{
    ActiveLevel, BoardKind, ChipWord, ClosedLevel, ClosenessWord, ConverterWord, LeadWord, MainsWord,
    PresenceWord, ReturnWord, SensedWord, SwitchWord, ToleranceClass, TypeLetter, WallWord,
};
use crate::files::leaf::{Day, I2cAddress, Lasting, Names, Text};
use crate::files::number::{
    AmpsPerVolt, BusNumber, ChipSelect, ConverterInput, Degrees, Difference, Kilograms, Litres, MainsPercent,
    Millimetres, OffsetAmps, Operations, PinNumber, Price, RatedWatts, ReferenceVolts, Seed, Speed,
    SupplyAmps, SupplyVolts, WallMillimetres, WireMillimetres,
};
use crate::files::scale::Scale;
use crate::files::wire::{At, wire};

wire! {
    /// A kiln: its parts, its limits, its interfaces.
    pub(in crate::files) struct KilnSections {
        /// The scale of every temperature in this file: "C" or "F".
        scale: At<Scale>,
        /// The kiln as a body: size, wall, ceiling, supply.
        kiln: At<KilnSection>,
        /// Limits of every firing.
        limits: At<LimitsSection>,
        /// The computer that runs it.
        board: At<BoardSection>,
        /// The elements, in groups that are switched together: one to eight [[bank]] sections.
        bank: Vec<At<BankSection>>,
        /// The thermocouples, each with its amplifier: one to four [[probe]] sections.
        probe: Vec<At<ProbeSection>>,
        /// The safety contactor, which only the warden closes. Required on real boards.
        warden: Option<At<WardenSection>>,
        /// The heartbeat, where an outside relay is fitted that only its edges keep closed.
        heartbeat: Option<At<HeartbeatSection>>,
        /// The buzzer that sounds from a trip until somebody silences it.
        buzzer: Option<At<SignalSection>>,
        /// The lamp that is lit while the kiln is hot, or not known to be cool. Unlit it promises nothing.
        lamp: Option<At<SignalSection>>,
        /// The fan that vents the kiln while it is heated.
        vent: Option<At<VentSection>>,
        /// The converter that the current clamps are on.
        converter: Option<At<ConverterSection>>,
        /// What else the board senses, each at most once: lid, contactor, presence button.
        contact: Option<Vec<At<ContactSection>>>,
        /// What a light-up asks for.
        light_up: Option<At<LightUpSection>>,
        /// What happens when power returns in the middle of a firing. Without it the kiln stays off.
        outage: Option<At<OutageSection>>,
        /// Where the page is served.
        page: Option<At<PageSection>>,
        /// The simulated kiln, when board.kind is "simulated".
        simulated: Option<At<SimulatedSection>>,
        /// What electricity costs, for forecasts.
        tariff: Option<At<TariffSection>>,
    }

    /// The kiln as a body. Its chamber is given by `volume_l`, or by `width_mm`, `depth_mm` and
    /// `height_mm`, or by `diameter_mm` and `height_mm`; its supply by `supply_w`, or by `supply_a`
    /// and `supply_v`.
    pub(in crate::files) struct KilnSection {
        /// What you call it.
        name: At<Text>,
        /// Volume of the chamber in litres.
        volume_l: Option<At<Litres>>,
        /// Width of a square chamber in millimetres.
        width_mm: Option<At<Millimetres>>,
        /// Depth of a square chamber in millimetres.
        depth_mm: Option<At<Millimetres>>,
        /// Diameter of a round chamber in millimetres.
        diameter_mm: Option<At<Millimetres>>,
        /// Height of the chamber in millimetres.
        height_mm: Option<At<Millimetres>>,
        /// What the wall is made of: "soft brick" (insulating), "hard brick" or "fibre".
        wall: At<WallWord>,
        /// Thickness of the wall in millimetres.
        wall_mm: At<WallMillimetres>,
        /// What a usual load weighs in kilograms, shelves and posts included.
        load_kg: Option<At<Kilograms>>,
        /// No thermocouple may ever be hotter.
        ceiling: At<Degrees>,
        /// The most that may be drawn at once, in watts.
        supply_w: Option<At<RatedWatts>>,
        /// The most that may be drawn at once, in amperes; with `supply_v`.
        supply_a: Option<At<SupplyAmps>>,
        /// Tension of the supply in volts; with `supply_a`.
        supply_v: Option<At<SupplyVolts>>,
        /// How mechanical switches are used: "sparing" (with two banks about 900 closings in a firing of
        /// 16 h, within a third of a degree of the schedule in the mean) or "close" (about 1,700, within a
        /// fifth). Without it "sparing".
        switching: Option<At<ClosenessWord>>,
        /// The mains, "50 Hz" or "60 Hz": the hum that amplifiers leave out. Without it "50 Hz".
        mains: Option<At<MainsWord>>,
    }

    /// Limits of every firing.
    pub(in crate::files) struct LimitsSection {
        /// The longest firing; after it the kiln shuts down and asks for a person.
        longest_firing: At<Lasting>,
        /// The longest stay that a person may ask for; after it the schedule carries on.
        longest_stay: At<Lasting>,
        /// Below this the kiln is called cool enough to open.
        open_below: At<Degrees>,
    }

    /// The computer that runs it.
    pub(in crate::files) struct BoardSection {
        /// "simulated", "raspberry-pi" or "linux".
        kind: At<BoardKind>,
        /// On kind "linux": the GPIO device, such as "/dev/gpiochip0".
        gpio_chip: Option<At<Text>>,
    }

    /// Elements that are switched together, and the relay that feeds them.
    pub(in crate::files) struct BankSection {
        /// What you call it.
        name: At<Text>,
        /// The GPIO that drives its relay.
        pin: Option<At<PinNumber>>,
        /// The level that energises the relay: "high" or "low".
        active: Option<At<ActiveLevel>>,
        /// Rated power of its elements in watts.
        rating_w: At<RatedWatts>,
        /// "mechanical" (moving contacts) or "solid-state".
        switch: At<SwitchWord>,
        /// Shortest time on. Without it 2 s for mechanical switches, 1 s for solid-state ones.
        on_at_least: Option<At<Lasting>>,
        /// Shortest time off. Without it the same.
        off_at_least: Option<At<Lasting>>,
        /// Shortest time in which it goes on and off once, at half duty; at any other duty it takes
        /// longer. A mechanical switch takes longer still where the kiln's mass forgives it. Without it
        /// 10 s (mechanical) or 4 s (solid-state).
        cycle_at_least: Option<At<Lasting>>,
        /// Operations that a mechanical switch stands, from its maker's data.
        rated_operations: Option<At<Operations>>,
        /// The clamp that measures its current, such as `{ channel = 0, clamp_a_per_v = 30 }`.
        current: Option<At<ClampSection>>,
    }

    /// A current clamp on an input of the converter.
    pub(in crate::files) struct ClampSection {
        /// The converter's input.
        channel: At<ConverterInput>,
        /// Amperes in the wire for each volt of the clamp, both as RMS.
        clamp_a_per_v: At<AmpsPerVolt>,
        /// Added to what is measured, in amperes, from two readings beside a meter.
        offset_a: Option<At<OffsetAmps>>,
    }

    /// A thermocouple with its amplifier.
    pub(in crate::files) struct ProbeSection {
        /// What you call it, such as where it sits.
        name: At<Text>,
        /// The letter of its type, such as "K". There is no default: a wrong letter over-fires.
        thermocouple: At<TypeLetter>,
        /// Its tolerance class: "1" or "2" (IEC), "standard" or "special" (ASTM).
        class: At<ToleranceClass>,
        /// Thickness of its wire in millimetres; thin wire ages sooner.
        wire_mm: Option<At<WireMillimetres>>,
        /// The chip that reads it.
        amplifier: At<ChipWord>,
        /// The board's bus the chip is on: SPI, or I2C for the MCP9600.
        bus: Option<At<BusNumber>>,
        /// The chip select of that SPI bus.
        chip_select: Option<At<ChipSelect>>,
        /// The chip's I2C address, such as 0x60.
        address: Option<At<I2cAddress>>,
        /// The names of the banks it governs.
        banks: At<Names>,
        /// The day it was fitted, such as 2026-03-01, without quotes.
        fitted: Option<At<Day>>,
        /// "own wire" when the thermocouple's own wire reaches the amplifier, else "extension".
        lead: Option<At<LeadWord>>,
        /// Added to what it measures, from a calibration.
        offset: Option<At<Difference>>,
        /// Added to what it measures over temperature: up to eight points, coldest first, straight
        /// between them, such as [{ at = 1000, add = -3 }, { at = 1220, add = -5 }].
        calibration: Option<At<CalibrationPoints>>,
        /// The day of the calibration, such as 2026-10-01, without quotes. Required with one.
        calibrated: Option<At<Day>>,
        /// How far the calibration itself may be out, either way. Without it the wire's class counts.
        calibrated_within: Option<At<Difference>>,
        /// What is allowed for age and drift, either way. Without it by type and time since fitted.
        drift: Option<At<Difference>>,
        /// Who allowed a correction beyond 25 °C (45 °F), when and why.
        correction_allowed_by: Option<At<Text>>,
    }

    /// One point of a calibration.
    pub(in crate::files) struct CalibrationPoint {
        /// What the probe reads there, uncorrected.
        at: At<Degrees>,
        /// What is added to it.
        add: At<Difference>,
    }

    /// The safety contactor.
    pub(in crate::files) struct WardenSection {
        /// The GPIO that drives its coil.
        contactor_pin: Option<At<PinNumber>>,
        /// The level that closes it: "high" or "low".
        active: Option<At<ActiveLevel>>,
        /// The file of the warden's own limit probe, where one is fitted; beside this file unless the
        /// path says otherwise.
        limit_file: Option<At<Text>>,
    }

    /// The heartbeat: an edge a second while heat is permitted, for an outside relay that opens within
    /// 3 s without one.
    pub(in crate::files) struct HeartbeatSection {
        /// The GPIO on which the edges come.
        pin: At<PinNumber>,
    }

    /// An output that tells people something.
    pub(in crate::files) struct SignalSection {
        /// The GPIO that drives it.
        pin: Option<At<PinNumber>>,
        /// The level that switches it on: "high" or "low".
        active: Option<At<ActiveLevel>>,
    }

    /// The vent: a fan that runs while heat may be given and the kiln is between two temperatures, or as a
    /// schedule's segment says. It is for the room's air and the ware, never for safety.
    pub(in crate::files) struct VentSection {
        /// The GPIO that drives it.
        pin: Option<At<PinNumber>>,
        /// The level that switches it on: "high" or "low".
        active: Option<At<ActiveLevel>>,
        /// It runs from here on. Without it from light-up.
        from: Option<At<Degrees>>,
        /// It runs up to here. Without it however hot the kiln is.
        to: Option<At<Degrees>>,
    }

    /// The converter that the current clamps are on.
    pub(in crate::files) struct ConverterSection {
        /// The chip: "MCP3008".
        chip: At<ConverterWord>,
        /// The board's SPI bus the chip is on.
        bus: Option<At<BusNumber>>,
        /// The chip select of that bus.
        chip_select: Option<At<ChipSelect>>,
        /// The tension at its reference pin in volts.
        reference_v: At<ReferenceVolts>,
    }

    /// A contact that the board reads, between its pin and ground.
    pub(in crate::files) struct ContactSection {
        /// What it senses: "lid"; "contactor", by the safety contactor's mirror contact; or
        /// "presence button", pressed at the kiln by whoever lights it.
        senses: At<SensedWord>,
        /// The GPIO that reads it.
        pin: Option<At<PinNumber>>,
        /// The level of that pin when the lid is shut, the contactor closed, or the button pressed:
        /// "high" or "low".
        closed_at: Option<At<ClosedLevel>>,
    }

    /// What a light-up asks for.
    pub(in crate::files) struct LightUpSection {
        /// How a person shows to be at the kiln: "button", pressed within the last 2 min;
        /// "checklist", confirmed with the other questions; or "not asked". Without it the button
        /// where one is fitted, else the checklist.
        presence: At<PresenceWord>,
    }

    /// What happens when power returns in the middle of a firing.
    pub(in crate::files) struct OutageSection {
        /// "remain off", or "carry on" from the temperature found.
        on_return: At<ReturnWord>,
        /// Carry on only after a gap no longer than this (15 min at most).
        gap_at_most: Option<At<Lasting>>,
        /// Carry on only after a drop no greater than this (100 °C at most).
        drop_at_most: Option<At<Difference>>,
    }

    /// Where the page is served.
    pub(in crate::files) struct PageSection {
        /// Address and port; for now only of this computer itself, such as "127.0.0.1:8471".
        address: At<Text>,
    }

    /// The simulated kiln: what the file's other sections leave open.
    pub(in crate::files) struct SimulatedSection {
        /// What stands in it, in kilograms, shelves and posts included.
        load_kg: Option<At<Kilograms>>,
        /// Temperature of the room.
        ambient: Option<At<Degrees>>,
        /// The mains as a share of its nominal tension, in percent.
        mains_percent: Option<At<MainsPercent>>,
        /// How many times faster than real time it runs.
        speed: Option<At<Speed>>,
        /// Where chance starts: the same number gives the same firing.
        seed: Option<At<Seed>>,
    }

    /// What electricity costs.
    pub(in crate::files) struct TariffSection {
        /// The currency, such as "EUR".
        currency: At<Text>,
        /// The price of a kilowatt hour.
        per_kwh: At<Price>,
    }
}
