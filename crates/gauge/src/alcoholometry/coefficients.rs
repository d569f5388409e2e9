//! The 54 coefficients of the general formula of OIML R 22 (1975), digit by digit as printed.
//!
//! Three public transcriptions were compared by machine; `tests/reference/` holds the digits and
//! names the misprints that go about.

// As printed, trailing noughts and all, so that they can be read against the page.
#![allow(clippy::excessive_precision)]

/// A₁ to A₁₂, kg/m³.
pub(crate) const A: [f64; 12] = [
    9.982012300e2,
    -1.929769495e2,
    3.891238958e2,
    -1.668103923e3,
    1.352215441e4,
    -8.829278388e4,
    3.062874042e5,
    -6.138381234e5,
    7.470172998e5,
    -5.478461354e5,
    2.234460334e5,
    -3.903285426e4,
];
/// B₁ to B₆, kg/m³ per °C to the power.
pub(crate) const B: [f64; 6] =
    [-2.0618513e-1, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11];
/// C of (t − 20) to the power 1, for p to the powers 1 and up.
pub(crate) const C1: [f64; 11] = [
    1.693443461530087e-1,
    -1.046914743455169e1,
    7.196353469546523e1,
    -7.047478054272792e2,
    3.924090430035045e3,
    -1.210164659068747e4,
    2.248646550400788e4,
    -2.605562982188164e4,
    1.852373922069467e4,
    -7.420201433430137e3,
    1.285617841998974e3,
];
/// C of (t − 20) to the power 2, for p to the powers 1 and up.
pub(crate) const C2: [f64; 10] = [
    -1.193013005057010e-2,
    2.517399633803461e-1,
    -2.170575700536993e0,
    1.353034988843029e1,
    -5.029988758547014e1,
    1.096355666577570e2,
    -1.422753946421155e2,
    1.080435942856230e2,
    -4.414153236817392e1,
    7.442971530188783e0,
];
/// C of (t − 20) to the power 3, for p to the powers 1 and up.
pub(crate) const C3: [f64; 9] = [
    -6.802995733503803e-4,
    1.876837790289664e-2,
    -2.002561813734156e-1,
    1.022992966719220e0,
    -2.895696483903638e0,
    4.810060584300675e0,
    -4.672147440794683e0,
    2.458043105903461e0,
    -5.411227621436812e-1,
];
/// C of (t − 20) to the power 4, for p to the powers 1 and up.
pub(crate) const C4: [f64; 4] =
    [4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6];
/// C of (t − 20) to the power 5, for p to the powers 1 and up.
pub(crate) const C5: [f64; 2] = [-2.788074354782409e-8, 1.345612883493354e-8];
