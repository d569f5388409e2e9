//! `shiel note` and `shiel book` as a person types them, on a book of their own.

use book::{Book, Holder};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder with an empty book, thrown away at the end.
struct Desk(PathBuf);

impl Desk {
    fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("shiel-{name}-{}", std::process::id()));
        drop(Book::open(&folder, &Holder::default()).expect("a folder of our own"));
        Self(folder)
    }
    fn shiel(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_shiel"))
            .args(args)
            .arg("--book")
            .arg(&self.0)
            .output()
            .expect("the binary is built")
    }
    fn intake(&self, kg: &str) -> Output {
        let kg = format!("kg={kg}");
        self.shiel(&["note", "intake", "lot=l1", "barley=two_row", &kg, "moisture_wet=0.12"])
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn an_entry_noted_is_in_the_accounts_and_the_chain_holds() {
    let desk = Desk::new("noted");
    let done = desk.intake("25000");
    assert!(done.status.success(), "{}", text(&done.stderr));
    assert!(text(&done.stdout).starts_with("Entry 1 is in the book."));
    let held = desk.shiel(&["book", "accounts", "--json"]);
    let held: serde_json::Value = serde_json::from_slice(&held.stdout).expect("JSON");
    let rows = held["accounts"].as_array().expect("rows");
    // 25 000 kg at 12 % moisture hold 22 000 kg of dry grain: arithmetic.
    assert!(rows.iter().any(|r| r["amount_micro"] == "22000000000"), "{held}");
    let sum: i64 = rows
        .iter()
        .filter(|r| r["commodity"] == "dry_grain_kg")
        .map(|r| r["amount_micro"].as_str().expect("text").parse::<i64>().expect("whole"))
        .sum();
    assert_eq!(sum, 0, "what came in came from somewhere");
    let verified = desk.shiel(&["book", "verify", "--json"]);
    let verified: serde_json::Value = serde_json::from_slice(&verified.stdout).expect("JSON");
    assert_eq!(verified["entries"], 1);
    assert!(verified["broken"].is_null());
}

#[test]
fn the_same_id_told_twice_is_one_entry() {
    let desk = Desk::new("twice");
    let tell = ["note", "reading", "vessel=washback_1", "gravity=1.0011", "--id", "r1"];
    assert!(desk.shiel(&tell).status.success());
    let again = desk.shiel(&tell);
    assert!(text(&again.stdout).contains("Entry 1 was in the book already"), "{again:?}");
}

#[test]
fn a_bad_figure_is_refused_with_its_range_and_nothing_is_noted() {
    let desk = Desk::new("bad");
    let done = desk.intake("-4");
    assert_eq!(done.status.code(), Some(1));
    assert!(text(&done.stderr).contains("kg is \u{2212}4 kg; allowed"), "{}", text(&done.stderr));
    let verified = desk.shiel(&["book", "verify"]);
    assert!(text(&verified.stdout).starts_with("0 entries"), "{}", text(&verified.stdout));
}

#[test]
fn rebuilding_gives_the_same_digest() {
    let desk = Desk::new("rebuild");
    assert!(desk.intake("10000").status.success());
    let first = text(&desk.shiel(&["book", "rebuild"]).stdout);
    let second = text(&desk.shiel(&["book", "rebuild"]).stdout);
    assert_eq!(first.trim().len(), 64, "{first}");
    assert_eq!(first, second);
}

#[test]
fn a_held_book_says_who_holds_it_and_may_be_read() {
    let desk = Desk::new("held");
    let holder = Holder { pid: 4242, served: "a test".to_owned(), ..Holder::default() };
    let book = Book::open(&desk.0, &holder).expect("nobody else has it");
    let done = desk.intake("10000");
    assert_eq!(done.status.code(), Some(4));
    assert!(text(&done.stderr).contains("held by process 4242"), "{}", text(&done.stderr));
    assert!(desk.shiel(&["book", "verify"]).status.success());
    drop(book);
    assert!(desk.intake("10000").status.success());
}

#[test]
fn asking_never_begins_a_book() {
    let nowhere = Path::new("no-such-book");
    let done = Command::new(env!("CARGO_BIN_EXE_shiel"))
        .args(["book", "accounts", "--book"])
        .arg(nowhere)
        .output()
        .expect("the binary is built");
    assert_eq!(done.status.code(), Some(4));
    assert!(!nowhere.exists());
}

#[test]
fn kinds_and_what_they_take_are_listed() {
    let desk = Desk::new("kinds");
    let all = text(&desk.shiel(&["note", "--kinds"]).stdout);
    assert_eq!(all.lines().count(), book::kinds().len());
    let one = text(&desk.shiel(&["note", "reading", "--kinds"]).stdout);
    assert!(one.contains("gravity"), "{one}");
}
