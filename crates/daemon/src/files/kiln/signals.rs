//! What the board drives besides heat: buzzer, lamp and vent, each optional.

use hal::Signal;
use pyrometry::constant;
use pyrometry::units::Celsius;

use super::body::temperature;
use super::pins::{self, Role, Used};
use super::wire::{KilnSections, SignalSection, VentSection};
use super::{Board, Line};
use crate::files::number::Degrees;
use crate::files::problem::{Problems, Told};
use crate::files::scale::Scale;
use crate::files::wire::At;

/// A vent's bounds lie where a kiln may be; the hottest ceiling of all is the upper one.
const VENT: (Celsius, Celsius) = (constant!(Celsius, 0.0), constant!(Celsius, 1400.0));
/// Bounds nearer to each other would switch the fan with every turn of the relays. Engineering judgement.
const BAND_LEAST_C: f64 = 20.0;

/// The outputs that heat nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SignalParts {
    /// The buzzer.
    pub buzzer: Option<SignalPart>,
    /// The lamp.
    pub lamp: Option<SignalPart>,
    /// The vent.
    pub vent: Option<VentPart>,
}

/// An output that tells people something.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SignalPart {
    /// What drives it; `None` only on a simulated board.
    pub line: Option<Line>,
}

/// The vent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct VentPart {
    /// What drives it; `None` only on a simulated board.
    pub line: Option<Line>,
    /// It runs from here on.
    pub from: Option<Celsius>,
    /// It runs up to here.
    pub to: Option<Celsius>,
}

impl SignalParts {
    /// Those that are fitted.
    pub fn fitted(&self) -> impl Iterator<Item = Signal> + use<> {
        let fitted = [
            (Signal::Buzzer, self.buzzer.is_some()),
            (Signal::Lamp, self.lamp.is_some()),
            (Signal::Vent, self.vent.is_some()),
        ];
        fitted.into_iter().filter(|(_, is)| *is).map(|(signal, _)| signal)
    }

    /// The lines that drive them, on a real board.
    pub(super) fn lines(&self) -> impl Iterator<Item = (Signal, Line)> + use<> {
        let lines = [
            (Signal::Buzzer, self.buzzer.and_then(|part| part.line)),
            (Signal::Lamp, self.lamp.and_then(|part| part.line)),
            (Signal::Vent, self.vent.and_then(|part| part.line)),
        ];
        lines.into_iter().filter_map(|(signal, line)| line.map(|line| (signal, line)))
    }
}

/// As the lint and the clashes of pins name them.
const BUZZER: &str = "the buzzer";
const LAMP: &str = "the lamp";
const VENT_FAN: &str = "the vent";

/// The pins of those that the file has.
pub(super) fn outputs(file: &KilnSections) -> impl Iterator<Item = Used<'_>> {
    let simple = [(BUZZER, &file.buzzer), (LAMP, &file.lamp)];
    let simple = simple.into_iter().filter_map(|(what, section)| {
        let SignalSection { pin, active } = &section.as_ref()?.value;
        Some((what, pin.as_ref()?, active.as_ref()))
    });
    let vent = file.vent.iter().filter_map(|section| {
        let VentSection { pin, active, .. } = &section.value;
        Some((VENT_FAN, pin.as_ref()?, active.as_ref()))
    });
    let used =
        |(what, pin, active): (&str, _, _)| Used { what: what.to_owned(), pin, active, role: Role::Signals };
    simple.chain(vent).map(used)
}

/// The signals, each fully connected on a real board.
pub(super) fn signals(
    file: &KilnSections,
    board: &Board,
    problems: &mut Problems,
) -> Result<SignalParts, Told> {
    let buzzer = simple(BUZZER, file.buzzer.as_ref(), board, problems);
    let lamp = simple(LAMP, file.lamp.as_ref(), board, problems);
    let vent = vent(file, board, problems);
    Ok(SignalParts { buzzer: buzzer?, lamp: lamp?, vent: vent? })
}

fn simple(
    what: &str,
    section: Option<&At<SignalSection>>,
    board: &Board,
    problems: &mut Problems,
) -> Result<Option<SignalPart>, Told> {
    let Some(At { value: SignalSection { pin, active }, span }) = section else { return Ok(None) };
    let line = pins::line((pin, active), what, span, board, problems)?;
    Ok(Some(SignalPart { line }))
}

fn vent(file: &KilnSections, board: &Board, problems: &mut Problems) -> Result<Option<VentPart>, Told> {
    let Some(At { value: found, span }) = &file.vent else { return Ok(None) };
    let line = pins::line((&found.pin, &found.active), VENT_FAN, span, board, problems);
    let from = bound(found.from.as_ref(), "from", file.scale.value, problems);
    let to = bound(found.to.as_ref(), "to", file.scale.value, problems);
    let part = VentPart { line: line?, from: from?, to: to? };
    if let (Some(from), Some(to)) = (part.from, part.to)
        && to.c() - from.c() < BAND_LEAST_C
    {
        let right = "let it run over 20 °C (36 °F) at least, `to` above `from`";
        problems.add(span, "a vent whose `to` is not well above its `from`", right);
        return Err(Told);
    }
    Ok(Some(part))
}

fn bound(
    written: Option<&At<Degrees>>,
    key: &str,
    scale: Scale,
    problems: &mut Problems,
) -> Result<Option<Celsius>, Told> {
    let Some(written) = written else { return Ok(None) };
    temperature(written, key, VENT, scale, problems).map(Some).ok_or(Told)
}
