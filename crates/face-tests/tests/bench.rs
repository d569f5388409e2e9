//! The bench on the page and `shiel reckon` say the same.

mod desk;

use desk::Desk;
use face_tests::{Chrome, Result, fill, plain, says, seen, shiel, text};
use serde_json::Value;
use std::process::Command;

fn by_command(measure: &str, figures: &[(&str, &str)]) -> Value {
    let mut command = Command::new(shiel());
    command.args(["reckon", measure, "--json"]);
    for (key, value) in figures {
        command.arg(format!("--{key}={value}"));
    }
    let output = command.output().expect("it runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let all: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    match all {
        Value::Array(rows) => rows.into_iter().next().expect("a row"),
        one => one,
    }
}

/// A reckoning, what is typed, and the outputs compared.
type Case = (&'static str, &'static [(&'static str, &'static str)], &'static [&'static str]);

#[tokio::test(flavor = "multi_thread")]
async fn the_bench_agrees_with_the_command_to_each_digit_it_shows() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let cases: [Case; 4] = [
        ("strength", &[("density_kg_m3", "902.31"), ("temperature_c", "17.3")], &["strength_pct"]),
        (
            "volume",
            &[("bulk_l", "4321"), ("temperature_c", "12.4"), ("strength_pct", "68.8")],
            &["volume_20_l", "pure_alcohol_l"],
        ),
        (
            "reduce",
            &[
                ("bulk_l", "1234.5"),
                ("temperature_c", "13.7"),
                ("strength_pct", "69.9"),
                ("target_pct", "63.4"),
                ("water_temperature_c", "9.1"),
            ],
            &["water_kg", "final_20_l", "contraction_l"],
        ),
        ("wort", &[("gravity", "1.0617")], &["plato", "extract_kg_m3"]),
    ];
    for (measure, figures, outputs) in cases {
        let page = chrome.open(&desk.at(&format!("/bench/{measure}")), (1440, 1200)).await?;
        for (key, value) in figures {
            fill(&page, key, value).await?;
        }
        page.find_element("h1").await?.click().await?;
        let told = by_command(measure, figures);
        for key in outputs {
            let want = told[key].as_f64().unwrap_or_else(|| panic!("{measure} {key}: {told}"));
            let selector = format!("#out-{key}");
            seen(&page, &selector).await;
            let shown = plain(&text(&page, &selector).await);
            let decimals = shown.split_once('.').map_or(0, |(_, d)| d.len());
            says(&page, &selector, &grouped(want, decimals)).await;
        }
    }
    chrome.end().await;
    Ok(())
}

/// A figure as a page writes it, with plain spaces for narrow ones.
fn grouped(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let (whole, rest) = text.split_once('.').unwrap_or((&text, ""));
    let mut out = String::new();
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(' ');
        }
        out.push(c);
    }
    if rest.is_empty() { out } else { format!("{out}.{rest}") }
}
