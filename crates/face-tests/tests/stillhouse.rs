//! The cuts of a run, moved by hand, by keyboard, by typing and without script: the heart answers
//! the same; what is kept is in the book.

mod desk;

use desk::Desk;
use face_tests::{
    Chrome, Result, click, drag, fill, key, plain, press, says, seen, text, without_script,
};

const WIDE: (i64, i64) = (1440, 1200);
const RUN: &str = "/stillhouse/run/231?from_min=20&to_pct=60";

async fn value(page: &chromiumoxide::Page, name: &str) -> f64 {
    let script = format!("Number(document.querySelector('#cuts [name={name}]').value)");
    page.evaluate(script).await.expect("a page").into_value().expect("a figure")
}

/// Litres of pure alcohol in the heart, as the page says it.
async fn heart(page: &chromiumoxide::Page) -> f64 {
    let found = plain(&text(page, "#heart .big i").await).replace(' ', "");
    found.parse().unwrap_or_else(|_| panic!("{found:?} is no figure"))
}

/// Waits until the field of a mark has followed it, and gives the heart once no answer to a place
/// on the way is still to come.
async fn settled(page: &chromiumoxide::Page, name: &str, there: fn(f64) -> bool) -> f64 {
    let (mut last, mut still) = (f64::NAN, 0);
    for _ in 0..600 {
        let now = heart(page).await;
        let same = (now - last).abs() < 1e-9 && there(value(page, name).await);
        still = if same { still + 1 } else { 0 };
        if still >= 20 {
            return now;
        }
        last = now;
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!("{name} stays at {}", value(page, name).await);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cut_that_is_dragged_moves_the_heart() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at(RUN), WIDE).await?;
    let before = heart(&page).await;
    drag(&page, "#grip-to_pct .hold", 120.0).await?;
    let after = settled(&page, "to_pct", |pct| pct < 60.0).await;
    assert!(after > before, "a later end keeps more: {before} to {after}");
    // The other mark, the other way: an earlier beginning keeps more.
    drag(&page, "#grip-from_min .hold", -12.0).await?;
    let wider = settled(&page, "from_min", |min| min < 20.0).await;
    assert!(wider > after, "{after} to {wider}");
    // Nothing is noted by moving.
    assert_eq!(desk.last_kind(), "reading");
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_by_keyboard_typed_and_without_script() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at(RUN), WIDE).await?;
    let before = heart(&page).await;
    // Ten arrows to the right are ten steps of half a per cent.
    for _ in 0..9 {
        key(&page, "#grip-to_pct", "ArrowRight").await?;
    }
    key(&page, "#grip-to_pct", "ArrowRight").await?;
    says(&page, "#grip-to_pct text:nth-of-type(2)", "55.0").await;
    assert!((value(&page, "to_pct").await - 55.0).abs() < 1e-9);
    let by_keys = heart(&page).await;
    assert!(by_keys > before, "{before} to {by_keys}");
    key(&page, "#grip-to_pct", "PageUp").await?;
    says(&page, "#grip-to_pct text:nth-of-type(2)", "60.0").await;
    assert!((value(&page, "to_pct").await - 60.0).abs() < 1e-9);

    // Typed: the same cut is the same heart.
    let typed = chrome.open(&desk.at(RUN), WIDE).await?;
    fill(&typed, "to_pct", "55").await?;
    key(&typed, "#to_pct", "Enter").await?;
    says(&typed, "#grip-to_pct text:nth-of-type(2)", "55.0").await;
    let by_typing = heart(&typed).await;
    assert!((by_typing - by_keys).abs() < 1.0, "{by_keys} by keys, {by_typing} typed");

    // Without script: the form is sent, and the page says the same.
    let plainly = chrome.open("about:blank", WIDE).await?;
    without_script(&plainly).await?;
    plainly.goto(desk.at("/stillhouse/run/231?from_min=20&to_pct=55")).await?;
    press(&plainly, "#cuts [data-plain]").await?;
    let sent = says(&plainly, "#heart", "L pure alcohol").await;
    let figure = sheets_of(by_typing);
    assert!(sent.contains(&figure), "{figure} in {sent}");
    chrome.end().await;
    Ok(())
}

/// A figure as the page writes it, plain.
fn sheets_of(litres: f64) -> String {
    format!("{litres:.0}")
}

#[tokio::test(flavor = "multi_thread")]
async fn cuts_that_cross_are_told_beside_their_field_and_never_kept() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at(RUN), WIDE).await?;
    let entries = desk.entries();
    fill(&page, "from_min", "200").await?;
    key(&page, "#from_min", "Enter").await?;
    says(&page, "#why-to_pct", "The heart would end before it begins").await;
    click(&page, "#cuts [data-keep]").await?;
    while !page.url().await?.unwrap_or_default().ends_with("/cuts") {
        tokio::time::sleep(std::time::Duration::from_millis(30)).await;
    }
    says(&page, "#why-to_pct", "The heart would end before it begins").await;
    assert_eq!(desk.entries(), entries, "nothing was noted");
    assert!((value(&page, "from_min").await - 200.0).abs() < 1e-9, "what was typed stays");
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn kept_cuts_are_an_entry_and_a_proposal_is_not() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at(RUN), WIDE).await?;
    let entries = desk.entries();
    click(&page, "[data-take]").await?;
    let take = seen(&page, "[data-take]").await.attribute("data-take").await?.expect("cuts");
    let to: f64 = take.split("to_pct=").nth(1).and_then(|t| t.parse().ok()).expect("a strength");
    for _ in 0..200 {
        if (value(&page, "to_pct").await - to).abs() < 1e-9 {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(20)).await;
    }
    assert!((value(&page, "to_pct").await - to).abs() < 1e-9, "the proposal fills the fields");
    assert_eq!(desk.entries(), entries, "and notes nothing");
    click(&page, "#cuts [data-keep]").await?;
    says(&page, "#cutting", "Kept: entry").await;
    assert_eq!(desk.entries(), entries + 1);
    assert_eq!(desk.last_kind(), "cuts");
    assert!((desk.last("heart_to_pct").expect("noted") - to).abs() < 1e-9);
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_strength_and_a_nosing_note_are_noted_from_a_phone() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/stillhouse/note/spirit_still_2"), (390, 844)).await?;
    let entries = desk.entries();
    fill(&page, "reading_pct", "664").await?;
    fill(&page, "temperature_c", "15.5").await?;
    click(&page, ".noting .act.main").await?;
    seen(&page, ".noting .act.main:not([disabled])").await;
    says(&page, "#safe", "664 % vol is outside 0 to 90 % vol").await;
    assert_eq!(desk.entries(), entries);
    fill(&page, "reading_pct", "66.4").await?;
    click(&page, ".noting .act.main").await?;
    says(&page, "#safe", "In the book").await;
    assert_eq!(desk.entries(), entries + 1);
    // The hydrometer reads at its own temperature; the book keeps both and the strength at 20 °C.
    assert!((desk.last("reading_pct").expect("noted") - 66.4).abs() < 1e-9);
    let at_20 = desk.last("strength_pct").expect("reckoned");
    assert!(at_20 > 66.5 && at_20 < 70.0, "{at_20}");

    page.goto(desk.at("/stillhouse/run/231")).await?;
    click(&page, "#nosing summary").await?;
    click(&page, "#nosing .marks label:nth-of-type(4)").await?;
    click(&page, "#nosing .act.main").await?;
    says(&page, "#nose", "Run 231").await;
    assert_eq!(desk.last_kind(), "nose");
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_share_that_skips_a_still_answers_as_it_slides() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/stillhouse/circuit/feather"), WIDE).await?;
    let before = plain(&text(&page, "#counts").await);
    fill(&page, "skip", "20").await?;
    says(&page, "#changes", "What changes at 20 %").await;
    assert_ne!(plain(&text(&page, "#counts").await), before);
    fill(&page, "skip", "120").await?;
    key(&page, "#skip", "Enter").await?;
    says(&page, "#why-skip", "120 % is outside 0 to 95 %").await;
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_head_is_fitted_shown_and_taken_in_use_only_by_hand() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/stillhouse/run/231"), WIDE).await?;
    click(&page, "#head button[value=fit]").await?;
    // Two strengths are too few: it says so, and nothing changes.
    says(&page, "#head", "three are needed").await;
    says(&page, "#head", "the house's own figure").await;
    chrome.end().await;
    Ok(())
}
