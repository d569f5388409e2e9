//! What the changes of make must agree on with the makes.

use crate::check::{Found, MAKES, not_one_of};
use crate::load::House;
use crate::make::{ANY, Make};
use gauge::Fault;
use process::circuit::Feints;

/// Names, feints and barred orders of every change.
pub(crate) fn changes(house: &House, found: &mut Found) {
    let known = || {
        let makes = house.makes.makes.iter().map(|m| m.key.as_str());
        makes.chain(std::iter::once(ANY))
    };
    for (index, change) in house.makes.changes.iter().enumerate() {
        let from = not_one_of(format!("change[{index}].from"), &change.from, known());
        let to = not_one_of(format!("change[{index}].to"), &change.to, known());
        found.extend(from.into_iter().chain(to).map(|f| (MAKES, f)));
        found.extend(feints(house, index).map(|f| (MAKES, f)));
    }
    followed(house, found);
}

/// Feints of two families are not mixed, and those that go to one receiver are not kept apart.
fn feints(house: &House, index: usize) -> Option<Fault> {
    let change = &house.makes.changes[index];
    let refuse = |not: Feints, because: String| Fault::Unworkable {
        field: format!("change[{index}].feints").into(),
        trouble: format!("\"{}\" {because}", not.word()),
        remedy: {
            let others = Feints::WORDS.iter().filter(|word| **word != not.word());
            let others: Vec<String> = others.map(|word| format!("\"{word}\"")).collect();
            format!("say {}", others.join(" or "))
        },
    };
    for from in &house.makes.makes {
        for to in house.makes.makes.iter().filter(|to| to.key != from.key) {
            let first = house.makes.changes.iter().position(|c| c.fits(&from.key, &to.key));
            if first != Some(index) {
                continue;
            }
            match change.feints {
                Some(Feints::Mixed) if from.family != to.family => {
                    let of = format!(
                        "would put feints of {} into {}, which is of another family",
                        from.key, to.key
                    );
                    return Some(refuse(Feints::Mixed, of));
                }
                Some(Feints::Apart) if from.family == to.family => {
                    let of = format!(
                        "keeps nothing apart: {} and {} are of one family and share a receiver",
                        from.key, to.key
                    );
                    return Some(refuse(Feints::Apart, of));
                }
                _ => {}
            }
        }
    }
    None
}

/// A make that may follow none of the others could only be the first of a season.
fn followed(house: &House, found: &mut Found) {
    for to in &house.makes.makes {
        let mut others = house.makes.makes.iter().filter(|from| from.key != to.key).peekable();
        let barred = |from: &Make| {
            house.makes.change(&from.key, &to.key).is_some_and(|change| !change.allowed)
        };
        if others.peek().is_none() || !others.all(barred) {
            continue;
        }
        let mut lines = house.makes.changes.iter();
        let last = lines.rposition(|c| !c.allowed && (c.to == to.key || c.to == ANY));
        found.push((
            MAKES,
            Fault::Unworkable {
                field: format!("change[{}].allowed", last.unwrap_or(0)).into(),
                trouble: format!("{} may follow no other make", to.key),
                remedy: "let one change to it be allowed".to_owned(),
            },
        ));
    }
}
