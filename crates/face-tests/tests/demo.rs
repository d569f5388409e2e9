//! The demo as `make run` starts it: the real binary, its history made before the browser's eyes,
//! then the first acts of a night watch on it.

use face_tests::{Chrome, Result, click, says, seen, shiel, text};
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const PHONE: (i64, i64) = (390, 844);
const DESK: (i64, i64) = (1440, 900);

/// A demo of its own in a folder of its own.
struct Demo {
    program: Child,
    folder: PathBuf,
    address: String,
}

impl Demo {
    fn start(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("shiel-{name}-{}", std::process::id()));
        let mut program = Command::new(shiel())
            .args(["demo", "--port", "0", "--today", "2026-03-12", "--folder"])
            .arg(&folder)
            .stdout(Stdio::piped())
            .spawn()
            .expect("the binary is built");
        let out = program.stdout.take().expect("it is piped");
        let mut address = String::new();
        BufReader::new(out).read_line(&mut address).expect("its first line");
        let address = address.trim().trim_end_matches('/').to_owned();
        assert!(address.starts_with("http://127.0.0.1:"), "{address}");
        Self { program, folder, address }
    }
    fn at(&self, path: &str) -> String {
        format!("{}{path}", self.address)
    }
    fn entries(&self) -> u64 {
        let done = Command::new(shiel())
            .args(["book", "verify", "--json", "--book"])
            .arg(&self.folder)
            .output()
            .expect("the binary is built");
        let found: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
        assert!(found["broken"].is_null(), "{found}");
        found["entries"].as_u64().expect("a count")
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_start_shows_its_progress_and_then_the_day() -> Result<()> {
    let demo = Demo::start("first");
    let chrome = Chrome::start().await?;
    let page = chrome.open(&demo.at("/today"), DESK).await?;
    // Making the history takes some seconds in a debug build; the page follows it by itself.
    let began = Instant::now();
    while !text(&page, "h1, h2").await.contains("Today") || text(&page, ".work").await.is_empty() {
        assert!(began.elapsed() < Duration::from_secs(90), "{}", text(&page, "body").await);
        tokio::time::sleep(Duration::from_millis(500)).await;
        page.goto(demo.at("/today")).await?;
    }
    assert!(demo.entries() > 10_000);

    // The night watch: the piece that is late is turned, in two taps.
    let before = demo.entries();
    let phone = chrome.open(&demo.at("/today"), PHONE).await?;
    // The thumb bar lies over the foot of the page: bring the act clear of it, as a thumb would.
    seen(&phone, "a.act[href*='note=turn']").await;
    let clear = "document.querySelector(\"a.act[href*='note=turn']\")\
        .scrollIntoView({ block: 'center' })";
    phone.evaluate(clear).await?;
    click(&phone, "a.act[href*='note=turn']").await?;
    click(&phone, ".noting .act.main").await?;
    says(&phone, "main", "In the book.").await;
    assert_eq!(demo.entries(), before + 1);

    // What each batch should give is one link from its work.
    page.goto(demo.at("/today/forecast/ember")).await?;
    says(&page, "main", "A tonne of malt gives").await;
    chrome.end().await;
    Ok(())
}

#[test]
fn a_second_start_says_who_holds_the_book() {
    let demo = Demo::start("second");
    let second = Command::new(shiel())
        .args(["demo", "--port", "0", "--folder"])
        .arg(&demo.folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .output()
        .expect("the binary is built");
    assert_eq!(second.status.code(), Some(4));
    let says = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(says.contains(&format!("process {}", demo.program.id())), "{says}");
    assert!(says.contains(&demo.address), "{says}");
}
