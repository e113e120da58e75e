//! SR-22: a bank draws current though its relay is told to be off.
//!
//! What `heating-while-off` finds in the temperature after minutes, a current sensor shows at once, and
//! while the other banks go on heating: a welded relay or a shorted solid-state switch.

use pyrometry::units::Millis;

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::BANKS_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-22: share of the rated current. A solid-state switch leaks some milliamperes (from memory of
/// datasheets), a clamp's offset is some tenths of an ampere; elements draw ten amperes and more.
const SHARE_MOST: f64 = 0.1;
/// SR-22: for this long, so that a reading taken as the relay opens is none.
const LASTED: Millis = Millis::from_seconds(2);

pub(crate) const ROW: Row = Row {
    requirement: "SR-22",
    interlock: Interlock::CurrentWhileOff,
    condition: "a bank told to be off draws more than a tenth of its rated current for 2 s, where it is sensed",
    worst: Severity::Trip,
    clears: "no current in any bank that is off",
    look_at: &[
        "the bank's relay or solid-state switch: it has welded or shorted, replace it",
        "the wiring between relay and elements",
        "the current sensor: does it show current with the breaker pulled?",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: Some("Relays off and contactor open. If current still flows, pull the breaker."),
    say: |evidence, f| {
        write!(
            f,
            "{:.1} A flow though its relay is off; {:.1} A is the most allowed.",
            evidence.seen, evidence.bound
        )
    },
};

/// For how long each bank has drawn current while off.
#[derive(Clone, Debug)]
pub(crate) struct CurrentWhileOff {
    lasted: [Millis; BANKS_MOST],
}

impl CurrentWhileOff {
    pub(crate) const fn new() -> Self {
        Self { lasted: [Millis::ZERO; BANKS_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let seen = view.seen;
        let told = seen.kiln.banks.iter().zip(seen.banks).zip(seen.amps);
        let mut worst = Verdict::Clear;
        for (((bank, on), amps), (lasted, number)) in told.zip(self.lasted.iter_mut().zip(0_u8..)) {
            let bound_a = SHARE_MOST * bank.rated_current().a();
            let drawn = amps.filter(|amps| !on && !(amps.a() <= bound_a));
            let Some(amps) = drawn else {
                *lasted = Millis::ZERO;
                continue;
            };
            *lasted += seen.since_last;
            if *lasted >= LASTED {
                let evidence = Evidence { seen: amps.a(), bound: bound_a, lasted: *lasted };
                worst = worst.worse(Verdict::about_bank(number, Severity::Trip, evidence));
            }
        }
        worst
    }
}
