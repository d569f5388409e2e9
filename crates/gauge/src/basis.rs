//! Moisture on the wrong basis: per cent where a share is meant, water on dry matter where water of
//! the whole is meant. It is asked about, never guessed.

use crate::fault::plain;
use std::ops::RangeInclusive;

/// Gives the question to ask about a moisture outside its range; nothing for other figures, and
/// nothing when no reading of it would be allowed.
///
/// `w = M/(1 + M)`, `M = w/(1 - w)`: `w` of the whole, `M` on dry matter.
pub(crate) fn question(field: &str, value: f64, allowed: RangeInclusive<f64>) -> Option<String> {
    let key = field.rsplit('.').next()?;
    if !key.contains("moisture") || *allowed.end() > 2.0 {
        return None;
    }
    let readings: &[(f64, &str)] = if key.ends_with("_wet") {
        &[
            (value / 100.0, "a share of 1, not per cent"),
            (value / (1.0 + value), "of the whole, not on dry matter"),
            (value / (100.0 + value), "of the whole, not per cent of dry matter"),
        ]
    } else if key.ends_with("_dry") {
        &[
            (value / 100.0, "a share of 1, not per cent"),
            (value / (100.0 - value), "on dry matter, for that many per cent of the whole"),
        ]
    } else {
        return None;
    };
    let asked: Vec<String> = readings
        .iter()
        // What is a share already is not a per cent.
        .filter(|(_, means)| value > 1.0 || !means.contains("per cent"))
        .filter(|(meant, _)| allowed.contains(meant))
        .map(|(meant, means)| format!("{} ({means})", plain((meant * 1e4).round() / 1e4)))
        .collect();
    (!asked.is_empty()).then(|| format!("is {} meant?", asked.join(" or ")))
}

#[cfg(test)]
mod tests {
    use crate::Fault;

    fn told(field: &'static str, value: f64, low: f64, high: f64) -> String {
        Fault::check(field, value, "kg/kg", low..=high).unwrap_err().to_string()
    }

    #[test]
    fn per_cent_for_a_share_is_asked_about() {
        let says = told("bed.moisture_dry", 45.0, 0.03, 1.2);
        assert!(says.contains("is 0.45 (a share of 1, not per cent)"), "{says}");
        assert!(says.contains("or 0.8182 (on dry matter"), "{says}");
        let says = told("barley.moisture_wet", 12.0, 0.06, 0.25);
        assert!(says.contains("is 0.12 (a share of 1"), "{says}");
    }

    #[test]
    fn water_on_dry_matter_for_water_of_the_whole_is_asked_about() {
        let says = told("piece.moisture_wet", 0.82, 0.25, 0.55);
        assert!(says.ends_with("is 0.4505 (of the whole, not on dry matter) meant?"), "{says}");
        let says = told("piece.moisture_wet", 82.0, 0.25, 0.55);
        assert!(says.contains("0.4505 (of the whole, not per cent of dry matter)"), "{says}");
    }

    #[test]
    fn nothing_is_asked_where_no_reading_would_do() {
        assert!(!told("barley.moisture_wet", 400.0, 0.06, 0.25).contains("meant"));
        assert!(!told("hand.turn_every_h", 96.0, 1.0, 48.0).contains("meant"));
        assert!(!told("barley.moisture_wet", f64::NAN, 0.06, 0.25).contains("meant"));
    }
}
