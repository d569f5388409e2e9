//! `shiel reckon` as the contract has it: flags, CSV in and out, JSON, exit status.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

fn shiel(args: &[&str]) -> Output {
    let mut whole = vec!["reckon"];
    whole.extend(args);
    Command::new(env!("CARGO_BIN_EXE_shiel")).args(whole).output().expect("the binary is built")
}

fn shiel_fed(args: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_shiel"))
        .arg("reckon")
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

/// Output rows by column name.
fn table(done: &Output) -> (Vec<String>, Vec<csv::StringRecord>) {
    let mut reader = csv::Reader::from_reader(done.stdout.as_slice());
    let header = reader.headers().expect("a header").iter().map(str::to_owned).collect();
    (header, reader.records().map(|row| row.expect("a row")).collect())
}

fn cell<'r>(header: &[String], row: &'r csv::StringRecord, column: &str) -> &'r str {
    let place = header.iter().position(|c| c == column).unwrap_or_else(|| panic!("no {column}"));
    &row[place]
}

fn near(text: &str, wanted: f64, tolerance: f64) {
    let got: f64 = text.parse().unwrap_or_else(|_| panic!("\"{text}\" is not a figure"));
    assert!((got - wanted).abs() <= tolerance, "{got}, wanted {wanted}");
}

#[test]
fn flags_with_underscores_and_with_hyphens_are_the_same() {
    let plain = shiel(&["strength", "--density_kg_m3", "905", "--temperature_c", "15", "--json"]);
    let hyphens = shiel(&["strength", "--density-kg-m3=905", "--temperature-c=15", "--json"]);
    assert_eq!(plain.stdout, hyphens.stdout);
    let result: serde_json::Value = serde_json::from_slice(&plain.stdout).expect("JSON");
    let strength = result["strength_pct"].as_f64().expect("a figure");
    assert!((strength - 63.58253).abs() < 1e-4);
    assert!(result["fault"].is_null() && result["warning"].is_null());
    assert_eq!(plain.status.code(), Some(0));
}

/// Every worked case of the reference table by flags: what the library gives the command prints.
#[test]
fn every_worked_case_comes_out_by_flags() {
    let table = checks::reference("measure_checks.csv");
    table.check(|row| {
        let mut args = vec![row.text("measure").to_owned(), "--json".to_owned()];
        args.extend(row.text("given").split(';').map(|pair| format!("--{pair}")));
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let done = shiel(&args);
        let result: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
        let got = result[row.text("output")].as_f64().unwrap_or(f64::NAN);
        (got, row.number("value"), row.number("tol"))
    });
}

#[test]
fn a_file_keeps_its_columns_and_a_row_at_fault_its_place() {
    let file = "sample,density_kg_m3,temperature_c\n\
                a,905,15\n\
                b,905,55\n\
                c,six,15\n\
                \"d, again\",951.5,12\n";
    let done = shiel_fed(&["strength", "--csv", "-"], file);
    assert_eq!(done.status.code(), Some(1));
    let (header, rows) = table(&done);
    assert_eq!(
        header,
        [
            "sample",
            "density_kg_m3",
            "temperature_c",
            "strength_pct",
            "mass_pct",
            "warning",
            "fault"
        ]
    );
    assert_eq!(rows.len(), 4);
    near(cell(&header, &rows[0], "strength_pct"), 63.58253, 1e-4);
    assert_eq!(cell(&header, &rows[1], "strength_pct"), "");
    assert_eq!(
        cell(&header, &rows[1], "fault"),
        "temperature_c is 55 °C; allowed \u{2212}20 to 40 °C"
    );
    assert_eq!(
        cell(&header, &rows[2], "fault"),
        "density_kg_m3 is \"six\"; a figure in kg/m³ is wanted"
    );
    assert_eq!(cell(&header, &rows[3], "sample"), "d, again");
    near(cell(&header, &rows[3], "strength_pct"), 41.14570, 1e-4);
}

#[test]
fn an_input_that_is_also_a_result_keeps_one_column() {
    let file = "gravity,plato,density_kg_m3\n1.05,,\n,12,\n,,1048.11\n";
    let done = shiel_fed(&["wort", "--csv", "-"], file);
    assert_eq!(done.status.code(), Some(0));
    let (header, rows) = table(&done);
    let wanted = ["gravity", "plato", "density_kg_m3", "extract_kg_m3", "warning", "fault"];
    assert_eq!(header, wanted);
    near(cell(&header, &rows[0], "plato"), 12.3876, 1e-4);
    near(cell(&header, &rows[1], "gravity"), 1.04837, 1e-5);
    near(cell(&header, &rows[2], "gravity"), 1.05, 1e-9);
    assert_eq!(cell(&header, &rows[0], "gravity"), "1.05");
}

#[test]
fn uncertainties_in_give_uncertainties_out() {
    let file = "density_kg_m3,temperature_c,u_density_kg_m3,u_temperature_c\n\
                907.5823,12,0.1,0.15\n907.5823,12,,\n";
    let done = shiel_fed(&["strength", "--csv", "-"], file);
    let (header, rows) = table(&done);
    // −0.4415 % vol per kg/m³ and −0.35 % vol per °C near 63.5 % vol, added in squares.
    let u: f64 = cell(&header, &rows[0], "u_strength_pct").parse().expect("a figure");
    assert!((u - 0.0687).abs() < 0.002, "{u}");
    assert_eq!(cell(&header, &rows[1], "u_strength_pct"), "");
    let plain = shiel_fed(&["strength", "--csv", "-"], "density_kg_m3,temperature_c\n905,15\n");
    assert!(!text(&plain.stdout).contains("u_strength_pct"));
}

#[test]
fn blends_go_by_their_column_one_result_each() {
    let file = "blend,volume_20_l,bulk_l,temperature_c,mass_kg,strength_pct\n\
                x,100,,,,60\ny,,200,10,,63.5\nx,51.3877,,,,0\ny,,150,14,,58\ny,,80,18,,70\n\
                z,100,,,,160\n";
    let done = shiel_fed(&["blend", "--csv", "-"], file);
    assert_eq!(done.status.code(), Some(1));
    let (header, rows) = table(&done);
    assert_eq!(
        header,
        [
            "blend",
            "mass_kg",
            "volume_20_l",
            "strength_pct",
            "pure_alcohol_l",
            "contraction_l",
            "warning",
            "fault"
        ]
    );
    assert_eq!(rows.len(), 3);
    near(cell(&header, &rows[0], "strength_pct"), 40.0, 1e-4);
    near(cell(&header, &rows[1], "strength_pct"), 62.80076, 1e-4);
    near(cell(&header, &rows[1], "pure_alcohol_l"), 271.6837, 1e-3);
    assert_eq!(cell(&header, &rows[2], "mass_kg"), "");
    assert!(cell(&header, &rows[2], "fault").contains("strength_pct is 160 % vol"));
    let one = shiel_fed(&["blend", "--csv", "-"], "mass_kg,strength_pct\n10,60\n10,161\n");
    assert!(text(&one.stdout).contains("line 3: strength_pct is 161"), "{}", text(&one.stdout));
}

#[test]
fn ice_is_warned_of_and_a_tolerance_echoed() {
    let done = shiel(&["density", "--mass_pct", "10", "--temperature_c", "-10", "--json"]);
    let result: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
    assert_eq!(result["warning"], "frozen");
    assert!(result["density_kg_m3"].is_f64());
    assert_eq!(done.status.code(), Some(0));
    let file = "density_kg_m3,temperature_c,tolerance_kg_m3\n\
                998.3,20,0.2\n998.3,20,\n998.2012305,20,\n";
    let done = shiel_fed(&["strength", "--csv", "-"], file);
    let (header, rows) = table(&done);
    near(cell(&header, &rows[0], "strength_pct"), 0.0, 0.0);
    assert_eq!(cell(&header, &rows[0], "warning"), "tolerance_kg_m3=0.2");
    assert!(cell(&header, &rows[1], "fault").starts_with("density_kg_m3 is 998.3 kg/m³"));
    near(cell(&header, &rows[2], "strength_pct"), 0.0, 0.0);
    assert_eq!(cell(&header, &rows[2], "warning"), "");
}

#[test]
fn wrong_use_ends_with_2_and_a_figure_at_fault_with_1() {
    let code = |args: &[&str]| shiel(args).status.code();
    assert_eq!(code(&[]), Some(2));
    assert_eq!(code(&["strength"]), Some(2));
    assert_eq!(code(&["strenth", "--density_kg_m3", "905"]), Some(2));
    assert_eq!(code(&["strength", "--dichte", "905"]), Some(2));
    assert_eq!(code(&["strength", "--density_kg_m3", "905"]), Some(2));
    assert_eq!(code(&["strength", "--csv", "/nowhere/none.csv"]), Some(2));
    let done = shiel(&["strength", "--density_kg_m3", "1200", "--temperature_c", "20"]);
    assert_eq!(done.status.code(), Some(1));
    assert!(text(&done.stderr).contains("allowed 789.23"), "{}", text(&done.stderr));
    assert!(done.stdout.is_empty());
}

#[test]
fn json_of_a_file_is_one_array_with_the_same_figures() {
    let file = "id,density_kg_m3,temperature_c\na,905,15\nb,nan,15\n";
    let done = shiel_fed(&["strength", "--csv", "-", "--json"], file);
    assert_eq!(done.status.code(), Some(1));
    let rows: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
    assert_eq!(rows.as_array().map(Vec::len), Some(2));
    assert_eq!(rows[0]["id"], "a");
    assert!((rows[0]["strength_pct"].as_f64().expect("a figure") - 63.58253).abs() < 1e-4);
    assert!(rows[1]["strength_pct"].is_null());
    assert!(rows[1]["fault"].as_str().expect("text").contains("not a number"));
    let none = shiel_fed(&["strength", "--csv", "-", "--json"], "density_kg_m3\n");
    assert_eq!(text(&none.stdout), "[]\n");
}

#[test]
fn flags_stand_in_every_row_that_says_nothing_else() {
    let file = "density_kg_m3,temperature_c\n905,\n905,12\n";
    let done = shiel_fed(&["strength", "--csv", "-", "--temperature_c", "15"], file);
    let (header, rows) = table(&done);
    near(cell(&header, &rows[0], "strength_pct"), 63.58253, 1e-4);
    assert!(cell(&header, &rows[1], "strength_pct") != cell(&header, &rows[0], "strength_pct"));
}

#[test]
fn a_slip_in_a_header_is_told_and_rubbish_does_no_harm() {
    let file = "\u{feff}density_kg_m3,temprature_c\n905,15\n905,15,3\n";
    let done = shiel_fed(&["strength", "--csv", "-"], file);
    assert!(text(&done.stderr).contains("temprature_c; is it temperature_c?"));
    assert!(text(&done.stdout).contains("temperature_c is missing"));
    assert!(text(&done.stdout).contains("the row has 3 cells under 2 columns"));
    for rubbish in ["", "\n\n", "\"", "a,b\n\"x", "density_kg_m3\n\u{0}\n", ",,,\n,,,,,,\n"] {
        for measure in gauge::measure::all() {
            let done = shiel_fed(&[measure.key, "--csv", "-"], rubbish);
            assert!(matches!(done.status.code(), Some(0..=2)), "{rubbish:?} {}", measure.key);
        }
    }
}

#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let mut file = String::from("density_kg_m3,temperature_c\n");
    file.push_str(&"905,15\n".repeat(20_000));
    let mut child = Command::new(env!("CARGO_BIN_EXE_shiel"))
        .args(["reckon", "strength", "--csv", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary is built");
    drop(child.stdout.take());
    // It may have ended before it has read everything: that is what is wanted.
    let _ = child.stdin.take().expect("it is piped").write_all(file.as_bytes());
    let done = child.wait_with_output().expect("it ends");
    assert!(done.stderr.is_empty(), "{}", text(&done.stderr));
    assert_eq!(done.status.code(), Some(0));
}
