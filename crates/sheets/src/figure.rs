//! How a figure is written and how a typed one is understood.
//!
//! Thousands are parted by a narrow no-break space, minus is a true minus, a difference always
//! bears its sign, and the unit follows after a narrow space. Decimals are those the caller says.

/// Narrow no-break space: between thousands, and before every unit.
pub const NARROW: char = '\u{202f}';
/// The true minus.
pub const MINUS: char = '\u{2212}';

/// Gives `value` with fixed decimals: `1 240.5`, `−3.20`. What is no number is blank.
pub fn fixed(value: f64, decimals: u8) -> String {
    if !value.is_finite() {
        return String::new();
    }
    dress(&format!("{value:.0$}", usize::from(decimals)), false)
}

/// Gives a difference with fixed decimals and always its sign: `+1.5`, `−1.4`, `0.0`.
pub fn signed(value: f64, decimals: u8) -> String {
    if !value.is_finite() {
        return String::new();
    }
    dress(&format!("{value:.0$}", usize::from(decimals)), true)
}

/// Gives an amount kept in millionths with fixed decimals, rounded half to even.
pub fn millionths(micro: i64, decimals: u8) -> String {
    dress(&millionths_plain(micro, decimals), false)
}

/// Gives a movement kept in millionths, with its sign.
pub fn millionths_signed(micro: i64, decimals: u8) -> String {
    dress(&millionths_plain(micro, decimals), true)
}

/// Gives an amount kept in millionths as a bare decimal with a point: for CSV.
pub fn millionths_plain(micro: i64, decimals: u8) -> String {
    let decimals = u32::from(decimals.min(6));
    let step = 10_i128.pow(6 - decimals);
    let whole = i128::from(micro);
    let (mut kept, left) = (whole.div_euclid(step), whole.rem_euclid(step));
    if left * 2 > step || (left * 2 == step && kept % 2 != 0) {
        kept += 1;
    }
    let sign = if kept < 0 { "-" } else { "" };
    let digits = format!("{:0width$}", kept.abs(), width = decimals as usize + 1);
    let (front, back) = digits.split_at(digits.len() - decimals as usize);
    if back.is_empty() { format!("{sign}{front}") } else { format!("{sign}{front}.{back}") }
}

/// Gives a figure with the digits it has and no more, for the ends of ranges: `0.001`, `1 000 000`.
pub fn bare(value: f64) -> String {
    if !value.is_finite() {
        return String::new();
    }
    if value != 0.0 && (value.abs() < 1e-6 || value.abs() >= 1e12) {
        return power(value);
    }
    let text = format!("{value:.6}");
    dress(text.trim_end_matches('0').trim_end_matches('.'), false)
}

/// Gives a figure to so many significant digits, fixed while that reads well.
pub fn significant(value: f64, digits: u8) -> String {
    if !value.is_finite() {
        return String::new();
    }
    if value != 0.0 && (value.abs() < 1e-6 || value.abs() >= 1e12) {
        return power(value);
    }
    fixed(value, decimals_for(value, digits))
}

/// Gives how many decimals show `value` to so many significant digits, at most nine.
pub fn decimals_for(value: f64, digits: u8) -> u8 {
    if value == 0.0 || !value.is_finite() {
        return digits.saturating_sub(1).min(9);
    }
    let first = value.abs().log10().floor();
    (f64::from(digits) - 1.0 - first).clamp(0.0, 9.0) as u8
}

fn power(value: f64) -> String {
    let text = format!("{value:.2e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let raised: String = exponent
        .chars()
        .map(|c| match c {
            '-' => '\u{207b}',
            '1' => '\u{b9}',
            '2' => '\u{b2}',
            '3' => '\u{b3}',
            c => char::from_u32(0x2070 + (u32::from(c) - u32::from('0'))).unwrap_or(c),
        })
        .collect();
    format!("{}{NARROW}\u{b7}{NARROW}10{raised}", dress(mantissa, false))
}

/// Puts a unit after a written figure, with a narrow space; a figure without a unit stays bare.
pub fn unit(written: &str, unit: &str) -> String {
    if unit.is_empty() || written.is_empty() {
        written.to_owned()
    } else {
        format!("{written}{NARROW}{unit}")
    }
}

/// Gives a range in words, without its unit: `−20 to 40`, `0 or more`.
pub fn range(low: f64, high: f64) -> String {
    let open = |v: f64| v.abs() >= f64::MAX || v.is_infinite();
    match (open(low), open(high)) {
        (false, false) => format!("{} to {}", bare(low), bare(high)),
        (false, true) => format!("{} or more", bare(low)),
        (true, false) => format!("{} or less", bare(high)),
        (true, true) => "any figure".to_owned(),
    }
}

/// Understands a typed figure: comma or point for decimals, spaces between thousands, either minus.
///
/// Where both a comma and a point stand, the last is the decimal mark. A lone comma is a decimal
/// mark, since a person who parts thousands by commas writes a point as well or means a decimal.
pub fn typed(text: &str) -> Option<f64> {
    let mut plain: String = text
        .trim()
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '\'' | '\u{2019}'))
        .map(|c| if c == MINUS || c == '\u{2013}' { '-' } else { c })
        .collect();
    match (plain.rfind(','), plain.rfind('.')) {
        (Some(comma), Some(point)) => {
            let other = if comma > point { '.' } else { ',' };
            plain.retain(|c| c != other);
            plain = plain.replace(',', ".");
        }
        (Some(_), None) => {
            let commas = plain.matches(',').count();
            plain = plain.replace(',', if commas > 1 { "" } else { "." });
        }
        (None, Some(_)) if plain.matches('.').count() > 1 => plain = plain.replace('.', ""),
        _ => {}
    }
    if !plain.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E')) {
        return None;
    }
    plain.parse().ok().filter(|v: &f64| v.is_finite())
}

/// Dresses bare digits with a point: narrow spaces between thousands, true minus, plus if asked.
fn dress(bare: &str, plus: bool) -> String {
    let (negative, digits) = match bare.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, bare),
    };
    let (whole, fraction) = match digits.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits, None),
    };
    // A figure that rounds to nought has no sign: "−0.0" would say something that is not known.
    let nought = digits.chars().all(|c| matches!(c, '0' | '.'));
    let mut out = String::with_capacity(bare.len() + 6);
    if negative && !nought {
        out.push(MINUS);
    } else if plus && !nought {
        out.push('+');
    }
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(NARROW);
        }
        out.push(c);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(text: &str) -> String {
        text.replace(NARROW, "_").replace(MINUS, "m")
    }

    #[test]
    fn thousands_minus_and_decimals_are_in_house_style() {
        assert_eq!(seen(&fixed(1240.0, 0)), "1_240");
        assert_eq!(seen(&fixed(-1472.6, 1)), "m1_472.6");
        assert_eq!(seen(&fixed(999.95, 1)), "1_000.0");
        assert_eq!(seen(&fixed(-0.04, 1)), "0.0");
        assert_eq!(fixed(f64::NAN, 2), "");
        assert_eq!(seen(&signed(1.5, 1)), "+1.5");
        assert_eq!(seen(&signed(-1.4, 1)), "m1.4");
        assert_eq!(signed(0.0, 1), "0.0");
    }

    #[test]
    fn millionths_are_rounded_half_to_even() {
        assert_eq!(millionths_plain(50_000, 1), "0.0");
        assert_eq!(millionths_plain(150_000, 1), "0.2");
        assert_eq!(millionths_plain(-150_000, 1), "-0.2");
        assert_eq!(millionths_plain(-50_000, 1), "0.0");
        assert_eq!(millionths_plain(-1_472_600_000, 6), "-1472.600000");
        assert_eq!(seen(&millionths_signed(814_400_000, 6)), "+814.400000");
        assert_eq!(millionths_plain(i64::MIN, 0), "-9223372036855");
    }

    #[test]
    fn a_range_is_said_in_words() {
        assert_eq!(seen(&range(-20.0, 40.0)), "m20 to 40");
        assert_eq!(seen(&range(0.001, 1e6)), "0.001 to 1_000_000");
        assert_eq!(range(0.0, f64::MAX), "0 or more");
        assert_eq!(range(f64::MIN, f64::MAX), "any figure");
    }

    #[test]
    fn comma_point_and_spaces_are_understood() {
        for (text, want) in [
            ("28,4", 28.4),
            ("28.4", 28.4),
            ("1 052,0", 1052.0),
            ("1\u{202f}052.0", 1052.0),
            ("1,052.0", 1052.0),
            ("1.052,5", 1052.5),
            ("\u{2212}3", -3.0),
            ("1.052", 1.052),
            ("1,000,000", 1e6),
        ] {
            assert_eq!(typed(text), Some(want), "{text}");
        }
        for text in ["", "abc", "2 8 x", "1e999", "nan", "inf", "--1", "."] {
            assert_eq!(typed(text), None, "{text}");
        }
    }

    #[test]
    fn significant_digits_stay_fixed_while_that_reads_well() {
        assert_eq!(significant(122.968, 4), "123.0");
        assert_eq!(significant(0.549_024, 6), "0.549024");
        assert_eq!(seen(&significant(12_345.6, 3)), "12_346");
        assert_eq!(seen(&significant(1.5e-9, 3)), "1.50_·_10⁻⁹");
    }
}
