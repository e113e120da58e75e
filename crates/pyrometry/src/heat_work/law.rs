//! The rate law of each cone.
//!
//! Cone c is down when D = ∫ k(T) dt reaches 1. On a ramp of rate β that means `K(T_end)` = β, with
//! K = ∫ k dT, so each cell of the chart is a point of K. Per cone ln K is piecewise linear in 1/T
//! (kelvin) through the chart's 15, 60 and 150 °C/h points, slopes −B, the outer pieces extending
//! outward; k = K·B/T² per hour. Fitted by us to the chart; no published activation energy of
//! cones was found. End points: large self-supporting cones of the Orton chart (`cone::chart`),
//! with what is known of their decimals from its °F edition.

use crate::cone::{CONES, Cone};
use crate::units::Celsius;

const LN_60: f64 = 4.0943445622221; // K in °C/h at the 60 °C/h end point
const LN_4: f64 = 1.3862943611198906; // 60 / 15
const LN_2_5: f64 = 0.9162907318741551; // 150 / 60

/// Below this ln K a cone's rate is nothing. There K < 2.3 × 10⁻⁶ °C/h and B/T² < 1.1 /°C for
/// every cone, and k rises with T within the lower piece (B > 2T), so k < 2.5 × 10⁻⁶ per hour: in
/// a firing of a hundred hours less than 1/4000 of what brings the cone down.
const LN_NOTHING: f64 = -13.0;

/// One cone's law.
#[derive(Clone, Copy)]
pub(super) struct Law {
    /// 1/T at the 60 °C/h end point, in 1/K.
    inverse_t60_per_k: f64,
    /// B below the 60 °C/h end point, in K.
    b_low_k: f64,
    /// B above it.
    b_high_k: f64,
    /// Colder than this, in °C, the rate is nothing.
    pub(super) nothing_below_c: f64,
}

impl Law {
    /// Through the end points at 15, 60 and 150 °C/h, in °C.
    const fn through(t15_c: f64, t60_c: f64, t150_c: f64) -> Self {
        let inverse_t60_per_k = 1.0 / (t60_c + 273.15);
        let b_low_k = LN_4 / (1.0 / (t15_c + 273.15) - inverse_t60_per_k);
        let b_high_k = LN_2_5 / (inverse_t60_per_k - 1.0 / (t150_c + 273.15));
        let nothing_below_c = 1.0 / (inverse_t60_per_k + (LN_60 - LN_NOTHING) / b_low_k) - 273.15;
        Self { inverse_t60_per_k, b_low_k, b_high_k, nothing_below_c }
    }

    /// The law of a cone.
    pub(super) fn of(cone: Cone) -> &'static Self {
        let [coolest, ..] = &LAWS;
        LAWS.get(cone.index()).unwrap_or(coolest) // a cone's index is below CONES by construction
    }

    fn b(&self, inverse_t: f64) -> f64 {
        if inverse_t >= self.inverse_t60_per_k { self.b_low_k } else { self.b_high_k }
    }

    /// K in °C/h: the rate of the ramp that has the cone down at 1/T.
    pub(super) fn k_integral(&self, inverse_t: f64) -> f64 {
        libm::exp(LN_60 - self.b(inverse_t) * (inverse_t - self.inverse_t60_per_k))
    }

    /// k in 1/h: how fast the cone goes down at 1/T.
    pub(super) fn rate_per_h(&self, inverse_t: f64) -> f64 {
        self.k_integral(inverse_t) * self.b(inverse_t) * inverse_t * inverse_t
    }

    /// Where a ramp of 60 °C/h has done a share D of the cone, in °C (absolute zero for none).
    pub(super) fn after_60_c_per_h_c(&self, done: f64) -> f64 {
        let b = if done <= 1.0 { self.b_low_k } else { self.b_high_k };
        1.0 / (self.inverse_t60_per_k - libm::log(done) / b) - 273.15
    }

    /// The end point on a ramp, in °C.
    pub(super) fn end_point_c(&self, rate_c_per_h: f64) -> f64 {
        self.after_60_c_per_h_c(rate_c_per_h / 60.0)
    }

    /// The 60 °C/h end point, in °C.
    pub(super) fn t60_c(&self) -> f64 {
        1.0 / self.inverse_t60_per_k - 273.15
    }
}

/// 1/T in 1/K. Never less than 1/3273.15: a [`Celsius`] is at most 3000; absolute zero gives ∞,
/// at which every rate is nothing.
pub(super) fn inverse_kelvin(at: Celsius) -> f64 {
    1.0 / at.kelvin()
}

/// Every cone's law, in the order of [`Cone::ALL`]: end points at 15, 60 and 150 °C/h. Those at
/// 15 °C/h of 022, 021 and 020 come from one older copy of the chart (27 °F/h): low confidence.
#[rustfmt::skip] // one cone a line, as a table
pub(super) static LAWS: [Law; CONES] = [
    Law::through(565.0, 586.0, 590.0), // 022
    Law::through(580.0, 600.0, 617.0), // 021
    Law::through(607.2, 626.0, 638.0), // 020
    Law::through(656.0, 678.0, 695.0), // 019
    Law::through(686.0, 715.0, 734.0), // 018
    Law::through(705.0, 738.0, 763.0), // 017
    Law::through(742.0, 772.0, 796.0), // 016
    Law::through(750.0, 791.0, 818.0), // 015
    Law::through(757.0, 807.0, 838.0), // 014
    Law::through(807.0, 837.0, 861.0), // 013
    Law::through(843.0, 861.0, 882.0), // 012
    Law::through(857.0, 875.0, 894.0), // 011
    Law::through(891.0, 903.0, 915.0), // 010
    Law::through(907.0, 920.0, 930.0), // 09
    Law::through(922.0, 942.0, 956.0), // 08
    Law::through(962.0, 976.0, 987.0), // 07
    Law::through(981.0, 998.0, 1013.0), // 06
    Law::through(1004.0, 1015.0, 1025.0), // 05½
    Law::through(1021.0, 1031.0, 1044.0), // 05
    Law::through(1046.0, 1063.0, 1077.0), // 04
    Law::through(1071.0, 1086.0, 1104.0), // 03
    Law::through(1078.0, 1102.0, 1122.0), // 02
    Law::through(1093.0, 1119.0, 1138.0), // 01
    Law::through(1109.0, 1137.0, 1154.0), // 1
    Law::through(1112.0, 1142.0, 1164.0), // 2
    Law::through(1115.0, 1152.0, 1170.0), // 3
    Law::through(1141.0, 1162.0, 1183.0), // 4
    Law::through(1159.0, 1186.0, 1207.0), // 5
    Law::through(1167.0, 1203.0, 1225.0), // 5½
    Law::through(1185.0, 1222.0, 1243.0), // 6
    Law::through(1201.0, 1239.0, 1257.0), // 7
    Law::through(1211.0, 1249.0, 1271.0), // 8
    Law::through(1224.0, 1260.0, 1280.0), // 9
    Law::through(1251.0, 1285.0, 1305.0), // 10
    Law::through(1272.0, 1294.0, 1315.0), // 11
    Law::through(1285.0, 1306.0, 1326.0), // 12
    Law::through(1310.0, 1331.0, 1348.0), // 13
    Law::through(1351.0, 1365.0, 1384.0), // 14
];
