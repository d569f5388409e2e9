//! The lots of barley in store: what is left of each, what was found of it, whether it is held.

use crate::account::{Commodity, Place};
use crate::derived::{Act, Derived};
use crate::kind::Subject;
use crate::piece::release;
use crate::standing::Balances;
use crate::store::StoreFault;
use house::standing::{Lot, LotAnalysis};
use jiff::{SignedDuration, Timestamp};

/// What came of lorry upon lorry, and of drying: means by dry matter.
#[derive(Default)]
struct Heap {
    dry_kg: f64,
    water_kg: f64,
    /// Dry matter and its share-weighted sum, for what was noted of some lorries only.
    nitrogen: (f64, f64),
    corn_weight: (f64, f64),
    screenings: (f64, f64),
    admixture: (f64, f64),
}

/// A mean as far as anything was noted.
fn mean((dry_kg, sum): (f64, f64)) -> Option<f64> {
    (dry_kg > 0.0).then(|| sum / dry_kg)
}

impl Heap {
    fn add(&mut self, act: &Act) {
        let (kg, moisture) =
            (act.figure("kg").unwrap_or(0.0), act.figure("moisture_wet").unwrap_or(0.0));
        let dry_kg = kg * (1.0 - moisture);
        self.dry_kg += dry_kg;
        self.water_kg += kg * moisture;
        for (sum, key) in [
            (&mut self.nitrogen, "nitrogen_pct_dry"),
            (&mut self.corn_weight, "corn_weight_g"),
            (&mut self.screenings, "screenings_pct"),
            (&mut self.admixture, "admixture_pct"),
        ] {
            if let Some(value) = act.figure(key) {
                sum.0 += dry_kg;
                sum.1 += dry_kg * value;
            }
        }
    }

    /// What is drawn takes its water with it.
    fn draw(&mut self, act: &Act) {
        let moisture = act.figure("moisture_wet").unwrap_or(0.0);
        let dry_kg = act.figure("kg").unwrap_or(0.0) * (1.0 - moisture);
        let left = (self.dry_kg - dry_kg).max(0.0);
        if self.dry_kg > 0.0 {
            self.water_kg *= left / self.dry_kg;
        }
        self.dry_kg = left;
    }

    fn dry(&mut self, act: &Act) {
        let before_kg = act.figure("from_dry_kg").unwrap_or(0.0).min(self.dry_kg);
        // On the kiln it had the moisture that was noted, which need not be the heap's mean.
        let moisture = act.figure("from_moisture_wet").unwrap_or(0.0).min(0.99);
        self.water_kg = (self.water_kg - before_kg * moisture / (1.0 - moisture)).max(0.0);
        self.dry_kg -= before_kg;
        if self.dry_kg <= 1e-6 {
            self.water_kg = 0.0;
        }
        let (kg, moisture) =
            (act.figure("kg").unwrap_or(0.0), act.figure("moisture_wet").unwrap_or(0.0));
        self.dry_kg += kg * (1.0 - moisture);
        self.water_kg += kg * moisture;
    }

    fn moisture_wet(&self) -> f64 {
        self.water_kg / (self.dry_kg + self.water_kg)
    }
}

/// Every lot that is not used up.
pub(crate) fn lots(
    derived: &Derived,
    balances: &Balances,
    at: Timestamp,
) -> Result<Vec<Lot>, StoreFault> {
    let mut out = Vec::new();
    for ((account, commodity), held) in balances {
        if account.place() == Place::Lot && *commodity == Commodity::DryGrain {
            out.push(lot(derived, account.name(), held.units(), at)?);
        }
    }
    Ok(out)
}

fn lot(derived: &Derived, name: &str, dry_kg: f64, at: Timestamp) -> Result<Lot, StoreFault> {
    let mut out = Lot {
        lot: name.to_owned(),
        barley: String::new(),
        dry_kg,
        moisture_wet: f64::NAN,
        nitrogen_pct_dry: None,
        silo: String::new(),
        since: at,
        analysis: LotAnalysis::default(),
        held: None,
    };
    let (mut heap, mut come) = (Heap::default(), false);
    for act in derived.acts(Subject::Lot, name, Timestamp::MIN, at)? {
        match act.kind.as_str() {
            "intake" | "opening" => {
                if !come {
                    out.since = act.at;
                }
                come = true;
                heap.add(&act);
                out.barley = newer(act.word("barley"), out.barley);
                out.silo = newer(act.word("vessel"), out.silo);
                germinated(&mut out.analysis, &act);
                if act.word("decision") == "hold" {
                    let why = newer(act.word("reason"), "held at the gate".to_owned());
                    out.held = Some(why);
                }
            }
            "steep" => heap.draw(&act),
            "dry" => heap.dry(&act),
            "germination" => {
                germinated(&mut out.analysis, &act);
                match release(&act) {
                    Some(true) => out.held = None,
                    Some(false) => out.held = Some(held(&act)),
                    None => {}
                }
            }
            _ => {}
        }
    }
    if come {
        out.moisture_wet = heap.moisture_wet();
    }
    out.nitrogen_pct_dry = mean(heap.nitrogen);
    out.analysis.corn_weight_g = mean(heap.corn_weight);
    out.analysis.screenings_pct = mean(heap.screenings);
    out.analysis.admixture_pct = mean(heap.admixture);
    Ok(out)
}

fn newer(word: String, before: String) -> String {
    if word.is_empty() { before } else { word }
}

/// The last test first: what it did not look for stays.
fn germinated(known: &mut LotAnalysis, act: &Act) {
    let mut any = false;
    for (figure, key) in [
        (&mut known.germinative_energy_4ml_pct, "germinative_energy_4ml_pct"),
        (&mut known.germinative_energy_8ml_pct, "germinative_energy_8ml_pct"),
        (&mut known.germinative_capacity_pct, "germinative_capacity_pct"),
    ] {
        let found = act.figure(key);
        any |= found.is_some();
        *figure = found.or(*figure);
    }
    if any {
        known.tested = Some(act.at);
    }
}

/// Why a test holds a lot, and from when to test it again.
fn held(act: &Act) -> String {
    let mut why = newer(act.word("reason"), "held after the germination test".to_owned());
    let again = act.figure("retest_days").and_then(|days| {
        let minutes = SignedDuration::from_mins((days * 1440.0) as i64);
        act.at.checked_add(minutes).ok()
    });
    if let Some(again) = again {
        why = format!("{why}; test again from {}", again.strftime("%-d %B"));
    }
    why
}
