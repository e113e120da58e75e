//! Cones at the bench: what a log reached, and where a cone ends on a ramp.

use std::fmt;
use std::fs::File;
use std::io::{self, BufRead, BufReader};

use pyrometry::cone::Cone;
use pyrometry::heat_work::{Evidence, HeatWork, WitnessCone, end_point, peak_for};
use pyrometry::units::{Celsius, CelsiusPerHour, Millis};
use serde_json::{Value, json};

use super::args::ConeArgs;
use super::history::{self, History};
use super::{Exit, bad_input, tell};
use crate::files::{Scale, time};
use crate::words;

/// Between rows further apart than this the kiln need not have gone straight: 10 °C at 60 °C/h,
/// half a cone (engineering judgement).
const GAP_TOLD: Millis = Millis::from_minutes(10);

pub(super) fn cone(args: &ConeArgs) -> Exit {
    let answer = match args.at {
        Some(written) => peak(args, Asked { written, scale: scale_of(args) }),
        None => reached(args),
    };
    match answer {
        Ok(answer) if args.json => tell(&answer.json),
        Ok(answer) => tell(&answer.words),
        Err(why) => bad_input(&why),
    }
}

/// An answer for people and for programs.
struct Answer {
    words: String,
    json: Value,
}

fn cone_named(text: &str) -> Result<Cone, String> {
    Cone::parse(text).ok_or_else(|| {
        format!("{text:?} is no cone; they go from 022 (coolest) through 01 and 1 to 14, with 05½ and 5½")
    })
}

/// A rate as a person wrote it, in the scale they think in.
#[derive(Clone, Copy)]
struct Asked {
    written: f64,
    scale: Scale,
}

impl Asked {
    fn rate(self) -> Result<CelsiusPerHour, String> {
        self.scale.rate(self.written).ok_or_else(|| format!("{self} is no kiln's rate"))
    }

    /// A temperature to the tenth: what the chart and its law are good for.
    fn tenths(self, temperature: Celsius) -> String {
        format!("{:.1} °{}", self.scale.write(temperature), self.scale.name())
    }
}

impl fmt::Display for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °{}/h", self.written, self.scale.name())
    }
}

const fn scale_of(args: &ConeArgs) -> Scale {
    if args.fahrenheit { Scale::Fahrenheit } else { Scale::Celsius }
}

/// The end point on a ramp, or the peak that brings the cone down with a soak and slow cooling.
fn peak(args: &ConeArgs, asked: Asked) -> Result<Answer, String> {
    let cone = cone_named(&args.of)?;
    if args.soak.is_none() && args.cooling.is_none() {
        return ends_at(cone, asked);
    }
    let soak = args.soak.as_deref().map_or(Some(Millis::ZERO), time::parse).ok_or_else(|| {
        let given = args.soak.as_deref().unwrap_or_default();
        format!("{given:?} is no time; write it with its units, such as \"15 min\"")
    })?;
    let cooling = args.cooling.map(|written| Asked { written, scale: asked.scale });
    peak_with(cone, asked, soak, cooling)
}

fn peak_with(cone: Cone, asked: Asked, soak: Millis, cooling: Option<Asked>) -> Result<Answer, String> {
    let (rate, down) = (asked.rate()?, cooling.map(Asked::rate).transpose()?);
    let (peak, evidence) = peak_for(cone, rate, soak, down).map_err(|why| why.to_string())?;
    let soaked = if soak == Millis::ZERO { String::new() } else { format!(", {} soak", time::say(soak)) };
    let cooled = cooling.map_or(String::new(), |rate| format!(", {rate} down"));
    Ok(Answer {
        words: format!("cone {cone} at {asked}{soaked}{cooled}: peak {}", asked.tenths(peak)),
        json: json!({
            "cone": cone.ordinal(),
            "label": cone.name(),
            "rate_c_per_h": rate.c_per_h(),
            "soak_s": soak.seconds(),
            "cooling_c_per_h": down.map(CelsiusPerHour::c_per_h),
            "peak_c": peak.c(),
            "evidence": evidence.to_string(),
        }),
    })
}

fn ends_at(cone: Cone, asked: Asked) -> Result<Answer, String> {
    let rate = asked.rate()?;
    let (end, evidence) = end_point(cone, rate).map_err(|why| format!("{asked}: {why}"))?;
    let remark = match evidence {
        Evidence::OnChart => String::new(),
        Evidence::Slower | Evidence::Faster => format!("\n({evidence})"),
    };
    Ok(Answer {
        words: format!("cone {cone} at {asked}: {}{remark}", asked.tenths(end)),
        json: json!({
            "cone": cone.ordinal(),
            "label": cone.name(),
            "rate_c_per_h": rate.c_per_h(),
            "end_point_c": end.c(),
            "evidence": evidence.to_string(),
        }),
    })
}

fn reached(args: &ConeArgs) -> Result<Answer, String> {
    let aim = args.aim.as_deref().map(cone_named).transpose()?;
    let history = if args.of == "-" {
        read("standard input", io::stdin().lock())
    } else {
        let file = File::open(&args.of).map_err(|why| match Cone::parse(&args.of) {
            Some(cone) => format!(
                "{cone} is a cone: to hear where it ends, add the rate, such as saggar cone {cone} --at 60; \
                 without --at this command reads a log"
            ),
            None => format!("{}: {why}", args.of),
        })?;
        read(&args.of, BufReader::new(file))
    };
    history.map(|history| told(&history, aim, scale_of(args)))
}

fn read(name: &str, log: impl BufRead) -> Result<History, String> {
    history::read(log).map_err(|why| format!("{name}: {why}"))
}

fn told(history: &History, aim: Option<Cone>, scale: Scale) -> Answer {
    let work = &history.work;
    let reached = work.reached();
    let firing = aim.or_else(|| reached.map(nearest));
    let set = firing.map(|cone| work.witness_set(cone));
    let evidence = firing.or(work.down()).map(|cone| work.evidence(cone));
    let mut lines = vec![match reached.and_then(|ordinal| Some((ordinal, words::cone_reached(ordinal)?))) {
        Some((ordinal, label)) => format!("cone        {ordinal:.2}: {label} down"),
        None => format!("cone        none down: {}", work.running()),
    }];
    lines.extend(set.map(|set| format!("witness     {set}")));
    let rate = scale.degrees(60.0);
    lines.extend(
        work.equivalent_at_60_c_per_h()
            .map(|equal| format!("equivalent  {} at {rate} °{}/h", scale.say(equal), scale.name())),
    );
    lines.extend(work.hottest().map(|hottest| format!("hottest     {}", scale.say(hottest))));
    lines.extend(evidence.map(|evidence| format!("evidence    {evidence}")));
    if history.longest_gap > GAP_TOLD {
        let gap = time::say(history.longest_gap);
        lines.push(format!("            rows up to {gap} apart: taken as straight lines between them"));
    }
    Answer { words: lines.join("\n"), json: as_json(history, firing, evidence) }
}

fn as_json(history: &History, firing: Option<Cone>, evidence: Option<Evidence>) -> Value {
    let work: &HeatWork = &history.work;
    let set = firing.map(|cone| work.witness_set(cone));
    json!({
        "cone": work.reached(),
        "label": work.reached().and_then(words::cone_reached),
        "witness": set.map(|set| json!({
            "guide": set.guide.map(seen),
            "firing": seen(set.firing),
            "guard": set.guard.map(seen),
        })),
        "equivalent_c": work.equivalent_at_60_c_per_h().map(Celsius::c),
        "hottest_c": work.hottest().map(Celsius::c),
        "evidence": evidence.map(|evidence| evidence.to_string()),
        "rows": history.rows,
        "lasted_s": history.lasted.seconds(),
        "longest_gap_s": history.longest_gap.seconds(),
    })
}

fn seen(witness: WitnessCone) -> Value {
    json!({
        "cone": witness.cone.name(),
        "bend_deg": witness.bend.degrees().round(),
        "words": witness.bend.posture().to_string(),
    })
}

/// The whole cone nearest to a continuous one.
fn nearest(ordinal: f64) -> Cone {
    let distance = |cone: &Cone| (cone.ordinal() - ordinal).abs();
    let whole = Cone::ALL.into_iter().filter(|cone| !cone.is_half());
    whole.min_by(|one, other| distance(one).total_cmp(&distance(other))).unwrap_or(Cone::COOLEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Orton's chart: 6 at 60 °C/h 1222 °C, 06 at 150 °C/h 1013 °C.
    #[test]
    fn end_points_are_the_charts_and_outside_it_that_is_said() {
        let said = |label, rate| ends_at(cone_named(label).unwrap(), celsius(rate)).unwrap().words;
        assert_eq!(said("6", 60.0), "cone 6 at 60 °C/h: 1222.0 °C");
        assert_eq!(said("06", 150.0), "cone 06 at 150 °C/h: 1013.0 °C");
        assert!(said("6", 300.0).ends_with("good to about 7 °C)"), "{}", said("6", 300.0));
    }

    /// Orton's chart in °F: cone 6 at 108 °F/h ends at 2232 °F, cone 06 at 270 °F/h at 1855 °F.
    #[test]
    fn end_points_are_told_in_fahrenheit_to_who_asks_in_it() {
        let said = |label, written| {
            ends_at(cone_named(label).unwrap(), Asked { written, scale: Scale::Fahrenheit }).unwrap()
        };
        assert_eq!(said("6", 108.0).words, "cone 6 at 108 °F/h: 2231.6 °F");
        assert_eq!(said("06", 270.0).words, "cone 06 at 270 °F/h: 1855.4 °F");
        assert_eq!(said("6", 108.0).json["rate_c_per_h"], 60.0);
        let log = history::read("time_s,temp_c\n0,22\n72003,1222.05\n".as_bytes()).unwrap();
        let words = told(&log, None, Scale::Fahrenheit).words;
        assert!(words.contains("equivalent  2232 °F at 108 °F/h\nhottest     2232 °F"), "{words}");
    }

    /// By the law, 12 min at 10 °C below the end point after 60 °C/h bring cone 6 down (crate
    /// `pyrometry`, tests of `hold_after_ramp`).
    #[test]
    fn a_soak_and_slow_cooling_lower_the_peak() {
        let peak_c = |soak_min, cooling| {
            let answer =
                peak_with(cone_named("6").unwrap(), celsius(60.0), Millis::from_minutes(soak_min), cooling);
            answer.unwrap().json["peak_c"].as_f64().unwrap()
        };
        assert!((peak_c(12, None) - 1212.0).abs() < 1.0, "{}", peak_c(12, None));
        let cooled = peak_c(0, Some(celsius(80.0)));
        assert!(cooled < 1215.0 && cooled > 1200.0, "{cooled}");
    }

    fn celsius(written: f64) -> Asked {
        Asked { written, scale: Scale::Celsius }
    }

    #[test]
    fn no_climb_and_no_cone_are_refused_with_the_reason() {
        assert_eq!(
            ends_at(Cone::HOTTEST, celsius(-60.0)).map(|answer| answer.words),
            Err("-60 °C/h: the rate must be above 0 °C/h".to_owned())
        );
        assert!(ends_at(Cone::HOTTEST, celsius(f64::NAN)).is_err());
        assert!(cone_named("15").is_err());
        assert!(cone_named("00").is_err());
    }

    #[test]
    fn a_history_is_told_by_cone_witness_set_and_equivalent() {
        let log = "time_s,temp_c\n0,22\n72003,1222.05\n";
        let answer = told(&history::read(log.as_bytes()).unwrap(), None, Scale::Celsius);
        assert_eq!(answer.json["label"], "6");
        assert_eq!(answer.json["witness"]["firing"]["bend_deg"], 90.0);
        assert_eq!(answer.json["equivalent_c"].as_f64().map(f64::round), Some(1222.0));
        assert!(answer.words.contains("witness     5 flat, 6 down, 7 just moving"), "{}", answer.words);
        assert!(answer.words.contains("rows up to 20 h apart"), "{}", answer.words);
    }

    #[test]
    fn a_cold_history_has_no_cone() {
        let answer = told(&history::read("time_s,temp_c\n0,20\n".as_bytes()).unwrap(), None, Scale::Celsius);
        assert_eq!(answer.json["cone"], Value::Null);
        assert_eq!(answer.json["label"], Value::Null);
        assert!(answer.words.starts_with("cone        none down: 022 standing"), "{}", answer.words);
    }
}
