//! What is fired: kiln, kiln file, schedule, people's doings and faults, all drawn from one seed.

mod kiln;
mod learned;
mod people;
mod schedule;

use control::{Kiln, KilnModel, Programme};
use kiln_sim::KilnSpec;
use pyrometry::units::{Celsius, Millis};

use crate::chance::Chance;
use crate::ill::{Ill, Kind};
pub(crate) use people::Doings;

/// What to draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// Healthy, one fault or two, by chance.
    Any,
    /// No fault.
    Healthy,
    /// This fault alone.
    Only(Kind),
}

/// One firing, before it is lit.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub(crate) seed: u64,
    /// The kiln as it is.
    pub(crate) spec: KilnSpec,
    /// The kiln as its file tells it.
    pub(crate) kiln: Kiln,
    /// What a firing before has taught the regulators.
    pub(crate) learned: Option<KilnModel>,
    pub(crate) programme: Programme,
    /// The forecast with the load as told, and the longest.
    pub(crate) told: Millis,
    pub(crate) forecast: control::Expected,
    pub(crate) doings: Doings,
    pub(crate) ills: Vec<Ill>,
    /// So long it is watched cooling.
    pub(crate) cooling_s: u64,
}

/// So long a kiln is watched cooling: now and then a whole night, mostly the part in which most goes on.
const COOLING_NIGHT_S: u64 = 10 * 3600;
const COOLING_S: u64 = 2 * 3600;

impl Case {
    pub(crate) fn draw(seed: u64, wanted: Wanted) -> Self {
        let mut chance = Chance::of(seed);
        let kinds = kinds(&mut chance, wanted);
        let mut drawn = kiln::draw(&mut chance);
        for kind in &kinds {
            kind.fit(&mut drawn.spec, &mut chance);
        }
        kiln::keep_from_frost(&mut drawn.spec);
        let programme = schedule::draw(&mut chance, &drawn);
        let kiln = drawn.file(&mut chance, &programme);
        let learned = learned::draw(&mut chance, &drawn.spec, &kiln.model);
        let start = Celsius::new(drawn.spec.start_c).unwrap_or(Celsius::LEAST);
        let told = insight::forecast(&kiln, &programme, start).duration;
        let forecast = insight::longest_forecast(&kiln, &programme, start);
        let doings = Doings::draw(&mut chance, &drawn.spec, told);
        let befall = kinds.iter().filter(|kind| kind.can_befall(&drawn.spec));
        let ills = befall.map(|kind| kind.draw(&mut chance, &drawn.spec)).collect();
        let cooling_s = if chance.happens(0.15) { COOLING_NIGHT_S } else { COOLING_S };
        Self { seed, spec: drawn.spec, kiln, learned, programme, told, forecast, doings, ills, cooling_s }
    }

    /// The programme's highest target.
    pub(crate) fn hottest_c(&self) -> f64 {
        self.programme.hottest().map_or(f64::MAX, Celsius::c)
    }
}

/// Two firings in five are healthy, two have one fault, one has two.
fn kinds(chance: &mut Chance, wanted: Wanted) -> Vec<Kind> {
    match wanted {
        Wanted::Healthy => Vec::new(),
        Wanted::Only(kind) => vec![kind],
        Wanted::Any => match chance.count(0, 4) {
            0 | 1 => Vec::new(),
            2 | 3 => vec![chance.one_of(&Kind::ALL)],
            _ => pair(chance),
        },
    }
}

/// Two faults that are not the same wire exchanged twice: that is a third fault, with a row of its own.
/// Nor two shorts: the simulated lead has one, and the later takes the earlier's place.
fn pair(chance: &mut Chance) -> Vec<Kind> {
    const EXCHANGED: [Kind; 3] = [Kind::ReversedAtAmplifier, Kind::ReversedAtHead, Kind::SwappedAtBothEnds];
    const SHORTED: [Kind; 3] = [Kind::ShortedAtAmplifier, Kind::ShortedAtHead, Kind::ShortedInTheWall];
    loop {
        let two = [chance.one_of(&Kind::ALL), chance.one_of(&Kind::ALL)];
        let are_both = |of: &[Kind]| two.iter().all(|kind| of.contains(kind));
        if two[0] != two[1] && !are_both(&EXCHANGED) && !are_both(&SHORTED) {
            return two.to_vec();
        }
    }
}
