//! What happened in a firing, told from its steps one after another.

use control::{Decision, Finding, Interlock, Order, Outcome as Answer, Phase, Start};
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Millis};
use trace::Seen;

use crate::store::{Closing, EventKind, Outcome};
use crate::words;

/// Follows the steps of a firing, or of a rest.
#[derive(Debug)]
pub struct Chronicle {
    outcome: Outcome,
    phase: Option<Phase>,
    trip: Option<Interlock>,
    withheld: Option<Interlock>,
    notices: Vec<Interlock>,
    hottest: Option<Celsius>,
    chamber: Option<Celsius>,
    cone: Option<f64>,
    heat_work: HeatWork,
    /// The time before the first step that its heat-work is to count too.
    gap: Millis,
    last: Millis,
}

/// Something worth noting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Happened {
    /// What kind of thing.
    pub kind: EventKind,
    /// Its name in the vocabulary.
    pub name: String,
    /// What a person reads.
    pub words: String,
}

impl Default for Chronicle {
    fn default() -> Self {
        Self {
            outcome: Outcome::Running,
            phase: None,
            trip: None,
            withheld: None,
            notices: Vec::new(),
            hottest: None,
            chamber: None,
            cone: None,
            heat_work: HeatWork::NONE,
            gap: Millis::ZERO,
            last: Millis::ZERO,
        }
    }
}

impl Chronicle {
    /// Of a controller that begins with what survived from before.
    #[must_use]
    pub fn of(start: &Start) -> Self {
        match &start.carried {
            Some(carried) => {
                Self { heat_work: carried.heat_work_at_its_end(), gap: carried.gap, ..Self::default() }
            }
            None => Self::default(),
        }
    }

    /// How the heating came out so far.
    #[must_use]
    pub const fn outcome(&self) -> Outcome {
        self.outcome
    }

    /// Takes one step; gives what is new in it.
    pub fn take(&mut self, seen: &Seen, decision: &Decision) -> Vec<Happened> {
        let mut happened = Vec::new();
        let gap = std::mem::take(&mut self.gap);
        match decision.chamber {
            Some(chamber) => self.heat_work.add(chamber, gap + decision.at.since(self.last)),
            None => self.heat_work.break_off(),
        }
        self.last = decision.at;
        self.cone = decision.cone.or(self.cone);
        if let Some(chamber) = decision.chamber {
            self.hottest = Some(self.hottest.map_or(chamber, |hottest| hottest.hotter(chamber)));
            self.chamber = Some(chamber);
        }
        self.orders(seen, decision, &mut happened);
        self.findings(decision, &mut happened);
        self.phases(decision, &mut happened);
        happened
    }

    /// The firing's last words, to be completed by the time of day.
    #[must_use]
    pub fn closing(&self, ended: String) -> Closing {
        Closing {
            ended,
            duration_s: self.last.seconds(),
            hottest_c: self.hottest.map(Celsius::c),
            cone: self.cone.and_then(words::cone_reached),
            last_c: self.chamber.map(Celsius::c),
        }
    }

    fn orders(&mut self, seen: &Seen, decision: &Decision, happened: &mut Vec<Happened>) {
        for (order, answer) in seen.orders.iter().zip(&decision.outcomes) {
            let kind = match order {
                Order::ConeSeen { .. } => EventKind::ConeSeen,
                Order::Stay
                | Order::CarryOn
                | Order::ShutOff
                | Order::ClearTrip
                | Order::NextSegment
                | Order::AddMinutes(_)
                | Order::EndClimb => EventKind::Order,
            };
            let words = match answer {
                Answer::Taken => format!("{}.", words::order(*order)),
                Answer::Refused(why) => {
                    format!("{}: refused. {}", words::order(*order), words::refusal(*why, decision.phase))
                }
            };
            happened.push(Happened { kind, name: words::order_name(*order).to_owned(), words });
            match (order, answer) {
                (Order::ShutOff, Answer::Taken) if self.phase == Some(Phase::SetForLater) => {
                    self.outcome = Outcome::Cancelled;
                }
                (Order::ShutOff, Answer::Taken) if self.outcome == Outcome::Running => {
                    self.outcome = Outcome::ShutOff;
                }
                (Order::NextSegment | Order::EndClimb, Answer::Taken)
                    if self.outcome == Outcome::Running && decision.segment.is_none() =>
                {
                    self.outcome = Outcome::ShutOff;
                }
                (Order::CarryOn, Answer::Taken) if self.outcome == Outcome::ShutOff => {
                    self.outcome = Outcome::Running;
                }
                (_, Answer::Taken | Answer::Refused(_)) => {}
            }
        }
    }

    fn findings(&mut self, decision: &Decision, happened: &mut Vec<Happened>) {
        let is_new = |before: Option<Interlock>, now: Option<Finding>| {
            now.filter(|finding| before != Some(finding.interlock))
        };
        if let Some(trip) = is_new(self.trip, decision.trip) {
            happened.push(told(EventKind::Trip, trip));
            self.outcome = Outcome::Tripped;
        }
        if let Some(withheld) = is_new(self.withheld, decision.withheld)
            && decision.trip.is_none()
        {
            happened.push(told(EventKind::Withheld, withheld));
        }
        for notice in &decision.notices {
            if !self.notices.contains(&notice.interlock) {
                happened.push(told(EventKind::Notice, *notice));
            }
        }
        self.trip = decision.trip.map(|finding| finding.interlock);
        self.withheld = decision.withheld.map(|finding| finding.interlock);
        self.notices.clear();
        self.notices.extend(decision.notices.iter().map(|notice| notice.interlock));
    }

    fn phases(&mut self, decision: &Decision, happened: &mut Vec<Happened>) {
        let phase = decision.phase;
        let over = decision.segment.is_none() && matches!(phase, Phase::Cooling | Phase::CoolEnoughToOpen);
        if over && self.outcome == Outcome::Running {
            self.outcome = Outcome::Finished;
        }
        if self.phase == Some(phase) {
            return;
        }
        let first_at_rest = self.phase.is_none() && phase == Phase::Resting;
        self.phase = Some(phase);
        if !first_at_rest {
            let at = decision.chamber.map_or(String::new(), |chamber| format!(" at {:.0} °C", chamber.c()));
            let mut words = format!("{}{at}.", words::phase(phase));
            if phase == Phase::CoolEnoughToOpen && self.heat_work.down().is_some() {
                // What the witness cones should show when they are taken out.
                words = format!("{words} Cones, by heat-work: {}.", self.heat_work.running());
            }
            happened.push(Happened { kind: EventKind::Phase, name: phase.name().to_owned(), words });
        }
    }
}

fn told(kind: EventKind, finding: Finding) -> Happened {
    Happened {
        kind,
        name: finding.interlock.name().to_owned(),
        words: format!("{} {}", finding.seen(), finding.done()),
    }
}
