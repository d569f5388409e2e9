//! Round values for axes.

/// Gives three to five round values inside `low..=high`, and the decimals that show them.
pub fn nice_ticks(low: f64, high: f64) -> (Vec<f64>, u8) {
    let span = high - low;
    if !span.is_finite() || span <= 0.0 {
        return (vec![low], 0);
    }
    let power = 10_f64.powf((span / 4.0).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0];
    let inside = |step: f64| ((high / step + 1e-9).floor() - (low / step - 1e-9).ceil()) + 1.0;
    let step =
        steps.iter().map(|s| s * power).find(|step| inside(*step) <= 5.0).unwrap_or(20.0 * power);
    let first = (low / step - 1e-9).ceil();
    let count = inside(step).max(0.0) as usize;
    let ticks = (0..count).map(|i| (first + i as f64) * step).collect();
    let mut decimals = 0_u8;
    while decimals < 6 {
        let scaled = step * 10_f64.powi(i32::from(decimals));
        if (scaled - scaled.round()).abs() < 1e-9 * scaled.max(1.0) {
            break;
        }
        decimals += 1;
    }
    (ticks, decimals)
}

/// Gives labels for hours of a batch: at most seven, first and last at the edges.
pub fn hour_ticks(last_h: f64) -> Vec<(f64, String)> {
    let step = [0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0, 96.0, 168.0]
        .into_iter()
        .find(|s| last_h / s <= 5.0)
        .unwrap_or(336.0);
    let mut out = vec![(0.0, "0\u{202f}h".to_owned())];
    let mut at = step;
    while at < last_h - 0.4 * step {
        out.push((at, sheets::figure::bare(at)));
        at += step;
    }
    let whole = (last_h * 10.0).round() / 10.0;
    out.push((last_h, format!("{}\u{202f}h", sheets::figure::bare(whole))));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_three_to_five_round_values() {
        for (low, high) in [
            (0.0, 1.0),
            (994.0, 1058.0),
            (-3.0, 17.0),
            (0.0, 0.004),
            (60.0, 73.4),
            (0.0, 13_468.0),
            (14.9, 15.2),
        ] {
            let (ticks, _) = nice_ticks(low, high);
            assert!((2..=5).contains(&ticks.len()), "{low}..{high}: {ticks:?}");
            assert!(ticks.iter().all(|t| *t >= low - 1e-9 && *t <= high + 1e-9), "{ticks:?}");
        }
        assert_eq!(nice_ticks(994.0, 1058.0), (vec![1000.0, 1020.0, 1040.0], 0));
        assert_eq!(nice_ticks(0.0, 1.0).1, 1);
    }

    #[test]
    fn the_hours_of_a_batch_begin_and_end_at_the_edges() {
        let words: Vec<String> = hour_ticks(84.0).into_iter().map(|(_, w)| w).collect();
        assert_eq!(words, ["0\u{202f}h", "24", "48", "72", "84\u{202f}h"]);
        assert!(hour_ticks(3.7).len() <= 7);
    }
}
