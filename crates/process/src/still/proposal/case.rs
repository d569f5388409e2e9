//! Cuts proposed by case file: a case of the still, and what is wanted.

use gauge::{Fault, Field, Node, Reader};

use super::{
    LEAST_FROM, LEAST_PHENOLS, LEAST_STRENGTH, Limit, MOST_G_HL, MOST_PHENOLS, Proposal, Tradeoff,
    Wanted, propose,
};
use crate::still::case::{Case, Still};
use crate::still::{CONGENERS, Congener, Trace};
use crate::{Curves, Report, Stage};

/// The proposal of a cut.
#[derive(Debug, Clone, Copy)]
pub struct ProposeCut;

/// A case: the still's, and what is wanted of the heart.
#[derive(Debug, Clone, PartialEq)]
pub struct CutCase {
    /// The run.
    pub still: Case,
    /// Which of its cuts is the heart.
    pub heart: Option<String>,
    /// What is wanted of it.
    pub wanted: Wanted,
}

fn read_limit(reader: &mut Reader<'_>) -> Option<Limit> {
    let name = reader.word("congener");
    let most_g_hl = reader.number(&MOST_G_HL);
    if let Some(congener) = Congener::named(&name) {
        return Some(Limit { congener, most_g_hl });
    }
    if !name.is_empty() {
        let allowed = CONGENERS.iter().map(|c| c.key.to_owned()).collect();
        reader.fault(Fault::NotAllowed { field: "congener".into(), found: name, allowed });
    }
    None
}

impl Stage for ProposeCut {
    const KEY: &'static str = "cut";
    const TITLE: &'static str = "Cuts of a spirit run";
    const DOES: &'static str =
        "Finds the heart with the most pure alcohol that keeps to what is wanted of it.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = CutCase;

    fn read(reader: &mut Reader<'_>) -> CutCase {
        let still = Still::read(reader);
        let (heart, wanted) = reader.section("wanted", |part| {
            let optional = |part: &mut Reader<'_>, field: &Field| part.optional(field);
            let wanted = Wanted {
                most_phenols_mg_l: optional(part, &MOST_PHENOLS),
                least_phenols_mg_l: optional(part, &LEAST_PHENOLS),
                least_strength_pct: optional(part, &LEAST_STRENGTH),
                least_from_s: optional(part, &LEAST_FROM),
                limits: Vec::new(),
            };
            let heart = part.optional_word("heart");
            let limits = part.list("limit", read_limit);
            (heart, Wanted { limits: limits.into_iter().flatten().collect(), ..wanted })
        });
        CutCase { still, heart, wanted }
    }

    fn report(case: &CutCase) -> Result<Report, Vec<Fault>> {
        let Case { charge, vessel, programme, constants } = &case.still;
        let one = |fault| vec![fault];
        let trace = Trace::of(charge, vessel, programme, constants).map_err(one)?;
        let run = trace.run();
        let called = case.heart.as_deref().unwrap_or("heart");
        let Some(place) = run.cuts.iter().position(|cut| cut.name == called) else {
            return Err(vec![Fault::NotAllowed {
                field: "wanted.heart".into(),
                found: called.to_owned(),
                allowed: run.cuts.iter().map(|cut| cut.name.clone()).collect(),
            }]);
        };
        let from_s = place.checked_sub(1).map_or(0.0, |before| run.cuts[before].end_s);
        let present = (from_s, run.cuts[place].distillate_strength_pct);
        let proposal = propose(&trace, &case.wanted, Some(present)).map_err(one)?;
        Ok(Report {
            result: proposal.node(),
            curves: proposal.curves(),
            balance: run.balance.clone(),
            warnings: run.warnings.clone(),
        })
    }
}

impl Tradeoff {
    fn node(&self) -> Node {
        Node::part(KEYS.into_iter().zip(self.row()).map(|((key, _), value)| (key, value.into())))
    }
    fn row(&self) -> [f64; 5] {
        [
            self.heart_from_s,
            self.heart_to_pct,
            self.pure_alcohol_l,
            self.strength_pct,
            self.phenols_mg_l,
        ]
    }
}

const KEYS: [(&str, &str); 5] = [
    ("heart_from_s", "s"),
    ("heart_to_pct", "% vol"),
    ("pure_alcohol_l", "L"),
    ("strength_pct", "% vol"),
    ("phenols_mg_l", "mg/L"),
];

impl Proposal {
    /// As a result.
    pub fn node(&self) -> Node {
        let words = self.binds.iter().map(|word| Node::from(word.as_str())).collect();
        let frontier = self.frontier.iter().map(Tradeoff::node).collect();
        let mut entries = vec![
            ("heart_from_s", Node::from(self.heart_from_s)),
            ("heart_from_pct", self.heart_from_pct.into()),
            ("heart_to_pct", self.heart_to_pct.into()),
            ("phenols_mg_l", self.short.phenols_mg_l.into()),
            ("heart", self.heart.node()),
            ("binds", Node::List(words)),
            ("frontier", Node::List(frontier)),
        ];
        if let Some(present) = &self.present {
            entries.push(("present", present.node()));
        }
        Node::part(entries)
    }
    /// The trade-off as columns, to be drawn.
    pub fn curves(&self) -> Curves {
        let mut curves = Curves::new(KEYS);
        for one in &self.frontier {
            curves.push(&one.row());
        }
        curves
    }
}

const EXAMPLE: &str = r#"# How long may the heart of a smoky spirit run be kept?
[charge]
volume_20_l = 6000.0
strength_pct = 24.0
temperature_c = 40.0

# Grams in the charge.
[charge.congeners]
ethyl_acetate = 500.0
3_methyl_1_butanol = 2500.0
2_phenylethanol = 150.0
phenol = 120.0
guaiacol = 60.0
o_cresol = 30.0
p_cresol = 40.0

[still]
pressure_pa = 101325.0
heat_w = 250000.0
head_loss_w_k = 300.0
ambient_c = 20.0

[[cut]]
name = "foreshots"
until_time_s = 1500.0

[[cut]]
name = "heart"
until_strength_pct = 62.0

[[cut]]
name = "feints"
until_strength_pct = 1.0

[wanted]
most_phenols_mg_l = 30.0
least_strength_pct = 66.0

[[wanted.limit]]
congener = "ethyl_acetate"
most_g_hl = 45.0
"#;
