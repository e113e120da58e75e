//! What a firing before may have taught: a model near the kiln as it is, as a fit comes out.

use control::{Certainty, KilnModel, Parameters};
use kiln_sim::KilnSpec;

use crate::chance::Chance;

/// So many kilns are not fired for the first time.
const FIRED_BEFORE: f64 = 0.4;
/// Heat capacity of fired clay over the range, J/kgK: as `kiln-sim` has it at 600 °C.
const WARE_J_PER_KGK: f64 = 1000.0;
/// How far beside the truth it lies at most; engineering judgement.
const FITTED: (f64, f64) = (0.75, 1.33);

pub(super) fn draw(chance: &mut Chance, spec: &KilnSpec, guess: &KilnModel) -> Option<KilnModel> {
    if !chance.happens(FIRED_BEFORE) {
        return None;
    }
    let mut near = |truth: f64| truth * chance.scale(FITTED.0, FITTED.1);
    let guess = guess.parameters();
    let mains = spec.mains_v / spec.rated_v;
    KilnModel::new(Parameters {
        certainty: Certainty::Fitted,
        ware_j_per_k: near(spec.ware.mass_kg * WARE_J_PER_KGK),
        conductivity_ratio: near(guess.conductivity_ratio),
        leak_w_per_k: near(spec.leak_w_per_k),
        power_ratio: near(guess.power_ratio * mains * mains),
        ..*guess
    })
    .ok()
}
