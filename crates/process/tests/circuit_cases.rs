//! The circuit by case file: seasons, weeks, and what is refused in words.

mod shared;

use gauge::{Fault, Node};
use process::{Face, Report, faces};
use shared::{case, example};

fn face() -> Face {
    faces().into_iter().find(|face| face.key == "circuit").expect("the circuit is enrolled")
}

fn run(text: &str) -> Result<Report, Vec<Fault>> {
    (face().run)(&case(text))
}

fn ran(text: &str) -> Report {
    run(text).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn refused(text: &str, field: &str, words: &[&str]) {
    let Err(faults) = run(text) else { panic!("nothing refused; {field} should be") };
    let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert!(faults.iter().any(|fault| fault.field() == Some(field)), "{field}: {told:?}");
    for word in words {
        assert!(told.iter().any(|says| says.contains(word)), "{word}: {told:?}");
    }
}

fn number(node: &Node, path: &str) -> f64 {
    node.at(path).and_then(Node::number).unwrap_or_else(|| panic!("no {path}"))
}

fn list<'n>(node: &'n Node, path: &str) -> &'n [Node] {
    match node.at(path) {
        Some(Node::List(items)) => items,
        _ => panic!("no list {path}"),
    }
}

const TOP: &str = r#"
product = "spirit.heart"
"#;
const WASH: &str = r"
[wash]
ethanol_mol = 13700.0
water_mol = 514000.0
[wash.congeners]
phenol = 1.0
";
const STILLS: &str = r#"
[[still]]
name = "wash"
charge = [{ from = "wash" }]
[[still.cut]]
name = "low_wines"
until_strength_pct = 1.0
[[still]]
name = "middle"
charge = [{ from = "wash.low_wines", fraction = 0.4 }]
[[still.cut]]
name = "all"
until_strength_pct = 1.0
[[still]]
name = "spirit"
least_charge_20_l = 1500.0
charge = [
    { from = "wash.low_wines", fraction = 0.6 },
    { from = "middle.all" },
    { from = "spirit.foreshots" },
    { from = "spirit.feints" },
]
[[still.cut]]
name = "foreshots"
until_charge_fraction = 0.01
[[still.cut]]
name = "heart"
until_strength_pct = 62.0
[[still.cut]]
name = "feints"
until_strength_pct = 1.0
"#;
const PHASES: &str = r#"
[[phase]]
name = "feather"
family = "pale"
cycles = 5
[[phase]]
name = "pale"
family = "pale"
cycles = 4
change_h = 12.0
without = ["middle"]
[[phase.still]]
name = "spirit"
charge = [{ from = "wash.low_wines" }, { from = "spirit.foreshots" }, { from = "spirit.feints" }]
[[phase]]
name = "ember"
cycles = 4
feints = "apart"
change_h = 1.0
without = ["middle"]
[phase.wash]
ethanol_mol = 14100.0
water_mol = 512000.0
[phase.wash.congeners]
phenol = 40.0
[[phase.still]]
name = "spirit"
charge = [{ from = "wash.low_wines" }, { from = "spirit.foreshots" }, { from = "spirit.feints" }]
[[phase.still.cut]]
name = "foreshots"
until_charge_fraction = 0.015
[[phase.still.cut]]
name = "heart"
until_strength_pct = 57.0
[[phase.still.cut]]
name = "feints"
until_strength_pct = 1.0
[[phase]]
name = "feather"
family = "pale"
cycles = 4
feints = "worked_off"
change_h = 48.0
transition_runs = 2
"#;

#[test]
fn a_season_by_case_tells_cycles_accounts_and_stock() {
    let report = ran(&format!("close = true\n{TOP}{WASH}{STILLS}{PHASES}"));
    assert_eq!(report.balance.open(), vec![]);
    let result = &report.result;
    // What the contract names is there, of the last cycle with wash.
    for key in ["passes_with_recycle", "distinct_stills", "product_per_wash_alcohol", "residual"] {
        assert!(number(result, key).is_finite(), "{key}");
    }
    assert!((number(result, "distinct_stills") - 2.4).abs() < 0.005);
    let history = list(result, "history");
    let washed = history.iter().filter(|row| row.get("kind") == Some(&Node::Text("wash".into())));
    assert_eq!(washed.count(), 17);
    assert!((number(result, "change_h") - 61.0).abs() < 1e-9);
    let changes = list(result, "changes");
    assert_eq!(changes.len(), 3);
    assert_eq!(changes[0].get("feints"), Some(&Node::Text("mixed".into())));
    // Every cycle: make, product or transition, and what stands.
    for row in history {
        let made = number(row, "product_pure_alcohol_l");
        let transition = number(row, "transition_pure_alcohol_l");
        assert_eq!(row.get("transition"), Some(&Node::Flag(transition > 0.0)));
        assert!(made + transition > 0.0);
        for held in list(row, "receivers") {
            let (litres, pct) = (number(held, "volume_20_l"), number(held, "strength_pct"));
            let pure = number(held, "pure_alcohol_l");
            assert!((litres * pct / 100.0 / pure - 1.0).abs() < 1e-6);
        }
    }
    assert!(number(result, "transition.pure_alcohol_l") > 0.0);
    // Ember's feints, worked off, stand apart from Feather's.
    let families: Vec<&Node> =
        list(result, "stock").iter().filter_map(|held| held.get("family")).collect();
    assert!(families.contains(&&Node::Text("ember".into())), "{families:?}");
    assert!(families.contains(&&Node::Text("pale".into())), "{families:?}");
    // Its smoke goes with them, not into the others' heart.
    let per_l = |make: &str| {
        let at = |key: &str| number(result, &format!("products.{make}.{key}"));
        at("congeners.phenol") / at("pure_alcohol_l")
    };
    assert!(per_l("ember") > 20.0 * per_l("pale"), "{} {}", per_l("ember"), per_l("pale"));
    assert_eq!(report.curves.rows(), history.len());
}

#[test]
fn a_week_by_case_is_whole_charges() {
    let stills = STILLS
        .replace("least_charge_20_l = 1500.0", "charge_20_l = 2400.0")
        .replace("name = \"middle\"", "name = \"middle\"\ncharge_20_l = 2000.0");
    let report = ran(&format!("{TOP}{WASH}{stills}[week]\nwashes = 9\nslack = 0.03\n"));
    let weeks = list(&report.result, "weekly.weeks");
    assert_eq!(weeks.len() as f64, number(&report.result, "weekly.period_weeks"));
    assert!(list(weeks.last().expect("a week"), "over").is_empty());
    let whole = number(&report.result, "weekly.stills.spirit.whole_charges");
    assert!(whole.fract() == 0.0 && whole >= 9.0);
}

#[test]
fn the_worm_washed_and_the_fire_changed_are_read_as_in_a_still_alone() {
    let stills = STILLS
        .replace("name = \"spirit\"\n", "name = \"spirit\"\nfilm_20_l = 30.0\nheat_w = 200e3\n")
        .replace("until_charge_fraction = 0.01", "until_demisted = true")
        .replace("charge = [{ from = \"wash\" }]", "heat_w = 400e3\ncharge = [{ from = \"wash\" }]")
        .replace("name = \"middle\"", "name = \"middle\"\nheat_w = 150e3\ntemperature_c = 40.0");
    let stills = format!(
        "{stills}[[still.heat]]\nfrom_s = 3600.0\nheat_w = 260e3\n[constants]\nhaze_ratio = 25.0\n"
    );
    let report = ran(&format!("energy = true\n{TOP}{WASH}{stills}"));
    assert_eq!(report.balance.open(), vec![]);
    // c0 exp(-V / V_film) comes down by the haze ratio: V = 30 ln 25 litres.
    let streams = report.result.get("streams").expect("streams");
    let litres = number(streams.get("spirit.foreshots").expect("foreshots"), "volume_20_l");
    assert!((litres - 30.0 * 25.0_f64.ln()).abs() < 1e-3, "{litres}");
    assert!(number(&report.result, "stills.middle.heat_up_h") > 0.1);
    assert!(number(&report.result, "stills.spirit.run_h") > 1.0);
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    // No wash for a phase, and none for all.
    let text = format!("{TOP}{STILLS}{PHASES}");
    refused(&text, "phase[0].wash", &["a wash of its own, or one [wash] for all phases"]);
    // A still that is not there, with the near name.
    let text = format!("{TOP}{WASH}{STILLS}{}", PHASES.replacen("[\"middle\"]", "[\"midle\"]", 1));
    refused(&text, "phase[1].without[0]", &["is it middle?"]);
    // What the change leaves behind has nowhere to go.
    let text = PHASES.replace("feints = \"apart\"", "feints = \"mixt up\"");
    refused(
        &format!("{TOP}{WASH}{STILLS}{text}"),
        "phase[2].feints",
        &["mixed, apart, worked_off"],
    );
    // Cycles of all and of each.
    let text = format!("cycles = 3\n{TOP}{WASH}{STILLS}{PHASES}");
    refused(&text, "cycles", &["each phase has its own cycles"]);
    refused(&format!("close = true\n{TOP}{WASH}{STILLS}"), "close", &["cycles = 1 or more"]);
    // Feints that nothing takes, in one phase alone.
    let text = PHASES.replacen(", { from = \"spirit.feints\" }", "", 1);
    let text = format!("{TOP}{WASH}{STILLS}{text}");
    refused(&text, "phase[1].still[1].cut[2]", &["spirit.feints goes nowhere", "[[stock]]"]);
    // Shares over one.
    let text = STILLS.replace("fraction = 0.6", "fraction = 0.7");
    refused(&format!("{TOP}{WASH}{text}"), "still[2].charge[0].fraction", &["is 1.1; at most 1"]);
    // A time without a fire.
    let text = STILLS.replace("until_charge_fraction = 0.01", "until_time_s = 600.0");
    refused(&format!("{TOP}{WASH}{text}"), "still[2].cut[0].until_time_s", &["energy = true"]);
}

#[test]
fn the_example_warns_of_nothing() {
    let report = (face().run)(&example(&face())).expect("its own example");
    assert!(report.warnings.is_empty(), "{:?}", report.warnings);
    assert!(number(&report.result, "residual") <= 1e-8);
}
