//! The kiln model from a firing: what the controller's stores must be like for the heat that was given
//! to have gone where the readings say.
//!
//! The model's stores are followed along the firing's readings and duties. In each stretch the heat that
//! the elements gave and the heat that lining, ware and leaks took differ by a residual; the parameters
//! with the least residuals, and not far from what was believed before, are the fit (nonlinear least
//! squares with Gaussian priors: a maximum a posteriori estimate; Bishop 2006, 3.3). It is this very
//! balance that the controller feeds forward, so what is fitted is what is used.

mod stretches;

use control::{Certainty, Flows, Kiln, KilnModel, Parameters, Stores};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};
use pyrometry::units::{Celsius, Duty, Millis};

pub use stretches::Stretches;

/// One stretch of a firing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// How long it lasted, up to a minute.
    pub lasting: Millis,
    /// The chamber's mean temperature in it.
    pub chamber: Celsius,
    /// Mean share of the whole kiln's power that its banks were switched on for.
    pub given: Duty,
}

/// A parameter as fitted: a factor of what was believed before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitted {
    /// Which, by its field's name.
    pub field: &'static str,
    /// Fitted value over the value before.
    pub ratio: f64,
    /// Standard deviation of the ratio's logarithm: 0.1 is about 10 %.
    pub deviation_ratio: f64,
}

/// What a firing has taught.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The fitted model.
    pub model: KilnModel,
    /// Its parameters, each with how well it is known.
    pub parameters: Vec<Fitted>,
    /// Root mean square of the heat balance's residual, as a share of the kiln's power.
    pub residual_share: f64,
    /// The same with the model as it was before.
    pub residual_before_share: f64,
}

/// Why nothing can be learned from a firing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotFitted {
    /// Too short, or never hot: what it shows of the lining is little.
    TooLittle,
    /// No parameters that a kiln can have explain it.
    NoKiln,
}

/// A firing shorter or colder than this shows too little of the lining.
const SHORTEST_S: f64 = 2.0 * 3600.0;
const COLDEST_TOP_C: f64 = 300.0;

/// Residuals are means over so long: what elements and switching do meanwhile is not the model's matter.
const BLOCK_S: f64 = 120.0;

/// How far a good model's balance is out, as a share of full power: supply and readings are no better.
const TRUSTED_TO: f64 = 0.01;

/// A parameter that is fitted.
struct Free {
    field: &'static str,
    /// Standard deviation of its logarithm before the firing (engineering judgement: the guess of a
    /// load is 1.5 to 2 times out, the lining's materials vary by a sixth to a quarter).
    deviation_ratio: f64,
    of: fn(&mut Parameters) -> &mut f64,
}

const FREE: [Free; 7] = [
    Free { field: "ware_j_per_k", deviation_ratio: 0.5, of: |p| &mut p.ware_j_per_k },
    Free { field: "quick_j_per_k", deviation_ratio: 0.05, of: |p| &mut p.quick_j_per_k },
    Free { field: "conductivity_ratio", deviation_ratio: 0.25, of: |p| &mut p.conductivity_ratio },
    Free { field: "brick_kg_per_m3", deviation_ratio: 0.25, of: |p| &mut p.brick_kg_per_m3 },
    Free { field: "wall_thickness_m", deviation_ratio: 0.15, of: |p| &mut p.wall_thickness_m },
    Free { field: "leak_w_per_k", deviation_ratio: 0.7, of: |p| &mut p.leak_w_per_k },
    Free { field: "power_ratio", deviation_ratio: 0.05, of: |p| &mut p.power_ratio },
];

/// Fits the model to a firing, given as stretches in the order of time from its start, cold or hot.
pub fn fit(kiln: &Kiln, samples: &[Sample]) -> Result<Fit, NotFitted> {
    let whole_s: f64 = samples.iter().map(|sample| sample.lasting.seconds()).sum();
    let hottest_c = samples.iter().map(|sample| sample.chamber.c()).fold(f64::MIN, f64::max);
    if whole_s < SHORTEST_S || hottest_c < COLDEST_TOP_C {
        return Err(NotFitted::TooLittle);
    }
    let mut problem = Problem { kiln, samples, logs: DVector::zeros(FREE.len()) };
    let residual_before_share = problem.residual();
    let (fitted, report) = LevenbergMarquardt::new().minimize(problem);
    problem = fitted;
    let model = problem.model().filter(|_| report.termination.was_successful()).ok_or(NotFitted::NoKiln)?;
    let residual_share = problem.residual();
    let parameters = problem.told(residual_share);
    Ok(Fit { model, parameters, residual_share, residual_before_share })
}

/// A model with its parameters changed by these ratios, as a fit gave them; fields that are none of those
/// fitted are passed over. `None` where no kiln can have them.
#[must_use]
pub fn as_fitted<'a>(before: &KilnModel, ratios: impl Iterator<Item = (&'a str, f64)>) -> Option<KilnModel> {
    let mut parameters = Parameters { certainty: Certainty::Fitted, ..*before.parameters() };
    for (field, ratio) in ratios {
        if let Some(free) = FREE.iter().find(|free| free.field == field) {
            *(free.of)(&mut parameters) *= ratio;
        }
    }
    KilnModel::new(parameters).ok()
}

struct Problem<'a> {
    kiln: &'a Kiln,
    samples: &'a [Sample],
    /// Logarithms of the parameters over those before.
    logs: DVector<f64>,
}

impl Problem<'_> {
    fn model(&self) -> Option<KilnModel> {
        let ratios = FREE.iter().zip(&self.logs).map(|(free, log)| (free.field, libm::exp(*log)));
        as_fitted(&self.kiln.model, ratios)
    }

    /// The mean balance of each block, as a share of full power.
    fn balances(&self) -> Option<Vec<f64>> {
        let model = self.model()?;
        let power = self.kiln.rated();
        // Of the power fitted: as a share of one that is given, the least residual would be that of no power at all.
        let full_w = power.w() * model.parameters().power_ratio;
        let mut stores = Stores::found(&model, 1.0, power, self.samples.first()?.chamber);
        let mut balances = Vec::new();
        let (mut sum_j, mut lasted_s) = (0.0, 0.0);
        for sample in self.samples {
            let Flows { given_w, lining_w, ware_w, leak_w } =
                stores.follow(sample.chamber, sample.given, sample.lasting);
            sum_j += (given_w - lining_w - ware_w - leak_w) * sample.lasting.seconds();
            lasted_s += sample.lasting.seconds();
            if lasted_s >= BLOCK_S {
                balances.push(sum_j / lasted_s / full_w);
                (sum_j, lasted_s) = (0.0, 0.0);
            }
        }
        Some(balances)
    }

    /// Root mean square of the balances; infinite for what is no kiln.
    fn residual(&self) -> f64 {
        let Some(balances) = self.balances() else { return f64::INFINITY };
        let sum: f64 = balances.iter().map(|balance| balance * balance).sum();
        #[allow(clippy::cast_precision_loss, reason = "a count of two-minute blocks")]
        libm::sqrt(sum / balances.len().max(1) as f64)
    }

    /// The parameters with their deviations: the inverse of the information that firing and priors give.
    fn told(&self, residual: f64) -> Vec<Fitted> {
        let scale = (residual / TRUSTED_TO).max(1.0);
        let covariance = self.jacobian().and_then(|jacobian| (jacobian.transpose() * jacobian).try_inverse());
        FREE.iter()
            .enumerate()
            .map(|(number, free)| Fitted {
                field: free.field,
                ratio: libm::exp(self.logs[number]),
                deviation_ratio: covariance.as_ref().map_or(free.deviation_ratio, |covariance| {
                    (scale * libm::sqrt(covariance[(number, number)])).min(free.deviation_ratio)
                }),
            })
            .collect()
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, logs: &DVector<f64>) {
        self.logs.copy_from(logs);
    }

    fn params(&self) -> DVector<f64> {
        self.logs.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let balances = self.balances()?;
        let balances = balances.into_iter().map(|balance| balance / TRUSTED_TO);
        let priors = FREE.iter().zip(&self.logs).map(|(free, log)| log / free.deviation_ratio);
        Some(DVector::from_vec(balances.chain(priors).collect()))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        const STEP: f64 = 1.0e-4;
        let columns: Option<Vec<DVector<f64>>> = (0..FREE.len())
            .map(|number| {
                let beside = |step: f64| {
                    let mut logs = self.logs.clone();
                    logs[number] += step;
                    Problem { logs, ..*self }.residuals()
                };
                Some((beside(STEP)? - beside(-STEP)?) / (2.0 * STEP))
            })
            .collect();
        Some(DMatrix::from_columns(&columns?))
    }
}

#[cfg(test)]
mod tests;
