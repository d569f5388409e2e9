//! A reading is noted in place: once, with its faults beside its figures, with the network gone
//! and back, with and without script.

mod desk;

use desk::Desk;
use face_tests::{
    Chrome, Result, click, fill, network, plain, press, says, seen, text, without_script,
};

const PHONE: (i64, i64) = (390, 844);
const TABLET: (i64, i64) = (820, 1180);

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_noted_and_stands_in_the_book() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let before = desk.entries();
    let page = chrome.open(&desk.at("/today/note/washback_5"), TABLET).await?;
    fill(&page, "gravity", "1001,1").await?;
    fill(&page, "temperature_c", "28.4").await?;
    click(&page, ".noting .act.main").await?;
    says(&page, "main", "In the book.").await;
    assert_eq!(desk.entries(), before + 1);
    let gravity = desk.last("gravity").expect("noted");
    assert!((gravity - 1.0011).abs() < 1e-12, "{gravity}");
    assert_eq!(desk.last("temperature_c"), Some(28.4));
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bad_one_is_refused_beside_its_field_and_what_was_typed_is_kept() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let before = desk.entries();
    let page = chrome.open(&desk.at("/today/note/washback_5"), TABLET).await?;
    fill(&page, "gravity", "52").await?;
    fill(&page, "temperature_c", "284").await?;
    click(&page, ".noting .act.main").await?;
    let why = says(&page, "#why-temperature_c", "284").await;
    assert_eq!(why.replace('\n', " "), "284 °C is outside 5 to 45 °C. Is it 28.4?");
    assert_eq!(desk.entries(), before, "nothing may be noted");
    for (name, typed) in [("gravity", "52"), ("temperature_c", "284")] {
        let script = format!("document.querySelector('[name={name}]').value");
        let kept: String = page.evaluate(script).await?.into_value().expect("a value");
        assert_eq!(kept, typed, "{name}");
    }
    says(&page, "#against-gravity", "Taken as 1 052.0 degrees.").await;

    // The guess is a button; it fills the field and notes nothing by itself.
    click(&page, "#why-temperature_c button").await?;
    says(&page, "#against-temperature_c", "28.4").await;
    assert_eq!(desk.entries(), before, "a guess is a question");
    click(&page, ".noting .act.main").await?;
    says(&page, "main", "In the book.").await;
    assert_eq!(desk.entries(), before + 1);
    assert_eq!(desk.last("temperature_c"), Some(28.4));
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_judged_while_it_is_typed() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let page = chrome.open(&desk.at("/today/note/washback_5"), TABLET).await?;
    fill(&page, "temperature_c", "284").await?;
    tokio::time::sleep(std::time::Duration::from_millis(400)).await;
    assert_eq!(text(&page, "#why-temperature_c").await, "");
    click(&page, "[name=gravity]").await?;
    says(&page, "#why-temperature_c", "outside").await;
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_night_watch_loses_the_network_and_no_reading() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let before = desk.entries();
    let page = chrome.open(&desk.at("/today"), PHONE).await?;
    click(&page, ".thumb .main").await?;
    click(&page, "a[href='/today/note/washback_5']").await?;
    let caution = says(&page, ".caution", "Carbon dioxide").await;
    assert!(caution.contains("Local codes and the house assessment come first."));

    network(&page, false).await?;
    fill(&page, "gravity", "1000.4").await?;
    click(&page, ".noting .act.main").await?;
    let line = says(&page, "#wait", "1 reading waits on this device.").await;
    assert!(line.contains("It goes once, when the network is back."), "{line}");
    assert_eq!(desk.entries(), before);

    network(&page, true).await?;
    says(&page, "main", "In the book.").await;
    assert_eq!(text(&page, "#wait").await, "", "nothing waits any more");
    // Long enough for a second sending, were there one.
    tokio::time::sleep(std::time::Duration::from_secs(5)).await;
    assert_eq!(desk.entries(), before + 1, "once");
    let gravity = desk.last("gravity").expect("noted");
    assert!((gravity - 1.0004).abs() < 1e-12, "{gravity}");
    chrome.end().await;
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn all_of_it_works_without_script() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let before = desk.entries();
    let page = chrome.open("about:blank", TABLET).await?;
    without_script(&page).await?;
    page.goto(desk.at("/today/note/washback_5")).await?;
    fill(&page, "temperature_c", "284").await?;
    press(&page, ".noting .act.main").await?;
    let why = seen(&page, "#why-temperature_c .why").await.inner_text().await?;
    assert!(plain(&why.unwrap_or_default()).contains("outside 5 to 45 °C"));
    press(&page, "#why-temperature_c button").await?;
    says(&page, "main", "The guess stands in its field.").await;
    assert_eq!(desk.entries(), before, "a guess is a question");
    press(&page, ".noting .act.main").await?;
    seen(&page, "#noted .work").await;
    assert_eq!(desk.entries(), before + 1);
    assert_eq!(desk.last("temperature_c"), Some(28.4));

    page.goto(desk.at("/bench/strength?density_kg_m3=905&temperature_c=15")).await?;
    says(&page, "#out-strength_pct", "63.58").await;
    chrome.end().await;
    Ok(())
}
