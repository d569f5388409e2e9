//! Fields: label above, unit inside, range beneath, and a fault beside the figure that bears it.
//!
//! What was typed is kept as it was typed. A fault names the value, what is allowed, and asks
//! whether a likelier figure was meant; taking the guess is one press.

use gauge::Field;
use maud::{Markup, html};
use sheets::figure;

/// One field of a form, as it stands.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Name it is sent under.
    pub name: String,
    /// What stands over it.
    pub label: String,
    /// Unit inside it.
    pub unit: String,
    /// What was typed.
    pub typed: String,
    /// What stands beneath: range, last value, what is taken when it is left empty.
    pub hint: Markup,
    /// Why it cannot be used, and the likelier figure.
    pub wrong: Option<Wrong>,
    /// What stands beneath the hint: expected against noted.
    pub after: Markup,
    /// Prefix that makes its ids unlike those of another form on the page.
    pub prefix: String,
}

/// Why a figure cannot be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Wrong {
    /// The sentence.
    pub says: String,
    /// The figure that may have been meant, as it would be typed.
    pub guess: Option<String>,
}

impl Entry {
    /// A field described by `field`, with what was typed.
    pub fn of(field: &Field, typed: &str) -> Self {
        Self {
            name: field.key.to_owned(),
            label: label(field),
            unit: field.unit.to_owned(),
            typed: typed.to_owned(),
            hint: hint(field),
            wrong: None,
            after: html! {},
            prefix: String::new(),
        }
    }

    /// Draws it.
    pub fn draw(&self) -> Markup {
        let id = format!("{}{}", self.prefix, self.name);
        let why = format!("why-{id}");
        html! {
            div.field.fault[self.wrong.is_some()] {
                label for=(id) { (self.label) }
                div.entry {
                    input id=(id) name=(self.name) value=(self.typed) inputmode="decimal"
                        autocomplete="off" aria-describedby={ (why) " hint-" (id) }
                        aria-invalid=[self.wrong.as_ref().map(|_| "true")];
                    @if !self.unit.is_empty() { span.u { (self.unit) } }
                }
                div.below {
                    (self.why())
                    p.hint id={ "hint-" (id) } { (self.hint) }
                    (self.after)
                }
            }
        }
    }

    /// Only what stands beside the field: for an answer while it is typed in.
    pub fn why(&self) -> Markup {
        html! {
            div.judges id={ "why-" (self.prefix) (self.name) } data-part {
                @if let Some(wrong) = &self.wrong {
                    p.why role="alert" {
                        (wrong.says)
                        @if let Some(guess) = &wrong.guess {
                            " "
                            button name="take" value={ (self.name) "=" (guess) } {
                                "Is it " (guess) "?"
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What a field is called, its key in words where it has no name of its own.
pub fn label(field: &Field) -> String {
    if field.label.is_empty() {
        let words = field.key.replace('_', " ");
        let mut letters = words.chars();
        letters.next().map_or_else(String::new, |first| {
            first.to_uppercase().collect::<String>() + letters.as_str()
        })
    } else {
        field.label.to_owned()
    }
}

/// The same within a sentence: only its first letter is lowered, since °C and pH are names.
pub fn lower(label: &str) -> String {
    let mut letters = label.chars();
    let first = letters.next().map(char::to_lowercase);
    // A label that begins with a name of two capitals (US, pH) stays as it is.
    let second = letters.clone().next();
    match first {
        Some(first) if second.is_none_or(char::is_lowercase) => first.chain(letters).collect(),
        _ => label.to_owned(),
    }
}

/// The range, and what is taken when nothing is typed.
pub fn hint(field: &Field) -> Markup {
    html! {
        (figure::range(field.low, field.high))
        @if let Some(default) = field.default {
            ", " (figure::bare(default)) " if left empty"
        }
    }
}

/// Reads what was typed in `field`: the figure, nothing, or why it cannot be used.
///
/// `expected` helps to guess what was meant; without it the guess is the figure nearest in digits.
pub fn read(field: &Field, typed: &str, expected: Option<f64>) -> Result<Option<f64>, Wrong> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let Some(value) = figure::typed(typed) else {
        return Err(Wrong {
            says: format!(
                "\u{201c}{}\u{201d} is no figure. Allowed is {}.",
                typed.trim(),
                allowed(field)
            ),
            guess: None,
        });
    };
    if value >= field.low && value <= field.high {
        return Ok(Some(value));
    }
    let said = figure::unit(&figure::bare(value), field.unit);
    Err(Wrong {
        says: format!("{said} is outside {}.", allowed(field)),
        guess: guess(field, value, expected).map(bare_digits),
    })
}

/// The allowed range with its unit.
pub fn allowed(field: &Field) -> String {
    figure::unit(&figure::range(field.low, field.high), field.unit)
}

/// Gives the likelier figure when a point was missed or a digit too many was hit: the one inside
/// the range that is nearest to what is expected, or that needs the smallest step.
fn guess(field: &Field, value: f64, expected: Option<f64>) -> Option<f64> {
    let steps = [0.1, 10.0, 0.01, 100.0, -1.0, 0.001, 1000.0];
    let inside = |v: &f64| *v >= field.low && *v <= field.high && *v != 0.0;
    let mut likely = steps.iter().map(|s| value * s).filter(inside);
    match expected {
        None => likely.next(),
        Some(want) => likely.min_by(|a, b| (a - want).abs().total_cmp(&(b - want).abs())),
    }
}

/// A figure as a person would type it, with a point and no spaces.
pub(crate) fn bare_digits(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAT: Field = Field::new("temperature_c", "°C").within(5.0, 45.0);

    #[test]
    fn a_missed_point_is_asked_about_and_never_taken() {
        let wrong = read(&HEAT, "284", Some(28.1)).expect_err("too hot");
        assert_eq!(wrong.says.replace('\u{202f}', " "), "284 °C is outside 5 to 45 °C.");
        assert_eq!(wrong.guess.as_deref(), Some("28.4"));
        assert_eq!(read(&HEAT, "28,4", None), Ok(Some(28.4)));
        assert_eq!(read(&HEAT, " ", None), Ok(None));
        assert!(read(&HEAT, "warm", None).expect_err("no figure").guess.is_none());
        assert!(read(&HEAT, "9e9", None).expect_err("far off").guess.is_none());
    }

    #[test]
    fn what_is_expected_decides_between_guesses() {
        let field = Field::new("volume_l", "L").within(1.0, 500.0);
        let near = |want| read(&field, "2500", Some(want)).expect_err("too much").guess;
        assert_eq!(near(250.0).as_deref(), Some("250"));
        assert_eq!(near(20.0).as_deref(), Some("25"));
    }

    #[test]
    fn typed_text_is_kept_and_escaped() {
        let mut entry = Entry::of(&HEAT, "<b>28</b>");
        entry.wrong = read(&HEAT, "<b>28</b>", None).err();
        let drawn = entry.draw().into_string();
        assert!(drawn.contains("value=\"&lt;b&gt;28&lt;/b&gt;\""), "{drawn}");
        assert!(!drawn.contains("<b>28"), "{drawn}");
        assert!(drawn.contains("aria-invalid=\"true\""));
    }
}
