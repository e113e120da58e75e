//! Several samples of one probe between two steps, and the one report that the step gets of them.
//!
//! **The reading** is the median of the junction words and, by itself, of the cold junctions', which move by
//! a step of theirs within a second: so a sample torn on its way moves neither. Of an even count the upper
//! middle: a word that the chip did say, and of two wrong ways the one that overheats nothing (hot by 0.3 of
//! the noise's standard deviation for four samples). How far the samples lay apart goes with it.
//!
//! **Complaints.** A step is faulty when at least half of its samples complain, and says all that they
//! complain of. A lesser part is let pass once, since a noisy workshop garbles a transfer now and then and
//! the other samples tell the junction; any further complaint within ten steps counts, however small its
//! part. So of a loose wire that opens for 200 ms each second the first opening that a sample meets (four of
//! five do) is let pass; from the next on the steps are faulty, heat is withheld and SR-01 trips, within some
//! ten seconds of the first. One that opens as long each five seconds withholds heat again and again. One
//! that opens less often than every ten seconds is let pass, as long as more than half of the samples of its
//! step are whole: the reading is the junction's all the while.
//!
//! **A chip that forgot its set-up** (SR-03) is never let pass, and nothing else of that step is used: what
//! came before may be another wire's numbers. Nor is what a chip says within the second after it: a
//! conversion takes up to 0.4 s, so the registers may hold one from before. The step that follows has its
//! own sample alone.

use pyrometry::amplifier::{ChipFaults, Report, Said, Spread};

/// Samples kept of one step: the spread's most.
const SAMPLES_MOST: usize = 8;
/// Steps without a complaint after which a lesser part of complaints is let pass again. As long as SR-01
/// counts: a wire that opens more often than this is not whole. Engineering judgement.
const QUIET_STEPS: u8 = 10;

/// The samples of one probe since the latest step.
#[derive(Clone, Debug)]
pub struct Gathering {
    junctions: Words,
    cold_junctions: Words,
    complaining: usize,
    faults: ChipFaults,
    /// Steps since some sample complained.
    quiet: u8,
    settling: Settling,
}

/// Whether a chip was set up anew so lately that its registers may be older.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Settling {
    Settled,
    Settles,
}

impl Default for Gathering {
    fn default() -> Self {
        Self::new()
    }
}

impl Gathering {
    /// No sample yet.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            junctions: Words::NONE,
            cold_junctions: Words::NONE,
            complaining: 0,
            faults: ChipFaults::NONE,
            quiet: QUIET_STEPS,
            settling: Settling::Settled,
        }
    }

    /// A sample between two steps.
    pub fn take(&mut self, sample: &Report) {
        match self.settling {
            Settling::Settles if complaint(sample).is_none() => {}
            Settling::Settles | Settling::Settled => self.add(sample),
        }
    }

    /// The step's own sample, and with it the step's report. The next step's samples begin anew.
    pub fn close(&mut self, last: &Report) -> Report {
        self.add(last);
        let report = self.combined(last);
        let lost = self.faults.has(ChipFaults::CONFIGURATION_LOST);
        *self = Self {
            quiet: if self.faults.is_none() { self.quiet.saturating_add(1) } else { 0 },
            settling: if lost { Settling::Settles } else { Settling::Settled },
            ..Self::new()
        };
        report
    }

    fn add(&mut self, sample: &Report) {
        let faults = complaint(sample);
        self.faults = self.faults.with(faults);
        if !faults.is_none() {
            self.complaining = self.complaining.saturating_add(1);
        } else if let Said::Words { junction, cold_junction } = sample.said {
            self.junctions.put(junction);
            self.cold_junctions.put(cold_junction);
        }
    }

    fn combined(&self, last: &Report) -> Report {
        if self.is_faulty() {
            return Report::single(Said::Nothing, self.faults);
        }
        match (self.junctions.median(), self.cold_junctions.median()) {
            (Some(junction), Some(cold_junction)) => Report {
                said: Said::Words { junction, cold_junction },
                faults: ChipFaults::NONE,
                spread: self.junctions.spread(),
            },
            // A source that has no registers is as it is.
            _ => *last,
        }
    }

    fn is_faulty(&self) -> bool {
        let is_half = self.complaining >= self.junctions.count;
        let has_recurred = self.quiet < QUIET_STEPS;
        let is_lost = self.faults.has(ChipFaults::CONFIGURATION_LOST);
        !self.faults.is_none() && (is_half || has_recurred || is_lost)
    }
}

/// What a sample complains of; one that says nothing at all is no answer.
const fn complaint(sample: &Report) -> ChipFaults {
    match sample.said {
        Said::Nothing if sample.faults.is_none() => ChipFaults::NO_ANSWER,
        Said::Nothing | Said::Words { .. } | Said::Reading { .. } | Said::Emf { .. } => sample.faults,
    }
}

/// The latest words of one register.
#[derive(Clone, Debug)]
struct Words {
    words: [i32; SAMPLES_MOST],
    count: usize,
}

impl Words {
    const NONE: Self = Self { words: [0; SAMPLES_MOST], count: 0 };

    /// A ninth pushes out the first.
    fn put(&mut self, word: i32) {
        if self.count == SAMPLES_MOST {
            self.words.rotate_left(1);
            self.count -= 1;
        }
        if let Some(place) = self.words.get_mut(self.count) {
            *place = word;
            self.count += 1;
        }
    }

    fn in_order(&self) -> impl DoubleEndedIterator<Item = i32> + use<> {
        let mut words = self.words;
        if let Some(there) = words.get_mut(..self.count) {
            there.sort_unstable();
        }
        words.into_iter().take(self.count)
    }

    /// The middle one; of an even count the upper.
    fn median(&self) -> Option<i32> {
        self.in_order().nth(self.count / 2)
    }

    fn spread(&self) -> Option<Spread> {
        let mut words = self.in_order();
        let least = words.next()?;
        let greatest = words.next_back()?;
        Spread::new(greatest.abs_diff(least), u8::try_from(self.count).ok()?)
    }
}
