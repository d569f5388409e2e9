//! Density and temperature to strength: one by one, and by slices. Aims: 10 and 20 million a
//! second on one core. Beside it Brent's method of scipy on the same polynomial.

use bench::{peer, report, seconds};
use gauge::alcoholometry::kernel;
use gauge::alcoholometry::slices::{Readings, strengths_pct};

/// The readings that the peer solves as well: its script makes them by the same rule.
const READINGS: usize = 4096;

fn main() {
    let mut density_kg_m3 = Vec::with_capacity(READINGS);
    let mut temperature_c = Vec::with_capacity(READINGS);
    for i in 0..READINGS {
        // A walk that leaves no order a branch predictor could learn.
        let (a, b) = ((i * 2_654_435_761) % 9973, (i * 40_503) % 8191);
        let t = 40.0 * (b as f64 + 0.5) / 8191.0;
        temperature_c.push(t);
        density_kg_m3.push(kernel::density_kg_m3((a as f64 + 0.5) / 9973.0, t));
    }
    let readings = || density_kg_m3.iter().zip(&temperature_c);
    let mut out = vec![0.0; READINGS];
    let one_by_one = seconds(|| {
        for (result, (density, temperature)) in out.iter_mut().zip(readings()) {
            *result = kernel::strength_of_density_pct(*density, *temperature);
        }
    }) / READINGS as f64;
    let answers = out.clone();
    let by_slices = seconds(|| {
        let given = Readings { density_kg_m3: &density_kg_m3, temperature_c: &temperature_c };
        strengths_pct(given, &mut out);
    }) / READINGS as f64;
    let beside = peer("strength");
    let beside = beside.as_ref().map(|p| (p, answers.as_slice()));
    if beside.is_none() {
        println!("scipy is missing: no peer beside it (SHIEL_PEER_PYTHON names a Python with it)");
    }
    report("strength from density and temperature, one by one", one_by_one, Some(1e-7), beside);
    println!("  {:.1} million a second", 1e-6 / one_by_one);
    let beside = beside.map(|(p, _)| (p, out.as_slice()));
    report("the same by slices", by_slices, Some(5e-8), beside);
    println!("  {:.1} million a second", 1e-6 / by_slices);
    let apart = answers.iter().zip(&out).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    println!("  one by one and by slices are at most {apart:.1e} % vol apart");
}
