// The slopes here cannot fail, but the integrator asks for one that may.
#![allow(clippy::unnecessary_wraps)]

use super::*;
use std::convert::Infallible;

const CLOSE: Tolerance = Tolerance { relative: 1e-12, absolute: 1e-12 };

/// The restricted three-body orbit of Arenstorf, which closes after one period: equations, start
/// and period from Hairer, Nørsett and Wanner I, II.0 (0.1) and (0.2).
fn arenstorf(_: f64, y: &[f64], dy: &mut [f64]) -> Result<(), Infallible> {
    let mu = 0.012277471;
    let nu = 1.0 - mu;
    let d1 = ((y[0] + mu).powi(2) + y[1] * y[1]).powf(1.5);
    let d2 = ((y[0] - nu).powi(2) + y[1] * y[1]).powf(1.5);
    dy[0] = y[2];
    dy[1] = y[3];
    dy[2] = y[0] + 2.0 * y[3] - nu * (y[0] + mu) / d1 - mu * (y[0] - nu) / d2;
    dy[3] = y[1] - 2.0 * y[2] - nu * y[1] / d1 - mu * y[1] / d2;
    Ok(())
}
const ORBIT: [f64; 4] = [0.994, 0.0, 0.0, -2.001585106379082];
const PERIOD: f64 = 17.065216560157964;

#[test]
fn arenstorf_orbit_closes() {
    // The orbit multiplies an early error by some 1e4 on its way, so 1e-12 a step leaves 1e-6.
    let end = integrate(CLOSE, (0.0, PERIOD), &ORBIT, &mut arenstorf).expect("an orbit");
    for (got, was) in end.iter().zip(ORBIT) {
        assert!((got - was).abs() < 2e-6, "{end:?}");
    }
}

#[test]
fn a_tighter_tolerance_gives_a_smaller_error() {
    let miss = |relative: f64| {
        let tolerance = Tolerance { relative, absolute: relative };
        let y = integrate(tolerance, (0.0, 10.0), &[1.0, 0.0], &mut oscillator).expect("a swing");
        (y[0] - 10.0_f64.cos()).abs()
    };
    let (rough, fine) = (miss(1e-5), miss(1e-10));
    assert!(rough < 1e-4 && fine < 1e-9 && fine < 1e-3 * rough, "{rough} {fine}");
}

fn oscillator(_: f64, y: &[f64], dy: &mut [f64]) -> Result<(), Infallible> {
    (dy[0], dy[1]) = (y[1], -y[0]);
    Ok(())
}

#[test]
fn events_are_met_to_the_accuracy_of_the_step_and_not_of_the_interpolant() {
    let mut run = DormandPrince::start(CLOSE, 0.0, &[1.0, 0.0], &mut oscillator).expect("a start");
    let mut event = |_: f64, y: &[f64]| y[0];
    let mut found = Vec::new();
    while run.at() < 12.0 {
        run.step(12.0, &mut oscillator).expect("a step");
        if run.land(&mut event, &mut oscillator).expect("no trouble") {
            found.push(run.at());
            // Step over the event, or its rounding would be found again.
            run.step(run.at() + 0.1, &mut oscillator).expect("a step");
        }
    }
    let half = std::f64::consts::FRAC_PI_2;
    let wanted = [half, 3.0 * half, 5.0 * half, 7.0 * half];
    assert_eq!(found.len(), wanted.len(), "{found:?}");
    for (got, wanted) in found.iter().zip(wanted) {
        assert!((got - wanted).abs() < 1e-11, "{got} {wanted}");
    }
}

#[test]
fn dense_output_follows_the_curve_between_steps() {
    let tolerance = Tolerance { relative: 1e-8, absolute: 1e-8 };
    let mut run =
        DormandPrince::start(tolerance, 0.0, &[1.0, 0.0], &mut oscillator).expect("a start");
    let mut inside = [0.0; 2];
    while run.at() < 6.0 {
        run.step(6.0, &mut oscillator).expect("a step");
        let (from, to) = (run.before().0, run.at());
        for part in 0..=10 {
            let t = from + (to - from) * f64::from(part) / 10.0;
            run.dense(t, &mut inside);
            assert!((inside[0] - t.cos()).abs() < 2e-7, "{t} {inside:?}");
        }
    }
}

/// The rigid body of Hairer, Nørsett and Wanner I, II.6 (Euler's equations) keeps two invariants.
#[test]
fn euler_equations_keep_their_invariants() {
    let mut body = |_: f64, y: &[f64], dy: &mut [f64]| -> Result<(), Infallible> {
        dy[0] = y[1] * y[2];
        dy[1] = -y[0] * y[2];
        dy[2] = -0.51 * y[0] * y[1];
        Ok(())
    };
    let y = integrate(CLOSE, (0.0, 20.0), &[0.0, 1.0, 1.0], &mut body).expect("a spin");
    assert!((y[0] * y[0] + y[1] * y[1] - 1.0).abs() < 1e-10);
    assert!((0.51 * y[0] * y[0] + y[2] * y[2] - 1.0).abs() < 1e-10);
}

#[test]
fn a_slope_that_is_not_a_number_ends_the_run() {
    let mut bad = |t: f64, _: &[f64], dy: &mut [f64]| -> Result<(), Infallible> {
        dy[0] = if t > 0.5 { f64::NAN } else { 1.0 };
        Ok(())
    };
    let end = integrate(CLOSE, (0.0, 1.0), &[0.0], &mut bad);
    assert!(matches!(end, Err(NoStep::TooSmall { .. })), "{end:?}");
}

#[test]
fn a_slope_that_fails_is_told_as_the_caller_said_it() {
    let mut dry = |t: f64, _: &[f64], dy: &mut [f64]| {
        dy[0] = 1.0;
        if t > 0.5 { Err("dry") } else { Ok(()) }
    };
    let end = integrate(CLOSE, (0.0, 1.0), &[0.0], &mut dry);
    assert_eq!(end, Err(NoStep::Slope("dry")));
}
