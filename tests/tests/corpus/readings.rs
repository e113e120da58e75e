//! The firings about a reading, its amplifier and its lead, and the healthy one.

use kiln_sim::ProbeFault;
use pyrometry::amplifier::ChipFaults;

use super::{ALWAYS, Firing, PLAIN, Plan, Went, Wrong};

pub(super) const FIRINGS: [Firing; 20] = [
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
        name: "sr-06-jagged-reading",
        about: "The reading swings up and down from second to second, further and further",
        seconds: 1200,
        went: Went::Jittered { at: 300, steps_per_s: 2, most: 600 },
        expected: "[[expect]]\nnotice = \"jagged-reading\"\nafter = \"340 s\"\nby = \"400 s\"\n\n[[expect]]\nwithhold = \"jagged-reading\"\nafter = \"410 s\"\nby = \"480 s\"\n\n[[expect]]\ntrip = \"jagged-reading\"\nafter = \"1040 s\"\nby = \"1060 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-06-jitter-that-is-only-told",
        about: "The reading swings by 1 °C to either side: told, and the firing goes on",
        went: Went::Jittered { at: 300, steps_per_s: 2, most: 128 },
        expected: "[[expect]]\nnotice = \"jagged-reading\"\nby = \"420 s\"\n\n[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
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
        name: "sr-08-shorted-lead",
        about: "The lead's wires touch at the amplifier, from a cold light-up",
        start_c: 18.0,
        seconds: 1700,
        wrong: (0, Wrong::Probe(ProbeFault::ShortedAtAmplifier)),
        expected: "[[expect]]\ntrip = \"shorted-lead\"\nby = \"28 min 15 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-08-a-cold-kiln-that-warms-slowly",
        about: "Candling at 20 °C/h: the reading stays near its cold junction, and is right",
        start_c: 18.0,
        plan: Plan::Candling,
        seconds: 1700,
        expected: "[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-09-thermocouple-pulled-out",
        about: "The tip moves out of the kiln: the reading falls 1.5 °C a second",
        went: Went::Sunk { at: 600, seconds: 120, steps_per_s: 192 },
        expected: "[[expect]]\nwithhold = \"thermocouple-pulled-out\"\nafter = \"603 s\"\nby = \"606 s\"\n\n[[expect]]\ntrip = \"thermocouple-pulled-out\"\nby = \"611 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-09-a-tip-that-slips-a-little",
        about: "The reading falls 1.1 °C a second for six seconds: withheld, and the firing goes on",
        went: Went::Sunk { at: 600, seconds: 6, steps_per_s: 152 },
        expected: "[[expect]]\nwithhold = \"thermocouple-pulled-out\"\nby = \"608 s\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-12-enclosure-hot",
        about: "Something heats the box with the electronics",
        seconds: 800,
        wrong: (60, Wrong::BoxHeated { w: 300.0 }),
        expected: "[[expect]]\nnotice = \"enclosure-hot\"\nby = \"10 min\"\n\n[[expect]]\nwithhold = \"enclosure-hot\"\nby = \"15 min\"\n\n[[expect]]\ntrip = \"enclosure-hot\"\nby = \"20 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-12-a-box-that-is-only-told",
        about: "The box warms to between 60 and 70 °C: told, and the firing goes on",
        seconds: 1500,
        wrong: (60, Wrong::BoxHeated { w: 100.0 }),
        expected: "[[expect]]\nnotice = \"enclosure-hot\"\nby = \"25 min\"\n\n[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
];
