//! The pages, driven in a real browser: what the tests share.
//!
//! A test starts a browser of its own with a profile of its own, and closes both when it ends.

use chromiumoxide::browser::{Browser, BrowserConfig};
use chromiumoxide::cdp::browser_protocol::dom::FocusParams;
use chromiumoxide::cdp::browser_protocol::emulation::{
    SetDeviceMetricsOverrideParams, SetScriptExecutionDisabledParams,
};
use chromiumoxide::cdp::browser_protocol::input::{
    DispatchMouseEventParams, DispatchMouseEventType, MouseButton,
};
use chromiumoxide::cdp::browser_protocol::network;
use chromiumoxide::error::CdpError;
use chromiumoxide::{Element, Page};
use futures::StreamExt;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

/// What can go wrong with a browser.
pub type Result<T> = std::result::Result<T, CdpError>;

/// Longest that a test waits for something to be seen.
const PATIENCE: Duration = Duration::from_secs(30);

static NTH: AtomicU32 = AtomicU32::new(0);

/// A browser with a profile of its own.
#[derive(Debug)]
pub struct Chrome {
    browser: Browser,
    profile: PathBuf,
    listening: tokio::task::JoinHandle<()>,
}

impl Chrome {
    /// Starts one.
    pub async fn start() -> Result<Self> {
        let nth = NTH.fetch_add(1, Ordering::Relaxed);
        let name = format!("face-tests-{}-{nth}", std::process::id());
        let profile = std::env::temp_dir().join(name);
        let config = BrowserConfig::builder()
            .chrome_executable(chromium())
            .no_sandbox()
            .user_data_dir(&profile)
            .args([
                "--headless",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--disable-dev-shm-usage",
            ])
            .build()
            .map_err(CdpError::msg)?;
        let (browser, mut handler) = Browser::launch(config).await?;
        // The handler must be read from the first moment on, and one fault of it is no end.
        let listening = tokio::spawn(async move { while handler.next().await.is_some() {} });
        Ok(Self { browser, profile, listening })
    }

    /// Opens a page of a width and height.
    pub async fn open(&self, address: &str, (width, height): (i64, i64)) -> Result<Page> {
        let page = self.browser.new_page("about:blank").await?;
        size(&page, (width, height)).await?;
        page.goto(address).await?;
        page.wait_for_navigation().await?;
        Ok(page)
    }

    /// Ends it; without this a process stays behind.
    pub async fn end(mut self) {
        let _ = self.browser.close().await;
        let _ = self.browser.wait().await;
        self.listening.abort();
    }
}

impl Drop for Chrome {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.profile);
    }
}

fn chromium() -> PathBuf {
    let known = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
    known.map(PathBuf::from).into_iter().find(|p| p.exists()).unwrap_or_else(|| "chromium".into())
}

/// Gives a page another width and height.
pub async fn size(page: &Page, (width, height): (i64, i64)) -> Result<()> {
    let metrics = SetDeviceMetricsOverrideParams::new(width, height, 1.0, width < 600);
    page.execute(metrics).await?;
    Ok(())
}

/// Takes the script away, as a reader may.
pub async fn without_script(page: &Page) -> Result<()> {
    page.execute(SetScriptExecutionDisabledParams::new(true)).await?;
    Ok(())
}

/// Takes the network away, or gives it back.
#[expect(deprecated, reason = "what replaces it is not in the browsers of every Debian yet")]
pub async fn network(page: &Page, there: bool) -> Result<()> {
    page.execute(network::EnableParams::default()).await?;
    let conditions = network::EmulateNetworkConditionsParams::new(!there, 0.0, -1.0, -1.0);
    page.execute(conditions).await?;
    Ok(())
}

/// Gives an element the focus by the browser's own hand: no script of a page is needed for it.
async fn focus(page: &Page, element: &Element) -> Result<()> {
    let focus = FocusParams::builder().backend_node_id(element.backend_node_id).build();
    page.execute(focus).await?;
    Ok(())
}

/// Clicks the element, once it is there and holds still: a part of a page may be replaced by its
/// newer state between the finding and the click, or move it from under the pointer. A click that
/// the element did not feel is made again, as a hand would.
pub async fn click(page: &Page, selector: &str) -> Result<()> {
    let began = Instant::now();
    loop {
        let tried = async {
            let element = seen(page, selector).await;
            let listens = "function() { this.felt = false; \
                           this.addEventListener('click', () => { this.felt = true; }); }";
            element.call_js_fn(listens, false).await?;
            element.click().await?;
            // Where the click led to another page, this one can no longer be asked: it was felt.
            let felt = element.call_js_fn("function() { return this.felt; }", false).await;
            let said = felt.ok().and_then(|answer| answer.result.value);
            Ok(said != Some(false.into()))
        };
        match tried.await {
            Ok(true) => return Ok(()),
            Err(fault) if began.elapsed() >= PATIENCE => return Err(fault),
            Ok(false) => assert!(began.elapsed() < PATIENCE, "{selector} does not feel a click"),
            Err(_) => {}
        }
        tokio::time::sleep(Duration::from_millis(30)).await;
    }
}

/// Presses a button or follows a link by keyboard. A click would first wait for the page's script
/// to say that it is in view, which without script never comes.
pub async fn press(page: &Page, selector: &str) -> Result<()> {
    let element = seen(page, selector).await;
    focus(page, &element).await?;
    element.press_key("Enter").await?;
    Ok(())
}

/// Where the middle of an element is on the screen, px.
pub async fn middle(page: &Page, selector: &str) -> Result<(f64, f64)> {
    seen(page, selector).await;
    let script = format!(
        "(() => {{ const e = document.querySelector({selector:?}); \
         e.scrollIntoView({{ block: 'center' }}); const r = e.getBoundingClientRect(); \
         return [r.x + r.width / 2, r.y + r.height / 2]; }})()"
    );
    let at: (f64, f64) = page.evaluate(script).await?.into_value()?;
    Ok(at)
}

/// Drags an element so many pixels across, in steps as a hand would.
pub async fn drag(page: &Page, selector: &str, across: f64) -> Result<()> {
    const STEPS: i32 = 8;
    let (x, y) = middle(page, selector).await?;
    let mouse = |kind, x: f64| {
        let event = DispatchMouseEventParams::builder().r#type(kind).x(x).y(y);
        let event = event.button(MouseButton::Left).buttons(1).click_count(1);
        event.build().map_err(CdpError::msg)
    };
    page.execute(mouse(DispatchMouseEventType::MousePressed, x)?).await?;
    for step in 1..=STEPS {
        let at = x + across * f64::from(step) / f64::from(STEPS);
        page.execute(mouse(DispatchMouseEventType::MouseMoved, at)?).await?;
    }
    page.execute(mouse(DispatchMouseEventType::MouseReleased, x + across)?).await?;
    Ok(())
}

/// Presses a key on an element.
pub async fn key(page: &Page, selector: &str, key: &str) -> Result<()> {
    let element = seen(page, selector).await;
    focus(page, &element).await?;
    element.press_key(key).await?;
    Ok(())
}

/// Types a figure in the field of this name, in the place of what stood there.
pub async fn fill(page: &Page, name: &str, text: &str) -> Result<()> {
    let field = chosen(page, &format!("[name='{name}']:not([type=hidden])")).await?;
    if text.is_empty() {
        field.press_key("Backspace").await?;
    } else {
        field.type_str(text).await?;
    }
    Ok(())
}

/// The field, with the whole of its text chosen. A part of the page may be put in its place between
/// finding and choosing it: then it is found again.
async fn chosen(page: &Page, selector: &str) -> Result<Element> {
    let began = Instant::now();
    loop {
        let field = seen(page, selector).await;
        let tried = async {
            focus(page, &field).await?;
            field.call_js_fn("function() { this.select(); }", false).await
        };
        match tried.await {
            Ok(_) => return Ok(field),
            Err(fault) if began.elapsed() >= PATIENCE => return Err(fault),
            Err(_) => tokio::time::sleep(Duration::from_millis(30)).await,
        }
    }
}

/// The element, once it is there.
pub async fn seen(page: &Page, selector: &str) -> Element {
    let began = Instant::now();
    loop {
        if let Ok(element) = page.find_element(selector).await {
            return element;
        }
        let body = text(page, "body").await;
        assert!(began.elapsed() < PATIENCE, "{selector} was not seen in:\n{body}");
        tokio::time::sleep(Duration::from_millis(30)).await;
    }
}

/// Waits until the text of an element holds some words, and gives the text.
pub async fn says(page: &Page, selector: &str, words: &str) -> String {
    let began = Instant::now();
    loop {
        let found = text(page, selector).await;
        if plain(&found).contains(words) {
            return plain(&found);
        }
        assert!(began.elapsed() < PATIENCE, "{selector} says {found:?}, not {words:?}");
        tokio::time::sleep(Duration::from_millis(30)).await;
    }
}

/// The text of the first element a selector finds that is shown; empty when there is none.
pub async fn text(page: &Page, selector: &str) -> String {
    let script = format!(
        "(() => {{ const e = [...document.querySelectorAll({selector:?})].find(e => \
         e.offsetParent !== null || e === document.body || e instanceof SVGElement); \
         return e ? e.innerText ?? e.textContent : ''; }})()"
    );
    match page.evaluate(script).await {
        Ok(value) => value.into_value().unwrap_or_default(),
        Err(_) => String::new(),
    }
}

/// The same with every sort of space as a plain one and the true minus as a hyphen.
pub fn plain(text: &str) -> String {
    text.replace(['\u{202f}', '\u{a0}'], " ").replace('\u{2212}', "-")
}

/// The binary, built beside these tests.
pub fn shiel() -> PathBuf {
    let mut path = std::env::current_exe().expect("a test has a path");
    path.pop();
    path.pop();
    path.push("shiel");
    assert!(path.exists(), "build it first: cargo build -p cli ({} is missing)", path.display());
    path
}
