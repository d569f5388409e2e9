//! What another mash, setting, pitch or time would give.

use super::back::at_hour;
use super::ready::{latest_h, ready_h};
use crate::mash_house::{Reckoned, Setup, TunFitted, Wished, weak_worts};
use gauge::Fault;
use house::{Equipment, House, Standing};
use process::ferment::{HOT_C, Run};

/// One row of the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerRow {
    /// Key with its unit.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// Unit as shown.
    pub unit: &'static str,
    /// Decimals to show.
    pub decimals: u8,
    /// By the sheet; none where it does not come.
    pub sheet: Option<f64>,
    /// By what is asked.
    pub other: Option<f64>,
}

impl AnswerRow {
    /// The other less the sheet.
    pub fn change(&self) -> Option<f64> {
        Some(self.other? - self.sheet?)
    }
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Its rows.
    pub rows: Vec<AnswerRow>,
    /// The same in words.
    pub says: String,
}

/// One side of the answer.
struct Side {
    mash: Reckoned,
    /// The washback to its longest time and beyond.
    long: Run,
    hours: f64,
    fill_m3: f64,
    longest_h: f64,
}

impl Side {
    fn of(
        house: &House,
        standing: &Standing,
        fitted: &TunFitted,
        wished: &Wished,
    ) -> Result<Self, Fault> {
        let mut setup = Setup::of(house, fitted, wished)?;
        weak_worts(&mut setup, house, standing, fitted, wished)?;
        let longest_h = house
            .vessels("washback")
            .find_map(|v| match &v.what {
                Equipment::Washback(own, _) => Some(own.longest_h),
                _ => None,
            })
            .ok_or(Fault::MissingPart {
                field: "washback".into(),
                wanted: "a vessel of this kind",
            })?;
        let mash = setup.mash()?;
        let cool = setup.cooled(&mash);
        let set_c = cool.as_ref().map_or(setup.set_c, |c| c.set_c);
        setup.every_h = 1.0;
        let hours = setup.hours;
        setup.hours = longest_h.max(hours) + 24.0;
        let long = setup.fermented(&mash, set_c)?;
        let fill_m3 = mash.worts.volume_20_l() / 1000.0;
        let mash = Reckoned { mash, cool, wash: None };
        Ok(Self { mash, long, hours, fill_m3, longest_h })
    }

    fn pure_l(&self) -> f64 {
        let ethanol = at_hour(&self.long, "ethanol_kg_m3", self.hours);
        self.fill_m3 * 1000.0 * ethanol / gauge::alcoholometry::kernel::ETHANOL_KG_M3
    }

    fn latest_h(&self) -> Option<f64> {
        latest_h(&self.long.curves).map(|h| h.min(self.longest_h)).or(Some(self.longest_h))
    }
}

/// Gives one mash as its sheet has it beside the same done otherwise.
///
/// # Units
/// As the rows say.
/// # Range
/// That of mash and washback: what they refuse comes back as their fault.
/// # Error
/// Differences are surer than either figure: what both share is out of them.
/// # Source
/// The pages of mash, cooler and washback.
pub fn what_if(
    house: &House,
    standing: &Standing,
    fitted: &TunFitted,
    sheet: &Wished,
    other: &Wished,
) -> Result<Answer, Fault> {
    let (a, b) = std::thread::scope(|scope| {
        let hand = scope.spawn(|| Side::of(house, standing, fitted, sheet));
        let other = Side::of(house, standing, fitted, other);
        (hand.join(), other)
    });
    let not_run = Fault::MissingPart { field: "mash".into(), wanted: "a mash that can be run" };
    let (a, b) = (a.unwrap_or(Err(not_run))?, b?);
    let row = |key, label, unit, decimals, of: &dyn Fn(&Side) -> Option<f64>| AnswerRow {
        key,
        label,
        unit,
        decimals,
        sheet: of(&a),
        other: of(&b),
    };
    let at = |key: &'static str| move |s: &Side| Some(at_hour(&s.long, key, s.hours));
    let rows = vec![
        row("pure_alcohol_l", "Pure alcohol", "L", 0, &|s| Some(s.pure_l())),
        row("strength_pct", "Wash", "% vol", 2, &at("alcohol_pct")),
        row("original_gravity", "Gravity of the worts", "", 4, &|s| {
            Some(s.mash.mash.worts.gravity())
        }),
        row("set_c", "Set", "°C", 1, &|s| s.mash.cool.as_ref().map(|c| c.set_c)),
        row("final_gravity", "Final gravity", "", 4, &at("gravity")),
        row("ready_h", "Ready, hour", "h", 1, &|s| ready_h(&s.long.curves)),
        row("peak_c", "Peak", "°C", 1, &|s| Some(s.long.peak_c)),
        row("ph", "Acid", "pH", 2, &at("ph")),
        row("latest_h", "Latest, hour", "h", 0, &Side::latest_h),
    ];
    let says = says(&rows, &b);
    Ok(Answer { rows, says })
}

fn says(rows: &[AnswerRow], other: &Side) -> String {
    let change = |key: &str| rows.iter().find(|r| r.key == key).and_then(AnswerRow::change);
    let mut out: Vec<String> = Vec::new();
    if let Some(hours) = change("ready_h").filter(|h| h.abs() >= 0.5) {
        let word = if hours < 0.0 { "sooner" } else { "later" };
        out.push(format!("Ready {:.0} h {word}.", hours.abs()));
    }
    if let Some(litres) = change("pure_alcohol_l").filter(|l| l.abs() >= 0.5) {
        let word = if litres < 0.0 { "less" } else { "more" };
        out.push(format!("{:.0} L of pure alcohol {word}.", litres.abs()));
    }
    if let Some(ready) = ready_h(&other.long.curves).filter(|ready| *ready > other.hours) {
        out.push(format!("At {:.0} h it is not ready; that comes at {ready:.0} h.", other.hours));
    }
    if other.long.peak_c > HOT_C {
        let peak = other.long.peak_c;
        out.push(format!("It would reach {peak:.1} °C; past {HOT_C:.0} °C yeast dies quickly."));
    }
    if out.is_empty() {
        out.push("Hardly anything changes.".to_owned());
    }
    out.join(" ")
}
