//! The sheet of one step: a line for every row, filled with its verdict or missing it.

use pyrometry::units::Millis;

use super::row::Verdict;
use crate::finding::{Evidence, Finding, Interlock, Severity};

/// Lines on a sheet: one for every interlock.
pub(crate) const LINES: usize = Interlock::ALL.len();

/// The verdicts of one step. A line is empty until its row has spoken.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    lines: [Option<Verdict>; LINES],
}

/// Where an interlock's line is; the order of [`Interlock::ALL`].
pub(crate) const fn line_of(interlock: Interlock) -> usize {
    match interlock {
        Interlock::BrokenThermocouple => 0,
        Interlock::ShortedThermocouple => 1,
        Interlock::AmplifierNotAnswering => 2,
        Interlock::StaleReading => 3,
        Interlock::StuckReading => 4,
        Interlock::JumpingReading => 5,
        Interlock::ReversedThermocouple => 6,
        Interlock::AboveCeiling => 7,
        Interlock::AbovePlan => 8,
        Interlock::HeatingWhileOff => 9,
        Interlock::NotHeating => 10,
        Interlock::FiringTooLong => 11,
        Interlock::JaggedReading => 12,
        Interlock::ShortedLead => 13,
        Interlock::ThermocouplePulledOut => 14,
        Interlock::EnclosureHot => 15,
        Interlock::KilnStalled => 16,
        Interlock::LidOpen => 17,
        Interlock::CurrentWhileOff => 18,
        Interlock::WeakCurrent => 19,
        Interlock::BankNotFelt => 20,
        Interlock::MoreEnergyThanForecast => 21,
        Interlock::ContactorNotFollowing => 22,
        Interlock::ZonesApart => 23,
        Interlock::CheckMissing => 24,
    }
}

impl Sheet {
    /// An empty sheet.
    pub(crate) const fn new() -> Self {
        Self { lines: [None; LINES] }
    }

    /// Enters a row's verdict; a second one in the same step can only make it worse.
    pub(crate) fn enter(&mut self, interlock: Interlock, verdict: Verdict) {
        if let Some(line) = self.lines.get_mut(line_of(interlock)) {
            *line = Some(line.map_or(verdict, |before| before.worse(verdict)));
        }
    }

    /// Every row that has something to say; rows that gave no verdict are one trip of `check-missing`.
    pub(crate) fn findings(&self) -> impl Iterator<Item = Finding> {
        let spoken = self
            .lines
            .iter()
            .zip(Interlock::ALL)
            .filter_map(|(line, interlock)| line.and_then(|verdict| verdict.finding(interlock)));
        spoken.chain(self.missing())
    }

    /// Not knowing is a fault: a row without a verdict trips.
    fn missing(&self) -> Option<Finding> {
        let due = 0_u32..;
        let rows = self.lines.iter().zip(Interlock::ALL).filter(|(_, row)| *row != Interlock::CheckMissing);
        let (mut spoken, mut wanted) = (0_u32, 0_u32);
        for ((line, _), number) in rows.zip(due) {
            wanted = number + 1;
            spoken += u32::from(line.is_some());
        }
        if spoken == wanted {
            return None;
        }
        let evidence = Evidence { seen: f64::from(spoken), bound: f64::from(wanted), lasted: Millis::ZERO };
        Some(Finding { interlock: Interlock::CheckMissing, severity: Severity::Trip, part: None, evidence })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    const EVIDENCE: Evidence = Evidence { seen: 1.0, bound: 2.0, lasted: Millis::ZERO };

    fn filled(except: Option<Interlock>) -> Sheet {
        let mut sheet = Sheet::new();
        for row in Interlock::ALL {
            if Some(row) != except && row != Interlock::CheckMissing {
                sheet.enter(row, Verdict::Clear);
            }
        }
        sheet
    }

    #[test]
    fn lines_stand_in_the_order_of_all_interlocks() {
        for (interlock, line) in Interlock::ALL.into_iter().zip(0..) {
            assert_eq!(line_of(interlock), line);
        }
    }

    #[test]
    fn a_row_without_a_verdict_trips_whichever_it_is() {
        for absent in Interlock::ALL.into_iter().filter(|row| *row != Interlock::CheckMissing) {
            let findings: Vec<_> = filled(Some(absent)).findings().collect();
            assert_eq!(findings.len(), 1, "{absent:?}");
            assert_eq!(
                (findings[0].interlock, findings[0].severity),
                (Interlock::CheckMissing, Severity::Trip)
            );
        }
    }

    #[test]
    fn a_sheet_on_which_every_row_is_clear_finds_nothing() {
        assert_eq!(filled(None).findings().count(), 0);
    }

    #[test]
    fn a_second_verdict_of_a_row_can_only_make_it_worse() {
        let mut sheet = filled(None);
        sheet.enter(Interlock::AbovePlan, Verdict::overall(Severity::Withhold, EVIDENCE));
        sheet.enter(Interlock::AbovePlan, Verdict::Clear);
        sheet.enter(Interlock::AbovePlan, Verdict::overall(Severity::Notice, EVIDENCE));
        assert_eq!(
            sheet.findings().map(|finding| finding.severity).collect::<Vec<_>>(),
            [Severity::Withhold]
        );
    }
}
