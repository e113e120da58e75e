//! The curve of a firing, as the page and the logbook draw it.

use control::{BANKS_MOST, Decision, Kiln, Phase};
use pyrometry::units::{Celsius, Duty, Millis};
use serde::{Deserialize, Serialize};

use crate::error::TraceError;
use crate::reader::TraceReader;
use crate::wire::{Exact, Few, Named};

/// One sample of the curve, in numbers just precise enough to draw (24 bits: 5 ms in 14 hours).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Time since the first step, s.
    pub at_s: f32,
    /// The schedule's setpoint, °C.
    pub setpoint_c: Option<f32>,
    /// The temperature the firing is judged by, °C.
    pub chamber_c: Option<f32>,
    /// Share of the rated power of all banks that is asked for, 0 to 1.
    pub duty: f32,
}

/// A stretch of time in one phase.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PhaseSpan {
    /// Which.
    pub phase: Named<Phase>,
    /// From this sample's time, s.
    pub from_s: f32,
    /// To this sample's time, s; the next phase begins with the sample after.
    pub to_s: f32,
}

/// Time, setpoint, chamber and duty of every step, and the phases as stretches.
#[derive(Clone, Debug)]
pub struct Curve {
    shares: [f64; BANKS_MOST],
    samples: Vec<Sample>,
    phases: Vec<PhaseSpan>,
}

/// The part of a line that a curve needs; the rest is skipped unparsed.
#[derive(Deserialize)]
struct CurveLine {
    at_ms: u64,
    did: Option<CurveDid>,
}

#[derive(Deserialize)]
struct CurveDid {
    phase: Named<Phase>,
    setpoint_c: Option<Exact<Celsius>>,
    chamber_c: Option<Exact<Celsius>>,
    #[serde(default)]
    duty: Few<Exact<Duty>, BANKS_MOST>,
}

impl Curve {
    /// An empty curve of this kiln.
    #[must_use]
    pub fn new(kiln: &Kiln) -> Self {
        let whole_w: f64 = kiln.banks.iter().map(|bank| bank.power.w()).sum();
        let mut shares = [0.0; BANKS_MOST];
        for (share, bank) in shares.iter_mut().zip(&kiln.banks) {
            *share = if whole_w > 0.0 { bank.power.w() / whole_w } else { 0.0 };
        }
        Self { shares, samples: Vec::new(), phases: Vec::new() }
    }

    /// The curve of a trace's recorded decisions. A torn end is left out.
    pub fn read(mut reader: TraceReader<'_>) -> Result<Self, TraceError> {
        let mut curve = Self::new(&reader.head().setup.kiln);
        while let Some(CurveLine { at_ms, did }) = reader.next_wire()? {
            if let Some(CurveDid { phase, setpoint_c, chamber_c, duty }) = did {
                let duty = duty.padded(Duty::OFF, |exact| exact.0);
                let (setpoint, chamber) = (setpoint_c.map(|exact| exact.0), chamber_c.map(|exact| exact.0));
                curve.add(Millis::new(at_ms), phase.0, setpoint, chamber, &duty);
            }
        }
        Ok(curve)
    }

    /// Adds a decision, for a curve that grows while the kiln fires.
    pub fn push(&mut self, decision: &Decision) {
        self.add(decision.at, decision.phase, decision.setpoint, decision.chamber, &decision.duty);
    }

    /// Every sample, in the order of time.
    #[must_use]
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// The phases, in the order of time; none is lost, however short.
    #[must_use]
    pub fn phases(&self) -> &[PhaseSpan] {
        &self.phases
    }

    fn add(
        &mut self,
        at: Millis,
        phase: Phase,
        setpoint: Option<Celsius>,
        chamber: Option<Celsius>,
        duty: &[Duty; BANKS_MOST],
    ) {
        let at_s = single(at.seconds());
        let together: f64 = duty.iter().zip(self.shares).map(|(duty, share)| duty.ratio() * share).sum();
        let (setpoint_c, chamber_c) =
            (setpoint.map(|setpoint| single(setpoint.c())), chamber.map(|chamber| single(chamber.c())));
        self.samples.push(Sample { at_s, setpoint_c, chamber_c, duty: single(together) });
        match self.phases.last_mut() {
            Some(last) if last.phase.0 == phase => last.to_s = at_s,
            Some(_) | None => {
                self.phases.push(PhaseSpan { phase: Named(phase), from_s: at_s, to_s: at_s });
            }
        }
    }
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "a drawing needs no more digits; the trace keeps them all"
)]
const fn single(number: f64) -> f32 {
    number as f32
}
