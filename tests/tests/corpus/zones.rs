//! The firings about zones.

use kiln_sim::ProbeFault;

use super::{Firing, PLAIN, Wrong};

pub(super) const FIRINGS: [Firing; 2] = [
    Firing {
        name: "sr-13-zones-apart",
        about: "The upper zone's thermocouple falls behind faster than its zone could climb: heat is withheld, ten minutes later the firing ends",
        zones: 2,
        start_c: 450.0,
        seconds: 2700,
        wrong: (600, Wrong::Probe(ProbeFault::Drift { c_per_h: -1000.0, most_c: 150.0 })),
        expected: "[[expect]]\nwithhold = \"zones-apart\"\nafter = \"13 min\"\nby = \"18 min\"\n\n[[expect]]\ntrip = \"zones-apart\"\nby = \"28 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-13-a-zone-that-lags",
        about: "A third of the lower zone's elements breaks: it lags, the upper zone waits, both climb on",
        zones: 2,
        start_c: 300.0,
        seconds: 2400,
        wrong: (600, Wrong::Dead { upper: 0.0, lower: 0.33 }),
        expected: "[[never]]\nnotice = \"zones-apart\"\n\n[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
];
