//! Current clamps, and the converter that they are on.

use std::f64::consts::SQRT_2;

use hal::converter::mcp3008::WORDS;

use super::parts::whole;
use super::wire::{BankSection, ClampSection, KilnSections};
use super::{Board, KilnFile};
use crate::files::problem::{Problems, Told};
use crate::files::wire::At;

/// Share of the converter's range that the rated current's peak may take: the rest is for mains above
/// nominal and a middle that is a little off. Engineering judgement.
const RANGE_SHARE_MOST: f64 = 0.9;
/// Words of the converter that a tenth of the rated current should make, as RMS: `current-while-off` trips
/// there, and noise alone makes about one. Engineering judgement.
const TENTH_WORDS_LEAST: f64 = 2.0;

/// The converter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConverterPart {
    /// SPI bus and chip select; `None` only on a simulated board.
    pub place: Option<(u8, u8)>,
    /// Its reference.
    pub reference_v: f64,
}

/// A bank's clamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClampPart {
    /// The converter's input.
    pub channel: u8,
    /// Amperes in the wire for each volt of the clamp, as RMS.
    pub a_per_v: f64,
    /// What is added.
    pub offset_a: f64,
}

pub(super) fn clamp(section: &ClampSection) -> Option<ClampPart> {
    Some(ClampPart {
        channel: whole(section.channel.value.0)?,
        a_per_v: section.clamp_a_per_v.value.0,
        offset_a: section.offset_a.as_ref().map_or(0.0, |offset| offset.value.0),
    })
}

/// The converter. Where a bank has a clamp it must be there, and on a real board be connected.
pub(super) fn converter(
    file: &KilnSections,
    board: &Board,
    problems: &mut Problems,
) -> Result<Option<ConverterPart>, Told> {
    refuse_shared_inputs(file, problems);
    let is_real = !matches!(board, Board::Simulated(_));
    let Some(At { value: found, span }) = &file.converter else {
        let clamped = file.bank.iter().find_map(|bank| bank.value.current.as_ref());
        let Some(clamp) = clamped.filter(|_| is_real) else { return Ok(None) };
        let right = "add [converter] with chip, bus, chip_select and reference_v";
        problems.add(&clamp.span, "a current clamp, and no converter that it is on", right);
        return Err(Told);
    };
    let place = found.bus.as_ref().zip(found.chip_select.as_ref());
    let place = place.and_then(|(bus, select)| whole(bus.value.0).zip(whole(select.value.0)));
    if place.is_none() && is_real {
        problems.add(span, "where the converter is connected is not said", "give bus and chip_select");
        return Err(Told);
    }
    Ok(Some(ConverterPart { place, reference_v: found.reference_v.value.0 }))
}

fn refuse_shared_inputs(file: &KilnSections, problems: &mut Problems) {
    let clamped =
        |bank: &'_ At<BankSection>| bank.value.current.as_ref().map(|clamp| clamp.value.channel.clone());
    for (index, bank) in file.bank.iter().enumerate() {
        let Some(channel) = clamped(bank) else { continue };
        let same = |earlier: &At<BankSection>| clamped(earlier).is_some_and(|at| at.value == channel.value);
        if let Some(earlier) = file.bank[..index].iter().find(|earlier| same(earlier)) {
            let wrong = format!(
                "input {} is given to bank \"{}\" and to bank \"{}\"",
                channel.value.0, earlier.value.name.value.0, bank.value.name.value.0
            );
            problems.add(&channel.span, wrong, "give each clamp its own input");
        }
    }
}

/// What a careful colleague would say about them.
pub(super) fn note(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    let (Some(section), Some(converter)) = (&file.converter, kiln.converter) else { return };
    if kiln.banks.iter().all(|bank| bank.clamp.is_none()) {
        let right = "give banks their clamp, such as current = { channel = 0, clamp_a_per_v = 30 }";
        notes.warn(&section.span, "a converter, and no bank whose current it measures", right);
    }
    let word_v = converter.reference_v / f64::from(WORDS);
    let banks = file.bank.iter().zip(&kiln.banks).zip(&kiln.kiln.banks);
    for ((section, part), bank) in banks {
        let (Some(written), Some(clamp)) = (&section.value.current, part.clamp) else { continue };
        let rated_a = bank.rated_current().a();
        let most_a = RANGE_SHARE_MOST * converter.reference_v / 2.0 / SQRT_2 * clamp.a_per_v;
        let tenth_words = rated_a / 10.0 / clamp.a_per_v / word_v;
        if rated_a > most_a {
            let wrong = format!(
                "the clamp of bank \"{}\" fits {most_a:.1} A at this reference, and the bank draws {rated_a:.1} A",
                part.name
            );
            notes.warn(
                &written.span,
                wrong,
                "fit a clamp, or a burden resistor, with more amperes to the volt",
            );
        } else if tenth_words < TENTH_WORDS_LEAST {
            let wrong = format!(
                "a tenth of the {rated_a:.1} A of bank \"{}\" makes {tenth_words:.1} steps of the converter: noise could trip a firing",
                part.name
            );
            notes.warn(
                &written.span,
                wrong,
                "fit a clamp, or a burden resistor, with fewer amperes to the volt",
            );
        }
    }
}
