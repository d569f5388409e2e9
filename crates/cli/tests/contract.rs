//! The shapes that the outside relies on: cases, result keys and curve columns, word for word.

use std::io::Write as _;
use std::process::{Command, Stdio};

fn run(stage: &str, case: &str, more: &[&str]) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_shiel"))
        .args(["run", stage, "-"])
        .args(more)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary is built");
    child.stdin.take().expect("it is piped").write_all(case.as_bytes()).expect("it reads");
    let done = child.wait_with_output().expect("it ends");
    assert!(done.status.success(), "{stage}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).expect("text")
}

fn columns(stage: &str, case: &str) -> Vec<String> {
    let csv = run(stage, case, &["--curves", "-"]);
    csv.lines().next().expect("a head").split(',').map(str::to_owned).collect()
}

fn json(stage: &str, case: &str) -> serde_json::Value {
    serde_json::from_str(&run(stage, case, &["--json"])).expect("JSON")
}

fn lacks(have: &[String], want: &str) -> Vec<String> {
    want.split([',', ' ', '\n'])
        .filter(|w| !w.is_empty() && !have.iter().any(|h| h == w))
        .map(str::to_owned)
        .collect()
}

const KILN: &str = "
[bed]
depth_m = 0.40
dry_bulk_kg_m3 = 350.0
moisture_dry = 0.818182
temperature_c = 20.0
[air]
flow_kg_m2_s = 0.18
pressure_pa = 101325.0
[[air.on]]
at_h = 0.0
temperature_c = 60.0
humidity_ratio = 0.008
[solve]
hours = 24.0
cells = 80
step_s = 30.0
every_h = 0.25
";

#[test]
fn the_kiln_case_gives_its_columns() {
    let want = "time_h, mean_moisture_dry, air_off_c, air_off_humidity_ratio, water_out_kg_m2,
        moisture_dry_10, moisture_dry_30, moisture_dry_50, moisture_dry_70, moisture_dry_90,
        grain_c_10, grain_c_30, grain_c_50, grain_c_70, grain_c_90";
    assert_eq!(lacks(&columns("kiln", KILN), want), Vec::<String>::new());
    let rows = run("kiln", KILN, &["--curves", "-"]).lines().count();
    assert_eq!(rows, 1 + 97, "one row every quarter hour of a day, both ends");
}

const CONVERSION: &str = "
enzyme_alpha = 1.0
enzyme_beta = 1.0
every_min = 5.0
[[temperature]]
at_min = 0.0
temperature_c = 64.0
[[temperature]]
at_min = 60.0
temperature_c = 64.0
";

#[test]
fn the_conversion_case_gives_its_columns() {
    let want = "time_min, temperature_c, starch, dextrin, glucose, maltose, maltotriose,
        enzyme_alpha, enzyme_beta";
    assert_eq!(lacks(&columns("conversion", CONVERSION), want), Vec::<String>::new());
}

const FERMENT: &str = "
[wort]
glucose_kg_m3 = 11.0
maltose_kg_m3 = 76.0
maltotriose_kg_m3 = 20.0
dextrin_kg_m3 = 18.0
residual_kg_m3 = 18.0
[yeast]
dry_kg_m3 = 1.10
active_fraction = 0.3
bacteria_kg_m3 = 0.002
[washback]
set_c = 19.0
room_c = 12.0
heat_loss_kj_m3_h_k = 14.4
pressure_pa = 101325.0
ph = 5.45
hours = 120.0
every_h = 6.0
";

#[test]
fn the_ferment_case_gives_its_columns() {
    let want = "time_h, temperature_c, gravity, gravity_reference, ethanol_kg_m3, alcohol_pct,
        glucose_kg_m3, maltose_kg_m3, maltotriose_kg_m3, dextrin_kg_m3, residual_kg_m3,
        yeast_active_kg_m3, yeast_dead_kg_m3, carbon_dioxide_kg_m3, lactic_kg_m3,
        ethanol_lost_kg_m3, ph";
    assert_eq!(lacks(&columns("ferment", FERMENT), want), Vec::<String>::new());
}

const STILL: &str = "
[charge]
ethanol_mol = 33500.0
water_mol = 284000.0
[charge.congeners]
phenol = 1.0
3_methyl_1_butanol = 1.0
[still]
pressure_pa = 101325.0
heat_w = 250000.0
head_loss_w_k = 600.0
ambient_c = 20.0
[[cut]]
name = \"foreshots\"
until_time_s = 1200.0
[[cut]]
name = \"heart\"
until_strength_pct = 62.0
";

#[test]
fn the_still_case_gives_its_keys_and_columns() {
    let want = "time_s, pot_mole_fraction, pot_c, head_c, distillate_strength_pct,
        distillate_rate_mol_s, reflux_ratio, cumulative_pure_alcohol_l";
    assert_eq!(lacks(&columns("still", STILL), want), Vec::<String>::new());
    let result = json("still", STILL);
    let keys = |v: &serde_json::Value| v.as_object().expect("a part").keys().cloned().collect();
    let have: Vec<String> = keys(&result["start"]);
    let want = "boiling_c head_c distillate_strength_pct distillate_rate_mol_s reflux_ratio";
    assert_eq!(lacks(&have, want), Vec::<String>::new());
    let have: Vec<String> = keys(&result["cuts"][1]);
    let want = "name end_s pot_mole_fraction pot_c distillate_strength_pct ethanol_mol water_mol
        volume_20_l strength_pct pure_alcohol_l congeners";
    assert_eq!(lacks(&have, want), Vec::<String>::new());
    let have: Vec<String> = keys(&result["residue"]);
    let want = "ethanol_mol water_mol volume_20_l strength_pct congeners";
    assert_eq!(lacks(&have, want), Vec::<String>::new());
    assert!(result["balance"].is_object());
    assert!(result["cuts"][0]["congeners"]["phenol"].is_number());
}

const CIRCUIT: &str = "
energy = false
pressure_pa = 101325.0
cycles = 0
tolerance = 1e-8
product = \"spirit.heart\"
[wash]
ethanol_mol = 13700.0
water_mol = 514000.0
[wash.congeners]
phenol = 1.0
[[still]]
name = \"wash\"
charge = [{ from = \"wash\" }]
[[still.cut]]
name = \"low_wines\"
until_strength_pct = 1.0
[[still]]
name = \"intermediate\"
charge = [{ from = \"wash.low_wines\", fraction = 0.75 }]
[[still.cut]]
name = \"all\"
until_strength_pct = 1.0
[[still]]
name = \"spirit\"
charge = [
  { from = \"wash.low_wines\", fraction = 0.25 }, { from = \"intermediate.all\" },
  { from = \"spirit.foreshots\" }, { from = \"spirit.feints\" },
]
[[still.cut]]
name = \"foreshots\"
until_charge_fraction = 0.01
[[still.cut]]
name = \"heart\"
until_strength_pct = 60.0
[[still.cut]]
name = \"feints\"
until_strength_pct = 1.0
";

#[test]
fn the_circuit_case_gives_its_keys() {
    let result = json("circuit", CIRCUIT);
    let streams = result["streams"].as_object().expect("streams");
    for name in ["spirit.charge", "spirit.heart", "spirit.residue", "wash.low_wines"] {
        let stream = streams.get(name).unwrap_or_else(|| panic!("no {name}"));
        for key in ["ethanol_mol", "water_mol", "volume_20_l", "strength_pct", "pure_alcohol_l"] {
            assert!(stream[key].is_number(), "{name} has no {key}");
        }
        assert!(stream["congeners"]["phenol"].is_number(), "{name} has no phenol");
    }
    for key in ["passes_with_recycle", "distinct_stills", "product_per_wash_alcohol", "residual"] {
        assert!(result[key].is_number(), "no {key}");
    }
    assert!(result["recycled_fraction"]["spirit"].is_number());
    assert!(result["cycles"].is_number());
    let cycles = CIRCUIT.replace("cycles = 0", "cycles = 3");
    let history = json("circuit", &cycles);
    assert_eq!(history["history"].as_array().expect("a history").len(), 3);
    assert!(history["history"][0]["streams"]["spirit.charge"].is_object());
}
