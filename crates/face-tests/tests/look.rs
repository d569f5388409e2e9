//! What the look promises of every page, at three widths, by day and by night: nothing too small to
//! read or to press, nothing wider than its page, ink that stands out, and leaning figures only
//! where the program reckoned them.

mod desk;

use desk::Desk;
use face_tests::{Chrome, Result, size};

const PAGES: [&str; 21] = [
    "/today",
    "/today/note",
    "/today/note/washback_5",
    "/maltings",
    "/maltings?note=turn&k.vessel=floor_2&k.piece=61",
    "/maltings/piece/61",
    "/maltings/piece/62",
    "/maltings/kiln/sheet",
    "/maltings/intake?kg=25000&moisture_wet=16.5&nitrogen_pct_dry=1.7&barley=two_row",
    "/litres?commodity=extract_kg",
    "/litres/account/vessel/washback_5?commodity=extract_kg",
    "/litres/entry/2",
    "/litres/entries",
    "/stillhouse",
    "/stillhouse/run/230?by=litres",
    "/stillhouse/run/231?from_min=20&to_pct=90",
    "/stillhouse/circuit/feather?skip=30",
    "/stillhouse/circuit/pale",
    "/stillhouse/sheet/spirit_still_2?make=ember",
    "/stillhouse/note/spirit_still_2",
    "/bench/reduce?bulk_l=1000&temperature_c=150&strength_pct=70.1&target_pct=62.8",
];

/// Gives a line for each thing that strays.
const STRAYS: &str = r#"(() => {
  const out = [];
  const shown = (e) => {
    const r = e.getBoundingClientRect();
    return r.width > 0 && r.height > 0 && getComputedStyle(e).visibility !== 'hidden'
      && !e.closest('.unseen, .skip, .inks, template, [hidden]')
      && !(e.closest('thead') && getComputedStyle(e.closest('thead')).position === 'absolute');
  };
  const name = (e) => e.tagName.toLowerCase() + (e.id ? '#' + e.id : '')
    + (typeof e.className === 'string' && e.className ? '.' + e.className : '')
    + ' "' + (e.textContent || '').trim().slice(0, 30) + '"';
  const light = (c) => {
    const [r, g, b] = c.map((v) => v / 255)
      .map((v) => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const rgb = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const behind = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const c = rgb(getComputedStyle(at).backgroundColor);
      if (c.length === 3 || c[3] === 1) return c.slice(0, 3);
    }
    return [255, 255, 255];
  };
  for (const e of document.body.querySelectorAll('*')) {
    if (!shown(e)) continue;
    const style = getComputedStyle(e);
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    if (own && !e.closest('sub')) {
      if (parseFloat(style.fontSize) < 14) out.push('small ' + style.fontSize + ' ' + name(e));
      const svg = e instanceof SVGElement;
      const ink = rgb(svg ? style.fill : style.color).slice(0, 3);
      const on = svg && e.classList.contains('on');
      const [a, b] = [light(ink), light(behind(e))].sort((x, y) => y - x);
      const ratio = (a + 0.05) / (b + 0.05);
      if (!on && ratio < 4.5) out.push('faint ' + ratio.toFixed(2) + ' ' + name(e));
      if (style.fontStyle === 'italic' && !e.closest('i, .lean')) out.push('leans ' + name(e));
    }
    if (e.tagName === 'I' && !/\d/.test(e.textContent) && !e.closest('.foot, table tbody th')) {
      out.push('leans without a figure ' + name(e));
    }
    const r = e.getBoundingClientRect();
    if (!e.closest('svg, .scroll') && (r.right > innerWidth + 1 || r.left < -1)) {
      out.push('wide ' + Math.round(r.right) + ' ' + name(e));
    }
    if (e.matches('a[href], button, input, select, textarea, summary, [role=slider] .hold')) {
      const box = e.matches('.entry *') ? e.closest('.entry').getBoundingClientRect() : r;
      if (box.height < 43.5 || box.width < 43.5) {
        const size = Math.round(box.width) + ' by ' + Math.round(box.height);
        out.push('target ' + size + ' ' + name(e));
      }
    }
  }
  const wide = document.documentElement.scrollWidth;
  if (wide > innerWidth) out.push('page ' + wide + ' wide');
  return out.slice(0, 20);
})()"#;

#[tokio::test(flavor = "multi_thread")]
async fn every_page_holds_what_the_look_promises() -> Result<()> {
    let desk = Desk::open().await;
    let chrome = Chrome::start().await?;
    let mut strays = Vec::new();
    for path in PAGES {
        for light in ["day", "night"] {
            let sign = if path.contains('?') { '&' } else { '?' };
            let address = desk.at(&format!("{path}{sign}light={light}"));
            let page = chrome.open(&address, (1440, 1200)).await?;
            for (width, height) in [(1440, 1200), (820, 1180), (390, 844)] {
                size(&page, (width, height)).await?;
                let found: Vec<String> = page.evaluate(STRAYS).await?.into_value().expect("a list");
                strays.extend(found.iter().map(|s| format!("{path} {light} {width}: {s}")));
            }
            page.close().await?;
        }
    }
    chrome.end().await;
    assert!(strays.is_empty(), "{} strays: {strays:#?}", strays.len());
    Ok(())
}
