//! A plan, in the shape in which it leaves the house: `shiel-plan/1`.

use crate::kind::TaskKind;
use gauge::Node;
use jiff::Timestamp;

/// The word that names this shape.
pub const FORMAT: &str = "shiel-plan/1";

/// What to do when, how good it is, what cannot be met, and what limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The house.
    pub house: String,
    /// SHA-256 of its files, so that a plan of another house is not mistaken for this one's.
    pub house_sha256: String,
    /// Version of the constants it was made with.
    pub constants_version: String,
    /// Last entry of the book it knew.
    pub book_serial: u64,
    /// When it was made.
    pub made_at: Timestamp,
    /// First moment planned.
    pub from: Timestamp,
    /// Last moment planned.
    pub to: Timestamp,
    /// Step of its clock, minutes.
    pub step_min: u32,
    /// What made it.
    pub engine: String,
    /// Seed of what was drawn at random.
    pub seed: u64,
    /// Its aims in order, with value and bound.
    pub ranks: Vec<Rank>,
    /// The weeks.
    pub campaign: Vec<Week>,
    /// The work.
    pub tasks: Vec<Task>,
    /// What was promised.
    pub orders: Vec<Promise>,
    /// What limits it, the greatest first.
    pub limits: Vec<Limit>,
}

/// One aim.
#[derive(Debug, Clone, PartialEq)]
pub struct Rank {
    /// Its place, 1 first.
    pub rank: u32,
    /// What it counts.
    pub name: String,
    /// What the plan reaches.
    pub value: f64,
    /// What no plan can pass.
    pub bound: f64,
    /// Whether the two are shown to be one.
    pub proved: bool,
    /// Seconds spent on it.
    pub seconds: f64,
}

/// One week of the campaign. The counts are by key, in the house's order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Week {
    /// `2026-W10`.
    pub week: String,
    /// Kilnings by kind of malt.
    pub kilnings: Vec<(String, f64)>,
    /// Mashes by make.
    pub mashes: Vec<(String, f64)>,
    /// Bins by kind of malt.
    pub bins: Vec<(String, f64)>,
    /// Makes that begin this week.
    pub starts: Vec<String>,
}

/// One piece of work in a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Its name in the plan.
    pub id: String,
    /// What it is.
    pub kind: TaskKind,
    /// Where.
    pub vessel: String,
    /// From.
    pub start: Timestamp,
    /// To.
    pub end: Timestamp,
    /// The make.
    pub make: String,
    /// The lot, piece or mash.
    pub lot: String,
    /// What is in it.
    pub amounts: Amounts,
    /// What must come before, and how long before.
    pub needs: Vec<Need>,
    /// When hands are wanted.
    pub attended: Vec<Attended>,
    /// Whether it is pinned.
    pub frozen: bool,
    /// Why it stands there.
    pub why: String,
}

/// What a task holds; what is not known or does not apply is left out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Amounts {
    /// Dry grain, kg.
    pub dry_grain_kg: Option<f64>,
    /// Extract, kg.
    pub extract_kg: Option<f64>,
    /// Litres as they lie.
    pub bulk_l: Option<f64>,
    /// Their temperature.
    pub temperature_c: Option<f64>,
    /// Strength, % vol.
    pub strength_pct: Option<f64>,
    /// Litres of pure alcohol.
    pub pure_alcohol_l: Option<f64>,
}

/// A task that must come before another.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// The other task.
    pub task: String,
    /// Least minutes from its end to this one's start.
    pub min_gap_min: f64,
    /// Most minutes.
    pub max_gap_min: f64,
}

/// A time when hands are wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Attended {
    /// From.
    pub from: Timestamp,
    /// To.
    pub to: Timestamp,
    /// How many.
    pub people: u32,
}

/// What became of an order.
#[derive(Debug, Clone, PartialEq)]
pub struct Promise {
    /// The order.
    pub id: String,
    /// The make.
    pub make: String,
    /// When it is due.
    pub due: Timestamp,
    /// How much.
    pub pure_alcohol_l: f64,
    /// When the plan has it whole.
    pub promised: Option<Timestamp>,
    /// Litres times weeks that it is late.
    pub late_l_weeks: f64,
    /// Litres never filled.
    pub short_l: f64,
    /// Chance that it is met.
    pub chance: Option<f64>,
    /// What it waits on.
    pub waits_on: Option<String>,
}

/// What limits the plan in some weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What is scarce.
    pub resource: String,
    /// First week.
    pub from_week: String,
    /// Last week.
    pub to_week: String,
    /// One of what.
    pub unit: String,
    /// Its price by the bound's own prices.
    pub dual: f64,
    /// Its worth found by planning again with more of it.
    pub confirmed: Option<f64>,
    /// Worth of one more in litres of pure alcohol.
    pub worth_pure_alcohol_l: f64,
}

impl Plan {
    /// As it leaves the house.
    pub fn node(&self) -> Node {
        Node::part([
            ("format", FORMAT.into()),
            ("house", self.house.as_str().into()),
            ("house_sha256", self.house_sha256.as_str().into()),
            ("constants_version", self.constants_version.as_str().into()),
            ("book_serial", Node::from(self.book_serial as f64)),
            ("made_at", instant(self.made_at)),
            ("from", instant(self.from)),
            ("to", instant(self.to)),
            ("step_min", f64::from(self.step_min).into()),
            ("engine", self.engine.as_str().into()),
            ("seed", Node::from(self.seed as f64)),
            ("ranks", list(&self.ranks, Rank::node)),
            ("campaign", list(&self.campaign, Week::node)),
            ("tasks", list(&self.tasks, Task::node)),
            ("orders", list(&self.orders, Promise::node)),
            ("limits", list(&self.limits, Limit::node)),
        ])
    }
}

impl Rank {
    fn node(&self) -> Node {
        Node::part([
            ("rank", f64::from(self.rank).into()),
            ("name", self.name.as_str().into()),
            ("value", self.value.into()),
            ("bound", self.bound.into()),
            ("proved", self.proved.into()),
            ("seconds", self.seconds.into()),
        ])
    }
}

impl Week {
    fn node(&self) -> Node {
        let counts = |of: &[(String, f64)]| Node::part(of.iter().map(|(k, n)| (k, (*n).into())));
        Node::part([
            ("week", self.week.as_str().into()),
            ("kilnings", counts(&self.kilnings)),
            ("mashes", counts(&self.mashes)),
            ("bins", counts(&self.bins)),
            ("starts", list(&self.starts, |make| make.as_str().into())),
        ])
    }
}

impl Task {
    fn node(&self) -> Node {
        Node::part([
            ("id", self.id.as_str().into()),
            ("kind", self.kind.word().into()),
            ("vessel", self.vessel.as_str().into()),
            ("start", instant(self.start)),
            ("end", instant(self.end)),
            ("make", self.make.as_str().into()),
            ("lot", self.lot.as_str().into()),
            ("amounts", self.amounts.node()),
            ("needs", list(&self.needs, Need::node)),
            ("attended", list(&self.attended, Attended::node)),
            ("frozen", self.frozen.into()),
            ("why", self.why.as_str().into()),
        ])
    }
}

impl Amounts {
    fn node(self) -> Node {
        let all = [
            ("dry_grain_kg", self.dry_grain_kg),
            ("extract_kg", self.extract_kg),
            ("bulk_l", self.bulk_l),
            ("temperature_c", self.temperature_c),
            ("strength_pct", self.strength_pct),
            ("pure_alcohol_l", self.pure_alcohol_l),
        ];
        Node::part(all.into_iter().filter_map(|(key, value)| Some((key, Node::from(value?)))))
    }
}

impl Need {
    fn node(&self) -> Node {
        Node::part([
            ("task", self.task.as_str().into()),
            ("min_gap_min", self.min_gap_min.into()),
            ("max_gap_min", self.max_gap_min.into()),
        ])
    }
}

impl Attended {
    fn node(&self) -> Node {
        Node::part([
            ("from", instant(self.from)),
            ("to", instant(self.to)),
            ("people", f64::from(self.people).into()),
        ])
    }
}

impl Promise {
    fn node(&self) -> Node {
        let maybe = |value: Option<f64>| value.map_or(Node::Blank, Node::from);
        Node::part([
            ("id", self.id.as_str().into()),
            ("make", self.make.as_str().into()),
            ("due", instant(self.due)),
            ("pure_alcohol_l", self.pure_alcohol_l.into()),
            ("promised", self.promised.map_or(Node::Blank, instant)),
            ("late_l_weeks", self.late_l_weeks.into()),
            ("short_l", self.short_l.into()),
            ("chance", maybe(self.chance)),
            ("waits_on", self.waits_on.as_deref().map_or(Node::Blank, Node::from)),
        ])
    }
}

impl Limit {
    fn node(&self) -> Node {
        Node::part([
            ("resource", self.resource.as_str().into()),
            ("from_week", self.from_week.as_str().into()),
            ("to_week", self.to_week.as_str().into()),
            ("unit", self.unit.as_str().into()),
            ("dual", self.dual.into()),
            ("confirmed", self.confirmed.map_or(Node::Blank, Node::from)),
            ("worth_pure_alcohol_l", self.worth_pure_alcohol_l.into()),
        ])
    }
}

fn list<T>(of: &[T], node: impl Fn(&T) -> Node) -> Node {
    Node::List(of.iter().map(node).collect())
}

/// RFC 3339 with its offset.
fn instant(at: Timestamp) -> Node {
    at.display_with_offset(jiff::tz::Offset::UTC).to_string().into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_leaves_with_every_key_of_the_contract() {
        let at: Timestamp = "2026-11-25T06:00:00Z".parse().expect("an instant");
        let task = Task {
            id: "m1".into(),
            kind: TaskKind::Mash,
            vessel: "mash_tun".into(),
            start: at,
            end: at,
            make: "ember".into(),
            lot: "7".into(),
            amounts: Amounts { bulk_l: Some(12_900.0), ..Amounts::default() },
            needs: vec![Need { task: "g1".into(), min_gap_min: 0.0, max_gap_min: 600.0 }],
            attended: vec![Attended { from: at, to: at, people: 2 }],
            frozen: false,
            why: "the calendar".into(),
        };
        let plan = Plan {
            house: "Quernholm".into(),
            house_sha256: "00".into(),
            constants_version: "1".into(),
            book_serial: 9,
            made_at: at,
            from: at,
            to: at,
            step_min: 30,
            engine: "clock".into(),
            seed: 1,
            ranks: Vec::new(),
            campaign: vec![Week { week: "2026-W48".into(), ..Week::default() }],
            tasks: vec![task],
            orders: Vec::new(),
            limits: Vec::new(),
        };
        let node = plan.node();
        let Node::Part(entries) = &node else { panic!("a part") };
        let keys: Vec<&str> = entries.iter().map(|(key, _)| key.as_str()).collect();
        assert_eq!(
            keys.join(" "),
            "format house house_sha256 constants_version book_serial made_at from to step_min \
             engine seed ranks campaign tasks orders limits"
        );
        assert_eq!(node.at("tasks[0].start"), Some(&"2026-11-25T06:00:00+00:00".into()));
        assert_eq!(node.at("tasks[0].amounts.bulk_l"), Some(&Node::Number(12_900.0)));
        assert_eq!(node.at("tasks[0].amounts.strength_pct"), None);
    }
}
