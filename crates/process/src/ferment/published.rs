//! Two published models of fermentation, run as they stand. They are of lager, isothermal and
//! cool, do not balance and are of no use for a washback; their runs check the integrator and the
//! reference table, nothing else.

use crate::reference::{Row, rows};
use numeric::runge_kutta::{Tolerance, integrate};
use std::convert::Infallible;

const TOLERANCE: Tolerance = Tolerance { relative: 1e-9, absolute: 1e-9 };

fn at(hours: f64, start: &[f64], slopes: impl Fn(&[f64], &mut [f64])) -> Vec<f64> {
    let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| -> Result<(), Infallible> {
        slopes(y, dy);
        Ok(())
    };
    integrate(TOLERANCE, (0.0, hours), start, &mut slope).unwrap()
}

fn check(case: &str, value: impl Fn(&Row) -> f64) {
    for row in rows(case) {
        // The table prints five decimals: a share of a small value asks for more than is there.
        let allowed = row.allows().max(0.5e-5);
        let got = value(&row);
        assert!((got - row.value).abs() <= allowed, "{row:?}: {got}");
    }
}

/// B. de Andres-Toro and others (1997/98) at 12 °C: latent, active and dead yeast, sugar, ethanol.
#[test]
fn the_cool_lager_of_1997_is_met() {
    let t = 285.15;
    let rate = |a: f64, b: f64| (a + b / t).exp();
    let (grow, wake) = (rate(108.31, -31934.09), rate(30.72, -9501.54));
    let (die, settle) = (rate(130.16, -38313.0), rate(33.82, -10033.28));
    let (eat, make) = (rate(-41.92, 11654.64), rate(3.27, -1267.24));
    let half = rate(-119.63, 34203.95);
    let s0 = 130.0;
    check("AT98_12C", |row| {
        let y = at(row.at_number(), &[1.92, 0.08, 2.0, s0, 0.0], |y, dy| {
            let [latent, active, dead, sugar, ethanol] = [y[0], y[1], y[2], y[3], y[4]];
            let mu_x = grow * sugar / (0.5 * s0 + ethanol);
            let sinks = 0.5 * s0 * settle / (0.5 * s0 + ethanol);
            dy[0] = -wake * latent;
            dy[1] = mu_x * active - die * active + wake * latent;
            dy[2] = die * active - sinks * dead;
            dy[3] = -eat * sugar / (half + sugar) * active;
            dy[4] = (1.0 - ethanol / (0.5 * s0)) * make * sugar / (half + sugar) * active;
        });
        match row.quantity.as_str() {
            "latent" => y[0],
            "active" => y[1],
            "sugar" => y[3],
            "ethanol" => y[4],
            other => panic!("{other}"),
        }
    });
}

/// D. A. Gee and W. F. Ramirez (1988, 1994) at 10.5 °C: three sugars one after another, mol/m³;
/// without the factor by which the full model lets crowding slow the yeast, as the table has it.
#[test]
fn the_cool_lager_of_1994_is_met() {
    let t = 283.65;
    let k = |ln_k0: f64, kcal: f64| (ln_k0 - kcal / (1.987e-3 * t)).exp();
    let (m_g, m_m, m_n) = (k(35.77, 22.6), k(16.40, 11.3), k(10.59, 7.16));
    let (k_g, k_m, k_n) = (k(-121.3, -68.6), k(-19.15, -14.4), k(-26.78, -19.9));
    let (holds_g, holds_m) = (k(23.33, 10.2), k(55.61, 26.3));
    check("GR94_10.5C", |row| {
        let start = [70.0, 220.0, 40.0, 125.0, 0.0];
        let y = at(row.at_number(), &start, |y, dy| {
            let [g, m, n, x] = [y[0], y[1], y[2], y[3]];
            let mu1 = m_g * g / (k_g + g);
            let mu2 = m_m * m / (k_m + m) * holds_g / (holds_g + g);
            let mu3 = m_n * n / (k_n + n) * holds_g / (holds_g + g) * holds_m / (holds_m + m);
            dy[0] = -mu1 * x;
            dy[1] = -mu2 * x;
            dy[2] = -mu3 * x;
            dy[3] = (0.134 * mu1 + 0.268 * mu2 + 0.402 * mu3) * x;
            dy[4] = (1.92 * mu1 + 3.84 * mu2 + 5.76 * mu3) * x;
        });
        match row.quantity.as_str() {
            "maltose" => y[1],
            "maltotriose" => y[2],
            "yeast" => y[3],
            "ethanol" => y[4],
            other => panic!("{other}"),
        }
    });
}
