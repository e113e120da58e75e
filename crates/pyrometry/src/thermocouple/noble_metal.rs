//! Reference functions of the noble-metal types, as printed.
//!
//! Source: NIST Standard Reference Database 60 (from NIST Monograph 175, 1993), ITS-90
//! coefficients of the direct functions; IEC 60584-1:2013 uses the same ones. Emf in mV,
//! temperature in °C, reference junction at 0 °C. The order is the printed one, c₀ first.

use super::piece::{Function, Piece};

/// Type B: platinum-30 % rhodium (+) against platinum-6 % rhodium (−).
pub(super) static B: [Piece; 2] = [
    // The emf falls from 0 °C to its minimum of −0.0026 mV at 21.0203 °C (zero of the derivative,
    // computed from these coefficients and rounded up), and rises from there.
    Piece::rising_from(
        21.0203,
        Function {
            low_c: 0.0,
            high_c: 630.615,
            coefficients: &[
                0.0,
                -0.24650818346e-3,
                0.59040421171e-5,
                -0.13257931636e-8,
                0.15668291901e-11,
                -0.1694452924e-14,
                0.62990347094e-18,
            ],
            bump: None,
        },
    ),
    Piece::new(Function {
        low_c: 630.615,
        high_c: 1820.0,
        coefficients: &[
            -0.38938168621e1,
            0.2857174747e-1,
            -0.84885104785e-4,
            0.15785280164e-6,
            -0.16835344864e-9,
            0.11109794013e-12,
            -0.44515431033e-16,
            0.98975640821e-20,
            -0.93791330289e-24,
        ],
        bump: None,
    }),
];

/// Type R: platinum-13 % rhodium (+) against platinum (−).
pub(super) static R: [Piece; 3] = [
    Piece::new(Function {
        low_c: -50.0,
        high_c: 1064.18,
        coefficients: &[
            0.0,
            0.528961729765e-2,
            0.139166589782e-4,
            -0.238855693017e-7,
            0.356916001063e-10,
            -0.462347666298e-13,
            0.500777441034e-16,
            -0.373105886191e-19,
            0.157716482367e-22,
            -0.281038625251e-26,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 1064.18,
        high_c: 1664.5,
        coefficients: &[
            0.295157925316e1,
            -0.252061251332e-2,
            0.159564501865e-4,
            -0.764085947576e-8,
            0.205305291024e-11,
            -0.293359668173e-15,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 1664.5,
        high_c: 1768.1,
        coefficients: &[
            0.152232118209e3,
            -0.268819888545,
            0.171280280471e-3,
            -0.345895706453e-7,
            -0.934633971046e-14,
        ],
        bump: None,
    }),
];

/// Type S: platinum-10 % rhodium (+) against platinum (−).
pub(super) static S: [Piece; 3] = [
    Piece::new(Function {
        low_c: -50.0,
        high_c: 1064.18,
        coefficients: &[
            0.0,
            0.540313308631e-2,
            0.12593428974e-4,
            -0.232477968689e-7,
            0.322028823036e-10,
            -0.331465196389e-13,
            0.255744251786e-16,
            -0.125068871393e-19,
            0.271443176145e-23,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 1064.18,
        high_c: 1664.5,
        coefficients: &[
            0.132900444085e1,
            0.334509311344e-2,
            0.654805192818e-5,
            -0.164856259209e-8,
            0.129989605174e-13,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 1664.5,
        high_c: 1768.1,
        coefficients: &[
            0.146628232636e3,
            -0.258430516752,
            0.163693574641e-3,
            -0.330439046987e-7,
            -0.943223690612e-14,
        ],
        bump: None,
    }),
];
