//! The firings about heat: relays, elements, mains, time, lid and contactor.

use control::Contact;
use pyrometry::units::Millis;

use super::{ALWAYS, Firing, PLAIN, Plan, Wrong};

pub(super) const FIRINGS: [Firing; 15] = [
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
        name: "sr-23-bank-not-felt",
        about: "One bank is dead from the start: told by its number, and the other keeps the schedule",
        plan: Plan::Soak,
        start_c: 800.0,
        seconds: 7200,
        wrong: (5, Wrong::Dead { upper: 1.0, lower: 0.0 }),
        expected: "[[expect]]\nnotice = \"bank-not-felt\"\nafter = \"68 min\"\nby = \"115 min\"\n\n[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-23-a-bank-that-gives-half",
        about: "Half of one bank's elements are broken: it is weak, and still felt",
        plan: Plan::Soak,
        start_c: 800.0,
        seconds: 7200,
        wrong: (5, Wrong::Dead { upper: 0.5, lower: 0.0 }),
        expected: "[[never]]\nnotice = \"bank-not-felt\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-24-kiln-stalled",
        about: "With half of the mains' tension a hot kiln stops climbing at full power: told, heating goes on",
        start_c: 1000.0,
        seconds: 2700,
        wrong: (60, Wrong::MainsSag { ratio: 0.5 }),
        expected: "[[expect]]\nnotice = \"kiln-stalled\"\nafter = \"16 min\"\nby = \"45 min\"\n\n[[never]]\nwithhold = \"any\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-24-a-kiln-that-still-climbs",
        about: "With two thirds of the mains' tension it lags and climbs",
        start_c: 1000.0,
        seconds: 2700,
        wrong: (60, Wrong::MainsSag { ratio: 0.66 }),
        expected: "[[never]]\nnotice = \"kiln-stalled\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-25-firing-too-long",
        about: "A firing that was forecast at ten minutes heats for more than forty",
        seconds: 2700,
        forecast: Millis::from_minutes(10),
        expected: "[[expect]]\nnotice = \"firing-too-long\"\nafter = \"1500 s\"\nby = \"1502 s\"\n\n[[expect]]\ntrip = \"firing-too-long\"\nafter = \"2400 s\"\nby = \"2402 s\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-25-a-firing-minutes-too-long",
        about: "A firing that was forecast at half an hour ends twenty-five minutes late: told",
        seconds: 3600,
        forecast: Millis::from_minutes(30),
        expected: "[[expect]]\nnotice = \"firing-too-long\"\nafter = \"2700 s\"\nby = \"2702 s\"\n\n[[never]]\ntrip = \"any\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-26-lid-open",
        about: "The lid is opened and left open",
        seconds: 1400,
        wrong: (600, Wrong::LidOpened { seconds: ALWAYS }),
        expected: "[[expect]]\nwithhold = \"lid-open\"\nby = \"600 s\"\n\n[[expect]]\ntrip = \"lid-open\"\nby = \"22 min\"\n",
        ..PLAIN
    },
    Firing {
        name: "sr-26-a-look-under-the-lid",
        about: "The lid is opened for twenty seconds: withheld, and the firing goes on",
        wrong: (600, Wrong::LidOpened { seconds: 20 }),
        expected: "[[expect]]\nwithhold = \"lid-open\"\nby = \"600 s\"\n\n[[never]]\ntrip = \"any\"\n",
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
