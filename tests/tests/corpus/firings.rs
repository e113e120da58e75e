//! What a firing of the corpus is made of, and all of them: those about readings, those about heat, those
//! about zones.

mod heat;
mod readings;
mod zones;

use control::{Contact, Segment};
use kiln_sim::{BankFault, BankSpec, Fault, KilnSpec, ProbeFault, ProbeSpec, Timed};
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::units::Millis;

use crate::common::{climb, let_fall};

/// What happens to the readings on their way.
#[derive(Clone, Copy)]
pub(crate) enum Went {
    /// Nothing.
    Well,
    /// The chip complains from a second on, for so many seconds.
    Flagged { at: u64, seconds: u64, fault: ChipFaults },
    /// The word jumps by so many steps of 2⁻⁷ °C, for so many seconds.
    Jumped { at: u64, seconds: u64, steps: i32 },
    /// The word swings up and down each second, further by `steps_per_s` each second, up to `most`
    /// steps of 2⁻⁷ °C.
    Jittered { at: u64, steps_per_s: i32, most: i32 },
    /// The word falls by so many steps a second, for so many seconds, and stays so much lower.
    Sunk { at: u64, seconds: i32, steps_per_s: i32 },
    /// No step is made for so long.
    Missing { at: u64, seconds: u64 },
}

/// What goes wrong in the kiln itself, from a second on.
#[derive(Clone, Copy)]
pub(crate) enum Wrong {
    Nothing,
    Probe(ProbeFault),
    RelaysWelded,
    /// So many watts of warmth come into the box with the electronics.
    BoxHeated {
        w: f64,
    },
    /// The mains' tension falls to a share of it.
    MainsSag {
        ratio: f64,
    },
    /// The lid stands open for so many seconds, and its contact says so.
    LidOpened {
        seconds: u64,
    },
    /// The contactor falls open and stays so.
    ContactorStuckOpen,
    /// The contactor welds at once; one bank conducts half-waves whatever it is told from 2700 s on.
    ContactorWeldedThenSwitchesShorted,
    Dead {
        upper: f64,
        lower: f64,
    },
}

/// One firing.
pub(crate) struct Firing {
    pub(crate) name: &'static str,
    pub(crate) about: &'static str,
    /// With one bank each where there are several.
    pub(crate) zones: usize,
    pub(crate) start_c: f64,
    pub(crate) plan: Plan,
    pub(crate) seconds: u64,
    pub(crate) forecast: Millis,
    pub(crate) went: Went,
    pub(crate) wrong: (u64, Wrong),
    /// Open where a mirror contact is fitted, which follows the contactor from then on.
    pub(crate) mirror: Contact,
    pub(crate) expected: &'static str,
}

/// What is fired.
#[derive(Clone, Copy)]
pub(crate) enum Plan {
    /// 200 °C/h for 150 °C, and a soak.
    Climb,
    /// 20 °C/h, as wet ware is dried.
    Candling,
    /// A soak where the kiln stands.
    Soak,
    /// 300 °C/h to 200 °C, then elements off down to 60 °C.
    Fall,
}

impl Firing {
    pub(crate) fn kiln(&self) -> KilnSpec {
        let usual = KilnSpec { start_c: self.start_c, ..KilnSpec::default() };
        if self.zones == 1 {
            return usual;
        }
        let zones = 0..self.zones;
        KilnSpec {
            zones: self.zones,
            banks: zones.clone().map(|zone| BankSpec { zone, rated_w: 4_000.0 }).collect(),
            probes: zones.map(|zone| ProbeSpec { zone, ..ProbeSpec::default() }).collect(),
            ..usual
        }
    }

    pub(crate) fn segments(&self) -> Vec<Segment> {
        match self.plan {
            Plan::Climb => vec![climb(200.0, self.start_c + 150.0, 10)],
            Plan::Candling => vec![climb(20.0, self.start_c + 50.0, 10)],
            Plan::Soak => vec![climb(60.0, self.start_c, 120)],
            Plan::Fall => vec![climb(300.0, 200.0, 1), let_fall(60.0)],
        }
    }

    pub(crate) fn faults(&self) -> Vec<Timed> {
        let (at, wrong) = self.wrong;
        let at = Millis::from_seconds(at);
        let both = |fault| vec![Fault::Bank(0, fault), Fault::Bank(1, fault)];
        let faults = match wrong {
            Wrong::Nothing => vec![],
            Wrong::Probe(fault) => vec![Fault::Probe(0, fault)],
            Wrong::RelaysWelded => both(BankFault::RelayWelds),
            Wrong::BoxHeated { w } => vec![Fault::EnclosureHeated { w }],
            Wrong::MainsSag { ratio } => vec![Fault::MainsSag { ratio }],
            Wrong::LidOpened { seconds } => {
                let shut = at + Millis::from_seconds(seconds);
                return vec![Timed { onset: at, until: Some(shut), fault: Fault::LidOpened }];
            }
            Wrong::ContactorStuckOpen => vec![Fault::ContactorStuckOpen],
            Wrong::ContactorWeldedThenSwitchesShorted => {
                let shorted = Fault::Bank(0, BankFault::SwitchHalfShorted);
                let later = Millis::from_seconds(2700);
                return vec![from(at, Fault::ContactorWelds), from(later, shorted)];
            }
            Wrong::Dead { upper, lower } => vec![
                Fault::Bank(0, BankFault::ElementsBroken { share: upper }),
                Fault::Bank(1, BankFault::ElementsBroken { share: lower }),
            ],
        };
        faults.into_iter().map(|fault| from(at, fault)).collect()
    }

    /// What the lid's contact says; only a firing about the lid has one.
    pub(crate) fn lid(&self, second: u64) -> Contact {
        match self.wrong {
            (at, Wrong::LidOpened { seconds }) if (at..at + seconds).contains(&second) => Contact::Open,
            (_, Wrong::LidOpened { .. }) => Contact::Shut,
            (_, _) => Contact::NotFitted,
        }
    }
}

fn from(onset: Millis, fault: Fault) -> Timed {
    Timed { onset, until: None, fault }
}

impl Went {
    pub(crate) fn spoil(self, second: u64, report: Report) -> Report {
        match self {
            Self::Flagged { at, seconds, fault } if (at..at + seconds).contains(&second) => {
                Report::single(Said::Nothing, fault)
            }
            Self::Well
            | Self::Flagged { .. }
            | Self::Jumped { .. }
            | Self::Jittered { .. }
            | Self::Sunk { .. }
            | Self::Missing { .. } => raised(report, self.steps(second)),
        }
    }

    /// By how many of the word's steps a reading is moved.
    fn steps(self, second: u64) -> i32 {
        let since = |at| i32::try_from(second.saturating_sub(at)).expect("a firing lasts no years");
        match self {
            Self::Jumped { at, seconds, steps } if (at..at + seconds).contains(&second) => steps,
            Self::Jittered { at, steps_per_s, most } => {
                let swing = (since(at) * steps_per_s).min(most);
                if second.is_multiple_of(2) { swing } else { -swing }
            }
            Self::Sunk { at, seconds, steps_per_s } => -since(at).min(seconds) * steps_per_s,
            Self::Well | Self::Flagged { .. } | Self::Jumped { .. } | Self::Missing { .. } => 0,
        }
    }
}

fn raised(report: Report, steps: i32) -> Report {
    match report.said {
        Said::Words { junction, cold_junction } => {
            Report { said: Said::Words { junction: junction + steps, cold_junction }, ..report }
        }
        Said::Nothing | Said::Reading { .. } | Said::Emf { .. } => report,
    }
}

const NEVER_TRIPS: &str = "[[never]]\ntrip = \"any\"\n";
const ALWAYS: u64 = 1_000_000;

const PLAIN: Firing = Firing {
    name: "",
    about: "",
    zones: 1,
    start_c: 300.0,
    plan: Plan::Climb,
    seconds: 900,
    forecast: Millis::from_hours(30),
    went: Went::Well,
    wrong: (0, Wrong::Nothing),
    mirror: Contact::NotFitted,
    expected: NEVER_TRIPS,
};

/// Every firing of the corpus.
pub(crate) fn all() -> impl Iterator<Item = &'static Firing> {
    readings::FIRINGS.iter().chain(&heat::FIRINGS).chain(&zones::FIRINGS)
}
