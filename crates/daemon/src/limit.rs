//! What the warden's limit probe says, in a potter's words.

use pyrometry::amplifier::SensorFault;
use pyrometry::units::Celsius;
use warden::{BLIND_LONGEST, COOLED_BY, Distrust, LimitFinding, LimitNow};

use crate::run::Standing;
use crate::web::Attention;

/// What was seen.
#[must_use]
pub fn seen(limit: &LimitNow) -> String {
    let ceiling = limit.ceiling;
    match (limit.finding, limit.latest) {
        (LimitFinding::Unread, None) => "The limit probe has not been read yet.".to_owned(),
        (LimitFinding::Unread, Some(latest)) => {
            format!("The limit probe has not been read yet: {}.", told(latest))
        }
        (LimitFinding::Within, _) => {
            format!("The limit probe is no longer above its ceiling of {ceiling:.0} °C, nor blind.")
        }
        (LimitFinding::Above, Some(Ok(read))) if read > ceiling => {
            format!("The limit probe reads {read:.1} °C, above its ceiling of {ceiling:.0} °C.")
        }
        (LimitFinding::Above, latest) => {
            let now = latest.map_or(String::new(), |latest| format!(": {}", told(latest)));
            format!(
                "The limit probe was above its ceiling of {ceiling:.0} °C, and not {COOLED_BY:.0} °C below it \
                 since{now}."
            )
        }
        (LimitFinding::Blind, latest) => {
            let because = match latest {
                None => "nothing has come from it".to_owned(),
                Some(Ok(read)) => format!("its last was {read:.1} °C"),
                Some(Err(fault)) => say(fault).to_owned(),
            };
            let longest_s = BLIND_LONGEST.seconds();
            format!("The limit probe has given no usable reading for more than {longest_s:.0} s: {because}.")
        }
    }
}

fn told(latest: Result<Celsius, SensorFault>) -> String {
    latest.map_or_else(|fault| say(fault).to_owned(), |read| format!("it reads {read:.1} °C"))
}

const fn say(fault: SensorFault) -> &'static str {
    match fault {
        SensorFault::Open => "its circuit is open",
        SensorFault::Short => "its wires touch ground or supply",
        SensorFault::NoAnswer => "its amplifier does not answer",
        SensorFault::OutOfRange => "what it says lies outside what its type can give",
    }
}

/// What to look at, most likely first.
#[must_use]
pub const fn look_at(finding: LimitFinding) -> &'static [&'static str] {
    match finding {
        LimitFinding::Above | LimitFinding::Within => &[
            "whether the contactor has really opened: if the kiln still heats, pull the breaker",
            "the kiln's own thermocouple beside the limit probe: where they differ much, one is wrong",
            "a welded relay, a schedule that is too hot, or a ceiling in the limit file that is too low for it",
        ],
        LimitFinding::Unread | LimitFinding::Blind => &[
            "the limit probe's thermocouple and leads, with the isolator off and locked, and proved dead",
            "its amplifier's supply and wires, and where the limit file says that it is",
            "the log, for what the warden said when it started",
        ],
    }
}

/// What needs attention of it, if anything. One that objected and does no longer is told as long as
/// something hangs on it: heat that does not come, or a trip.
#[must_use]
pub fn attention(
    limit: Option<LimitNow>,
    warden: Standing,
    something_hangs_on_it: bool,
) -> Option<Attention> {
    let limit = limit?;
    let objected = match warden {
        Standing::Distrusts(why @ (Distrust::AboveLimit | Distrust::LimitBlind)) if something_hangs_on_it => {
            Some(why)
        }
        Standing::Distrusts(_) | Standing::Trusts | Standing::Lost(_) => None,
    };
    let name = match (limit.finding, objected) {
        (LimitFinding::Above, _) | (LimitFinding::Within, Some(Distrust::AboveLimit)) => "above-limit",
        (LimitFinding::Blind, _) | (LimitFinding::Unread | LimitFinding::Within, Some(_)) => "limit-blind",
        (LimitFinding::Unread | LimitFinding::Within, None) => return None,
    };
    let objects_now = match limit.finding {
        LimitFinding::Above => Some(Distrust::AboveLimit),
        LimitFinding::Unread | LimitFinding::Blind => Some(Distrust::LimitBlind),
        LimitFinding::Within => None,
    };
    let was = match objected.filter(|why| Some(*why) != objects_now) {
        Some(Distrust::AboveLimit) => "The warden opened the contactor because its limit probe was too hot. ",
        Some(_) => "The warden kept the contactor open because its limit probe could not be read. ",
        None => "",
    };
    let until = match limit.finding {
        LimitFinding::Above => {
            format!("nothing is lit before the probe reads less than {:.0} °C", limit.ceiling - COOLED_BY)
        }
        LimitFinding::Unread | LimitFinding::Blind => {
            "nothing is lit before the probe can be read".to_owned()
        }
        LimitFinding::Within => "it stays open until the next light-up".to_owned(),
    };
    Some(Attention {
        name,
        severity: "withhold",
        seen: format!("{was}{}", seen(&limit)),
        done: format!("The warden holds the contactor open; {until}."),
        look_at: look_at(limit.finding).to_vec(),
        part: Some("limit probe".to_owned()),
    })
}

#[cfg(test)]
mod tests {
    use pyrometry::constant;

    use super::*;

    const CEILING: Celsius = constant!(Celsius, 1280.0);

    fn limit(finding: LimitFinding, latest: Option<Result<f64, SensorFault>>) -> LimitNow {
        let latest = latest.map(|read| read.map(|c| Celsius::new(c).unwrap()));
        LimitNow { finding, ceiling: CEILING, latest }
    }

    #[test]
    fn what_the_limit_probe_saw_is_told_with_its_numbers() {
        for (finding, latest, told) in [
            (LimitFinding::Above, Some(Ok(1281.4)), "reads 1281.4 °C, above its ceiling of 1280 °C."),
            (LimitFinding::Above, Some(Ok(1275.0)), "not 10 °C below it since: it reads 1275.0 °C."),
            (LimitFinding::Above, Some(Err(SensorFault::Open)), "below it since: its circuit is open."),
            (LimitFinding::Blind, Some(Ok(812.0)), "for more than 10 s: its last was 812.0 °C."),
            (LimitFinding::Blind, Some(Err(SensorFault::Short)), "its wires touch ground or supply."),
            (LimitFinding::Blind, None, "nothing has come from it."),
            (LimitFinding::Unread, Some(Err(SensorFault::NoAnswer)), "its amplifier does not answer."),
            (LimitFinding::Unread, None, "The limit probe has not been read yet."),
        ] {
            let seen = seen(&limit(finding, latest));
            assert!(seen.contains(told), "{seen}");
        }
    }

    #[test]
    fn what_it_finds_needs_attention_and_what_it_found_only_while_something_hangs_on_it() {
        let within = limit(LimitFinding::Within, Some(Ok(900.0)));
        let above = limit(LimitFinding::Above, Some(Ok(1300.0)));
        let blind = limit(LimitFinding::Blind, Some(Err(SensorFault::Open)));
        let opened = Standing::Distrusts(Distrust::AboveLimit);
        let name = |limit, warden, hangs_on_it| attention(limit, warden, hangs_on_it).map(|told| told.name);
        assert_eq!(name(None, opened, true), None);
        assert_eq!(name(Some(within), Standing::Trusts, true), None);
        assert_eq!(name(Some(within), Standing::Distrusts(Distrust::Silence), true), None);
        assert_eq!(name(Some(within), opened, false), None);
        assert_eq!(name(Some(within), opened, true), Some("above-limit"));
        assert_eq!(name(Some(within), Standing::Distrusts(Distrust::LimitBlind), true), Some("limit-blind"));
        assert_eq!(name(Some(above), Standing::Trusts, false), Some("above-limit"));
        assert_eq!(name(Some(blind), opened, true), Some("limit-blind"));
        assert_eq!(name(Some(limit(LimitFinding::Unread, None)), Standing::Trusts, false), None);
        let told = attention(Some(blind), opened, true).unwrap();
        assert!(
            told.seen.starts_with("The warden opened the contactor because its limit probe was too hot. ")
        );
        let told = attention(Some(above), opened, true).unwrap();
        assert!(told.seen.starts_with("The limit probe reads 1300.0 °C"), "{}", told.seen);
        assert!(told.done.contains("before the probe reads less than 1270 °C"), "{}", told.done);
    }
}
