//! Densities and temperatures to strengths in the form this processor runs best, one by one and
//! whole columns at a time.

// Each must become part of the function that is compiled for AVX2, or it runs without it.
#![allow(clippy::inline_always)]
// The one place of this crate with `unsafe`: functions compiled for processors with AVX2 and FMA
// are called, and only after the processor has said that it has them. The code inside is the same
// as the plain one and safe.
#![allow(unsafe_code)]

use super::fast::{Starts, Stepped, share, strength_pct, two_steps};
use super::kernel;

/// Densities and temperatures of equal length.
#[derive(Debug, Clone, Copy)]
pub struct Readings<'r> {
    /// kg/m³, in vacuum.
    pub density_kg_m3: &'r [f64],
    /// °C.
    pub temperature_c: &'r [f64],
}

/// How many go together: each stage runs over a block before the next, so that the compiler can
/// take several readings in one instruction. A block's figures stay in the nearest cache.
const BLOCK: usize = 64;

/// Gives the strengths at 20 °C of many readings, the same figures as one by one to 1e-9 % vol.
///
/// # Units
/// kg/m³ in vacuum and °C to % vol at 20 °C.
/// # Range
/// As [`kernel::mass_fraction`]; `NaN` for a reading outside it.
/// # Error
/// As [`kernel::mass_fraction`].
/// # Source
/// OIML R 22 (1975).
/// # Example
/// ```
/// use gauge::alcoholometry::slices::{Readings, strengths_pct};
/// let readings = Readings { density_kg_m3: &[951.5, 905.0], temperature_c: &[12.0, 15.0] };
/// let mut found = [0.0; 2];
/// strengths_pct(readings, &mut found);
/// assert!((found[1] - 63.58253).abs() < 1e-4);
/// ```
/// # Panics
/// When the three columns are not of one length.
pub fn strengths_pct(readings: Readings<'_>, out: &mut [f64]) {
    assert_eq!(readings.density_kg_m3.len(), out.len(), "one density a result");
    assert_eq!(readings.temperature_c.len(), out.len(), "one temperature a result");
    #[cfg(target_arch = "x86_64")]
    if has_both() {
        // SAFETY: the processor has both features, which is all that the function asks.
        unsafe { all_with_avx2(readings, out) };
        return;
    }
    all::<false>(readings, out);
}

/// The form for any processor; the other is held against it.
#[cfg(test)]
pub(super) fn any_processor(readings: Readings<'_>, out: &mut [f64]) {
    all::<false>(readings, out);
}

/// The mass fraction of one reading, or `None` where two steps do not settle it.
#[inline]
pub(super) fn mass_fraction(density: f64, temperature: f64) -> Option<f64> {
    #[cfg(target_arch = "x86_64")]
    if has_both() {
        // SAFETY: as above.
        return unsafe { one_with_fma(density, temperature) };
    }
    one::<false>(density, temperature)
}

/// The strength of one reading, or `None` where two steps do not settle it.
#[inline]
pub(super) fn strength_of_one_pct(density: f64, temperature: f64) -> Option<f64> {
    #[cfg(target_arch = "x86_64")]
    if has_both() {
        // SAFETY: as above.
        return unsafe { strength_with_fma(density, temperature) };
    }
    one::<false>(density, temperature).map(strength_pct::<false>)
}

#[cfg(target_arch = "x86_64")]
fn has_both() -> bool {
    std::arch::is_x86_feature_detected!("avx2") && std::arch::is_x86_feature_detected!("fma")
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn all_with_avx2(readings: Readings<'_>, out: &mut [f64]) {
    all::<true>(readings, out);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn one_with_fma(density: f64, temperature: f64) -> Option<f64> {
    one::<true>(density, temperature)
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn strength_with_fma(density: f64, temperature: f64) -> Option<f64> {
    one::<true>(density, temperature).map(strength_pct::<true>)
}

#[inline(always)]
fn one<const FMA: bool>(density: f64, temperature: f64) -> Option<f64> {
    let share = share::<FMA>(density, temperature);
    let start = Starts::get().near(temperature, share);
    let found = two_steps::<FMA>(density, temperature, start);
    found.settled(share, temperature).then_some(found.p)
}

#[inline(always)]
fn all<const FMA: bool>(readings: Readings<'_>, out: &mut [f64]) {
    let starts = Starts::get();
    let (densities, temperatures) = (readings.density_kg_m3, readings.temperature_c);
    let blocks = densities.chunks(BLOCK).zip(temperatures.chunks(BLOCK));
    for ((density, temperature), result) in blocks.zip(out.chunks_mut(BLOCK)) {
        let count = result.len();
        // A last block that is not full is filled up with a reading like any other.
        let mut block = Block::default();
        block.density[..count].copy_from_slice(density);
        block.temperature[..count].copy_from_slice(temperature);
        block.reckon::<FMA>(starts);
        for (lane, result) in result.iter_mut().enumerate() {
            let found = Stepped { p: block.p[lane], step: block.step[lane] };
            let (density, temperature) = (block.density[lane], block.temperature[lane]);
            *result = if found.settled(block.share[lane], temperature) {
                block.strength[lane]
            } else {
                kernel::plain_strength_pct(density, temperature)
            };
        }
    }
}

struct Block {
    density: [f64; BLOCK],
    temperature: [f64; BLOCK],
    share: [f64; BLOCK],
    start: [f64; BLOCK],
    p: [f64; BLOCK],
    step: [f64; BLOCK],
    strength: [f64; BLOCK],
}

impl Default for Block {
    fn default() -> Self {
        let zero = [0.0; BLOCK];
        Self {
            density: [900.0; BLOCK],
            temperature: [20.0; BLOCK],
            share: zero,
            start: zero,
            p: zero,
            step: zero,
            strength: zero,
        }
    }
}

impl Block {
    #[inline(always)]
    fn reckon<const FMA: bool>(&mut self, starts: &Starts) {
        for i in 0..BLOCK {
            self.share[i] = share::<FMA>(self.density[i], self.temperature[i]);
        }
        for i in 0..BLOCK {
            self.start[i] = starts.near(self.temperature[i], self.share[i]);
        }
        for i in 0..BLOCK {
            let found = two_steps::<FMA>(self.density[i], self.temperature[i], self.start[i]);
            self.p[i] = found.p;
            self.step[i] = found.step;
        }
        for i in 0..BLOCK {
            self.strength[i] = strength_pct::<FMA>(self.p[i]);
        }
    }
}
