//! What needs a person's attention, worst first.

use control::{Finding, Part, Severity};
use hal::Signal;
use jiff::{Timestamp, ZonedDateTime};
use pyrometry::units::Celsius;
use warden::Distrust;

use crate::files::kiln::{KilnFile, Outliving};
use crate::files::{Scale, time};
use crate::run::{KeptPins, Lost, NotLit, Snapshot, Standing};
use crate::store::{Became, Interrupted, Trouble};
use crate::web::Attention;
use crate::{clock, limit};

/// One finding of the interlocks.
#[must_use]
pub fn of_finding(finding: &Finding, kiln: &KilnFile) -> Attention {
    Attention {
        name: finding.interlock.name(),
        severity: severity(finding.severity),
        seen: finding.seen().to_string(),
        done: finding.done().to_owned(),
        look_at: finding.look_at().to_vec(),
        part: finding.part.and_then(|part| part_name(part, kiln)),
    }
}

/// A part as the kiln file calls it.
fn part_name(part: Part, kiln: &KilnFile) -> Option<String> {
    match part {
        Part::Probe(probe) => kiln.probes.get(usize::from(probe)).map(|part| format!("probe {}", part.name)),
        Part::Bank(bank) => kiln.banks.get(usize::from(bank)).map(|part| format!("bank {}", part.name)),
    }
}

/// Everything there is, worst first.
#[must_use]
pub fn all(snapshot: &Snapshot, kiln: &KilnFile) -> Vec<Attention> {
    let decision = &snapshot.decision;
    let mut found: Vec<Finding> =
        decision.trip.iter().chain(&decision.withheld).chain(&decision.notices).copied().collect();
    found.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let mut seen = Vec::new();
    found.retain(|finding| {
        let new = !seen.contains(&(finding.interlock, finding.part));
        seen.push((finding.interlock, finding.part));
        new
    });
    let mut attention: Vec<Attention> = Vec::new();
    if let Standing::Lost(how) = snapshot.warden {
        attention.push(warden_lost(how));
    }
    let hangs_on_it = decision.permission || decision.trip.is_some();
    let (trips, rest) = found.split_at(found.partition_point(|finding| finding.severity == Severity::Trip));
    attention.extend(trips.iter().map(|finding| of_finding(finding, kiln)));
    attention.extend(limit::attention(snapshot.limit, snapshot.warden, hangs_on_it));
    attention.extend(rest.iter().map(|finding| of_finding(finding, kiln)));
    if let (true, Standing::Distrusts(why)) = (decision.permission, snapshot.warden) {
        attention.extend(contactor_open(why));
    }
    attention.extend(pins_kept(&snapshot.kept));
    attention.extend(Signal::ALL.into_iter().filter_map(|signal| not_driven(snapshot, signal)));
    attention.extend(snapshot.not_lit.as_deref().map(|not_lit| left_unlit(not_lit, kiln)));
    attention.extend(snapshot.latch_unreadable.as_deref().map(latch_unreadable));
    attention.extend(snapshot.trouble.map(storage));
    attention
}

const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Notice => "notice",
        Severity::Withhold => "withhold",
        Severity::Trip => "trip",
    }
}

/// A firing that cannot heat must not be a silent one.
fn contactor_open(why: Distrust) -> Option<Attention> {
    let because = match why {
        Distrust::NotArmed => "it was not armed",
        Distrust::Silence => "it heard nothing for 2.5 s",
        Distrust::WrongOrder => "what it heard was out of order",
        Distrust::StageMissing => "the control loop left out a part of its work",
        Distrust::Garbled => "what it heard made no sense",
        Distrust::PinUnsound => "the contactor's pin did not stay as it was driven",
        // Told with what the probe reads.
        Distrust::AboveLimit | Distrust::LimitBlind => return None,
    };
    Some(Attention {
        name: "contactor-open",
        severity: "notice",
        seen: format!("Heat is permitted, but the warden keeps the contactor open: {because}."),
        done: "It stays open until the next light-up.".to_owned(),
        look_at: vec![
            "a relay or contactor pin that cannot be driven",
            "whether the computer stood still or is overloaded",
            "the log, for what the control loop missed",
        ],
        part: None,
    })
}

/// Without anybody to open the contactor there is no heat (SR-31).
fn warden_lost(how: Lost) -> Attention {
    let seen = match how {
        Lost::Ended => "The warden, the program that holds the contactor, has ended.",
        Lost::Silent => "The warden, the program that holds the contactor, does not answer.",
        Lost::Garbled => "The warden, the program that holds the contactor, makes no sense.",
    };
    Attention {
        name: "warden-lost",
        severity: "withhold",
        seen: seen.to_owned(),
        done: "Every bank and the contactor were switched off, and the firing was shut off. Nothing is \
               lit until saggar is started anew."
            .to_owned(),
        look_at: vec![
            "whether the contactor has really opened: if not, pull the breaker",
            "whether the computer ran out of memory",
            "then end saggar and start it anew",
        ],
        part: None,
    }
}

/// A board whose pins stay on when a program dies needs the protection from outside.
fn pins_kept(kept: &KeptPins) -> Option<Attention> {
    let names = kept.names();
    (!names.is_empty()).then(|| Attention {
        name: "pins-kept",
        severity: "notice",
        seen: format!(
            "When saggar started, this was still energised: {}. It had outlived the program that drove it.",
            names.join(", ")
        ),
        done: "It was driven off.".to_owned(),
        look_at: vec![
            "how long the kiln was heated with nobody in control: look it over",
            "a watchdog or an outside relay that opens when the computer stands still",
        ],
        part: None,
    })
}

/// The name under which outputs that would outlive their programs are told.
pub const PINS_OUTLIVE: &str = "pins-outlive-saggar";

/// Known before it happens, so that the board is put right before it matters (SR-32).
#[must_use]
pub fn pins_outlive(found: &Outliving) -> Attention {
    Attention {
        name: PINS_OUTLIVE,
        severity: "notice",
        seen: found.seen(),
        done: found.cure(),
        look_at: vec![
            "the kernel's command line",
            "that each relay's driver has a resistor that takes it off",
            "that saggar runs as a service, whose stop hook drives every pin off",
        ],
        part: None,
    }
}

/// What heats nothing ends no firing, but people may count on it.
fn not_driven(snapshot: &Snapshot, signal: Signal) -> Option<Attention> {
    snapshot.signals.of(signal)?.pin.is_err().then(|| Attention {
        name: "output-not-driven",
        severity: "notice",
        seen: format!("The pin of the {} cannot be driven.", signal.name()),
        done: "The firing goes on without it.".to_owned(),
        look_at: vec!["the pin in the kiln file", "whether another program holds that pin"],
        part: Some(signal.name().to_owned()),
    })
}

/// Somebody counts on a firing that is not there.
fn left_unlit(not_lit: &NotLit, kiln: &KilnFile) -> Attention {
    let NotLit { title, finding } = not_lit;
    Attention {
        name: "not-lit",
        severity: "notice",
        seen: format!("When \"{title}\" fell due, it could not be lit. {}", finding.seen()),
        done: "It was not lit; the kiln rests.".to_owned(),
        ..of_finding(finding, kiln)
    }
}

/// Whoever wakes to the page must learn at once that nobody fired on.
#[must_use]
pub fn interrupted(firing: &Interrupted, scale: Scale, now: &ZonedDateTime) -> Attention {
    let hottest = firing.hottest_c.and_then(Celsius::new);
    let hottest =
        hottest.map_or(String::new(), |hottest| format!(" It had been at {} at most.", scale.say(hottest)));
    let ended = firing.ended.parse::<Timestamp>().map_or_else(
        |_| firing.ended.clone(),
        |ended| clock::told(&ended.to_zoned_datetime(now.time_zone().clone()), now),
    );
    Attention {
        name: "interrupted",
        severity: "notice",
        seen: format!("The program or the power ended \"{}\" at {ended}.{hottest}", firing.title),
        done: what_became(&firing.became, scale),
        look_at: vec![
            "the power",
            "the log, for why the program ended",
            "whether the ware can be fired again",
        ],
        part: None,
    }
}

fn what_became(became: &Became, scale: Scale) -> String {
    match became {
        Became::StaysEnded => {
            "The kiln came back off. It is not carried on: the kiln file says so.".to_owned()
        }
        Became::LookedAt => {
            "The kiln came back off. Whether the firing can be carried on is being looked at.".to_owned()
        }
        Became::NotCarriedOn(why) => format!("It is not carried on, and the kiln stays off. {why}"),
        Became::CarriedOn(on) => format!(
            "It is carried on as firing {}, from {}, {} after it ended.",
            on.firing,
            scale.say(on.found_at),
            time::say(on.gap)
        ),
    }
}

fn latch_unreadable(why: &str) -> Attention {
    Attention {
        name: "latch-unreadable",
        severity: "notice",
        seen: format!("Whether a trip waits to be cleared cannot be read from the disk: {why}."),
        done: "No firing is lit until a person clears it.".to_owned(),
        look_at: vec!["the kiln itself, as after a trip", "the disk or card", "then clear the trip"],
        part: None,
    }
}

fn storage(trouble: Trouble) -> Attention {
    Attention {
        name: "storage",
        severity: "notice",
        seen: trouble.words().to_owned(),
        done: "A firing under way goes on; the next is not lit until this is mended.".to_owned(),
        look_at: vec!["free space on the disk or card", "whether it became read-only", "its health"],
        part: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn when_the_power_went_is_told_as_people_say_it_where_they_live_and_in_their_scale() {
        let firing = Interrupted {
            id: 1,
            title: "Bisque".to_owned(),
            ended: "2026-11-25T23:27:52Z".to_owned(),
            hottest_c: Some(100.0),
            last: None,
            became: Became::LookedAt,
        };
        let seen = |now: &str, scale| interrupted(&firing, scale, &now.parse().expect("a time")).seen;
        let told = seen("2026-11-26T08:00:00+01:00[Europe/Berlin]", Scale::Celsius);
        assert_eq!(
            told,
            "The program or the power ended \"Bisque\" at 00:27. It had been at 100 °C at most."
        );
        let told = seen("2026-11-26T08:00:00-05:00[America/New_York]", Scale::Fahrenheit);
        assert_eq!(
            told,
            "The program or the power ended \"Bisque\" at Wednesday 18:27. It had been at 212 °F at most."
        );
    }
}
