//! What heats nothing: buzzer, lamp and vent.
//!
//! They follow what was decided, after everything else of the step; nothing about heat waits for them or
//! asks them. One that cannot be driven is told, and changes nothing besides.

use control::{Decision, Finding, Interlock, Part};
use hal::{Level, PinFault, Signal};
use pyrometry::units::{Celsius, CelsiusDelta, Millis};

use super::Cycle;
use crate::files::kiln::{SignalParts, VentPart};
use crate::files::schedule::Vent;
use crate::run::firing::FiringSheet;
use crate::run::guard::Guard;
use crate::run::snapshot::{Driven, SignalsNow};

/// For how long a kiln must read cool before the lamp goes out: ware evens out, and readings waver.
/// Engineering judgement.
const COOL_FOR: Millis = Millis::from_minutes(1);
/// For how long the vent must be wanted otherwise before it changes: a glitch of a reading is no reason.
/// Engineering judgement.
const VENT_WAITS: Millis = Millis::from_seconds(10);
/// How far beyond its bounds the kiln must be before a vent that runs stops: twice the ripple of the
/// switching in a light kiln. Engineering judgement.
const VENT_HOLDS_C: f64 = 5.0;

/// What became of silencing the buzzer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Silenced {
    /// It is silent until another trip.
    Quiet,
    /// It did not sound.
    DidNotSound,
}

/// The trip that the buzzer sounds for.
type Cause = (Interlock, Option<Part>);

#[derive(Debug)]
pub(super) struct Signals {
    fitted: SignalParts,
    sounds_for: Option<Cause>,
    silenced: Option<Cause>,
    cool_since: Option<Millis>,
    vent: Level,
    /// Since when the vent is wanted otherwise.
    vent_otherwise_since: Option<Millis>,
    pub(super) now: SignalsNow,
}

impl Signals {
    pub(super) fn new(fitted: SignalParts) -> Self {
        Self {
            fitted,
            sounds_for: None,
            silenced: None,
            cool_since: None,
            vent: Level::Off,
            vent_otherwise_since: None,
            now: SignalsNow::default(),
        }
    }

    /// Silences the buzzer for the trip that it sounds for. The trip stands.
    pub(super) fn silence(&mut self) -> Silenced {
        match self.sounds_for.take() {
            Some(cause) => {
                self.silenced = Some(cause);
                Silenced::Quiet
            }
            None => Silenced::DidNotSound,
        }
    }

    fn buzzer(&mut self, trip: Option<&Finding>) -> Level {
        let cause = trip.map(|trip| (trip.interlock, trip.part));
        if self.silenced != cause {
            self.silenced = None;
        }
        self.sounds_for = cause.filter(|_| self.fitted.buzzer.is_some() && self.silenced.is_none());
        if self.sounds_for.is_some() { Level::On } else { Level::Off }
    }

    /// Lit while heat may be given, and until every probe has read cool for a while: not knowing is hot.
    fn lamp(&mut self, at: Millis, decision: &Decision, probes: usize, open_below: Celsius) -> Level {
        let mut junctions = decision.junctions.iter().take(probes);
        let reads_cool = junctions.all(|junction| junction.is_some_and(|junction| junction < open_below));
        if !reads_cool || decision.phase.may_heat() {
            self.cool_since = None;
            return Level::On;
        }
        let since = *self.cool_since.get_or_insert(at);
        if at.since(since) < COOL_FOR { Level::On } else { Level::Off }
    }

    /// Runs as the schedule's segment says, or between its bounds while heat may be given. It stops with the
    /// schedule, also by a trip or a shut-off, without waiting: it draws cold air over hot ware, and feeds what
    /// may be burning.
    fn vent(&mut self, at: Millis, decision: &Decision, said: Option<Vent>, vent: VentPart) -> Level {
        if !decision.phase.may_heat() && said != Some(Vent::On) {
            (self.vent, self.vent_otherwise_since) = (Level::Off, None);
            return Level::Off;
        }
        let wanted = match said {
            Some(Vent::On) => Level::On,
            Some(Vent::Off) => Level::Off,
            None => self.vent_wanted(decision.chamber, vent),
        };
        if wanted == self.vent {
            self.vent_otherwise_since = None;
            return self.vent;
        }
        let since = *self.vent_otherwise_since.get_or_insert(at);
        if at.since(since) >= VENT_WAITS {
            (self.vent, self.vent_otherwise_since) = (wanted, None);
        }
        self.vent
    }

    /// A kiln of unknown temperature keeps its vent as it is: heat is withheld from it anyhow.
    fn vent_wanted(&self, chamber: Option<Celsius>, vent: VentPart) -> Level {
        let Some(chamber) = chamber else { return self.vent };
        let holds = match self.vent {
            Level::On => CelsiusDelta::new(VENT_HOLDS_C).unwrap_or(CelsiusDelta::ZERO),
            Level::Off => CelsiusDelta::ZERO,
        };
        let reached = vent.from.is_none_or(|from| chamber >= from - holds);
        let passed = vent.to.is_some_and(|to| chamber > to + holds);
        if reached && !passed { Level::On } else { Level::Off }
    }
}

/// What the present segment says of the vent. There is none once the schedule is over, shut off or tripped.
fn said_of_vent(firing: Option<&FiringSheet>, decision: &Decision) -> Option<Vent> {
    firing?.schedule.segments.get(usize::from(decision.segment?))?.vent
}

impl<G: Guard> Cycle<G> {
    /// Drives what heats nothing as the decision has it, last of all.
    pub(super) fn signal(&mut self, at: Millis, decision: &Decision) {
        let (probes, open_below) = (self.parts.kiln.probes.len(), self.parts.kiln.open_below);
        let buzzer = self.signals.buzzer(decision.trip.as_ref());
        let lamp = self.signals.lamp(at, decision, probes, open_below);
        let said = said_of_vent(self.firing.as_deref(), decision);
        let vent = self.signals.vent(at, decision, said, self.signals.fitted.vent.unwrap_or_default());
        for signal in self.signals.fitted.fitted() {
            let level = match signal {
                Signal::Buzzer => buzzer,
                Signal::Lamp => lamp,
                Signal::Vent => vent,
            };
            let pin = self.parts.board.hold().set_signal(signal, level);
            let before = self.signals.now.of(signal);
            if pin.is_err() && before.is_none_or(|before| before.pin.is_ok()) {
                tracing::error!("the pin of the {} cannot be driven", signal.name());
            }
            self.signals.now.put(signal, Driven { level, pin });
        }
    }
}

impl<G> Cycle<G> {
    /// Silent and still. The lamp stays as it is: a hot kiln is no colder without its controller.
    pub(super) fn quieten(&mut self) {
        let loud = self.signals.fitted.fitted().filter(|signal| *signal != Signal::Lamp);
        for signal in loud {
            if self.parts.board.hold().set_signal(signal, Level::Off) == Err(PinFault) {
                tracing::error!("the pin of the {} cannot be driven off", signal.name());
            }
        }
    }
}
