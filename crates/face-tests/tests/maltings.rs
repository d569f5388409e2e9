//! The maltings: a turn noted in two taps where the piece is, with and without script, and what
//! the gate says of a lorry while it waits.

mod desk;

use desk::Desk;
use face_tests::{Chrome, Result, click, fill, key, press, says, seen, text, without_script};

const PHONE: (i64, i64) = (390, 844);
const WIDE: (i64, i64) = (1440, 1200);

#[tokio::test(flavor = "multi_thread")]
async fn a_turn_is_noted_in_two_taps_and_the_strip_is_reckoned_from_it() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/maltings"), WIDE).await?;
    let entries = desk.entries();
    let late = says(&page, "#f-floor_2", "late").await;
    assert!(late.contains("turn due"), "{late}");
    let turns = "document.querySelectorAll('#f-floor_2 line.turned').length";
    let before: i64 = page.evaluate(turns).await?.into_value().expect("a count");

    click(&page, "#f-floor_2 a[href*='note=turn']").await?;
    click(&page, "#f-floor_2 .noting .act.main").await?;
    says(&page, "#told", "In the book: entry").await;
    assert_eq!(desk.entries(), entries + 1);
    assert_eq!(desk.last_kind(), "turn");
    // The row was reckoned anew: nothing is late, and the strip has one turn more.
    let row = says(&page, "#f-floor_2", "next turn").await;
    assert!(!row.contains("late"), "{row}");
    let after: i64 = page.evaluate(turns).await?.into_value().expect("a count");
    assert_eq!(after, before + 1);
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_temperature_is_noted_on_a_phone_and_without_script() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let entries = desk.entries();
    let page = chrome.open("about:blank", PHONE).await?;
    without_script(&page).await?;
    page.goto(desk.at("/maltings")).await?;
    press(&page, "#f-floor_2 a[href*='note=reading']").await?;
    seen(&page, "#f-floor_2 .noting").await;
    fill(&page, "grain_c", "19,4").await?;
    press(&page, "#f-floor_2 .noting .act.main").await?;
    seen(&page, "#told a").await;
    assert_eq!(desk.entries(), entries + 1);
    assert_eq!(desk.last("grain_c"), Some(19.4));
    assert!(desk.last("expected.grain_c").is_some(), "what was expected is kept beside it");
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_of_the_kiln_stands_on_its_picture() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/maltings"), WIDE).await?;
    let points = "document.querySelectorAll('#picture circle.pt').length";
    let before: i64 = page.evaluate(points).await?.into_value().expect("a count");
    assert!(before >= 2, "the air-off noted so far");
    let front: String = page
        .evaluate("document.querySelector('#picture .contour.front').getAttribute('d')")
        .await?
        .into_value()
        .expect("a path");
    assert!(front.len() > 40, "the break front is drawn: {front}");

    click(&page, "#f-kiln a.main").await?;
    fill(&page, "air_off_c", "23.4").await?;
    click(&page, "#f-kiln .noting .act.main").await?;
    says(&page, "#told", "In the book: entry").await;
    let after: i64 = page.evaluate(points).await?.into_value().expect("a count");
    assert_eq!(after, before + 1);
    let caution = text(&page, ".caution").await;
    assert!(!caution.is_empty());
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_gate_answers_before_anything_is_taken_in() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/maltings/intake"), WIDE).await?;
    let entries = desk.entries();
    fill(&page, "lot", "two_row_4").await?;
    fill(&page, "kg", "25000").await?;
    fill(&page, "moisture_wet", "16.5").await?;
    key(&page, "[name=moisture_wet]", "Tab").await?;
    says(&page, "#gate-says", "Too wet to store").await;
    assert_eq!(desk.entries(), entries, "nothing is noted by looking");
    click(&page, "#gate-says button.main").await?;
    says(&page, "#told", "In the book: entry").await;
    assert_eq!(desk.entries(), entries + 1);
    assert_eq!(desk.last_kind(), "intake");
    assert_eq!(desk.last("moisture_wet"), Some(0.165));
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_moved_wish_is_answered_by_a_firing_and_a_hand_keeps_it() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/maltings"), WIDE).await?;
    let entries = desk.entries();
    fill(&page, "moisture", "5").await?;
    key(&page, "[name=moisture]", "Tab").await?;
    // While it is looked for it says how far it is, and can be stopped; then it answers in place.
    says(&page, "#proposed", "Proposed: done").await;
    assert_eq!(desk.entries(), entries, "a proposal is advice");
    click(&page, "#proposed [data-keep]").await?;
    says(&page, "#told", "In the book: entry").await;
    assert_eq!(desk.entries(), entries + 1);
    assert_eq!(desk.last_kind(), "firing");
    assert_eq!(desk.last("wanted_moisture_wet"), Some(0.05));

    // What cannot be read is said beside its field, and nothing is looked for.
    fill(&page, "by", "soon").await?;
    key(&page, "[name=by]", "Tab").await?;
    says(&page, "#why-by", "is no time").await;
    chrome.end().await;
    Ok(())
}
