//! A thing noted: what was sent is read, checked, put in the book once, and answered.

use super::ask::{Ask, Scale, Wanted};
use crate::app::{App, Working};
use crate::form::{self, Wrong};
use book::{BookFault, Moment, Noted, Noting, Role};
use jiff::{Timestamp, ToSpan};
use std::collections::HashMap;

/// What stands in a form: typed, wrong, or not yet anything.
#[derive(Debug, Clone, Default)]
pub(in crate::places) struct Filled {
    /// The id made for it.
    pub(in crate::places) id: String,
    /// The row it belongs to.
    pub(in crate::places) row: String,
    /// By key, as typed.
    pub(in crate::places) typed: HashMap<String, String>,
    /// By key, why it cannot be used.
    pub(in crate::places) wrong: HashMap<String, Wrong>,
    /// Why the whole cannot be noted.
    pub(in crate::places) why: Vec<String>,
}

/// How the noting ended.
#[derive(Debug)]
pub(in crate::places) enum Ended {
    /// It is in the book.
    InBook(Noted),
    /// Something typed cannot be used; nothing was noted.
    Refused(Filled),
    /// The store cannot take it now; it should be sent again.
    NotNow(String),
}

impl Filled {
    /// A form in which nothing is typed, with an id of its own.
    pub(in crate::places) fn empty(app: &App, row: &str) -> Self {
        Self { id: app.new_id(), row: row.to_owned(), ..Self::default() }
    }

    /// What was sent. The row is a mark in a page and nothing else, so only plain letters of it
    /// are kept.
    pub(in crate::places) fn of(app: &App, pairs: &[(String, String)]) -> Self {
        let typed: HashMap<String, String> = pairs.iter().cloned().collect();
        let letters = |c: &char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
        let row = typed.get("row").map_or(String::new(), |r| r.chars().filter(letters).collect());
        let id = typed.get("id").filter(|id| !id.is_empty() && id.len() <= 100).cloned();
        let mut filled =
            Self { id: id.unwrap_or_else(|| app.new_id()), row, typed, ..Self::default() };
        let taken = filled.typed.remove("take");
        if let Some((name, value)) = taken.as_deref().and_then(|t| t.split_once('=')) {
            filled.typed.insert(name.to_owned(), value.to_owned());
            filled.why.push("The guess stands in its field. Note it when it is right.".to_owned());
        }
        filled
    }

    /// What was typed under `key`.
    pub(in crate::places) fn text(&self, key: &str) -> &str {
        self.typed.get(key).map_or("", String::as_str)
    }

    /// Reads one figure, as it would be noted; a fault is put beside its field.
    pub(in crate::places) fn figure(&mut self, wanted: &Wanted) -> Option<f64> {
        let typed = self.text(wanted.field.key).to_owned();
        match read(wanted, &typed) {
            Ok(value) => value,
            Err(wrong) => {
                self.wrong.insert(wanted.field.key.to_owned(), wrong);
                None
            }
        }
    }
}

/// Reads what was typed for a figure, as it is shown.
pub(in crate::places) fn read(wanted: &Wanted, typed: &str) -> Result<Option<f64>, Wrong> {
    let expected = wanted.expected.map(|(value, _)| value);
    let meant = match (wanted.scale, sheets::figure::typed(typed)) {
        (Scale::Degrees, Some(value)) => form::bare_digits(wanted.scale.meant(value)),
        _ => typed.to_owned(),
    };
    form::read(&wanted.field, &meant, expected)
}

/// Notes what was sent.
pub(in crate::places) fn note(app: &App, open: &Working, ask: &Ask, mut filled: Filled) -> Ended {
    if !filled.why.is_empty() {
        return Ended::Refused(filled);
    }
    let mut pairs: Vec<(String, String)> = ask.about.clone();
    let mut given = 0;
    for wanted in &ask.figures {
        let Some(value) = filled.figure(wanted) else {
            let key = wanted.field.key.to_owned();
            if wanted.needed && !filled.wrong.contains_key(&key) {
                let says = format!("Wanted: {}.", form::allowed(&wanted.field));
                filled.wrong.insert(key, Wrong { says, guess: None });
            }
            continue;
        };
        given += 1;
        let key = wanted.field.key;
        pairs.push((key.to_owned(), exact(wanted.scale.kept(value))));
        if let Some((expected, sd)) = wanted.expected {
            let kept = |v: f64| exact(wanted.scale.kept(v));
            pairs.push((format!("expected.{key}"), kept(expected)));
            pairs.push((format!("expected_sd.{key}"), kept(sd)));
        }
    }
    for word in &ask.words {
        let text = filled.text(&word.key).trim().to_owned();
        if text.is_empty() && word.needed {
            filled.why.push(format!("{} is wanted.", crate::places::called(&word.key)));
        } else if !text.is_empty() {
            pairs.push((word.key.clone(), text));
        }
    }
    if ask.kind.key == "reading" && given == 0 && filled.wrong.is_empty() {
        filled.why.push("Nothing was typed yet. One figure is enough.".to_owned());
    }
    let remark = filled.text("remark").trim().to_owned();
    if ask.kind.key == "reading" && !remark.is_empty() {
        pairs.push(("remark".to_owned(), remark));
    }
    let happened = match happened(app, filled.text("clock")) {
        Ok(at) => at,
        Err(says) => {
            filled.why.push(says);
            app.clock.now()
        }
    };
    if !filled.wrong.is_empty() || !filled.why.is_empty() {
        return Ended::Refused(filled);
    }
    put(app, open, ask, &pairs, (happened, filled))
}

/// A figure with every digit it has: the book rounds, nobody before it.
fn exact(value: f64) -> String {
    // Twelve digits: the conversion from degrees must not leave a tail of nines.
    let text = format!("{value:.12}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn put(
    app: &App,
    open: &Working,
    ask: &Ask,
    pairs: &[(String, String)],
    (happened, mut filled): (Timestamp, Filled),
) -> Ended {
    let zone = app.clock.here().time_zone().clone();
    let moment = |at| Moment::in_zone(at, &zone);
    let role = if ask.kind.writers.contains(&Role::Hand) {
        Role::Hand
    } else {
        ask.kind.writers.first().copied().unwrap_or(Role::Hand)
    };
    let told = pairs.iter().map(|(k, v)| (k.as_str(), v.as_str()));
    let noted = Noting::from_pairs(ask.kind.key, told).and_then(|noting| {
        let noting = noting.id(&filled.id).at(moment(happened)).noted(moment(app.clock.now()));
        open.book.note(&noting.by(role.key().replace('_', " "), role))
    });
    match noted {
        Ok(noted) => Ended::InBook(noted),
        Err(BookFault::Store(fault)) => Ended::NotNow(format!("{fault}.")),
        Err(fault) => {
            blame(&mut filled, ask, &fault);
            Ended::Refused(filled)
        }
    }
}

/// Puts the book's faults beside their fields, or above the form where none bears them.
fn blame(filled: &mut Filled, ask: &Ask, fault: &BookFault) {
    let mut left = true;
    for one in fault.figures() {
        let path = one.field().unwrap_or_default();
        let wanted = ask.figures.iter().find(|w| w.field.key == path);
        if let Some(wanted) = wanted {
            let says = one.to_string().replacen(path, &form::label(&wanted.field), 1) + ".";
            filled.wrong.insert(path.to_owned(), Wrong { says, guess: None });
            left = false;
        } else {
            filled.why.push(format!("{one}."));
            left = false;
        }
    }
    if left {
        filled.why.push(format!("{fault}."));
    }
}

/// When it happened: now, or at a clock of the last day where one is typed.
fn happened(app: &App, clock: &str) -> Result<Timestamp, String> {
    let now = app.clock.here();
    let clock = clock.trim().replace('.', ":");
    if clock.is_empty() {
        return Ok(now.timestamp());
    }
    let wrong = || format!("\u{201c}{clock}\u{201d} is no time of day. Write it as 05:40.");
    let (hour, minute) = clock.split_once(':').ok_or_else(wrong)?;
    let hour: i8 = hour.parse().map_err(|_| wrong())?;
    let minute: i8 = minute.parse().map_err(|_| wrong())?;
    if !(0..24).contains(&hour) || !(0..60).contains(&minute) {
        return Err(wrong());
    }
    let at = now.date().at(hour, minute, 0, 0);
    let zone = now.time_zone().clone();
    let today = at.to_zoned_datetime(zone.clone()).map_err(|_| wrong())?;
    if today.timestamp() <= now.timestamp() {
        return Ok(today.timestamp());
    }
    // Past midnight a hand may still note what was done before it.
    let before = at.checked_sub(1.day()).map_err(|_| wrong())?;
    before.to_zoned_datetime(zone).map(|z| z.timestamp()).map_err(|_| wrong())
}
