//! What healthy firings do, in the quantities that the interlocks judge.
//!
//! Worked out here from readings and commands alone, apart from the interlocks' own arithmetic, so that
//! a bound is set against what kilns do and not against what a row makes of it.

use std::collections::VecDeque;

use control::Phase;
use pyrometry::amplifier::Said;

use crate::draw::Case;
use crate::moment::Moment;

/// The quantities, each with the bound it is set against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Quantity {
    ChangeInASecond,
    Deviation,
    FallOverTenSeconds,
    FallAfterFullPower,
    AbovePlanForAMinute,
    AbovePlanForFourMinutes,
    AbovePlanForTenMinutesCold,
    RiseWithAllOff,
    RiseLongAfterAllOff,
    FallNearFullPower,
    OneWord,
    BoxTemperature,
    TimeOverForecast,
}

impl Quantity {
    pub(crate) const ALL: [Self; 13] = [
        Self::ChangeInASecond,
        Self::Deviation,
        Self::FallOverTenSeconds,
        Self::FallAfterFullPower,
        Self::AbovePlanForAMinute,
        Self::AbovePlanForFourMinutes,
        Self::AbovePlanForTenMinutesCold,
        Self::RiseWithAllOff,
        Self::RiseLongAfterAllOff,
        Self::FallNearFullPower,
        Self::OneWord,
        Self::BoxTemperature,
        Self::TimeOverForecast,
    ];

    /// What is measured, the interlock that judges it, and its bounds.
    pub(crate) const fn words(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Self::ChangeInASecond => ("change within 1 s, °C", "jumping-reading", "5"),
            Self::Deviation => ("standard deviation over 60 s, °C", "jagged-reading", "1, 3, 8"),
            Self::FallOverTenSeconds => ("fall over 10 s, °C/s", "thermocouple-pulled-out", "1"),
            Self::FallAfterFullPower => {
                ("the same within 40 s after 30 s of heat, °C/s", "thermocouple-pulled-out", "2")
            }
            Self::AbovePlanForAMinute => ("above the setpoint for 1 min, °C", "above-plan", "25, 50"),
            Self::AbovePlanForFourMinutes => ("the same for 4 min, from 300 °C on", "above-plan", "30"),
            Self::AbovePlanForTenMinutesCold => ("the same for 10 min, below 300 °C", "above-plan", "30"),
            Self::RiseWithAllOff => {
                ("rise in 30 s above plan and 500 °C, all off for 1 min, °C", "above-plan", "3")
            }
            Self::RiseLongAfterAllOff => {
                ("rise from 10 min after all-off on, lid left shut, °C", "heating-while-off", "15")
            }
            Self::FallNearFullPower => ("fall in 5 min at a duty of 0.9, °C", "not-heating", "10"),
            Self::OneWord => {
                ("one word on a fine chip while heating, s", "stuck-reading", "30 with noise, 90")
            }
            Self::BoxTemperature => ("the enclosure, °C", "enclosure-hot", "60, 70, 80"),
            Self::TimeOverForecast => {
                ("time over the longest forecast, no orders given", "firing-too-long", "1.25, 1.5")
            }
        }
    }
}

/// Samples kept: five minutes and both ends.
const KEPT: usize = 601;

/// One second, as far as the quantities need it.
#[derive(Clone, Copy)]
struct Second {
    reading_c: f64,
    above_c: Option<f64>,
    asked_ratio: f64,
}

/// Follows one firing.
pub(crate) struct Measures {
    most: [f64; Quantity::ALL.len()],
    /// The second that follows the latest.
    next_s: Option<u64>,
    seconds: VecDeque<Second>,
    bends_c2: VecDeque<f64>,
    heated_s: usize,
    glows_s: usize,
    off_s: usize,
    off_at_c: Option<f64>,
    word: Option<i32>,
    word_s: f64,
    lit_s: usize,
    /// Orders change what was forecast, and a lifted lid lets the brick's heat come back.
    left_alone: bool,
    counted_s: f64,
    forecast_s: f64,
    fine: bool,
}

impl Measures {
    pub(crate) fn new(case: &Case) -> Self {
        Self {
            most: [f64::NEG_INFINITY; Quantity::ALL.len()],
            next_s: None,
            seconds: VecDeque::new(),
            bends_c2: VecDeque::new(),
            heated_s: 0,
            glows_s: 0,
            off_s: 0,
            off_at_c: None,
            word: None,
            word_s: 0.0,
            lit_s: 0,
            left_alone: case.doings.orders.is_empty() && case.doings.lid_lifted.is_empty(),
            counted_s: 0.0,
            forecast_s: case.forecast.lasts.seconds(),
            fine: !case.spec.probes[0].amplifier.is_coarse(),
        }
    }

    pub(crate) fn most(&self) -> &[f64; Quantity::ALL.len()] {
        &self.most
    }

    fn take(&mut self, quantity: Quantity, value: f64) {
        let place = &mut self.most[quantity as usize];
        *place = place.max(value);
    }

    pub(crate) fn look(&mut self, moment: &Moment<'_>) {
        let decision = moment.decision;
        let lid_open = moment.lid == control::Contact::Open;
        // What lies before a missed step or a power cut is not a second ago.
        if self.next_s != Some(moment.second) {
            self.begin_anew();
        }
        self.next_s = Some(moment.second + 1);
        let Some(reading) = decision.junctions[0].filter(|_| !lid_open) else {
            self.begin_anew();
            return;
        };
        let heats = decision.phase.may_heat();
        self.seconds.push_front(Second {
            reading_c: reading.c(),
            above_c: decision.setpoint.filter(|_| heats).map(|plan| (reading - plan).c()),
            asked_ratio: decision.duty[0].ratio(),
        });
        self.seconds.truncate(KEPT);
        self.take(Quantity::BoxTemperature, moment.truth.box_c);
        self.readings();
        self.plan();
        self.heat(decision.banks.contains(&true));
        self.words(moment, heats);
        if heats && decision.phase != Phase::Staying && self.left_alone {
            self.counted_s += 1.0;
            self.take(Quantity::TimeOverForecast, self.counted_s / self.forecast_s);
        }
        if heats {
            self.lit_s += 1;
            self.near_full_power();
        }
    }

    fn begin_anew(&mut self) {
        self.seconds.clear();
        self.bends_c2.clear();
        (self.off_at_c, self.word) = (None, None);
        (self.heated_s, self.glows_s, self.off_s, self.lit_s) = (0, 0, 0, 0);
    }

    fn fallen_c(&self, over_s: usize) -> Option<f64> {
        Some(self.seconds.get(over_s)?.reading_c - self.seconds.front()?.reading_c)
    }

    fn readings(&mut self) {
        if let Some(fallen_c) = self.fallen_c(1) {
            self.take(Quantity::ChangeInASecond, fallen_c.abs());
        }
        if let Some(fallen_c) = self.fallen_c(10) {
            let after_power = self.glows_s > 0;
            let quantity =
                if after_power { Quantity::FallAfterFullPower } else { Quantity::FallOverTenSeconds };
            self.take(quantity, fallen_c / 10.0);
        }
        let [now, last, before] = [0, 1, 2].map(|back| self.seconds.get(back).map(|second| second.reading_c));
        if let (Some(now), Some(last), Some(before)) = (now, last, before) {
            self.bends_c2.push_front((now - 2.0 * last + before).powi(2) / 6.0);
            self.bends_c2.truncate(60);
            if self.bends_c2.len() == 60 {
                self.take(Quantity::Deviation, (self.bends_c2.iter().sum::<f64>() / 60.0).sqrt());
            }
        }
    }

    /// The least excess over the plan within a span: it was above by that much all the time.
    fn above_c(&self, span_s: usize) -> Option<f64> {
        let span = self.seconds.iter().take(span_s).map(|second| second.above_c);
        let least = span.collect::<Option<Vec<f64>>>()?;
        (least.len() == span_s).then(|| least.into_iter().fold(f64::INFINITY, f64::min))
    }

    fn plan(&mut self) {
        // Looked at every ten seconds: what lasts a minute is not missed.
        if !self.lit_s.is_multiple_of(10) {
            return;
        }
        let Some(now_c) = self.seconds.front().map(|second| second.reading_c) else { return };
        let (quantity, span_s) = if now_c >= 300.0 {
            (Quantity::AbovePlanForFourMinutes, 240)
        } else {
            (Quantity::AbovePlanForTenMinutesCold, 600)
        };
        for (quantity, span_s) in [(Quantity::AbovePlanForAMinute, 60), (quantity, span_s)] {
            if let Some(above_c) = self.above_c(span_s) {
                self.take(quantity, above_c);
            }
        }
    }

    fn heat(&mut self, on: bool) {
        let Some(now) = self.seconds.front().copied() else { return };
        if on {
            (self.heated_s, self.off_s, self.off_at_c) = (self.heated_s + 1, 0, None);
            self.glows_s = self.glows_s.saturating_sub(1);
        } else {
            self.glows_s = if self.heated_s >= 30 { 40 } else { self.glows_s.saturating_sub(1) };
            (self.heated_s, self.off_s) = (0, self.off_s + 1);
        }
        let above = now.above_c.is_some_and(|above_c| above_c > 0.0);
        if let Some(fallen_c) = self.fallen_c(30)
            && self.off_s >= 60
            && now.reading_c >= 500.0
            && above
        {
            self.take(Quantity::RiseWithAllOff, -fallen_c);
        }
        if self.off_s >= 600 && self.left_alone {
            let from_c = *self.off_at_c.get_or_insert(now.reading_c);
            self.take(Quantity::RiseLongAfterAllOff, now.reading_c - from_c);
        }
    }

    fn words(&mut self, moment: &Moment<'_>, heats: bool) {
        let word = match moment.reports[0].said {
            Said::Words { junction, .. } => Some(junction).filter(|_| heats && self.fine),
            Said::Nothing | Said::Reading { .. } | Said::Emf { .. } => None,
        };
        self.word_s = if word.is_some() && word == self.word { self.word_s + 1.0 } else { 0.0 };
        self.word = word;
        self.take(Quantity::OneWord, self.word_s);
    }

    fn near_full_power(&mut self) {
        let mean_duty = |span_s: usize, seconds: &VecDeque<Second>| {
            let duties = seconds.iter().take(span_s).map(|second| second.asked_ratio);
            let (sum, count) = duties.fold((0.0, 0.0), |(sum, count), duty| (sum + duty, count + 1.0));
            sum / count
        };
        if self.lit_s > 600
            && let Some(fallen_c) = self.fallen_c(300)
            && mean_duty(300, &self.seconds) >= 0.9
        {
            self.take(Quantity::FallNearFullPower, fallen_c);
        }
    }
}
