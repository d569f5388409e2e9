use super::coefficients::{A, B, C1, C2, C3, C4, C5};
use super::*;
use crate::quantity::Strength;
use proptest::prelude::*;

fn celsius(degrees: f64) -> Celsius {
    Celsius::from_degrees(degrees).unwrap()
}

#[test]
fn every_coefficient_is_the_printed_one() {
    let table = checks::reference("oiml_r22_coefficients.csv");
    assert_eq!(table.rows.len(), 54);
    table.check(|row| {
        let k = row.number("k") as usize - 1;
        let ours = match (row.text("coefficient"), row.text("i")) {
            ("A", _) => A[k],
            ("B", _) => B[k],
            (_, "1") => C1[k],
            (_, "2") => C2[k],
            (_, "3") => C3[k],
            (_, "4") => C4[k],
            (_, "5") => C5[k],
            other => panic!("{other:?}"),
        };
        (ours, row.number("digits_printed"), 0.0)
    });
}

#[test]
fn densities_and_strengths_are_those_of_the_formula() {
    let table = checks::reference("oiml_r22_densities.csv");
    table.only("way", "density").check(|row| {
        let got = kernel::density_kg_m3(row.number("mass_fraction"), row.number("temperature_c"));
        (got, row.number("density_kg_m3"), 1e-6)
    });
    let strengths = table.only("way", "strength");
    let content = |row: &checks::Row| {
        let density = DensityVacuum::from_kg_m3(row.number("density_kg_m3")).unwrap();
        content(density, celsius(row.number("temperature_c"))).unwrap()
    };
    strengths.check(|row| {
        let p = content(row).mass_fraction.fraction();
        (p, row.number("mass_fraction"), 1e-7)
    });
    strengths.check(|row| {
        let q = content(row).strength.percent();
        (q, row.number("strength_pct"), 1e-4)
    });
}

/// Aim: 1e-9 in mass fraction everywhere in the domain, no failure in a million random points.
/// Method: a fixed stream of a million pairs, and beside it the ends and a fine grid of the cold
/// corner, where the curve is flattest (−6 kg/m³ over the whole of p at −20 °C).
#[test]
fn strength_comes_back_from_its_density_at_a_million_points() {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut uniform = move || {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut worst = 0.0_f64;
    let mut look = |p: f64, t: f64| {
        let back = kernel::mass_fraction(kernel::density_kg_m3(p, t), t);
        assert!((back - p).abs() < 1e-9, "p {p} at {t} °C comes back as {back}");
        worst = worst.max((back - p).abs());
    };
    for _ in 0..1_000_000 {
        let (p, t) = (uniform(), -20.0 + 60.0 * uniform());
        look(p, t);
    }
    for i in 0..=2000 {
        for t in [-20.0, -19.5, -15.0, -10.0, 0.0, 20.0, 40.0] {
            look(f64::from(i) / 2000.0, t);
            look(0.15 + 0.1 * f64::from(i) / 2000.0, t);
        }
    }
    println!("worst {worst:e}");
}

#[test]
fn what_is_outside_is_refused_with_the_ends_at_that_temperature() {
    let water = DensityVacuum::from_kg_m3(998.3).unwrap();
    let fault = content(water, Celsius::TWENTY).unwrap_err();
    let Fault::OutOfRange { low, high, .. } = fault else { panic!("{fault}") };
    assert!((low - 789.239123).abs() < 1e-6 && (high - 998.201230).abs() < 1e-6);
    for t in [-20.001, 40.001] {
        assert!(density(MassFraction::from_fraction(0.5).unwrap(), celsius(t)).is_err());
        assert!(kernel::density_kg_m3(0.5, t).is_nan());
        assert!(kernel::mass_fraction(900.0, t).is_nan());
    }
    for p in [-1e-12, 1.0 + 1e-12, f64::NAN] {
        assert!(kernel::density_kg_m3(p, 20.0).is_nan());
        assert!(kernel::strength_pct(p).is_nan());
    }
}

#[test]
fn a_millionth_beyond_the_end_is_rounding_and_two_are_not() {
    for (end, p) in [(998.201230, 0.0), (789.239123299, 1.0)] {
        let outward = if p > 0.5 { -1.0 } else { 1.0 };
        let at = |step: f64| {
            let density = DensityVacuum::from_kg_m3(end + outward * step).unwrap();
            content(density, Celsius::TWENTY)
        };
        assert!((at(0.9e-6).unwrap().mass_fraction.fraction() - p).abs() < 1e-15);
        assert!(at(0.9e-6).unwrap().warnings.is_empty());
        assert!(at(2e-6).is_err());
    }
}

#[test]
fn ice_is_warned_of_on_its_own_side_of_the_line() {
    let says = |p: f64, t: f64| frozen(MassFraction::from_fraction(p).unwrap(), celsius(t));
    assert!(says(0.119, -5.0).is_some() && says(0.121, -5.0).is_none());
    assert!(says(0.329, -20.0).is_some() && says(0.331, -20.0).is_none());
    assert!(says(0.0, 0.0).is_none() && says(0.0, -0.1).is_some());
    assert!(says(0.0, 5.0).is_none());
}

proptest! {
    #[test]
    fn density_falls_as_strength_rises(q in 0.0..99.9_f64, t in -20.0..40.0_f64) {
        let lighter = kernel::density_of_strength_kg_m3(q + 0.1, t);
        prop_assert!(lighter < kernel::density_of_strength_kg_m3(q, t));
    }

    #[test]
    fn strength_by_volume_and_by_mass_are_one_another_turned_about(q in 0.0..=100.0_f64) {
        let back = Strength::from_percent(q).unwrap().mass_fraction().strength();
        prop_assert!((back.percent() - q).abs() < 1e-10);
    }

    #[test]
    fn the_kernel_never_panics(p in any::<f64>(), t in any::<f64>()) {
        let _ = kernel::density_kg_m3(p, t);
        let _ = kernel::mass_fraction(p, t);
        let _ = kernel::strength_pct(p);
        let _ = kernel::mass_fraction_of_strength(p);
    }
}

/// Aim: the fast form and the form by slices give what the plain solver gives. Method: a grid over
/// the whole domain, finer where the curve is flattest, each form beside the plain one.
#[test]
fn the_fast_forms_are_the_plain_one_over_a_grid() {
    let mut density_kg_m3 = Vec::new();
    let mut temperature_c = Vec::new();
    let mut wanted = Vec::new();
    let (mut back, mut worst) = (0_u32, 0.0_f64);
    for i in 0..=240 {
        let t = -20.0 + 0.25 * f64::from(i);
        for j in 0..=997 {
            let p = if j < 700 { f64::from(j) / 699.0 } else { f64::from(j - 700) / 990.0 };
            let rho = kernel::density_kg_m3(p, t);
            let plain = kernel::plain_mass_fraction(rho, t);
            let fast = kernel::mass_fraction(rho, t);
            worst = worst.max((fast - plain).abs());
            assert!((fast - plain).abs() < 2e-10, "p {p} at {t}: {fast} and {plain}");
            back += u32::from(slices::mass_fraction(rho, t).is_none());
            density_kg_m3.push(rho);
            temperature_c.push(t);
            wanted.push(kernel::strength_pct(plain));
        }
    }
    // A hundredth go back to the plain solver; were it most of them, nothing would be gained.
    assert!(f64::from(back) < 0.05 * wanted.len() as f64, "{back} of {}", wanted.len());
    println!("{back} of {} go back; worst {worst:e} in mass fraction", wanted.len());
    let readings =
        slices::Readings { density_kg_m3: &density_kg_m3, temperature_c: &temperature_c };
    for form in [slices::strengths_pct, slices::any_processor] {
        let mut worst = 0.0_f64;
        let mut out = vec![0.0; wanted.len()];
        form(readings, &mut out);
        for (i, (got, wanted)) in out.iter().zip(&wanted).enumerate() {
            worst = worst.max((got - wanted).abs());
            assert!((got - wanted).abs() < 2e-9, "{i}: {got} and {wanted}");
        }
        println!("worst {worst:e} % vol");
    }
}

#[test]
fn slices_refuse_what_the_plain_form_refuses() {
    let density_kg_m3 = [1200.0, 905.0, f64::NAN, 700.0, 905.0, 998.2012305, 905.0, 905.0, 1e9];
    let temperature_c = [20.0, 41.0, 20.0, 20.0, f64::NAN, 20.0, 15.0, -20.1, 20.0];
    let mut out = [0.0; 9];
    let readings =
        slices::Readings { density_kg_m3: &density_kg_m3, temperature_c: &temperature_c };
    slices::strengths_pct(readings, &mut out);
    for (i, got) in out.iter().enumerate() {
        match i {
            5 => assert!(got.abs() < 1e-12),
            6 => assert!((got - 63.58253).abs() < 1e-4),
            _ => assert!(got.is_nan(), "{i}: {got}"),
        }
    }
}
