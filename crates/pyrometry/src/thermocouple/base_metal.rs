//! Reference functions of the base-metal types, as printed.
//!
//! Source: NIST Standard Reference Database 60 (from NIST Monograph 175, 1993), ITS-90
//! coefficients of the direct functions; IEC 60584-1:2013 uses the same ones. Emf in mV,
//! temperature in °C, reference junction at 0 °C. The order is the printed one, c₀ first.

use super::piece::{Bump, Function, Piece};

/// Type E: nickel-chromium (+) against copper-nickel (−).
pub(super) static E: [Piece; 2] = [
    Piece::new(Function {
        low_c: -270.0,
        high_c: 0.0,
        coefficients: &[
            0.0,
            0.58665508708e-1,
            0.45410977124e-4,
            -0.77998048686e-6,
            -0.25800160843e-7,
            -0.59452583057e-9,
            -0.93214058667e-11,
            -0.10287605534e-12,
            -0.80370123621e-15,
            -0.43979497391e-17,
            -0.16414776355e-19,
            -0.39673619516e-22,
            -0.55827328721e-25,
            -0.34657842013e-28,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 0.0,
        high_c: 1000.0,
        coefficients: &[
            0.0,
            0.5866550871e-1,
            0.45032275582e-4,
            0.28908407212e-7,
            -0.33056896652e-9,
            0.6502440327e-12,
            -0.19197495504e-15,
            -0.12536600497e-17,
            0.21489217569e-20,
            -0.14388041782e-23,
            0.35960899481e-27,
        ],
        bump: None,
    }),
];

/// Type J: iron (+) against copper-nickel (−).
pub(super) static J: [Piece; 2] = [
    Piece::new(Function {
        low_c: -210.0,
        high_c: 760.0,
        coefficients: &[
            0.0,
            0.50381187815e-1,
            0.3047583693e-4,
            -0.8568106572e-7,
            0.13228195295e-9,
            -0.17052958337e-12,
            0.20948090697e-15,
            -0.12538395336e-18,
            0.15631725697e-22,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 760.0,
        high_c: 1200.0,
        coefficients: &[
            0.29645625681e3,
            -0.14976127786e1,
            0.31787103924e-2,
            -0.31847686701e-5,
            0.15720819004e-8,
            -0.30691369056e-12,
        ],
        bump: None,
    }),
];

/// Type K: nickel-chromium (+) against nickel-aluminium (−).
pub(super) static K: [Piece; 2] = [
    Piece::new(Function {
        low_c: -270.0,
        high_c: 0.0,
        coefficients: &[
            0.0,
            0.39450128025e-1,
            0.23622373598e-4,
            -0.32858906784e-6,
            -0.49904828777e-8,
            -0.67509059173e-10,
            -0.57410327428e-12,
            -0.31088872894e-14,
            -0.10451609365e-16,
            -0.19889266878e-19,
            -0.16322697486e-22,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 0.0,
        high_c: 1372.0,
        coefficients: &[
            -0.17600413686e-1,
            0.38921204975e-1,
            0.18558770032e-4,
            -0.99457592874e-7,
            0.31840945719e-9,
            -0.56072844889e-12,
            0.56075059059e-15,
            -0.32020720003e-18,
            0.97151147152e-22,
            -0.12104721275e-25,
        ],
        bump: Some(Bump { height_mv: 0.1185976, sharpness: -0.1183432e-3, centre_c: 0.1269686e3 }),
    }),
];

/// Type N: nickel-chromium-silicon (+) against nickel-silicon (−).
pub(super) static N: [Piece; 2] = [
    Piece::new(Function {
        low_c: -270.0,
        high_c: 0.0,
        coefficients: &[
            0.0,
            0.26159105962e-1,
            0.10957484228e-4,
            -0.93841111554e-7,
            -0.46412039759e-10,
            -0.26303357716e-11,
            -0.22653438003e-13,
            -0.76089300791e-16,
            -0.93419667835e-19,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 0.0,
        high_c: 1300.0,
        coefficients: &[
            0.0,
            0.25929394601e-1,
            0.1571014188e-4,
            0.43825627237e-7,
            -0.25261169794e-9,
            0.64311819339e-12,
            -0.10063471519e-14,
            0.99745338992e-18,
            -0.60863245607e-21,
            0.20849229339e-24,
            -0.30682196151e-28,
        ],
        bump: None,
    }),
];

/// Type T: copper (+) against copper-nickel (−).
pub(super) static T: [Piece; 2] = [
    Piece::new(Function {
        low_c: -270.0,
        high_c: 0.0,
        coefficients: &[
            0.0,
            0.38748106364e-1,
            0.44194434347e-4,
            0.11844323105e-6,
            0.20032973554e-7,
            0.90138019559e-9,
            0.22651156593e-10,
            0.36071154205e-12,
            0.38493939883e-14,
            0.28213521925e-16,
            0.14251594779e-18,
            0.48768662286e-21,
            0.1079553927e-23,
            0.13945027062e-26,
            0.79795153927e-30,
        ],
        bump: None,
    }),
    Piece::new(Function {
        low_c: 0.0,
        high_c: 400.0,
        coefficients: &[
            0.0,
            0.38748106364e-1,
            0.3329222788e-4,
            0.20618243404e-6,
            -0.21882256846e-8,
            0.10996880928e-10,
            -0.30815758772e-13,
            0.4547913529e-16,
            -0.27512901673e-19,
        ],
        bump: None,
    }),
];
