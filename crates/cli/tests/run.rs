//! `shiel run` and `shiel check` as a person types them: what is printed and how they end.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

fn shiel(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_shiel")).args(args).output().expect("the binary is built")
}

fn shiel_fed(args: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_shiel"))
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary is built");
    child.stdin.take().expect("it is piped").write_all(input.as_bytes()).expect("it reads");
    child.wait_with_output().expect("it ends")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("text")
}

#[test]
fn every_stage_prints_an_example_a_schema_and_runs_its_example() {
    for face in process::faces() {
        let example = text(&shiel(&["run", face.key, "--example"]).stdout);
        let schema = shiel(&["run", face.key, "--schema"]);
        let schema: serde_json::Value = serde_json::from_slice(&schema.stdout).expect("JSON");
        assert_eq!(schema["type"], "object", "{}", face.key);
        let done = shiel_fed(&["run", face.key, "-", "--json"], &example);
        assert!(done.status.success(), "{}: {}", face.key, text(&done.stderr));
        let result: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
        assert!(result["balance"].is_object(), "{}: no balance", face.key);
        let curves = shiel_fed(&["run", face.key, "-", "--curves", "-"], &example);
        let rows = text(&curves.stdout).lines().count();
        // What happens at once, and a circuit that has settled, have no course: a head alone.
        let at_once = ["circuit", "reduce", "fill"].contains(&face.key);
        let least = if at_once { 1 } else { 3 };
        assert!(rows >= least, "{}: {rows} rows of curves", face.key);
    }
}

#[test]
fn a_cut_is_proposed_from_a_case_and_what_cannot_be_had_is_said() {
    let example = text(&shiel(&["propose", "cut", "--example"]).stdout);
    let schema = shiel(&["propose", "cut", "--schema"]);
    let schema: serde_json::Value = serde_json::from_slice(&schema.stdout).expect("JSON");
    assert!(schema["properties"]["wanted"].is_object(), "{schema}");
    let done = shiel_fed(&["propose", "cut", "-", "--json"], &example);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let result: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
    let most = result["heart"]["pure_alcohol_l"].as_f64().expect("a figure");
    let present = result["present"]["pure_alcohol_l"].as_f64().expect("a figure");
    assert!(most > 0.0 && present > 0.0, "{result}");
    let least = example.find("least_strength_pct").expect("the example wants a strength");
    let end = least + example[least..].find('\n').expect("a line");
    let wild = format!("{}least_strength_pct = 94.0{}", &example[..least], &example[end..]);
    let done = shiel_fed(&["propose", "cut", "-"], &wild);
    assert!([1, 3].contains(&done.status.code().expect("it ends")), "{}", text(&done.stdout));
    assert!(text(&done.stderr).contains("94"), "{}", text(&done.stderr));
    assert!(done.stdout.is_empty(), "nothing is half shown");
}

#[test]
fn a_bad_case_tells_every_fault_with_its_line_and_ends_with_1() {
    let example = text(&shiel(&["run", "kiln", "--example"]).stdout);
    let bad = example
        .replace("temperature_c = 18.0", "temperature_c = \"warm\"\ntemprature_c = 18.0")
        .replace("area_m2 = 52.0", "area_m2 = -3.0");
    let done = shiel_fed(&["run", "kiln", "-"], &bad);
    assert_eq!(done.status.code(), Some(1));
    let says = text(&done.stderr);
    assert!(says.contains("bed.temperature_c is \"warm\"; a figure in °C is wanted"), "{says}");
    assert!(says.contains("is it temperature_c?"), "{says}");
    assert!(says.contains("plant.area_m2 is \u{2212}3 m²; allowed"), "{says}");
    assert!(done.stdout.is_empty(), "nothing is half shown");
}

#[test]
fn broken_syntax_is_told_along_with_the_figures() {
    let done = shiel_fed(&["run", "kiln", "-"], "[bed]\ndepth_m = = 3\nmoisture_dry = 99\n");
    assert_eq!(done.status.code(), Some(1));
    let says = text(&done.stderr);
    assert!(says.contains("bed.moisture_dry is 99 kg/kg; allowed"), "{says}");
    assert!(says.matches('×').count() >= 3, "{says}");
}

#[test]
fn wrong_use_ends_with_2() {
    assert_eq!(shiel(&["run", "no_such_stage", "x.toml"]).status.code(), Some(2));
    assert_eq!(shiel(&["run", "kiln"]).status.code(), Some(2));
    assert_eq!(shiel(&["--help"]).status.code(), Some(0));
}

#[test]
fn rubbish_is_refused_in_words() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_shiel"))
        .args(["run", "kiln", "-"])
        .stdin(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary is built");
    child.stdin.take().expect("it is piped").write_all(&[0xff, 0xfe, 0, 1]).expect("it reads");
    let done = child.wait_with_output().expect("it ends");
    assert_eq!(done.status.code(), Some(1));
    assert!(text(&done.stderr).contains("not UTF-8"), "{}", text(&done.stderr));
}

#[test]
fn the_demo_house_is_sound_and_a_missing_one_is_said() {
    let top = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let done = shiel(&["check", &format!("{top}/houses/quernholm")]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let done = shiel(&["check", &format!("{top}/houses/no_such_house"), "--json"]);
    assert_eq!(done.status.code(), Some(1));
    let told: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
    assert_eq!(told["ok"], false);
}
