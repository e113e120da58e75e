//! One firing in detail, for whoever looks for a cause.

use control::{Finding, Phase, Severity};
use pyrometry::units::Celsius;

use crate::draw::Case;
use crate::moment::Moment;
use crate::outcome::Outcome;

/// A line at least this often.
const EVERY_S: u64 = 600;

/// Prints a line when something changes, and every ten minutes.
#[derive(Default)]
pub(crate) struct Teller {
    phase: Option<Phase>,
    segment: Option<u8>,
    findings: Vec<(Severity, &'static str)>,
}

impl Teller {
    pub(crate) fn begin(case: &Case) {
        println!("seed {}\n{:#?}\n{:#?}", case.seed, case.spec, case.kiln);
        for segment in case.programme.segments() {
            println!("  {segment:?}");
        }
        println!("forecast {:.2} h, at the longest {:.2} h", case.told.hours(), case.forecast.lasts.hours());
        println!("{:#?}\n{:#?}", case.doings, case.ills);
    }

    pub(crate) fn look(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let all = decision
            .trip
            .iter()
            .chain(&decision.withheld)
            .chain(&decision.refuses_light_up)
            .chain(&decision.notices);
        let findings: Vec<(Severity, &'static str)> =
            all.clone().map(|finding| (finding.severity, finding.interlock.name())).collect();
        let new = findings != self.findings;
        let moved = self.phase != Some(decision.phase) || self.segment != decision.segment;
        if new || moved || !moment.orders.is_empty() || moment.second.is_multiple_of(EVERY_S) {
            Self::line(moment);
        }
        if new {
            all.for_each(|finding: &Finding| println!("           {:?} {finding}", finding.severity));
        }
        for (order, outcome) in moment.orders.iter().zip(&decision.outcomes) {
            println!("           {order:?}: {outcome:?}");
        }
        (self.phase, self.segment, self.findings) = (Some(decision.phase), decision.segment, findings);
    }

    fn line(moment: &Moment<'_>) {
        let decision = moment.decision;
        let c = |at: Option<Celsius>| at.map_or("–".to_owned(), |at| format!("{:.2}", at.c()));
        let on: String =
            moment.kiln.banks.iter().zip(decision.banks).map(|(_, on)| if on { '#' } else { '.' }).collect();
        println!(
            "{:>7} s  {:<14} {:?}  plan {:>8}  read {:>8}  true {:>8.2}  ware {:>8.2}  box {:>5.1}  duty {:.2} {on}{}",
            moment.second,
            decision.phase.name(),
            decision.segment,
            c(decision.setpoint),
            c(decision.junctions[0]),
            moment.truth.junction_c,
            moment.truth.ware_c,
            moment.truth.box_c,
            decision.duty[0].ratio(),
            if decision.waiting { "  waits" } else { "" },
        );
    }

    pub(crate) fn end(outcome: &Outcome) {
        println!("{outcome:#?}");
    }
}
