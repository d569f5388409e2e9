//! The mash, in the middle of a week: each begins on the last worts of the one before.

use super::{Frame, PURE_L_A_KG_EXTRACT};
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::{Both, Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::conversion;
use process::mash::{Charge, Constants, Fitted, Grist, Run, To, Vessel, WeakWorts, steady};

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, (_, stage)) = frame.first("a mash tun", |what| match what {
        Equipment::MashTun(own, stage) => Some((own, stage)),
        _ => None,
    })?;
    let programme = &frame.make.mash.programme;
    let constants = Both(Fitted::default(), Both(conversion::Constants::default(), stage.clone()));
    let reads =
        ["grist_kg", "malt_moisture_wet", "extract_pct_dry", "fermentability", "extract_recovery"];
    chain.link("mash", &reads, &constants, |carry, Both(fitted, Both(enzymes, tun))| {
        let grist = Grist {
            dry_kg: carry.grist_kg * (1.0 - carry.malt_moisture_wet),
            moisture_wet: carry.malt_moisture_wet,
            grist_c: carry.grist_c,
            extract_pct_dry: carry.extract_pct_dry,
            fermentability: carry.fermentability,
            extract_recovery: carry.extract_recovery,
            ..Grist::default()
        };
        let charge = Charge { grist, weak_worts: WeakWorts::default() };
        let constants = Constants { fitted: fitted.clone(), enzymes: enzymes.clone() };
        let tun: &Vessel = tun;
        let run = steady(&charge, tun, programme, &constants)?;
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures: figures(&run, carry),
            hours: run.minutes / 60.0,
            curves: run.curves.clone(),
            balance: run.balance.clone(),
            watched: &[],
        };
        Ok(Outcome::of(handed(carry, &run), part))
    })
}

fn handed(carry: &Carry, run: &Run) -> Carry {
    let to_washback = run.steps.iter().filter(|step| step.to == To::Washback);
    let drained_kg: f64 = to_washback.map(|step| step.run_off.liquid.extract_kg).sum();
    let kept_kg = run.worts.liquid.extract_kg;
    let wort_20_l = run.worts.volume_20_l();
    let extract_kg_m3 = 1000.0 * kept_kg / wort_20_l;
    Carry {
        wort_20_l,
        wort_c: run.worts.temperature_c,
        wort_plato: run.worts.plato(),
        glucose_kg_m3: extract_kg_m3 * run.sugars.glucose,
        maltose_kg_m3: extract_kg_m3 * run.sugars.maltose,
        maltotriose_kg_m3: extract_kg_m3 * run.sugars.maltotriose,
        dextrin_kg_m3: extract_kg_m3 * run.sugars.dextrin,
        residual_kg_m3: extract_kg_m3 * run.sugars.residual,
        promised_l: PURE_L_A_KG_EXTRACT * run.laboratory_extract_kg,
        lost_mash_l: PURE_L_A_KG_EXTRACT * (run.laboratory_extract_kg - drained_kg),
        lost_worts_l: PURE_L_A_KG_EXTRACT * (drained_kg - kept_kg),
        ..carry.clone()
    }
}

fn figures(run: &Run, carry: &Carry) -> Vec<Figure> {
    let first = run.steps.first();
    let first_l = first.map_or(f64::NAN, |step| step.liquor.bulk_l());
    let drained = |index: usize| run.steps.get(index).map_or(f64::NAN, |s| s.run_off.gravity());
    let recovered = run.worts.liquid.extract_kg / run.laboratory_extract_kg;
    vec![
        Shown("grist_kg", "grist", "kg", 0).of(carry.grist_kg),
        Shown("grist_c", "grist", "°C", 1).of(carry.grist_c),
        Shown("first_water_l", "first water", "L", 0).of(first_l),
        Shown("strike_c", "striking heat", "°C", 1).of(run.strike_c),
        Shown("mash_c", "mash", "°C", 1).of(run.mash_c),
        Shown("first_gravity", "first worts", "", 4).of(drained(0)),
        Shown("second_gravity", "second worts", "", 4).of(drained(1)),
        Shown("wort_20_l", "worts for the washback", "L at 20 °C", 0).of(run.worts.volume_20_l()),
        Shown("original_gravity", "gravity of the worts", "", 4).of(run.worts.gravity()),
        Shown("extract_kg", "extract in the worts", "kg", 0).of(run.worts.liquid.extract_kg),
        Shown("recovery_pct", "of the laboratory's extract", "%", 1).of(100.0 * recovered),
        Shown("draff_kg", "draff", "kg", 0).of(run.draff.mass_kg()),
        Shown("draff_moisture_pct", "moisture of the draff", "%", 1)
            .of(100.0 * run.draff.moisture_wet()),
        Shown("cycle_h", "mashing in to the last drain", "h", 1).of(run.minutes / 60.0),
    ]
}
