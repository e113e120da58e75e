//! The firings of the corpus, as data.

use control::{Contact, Segment};
use kiln_sim::{BankFault, Fault, KilnSpec, ProbeFault, Timed};
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
    /// No step is made for so long.
    Missing { at: u64, seconds: u64 },
}

/// What goes wrong in the kiln itself, from a second on.
#[derive(Clone, Copy)]
pub(crate) enum Wrong {
    Nothing,
    Probe(ProbeFault),
    RelaysWelded,
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
    pub(crate) start_c: f64,
    pub(crate) plan: Plan,
    pub(crate) seconds: u64,
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
    /// A soak where the kiln stands.
    Soak,
    /// 300 °C/h to 200 °C, then elements off down to 60 °C.
    Fall,
}

impl Firing {
    pub(crate) fn kiln(&self) -> KilnSpec {
        KilnSpec { start_c: self.start_c, ..KilnSpec::default() }
    }

    pub(crate) fn segments(&self) -> Vec<Segment> {
        match self.plan {
            Plan::Climb => vec![climb(200.0, self.start_c + 150.0, 10)],
            Plan::Soak => vec![climb(60.0, self.start_c, 120)],
            Plan::Fall => vec![climb(300.0, 200.0, 1), let_fall(60.0)],
        }
    }

    pub(crate) fn faults(&self) -> Vec<Timed> {
        let (at, wrong) = self.wrong;
        let both = |fault| vec![Fault::Bank(0, fault), Fault::Bank(1, fault)];
        let faults = match wrong {
            Wrong::Nothing => vec![],
            Wrong::Probe(fault) => vec![Fault::Probe(0, fault)],
            Wrong::RelaysWelded => both(BankFault::RelayWelds),
            Wrong::ContactorStuckOpen => vec![Fault::ContactorStuckOpen],
            Wrong::ContactorWeldedThenSwitchesShorted => {
                let from =
                    |seconds, fault| Timed { onset: Millis::from_seconds(seconds), until: None, fault };
                let shorted = from(2700, Fault::Bank(0, BankFault::SwitchHalfShorted));
                return vec![from(at, Fault::ContactorWelds), shorted];
            }
            Wrong::Dead { upper, lower } => vec![
                Fault::Bank(0, BankFault::ElementsBroken { share: upper }),
                Fault::Bank(1, BankFault::ElementsBroken { share: lower }),
            ],
        };
        faults
            .into_iter()
            .map(|fault| Timed { onset: Millis::from_seconds(at), until: None, fault })
            .collect()
    }
}

impl Went {
    pub(crate) fn spoil(self, second: u64, report: Report) -> Report {
        match self {
            Self::Flagged { at, seconds, fault } if (at..at + seconds).contains(&second) => {
                Report { said: Said::Nothing, faults: fault }
            }
            Self::Jumped { at, seconds, steps } if (at..at + seconds).contains(&second) => {
                match report.said {
                    Said::Words { junction, cold_junction } => {
                        Report { said: Said::Words { junction: junction + steps, cold_junction }, ..report }
                    }
                    Said::Nothing | Said::Reading { .. } | Said::Emf { .. } => report,
                }
            }
            Self::Well | Self::Flagged { .. } | Self::Jumped { .. } | Self::Missing { .. } => report,
        }
    }
}

const NEVER_TRIPS: &str = "[[never]]\ntrip = \"any\"\n";
const ALWAYS: u64 = 1_000_000;

const PLAIN: Firing = Firing {
    name: "",
    about: "",
    start_c: 300.0,
    plan: Plan::Climb,
    seconds: 900,
    went: Went::Well,
    wrong: (0, Wrong::Nothing),
    mirror: Contact::NotFitted,
    expected: NEVER_TRIPS,
};

pub(crate) const FIRINGS: [Firing; 19] = [
    Firing {
        name: "healthy-climb-and-soak",
        about: "A healthy climb and soak: nothing is withheld",
        seconds: 3600,
        expected: "[[expect]]\nphase = \"soaking\"\nby = \"55 min\"\n\n[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-01-broken-thermocouple",
        about: "The circuit opens and stays open",
        went: Went::Flagged { at: 600, seconds: ALWAYS, fault: ChipFaults::OPEN },
        expected: "[[expect]]\nwithhold = \"broken-thermocouple\"\nby = \"600 s\"\n\n[[expect]]\ntrip = \"broken-thermocouple\"\nafter = \"601 s\"\nby = \"603 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-01-two-open-samples",
        about: "Two open samples: withheld, and the firing goes on",
        went: Went::Flagged { at: 600, seconds: 2, fault: ChipFaults::OPEN },
        expected: "[[expect]]\nwithhold = \"broken-thermocouple\"\nby = \"600 s\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-02-shorted-to-ground",
        about: "A wire touches ground",
        went: Went::Flagged { at: 600, seconds: ALWAYS, fault: ChipFaults::SHORT_TO_GROUND },
        expected: "[[expect]]\ntrip = \"shorted-thermocouple\"\nby = \"603 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-03-dead-amplifier",
        about: "The amplifier stops answering",
        went: Went::Flagged { at: 600, seconds: ALWAYS, fault: ChipFaults::NO_ANSWER },
        expected: "[[expect]]\ntrip = \"amplifier-not-answering\"\nby = \"603 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-03-chip-was-reset",
        about: "The amplifier loses its configuration",
        wrong: (600, Wrong::Probe(ProbeFault::ChipReset)),
        expected: "[[expect]]\ntrip = \"amplifier-not-answering\"\nby = \"605 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-03-eight-seconds-missing",
        about: "No step for eight seconds: withheld, and the firing goes on",
        went: Went::Missing { at: 600, seconds: 8 },
        expected: "[[expect]]\nwithhold = \"stale-reading\"\nby = \"609 s\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-03-twenty-seconds-missing",
        about: "No step for twenty seconds",
        went: Went::Missing { at: 600, seconds: 20 },
        expected: "[[expect]]\ntrip = \"stale-reading\"\nby = \"621 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-04-stuck-reading",
        about: "The word stands still in a climb",
        wrong: (600, Wrong::Probe(ProbeFault::Stuck)),
        expected: "[[expect]]\ntrip = \"stuck-reading\"\nafter = \"620 s\"\nby = \"635 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-05-jump-that-stays",
        about: "The reading steps by 20 °C and stays there",
        went: Went::Jumped { at: 600, seconds: ALWAYS, steps: 2560 },
        expected: "[[expect]]\nwithhold = \"jumping-reading\"\nby = \"600 s\"\n\n[[expect]]\ntrip = \"jumping-reading\"\nby = \"610 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-05-one-glitch",
        about: "One sample is 30 °C off: withheld, and the firing goes on",
        went: Went::Jumped { at: 600, seconds: 1, steps: -3840 },
        expected: "[[expect]]\nwithhold = \"jumping-reading\"\nby = \"600 s\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-07-reversed-thermocouple",
        about: "The wires are exchanged at the amplifier, from a cold light-up",
        start_c: 18.0,
        wrong: (0, Wrong::Probe(ProbeFault::ReversedAtAmplifier)),
        expected: "[[expect]]\ntrip = \"reversed-thermocouple\"\nby = \"15 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-20-above-ceiling",
        about: "Both relays weld in a soak: past the programme's own maximum",
        plan: Plan::Soak,
        start_c: 600.0,
        seconds: 1200,
        wrong: (600, Wrong::RelaysWelded),
        expected: "[[expect]]\ntrip = \"above-ceiling\"\nby = \"16 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-21-above-plan",
        about: "Both relays weld in a climb, far below the programme's maximum",
        start_c: 100.0,
        wrong: (600, Wrong::RelaysWelded),
        expected: "[[expect]]\ntrip = \"above-plan\"\nby = \"14 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-22-heating-while-off",
        about: "The contactor has welded, and in a fall one switch fails shorted on one half-wave",
        plan: Plan::Fall,
        start_c: 18.0,
        seconds: 6600,
        wrong: (5, Wrong::ContactorWeldedThenSwitchesShorted),
        expected: "[[expect]]\ntrip = \"heating-while-off\"\nafter = \"2700 s\"\nby = \"110 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-23-not-heating",
        about: "Every element is dead in a climb",
        seconds: 3000,
        wrong: (600, Wrong::Dead { upper: 1.0, lower: 1.0 }),
        expected: "[[expect]]\ntrip = \"not-heating\"\nby = \"45 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-23-one-bank-of-two-dead",
        about: "One bank is dead and the other keeps the schedule",
        seconds: 2400,
        wrong: (600, Wrong::Dead { upper: 1.0, lower: 0.0 }),
        ..PLAIN
    },
    Firing {
        name: "sr-29-contactor-opens-by-itself",
        about: "The contactor falls open in a climb, and its mirror contact tells",
        wrong: (600, Wrong::ContactorStuckOpen),
        mirror: Contact::Open,
        expected: "[[expect]]\ntrip = \"contactor-not-following\"\nafter = \"605 s\"\nby = \"11 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-29-contactor-follows",
        about: "A contactor with a mirror contact closes, is let fall, and stays open to the end",
        plan: Plan::Fall,
        start_c: 150.0,
        seconds: 2400,
        mirror: Contact::Open,
        ..PLAIN
    },
];
