//! Arithmetic of smoke from malt to spirit, and what the wash of each make carries.

use super::*;
use house::quernholm;

fn phenols(of: &[(&'static Congener, f64)]) -> f64 {
    of.iter().filter(|(c, _)| c.group == Group::Smoke).map(|(_, g)| g).sum()
}

/// Check cases worked by hand: mg/kg kept, over litres of spirit a tonne.
#[test]
fn malt_to_spirit_is_a_balance() {
    let case = |malt_mg_kg, kept, pure_alcohol_l_t, strength_pct| {
        Retention { malt_mg_kg, kept, pure_alcohol_l_t, strength_pct }.in_spirit_mg_l()
    };
    assert!((case(40.0, 1.0, 400.0, 68.0) - 68.0).abs() < 0.1);
    assert!((case(40.0, 0.30, 400.0, 68.0) - 20.4).abs() < 0.1);
    assert!((case(20.0, 0.35, 405.0, 69.0) - 11.926).abs() < 0.01);
}

#[test]
fn what_the_wash_carries_is_what_malt_mash_and_ferment_leave() {
    let smoke = Smoke::default();
    let wash = in_wash_of(34.0, 400.0, &smoke);
    let per_t = phenols(&wash) * 400.0;
    assert!((per_t - 34.0 * 0.955 * 0.675 * 0.95).abs() < 1e-9, "{per_t} g/t");
    let whole = smoke.phenol_share + smoke.cresol_share + smoke.guaiacol_share;
    assert!((whole - 1.0).abs() < 1e-12);
    let cresols = smoke.o_cresol_share + smoke.m_cresol_share + smoke.p_cresol_share;
    assert!((cresols - 1.0).abs() < 1e-12);
}

#[test]
fn every_congener_has_a_level_and_a_source_or_is_smoke() {
    for congener in &CONGENERS {
        let typical = TYPICAL.iter().any(|t| t.key == congener.key);
        assert_eq!(typical, congener.group != Group::Smoke, "{}", congener.key);
        assert_eq!(typical, typical_source(congener.key).is_some());
    }
    assert_eq!(TYPICAL.len() + 5, CONGENERS.len());
}

#[test]
fn makes_differ_by_their_smoke_and_in_nothing_else() {
    let house = quernholm();
    let wash = |key: &str| in_wash(&house, house.make(key).expect("a make"));
    let (pale, ember) = (wash("pale"), wash("ember"));
    assert_eq!(phenols(&pale), 0.0);
    assert!(phenols(&ember) > 0.04, "{} g/L", phenols(&ember));
    for ((congener, pale), (_, ember)) in pale.iter().zip(&ember) {
        if congener.group != Group::Smoke {
            assert_eq!(pale, ember, "{}", congener.key);
        }
    }
}

#[test]
fn a_landrace_gives_less_alcohol_and_so_more_smoke_a_litre() {
    let house = quernholm();
    let smoke = Smoke::default();
    let litres = |key: &str| wash_pure_l_t(&house, house.make(key).expect("a make"), &smoke);
    println!("pale {:.1}, feather {:.1} L/t", litres("pale"), litres("feather"));
    assert!((395.0..425.0).contains(&litres("pale")));
    assert!(litres("feather") < 0.95 * litres("pale"));
}
