use super::*;
use proptest::prelude::*;

const SEA: f64 = 101_325.0;

fn room(temperature_c: f64) -> DryBulb {
    DryBulb { temperature_c, pressure_pa: SEA }
}

/// All 95 rows: 1e-6 relative, and 0.002 K in wet bulb and dew point, from the relative humidity.
#[test]
fn the_published_equations_give_the_published_figures() {
    let table = checks::reference("psychrometrics.csv");
    let of = |row: &checks::Row| {
        let at = DryBulb { temperature_c: row.number("T_C"), pressure_pa: row.number("P_Pa") };
        air(at, Moisture::Relative(row.number("RH"))).unwrap()
    };
    let relative = |column: &'static str, get: fn(&Air) -> f64| {
        table.check(|row| {
            let wanted = row.number(column);
            (get(&of(row)), wanted, 1e-6 * wanted.abs())
        });
    };
    relative("pws_Pa", |a| a.saturation_pa);
    relative("pw_Pa", |a| a.vapour_pa);
    relative("W_kgkg", |a| a.humidity_ratio);
    relative("Ws_kgkg", |a| a.saturation_humidity_ratio);
    relative("h_Jkgda", |a| a.enthalpy_j_kg);
    relative("v_m3kgda", |a| a.volume_m3_kg);
    relative("rho_kgm3", |a| a.density_kg_m3);
    relative("mu_degsat", |a| a.degree_of_saturation);
    table.check(|row| (of(row).wet_bulb_c, row.number("Twb_C"), 0.002));
    table.check(|row| (of(row).dew_point_c, row.number("Tdp_C"), 0.002));
}

/// The same rows the other way: from the published wet bulb and dew point back to the humidity
/// ratio. The tolerance is what 0.002 K in the wet bulb or dew point is worth there.
#[test]
fn wet_bulb_and_dew_point_lead_back_to_the_humidity_ratio() {
    let table = checks::reference("psychrometrics.csv");
    for (column, of) in [
        ("Twb_C", Moisture::WetBulb as fn(f64) -> Moisture),
        ("Tdp_C", Moisture::DewPoint as fn(f64) -> Moisture),
    ] {
        table.check(|row| {
            let at = DryBulb { temperature_c: row.number("T_C"), pressure_pa: row.number("P_Pa") };
            let value = row.number(column).min(at.temperature_c);
            let got = air(at, of(value)).unwrap().humidity_ratio;
            let shifted = air(at, of(value - 0.002)).map_or(0.0, |a| a.humidity_ratio);
            (got, row.number("W_kgkg"), (got - shifted).abs() + 1e-9)
        });
    }
}

#[test]
fn what_no_air_can_be_is_refused() {
    assert!(air(room(20.0), Moisture::Relative(1.01)).is_err());
    assert!(air(room(20.0), Moisture::Ratio(0.02)).is_err());
    assert!(air(room(20.0), Moisture::DewPoint(21.0)).is_err());
    assert!(air(room(20.0), Moisture::WetBulb(20.5)).is_err());
    assert!(air(room(20.0), Moisture::WetBulb(2.0)).is_err());
    assert!(air(room(201.0), Moisture::Relative(0.1)).is_err());
    assert!(air(room(f64::NAN), Moisture::Relative(0.1)).is_err());
    assert!(air(room(20.0), Moisture::Relative(f64::NAN)).is_err());
    // Saturated steam at the boil: no limit to its humidity ratio, so none is given.
    assert!(air(room(100.5), Moisture::Relative(1.0)).is_err());
}

#[test]
fn bone_dry_air_has_a_wet_bulb_and_no_dew_point() {
    let a = air(room(60.0), Moisture::Ratio(0.0)).unwrap();
    assert!(a.dew_point_c.is_nan() && a.wet_bulb_c > 15.0 && a.wet_bulb_c < 25.0);
    assert!(a.humidity_ratio.abs() < f64::EPSILON);
}

#[test]
fn a_mixture_that_cannot_hold_its_water_is_a_fog_warmer_than_clear_air() {
    let warm = Stream { dry_air_kg: 1.0, temperature_c: 35.0, humidity_ratio: 0.0365 };
    let cold = Stream { dry_air_kg: 1.0, temperature_c: 0.5, humidity_ratio: 0.0039 };
    let fog = mix(&[warm, cold], SEA);
    let w_s = kernel::saturation_humidity_ratio(fog.temperature_c, SEA);
    assert!(fog.humidity_ratio > w_s);
    let h = |s: &Stream| kernel::enthalpy_j_kg(s.temperature_c, s.humidity_ratio);
    let drops = (fog.humidity_ratio - w_s) * 4186.0 * fog.temperature_c;
    let held = kernel::enthalpy_j_kg(fog.temperature_c, w_s) + drops;
    assert!((held - 0.5 * (h(&warm) + h(&cold))).abs() < 1e-3);
}

proptest! {
    #[test]
    fn every_way_into_air_is_the_same_air(t in -40.0..95.0_f64, rh in 0.02..0.999_f64) {
        let a = air(room(t), Moisture::Relative(rh)).unwrap();
        let by_ratio = air(room(t), Moisture::Ratio(a.humidity_ratio)).unwrap();
        prop_assert!((by_ratio.relative_humidity - rh).abs() < 1e-9);
        let by_dew = air(room(t), Moisture::DewPoint(a.dew_point_c)).unwrap();
        prop_assert!((by_dew.relative_humidity - rh).abs() < 1e-8);
        // At a wet bulb of 0 °C the source's two formulas do not meet: nothing to come back to.
        if a.wet_bulb_c.abs() > 1e-6 {
            let by_wet = air(room(t), Moisture::WetBulb(a.wet_bulb_c.min(t))).unwrap();
            prop_assert!((by_wet.humidity_ratio - a.humidity_ratio).abs() < 1e-8);
        }
        prop_assert!(a.dew_point_c <= a.wet_bulb_c + 1e-6 && a.wet_bulb_c <= t + 1e-9);
    }

    #[test]
    fn air_never_panics(t in any::<f64>(), p in any::<f64>(), x in any::<f64>()) {
        let at = DryBulb { temperature_c: t, pressure_pa: p };
        let _ = (air(at, Moisture::Relative(x)), air(at, Moisture::Ratio(x)));
        let _ = (air(at, Moisture::WetBulb(x)), air(at, Moisture::DewPoint(x)));
    }
}
