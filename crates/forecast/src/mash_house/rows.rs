//! The rows of a sheet: its waters, where the extract goes, hot liquor, and what to know.

use super::lanes::ordinal;
use super::setup::{Reckoned, Setup};
use super::sheet::{Drawn, ExtractLine, Found, HotLiquor, WaterLine};
use crate::maltings::seen::later;
use process::mash::To;

pub(super) fn waters(
    drawn: &Drawn<'_>,
    setup: &Setup<'_>,
    base: &Reckoned,
    found: &Found,
) -> Vec<WaterLine> {
    let times = super::course::times(&base.mash, &found.times);
    let at = |min: f64| later(found.began, min / 60.0);
    let wished = drawn.wished;
    let back = wished.washback.as_deref().map_or("washback", |key| drawn.house.called(key));
    let drained = wished.stops.is_some_and(|(after, _)| after == wished.mash);
    let line =
        |(index, (step, (on, _, ends))): (usize, (&process::mash::Step, &(f64, f64, f64)))| {
            let noted = drawn.noted.is_some_and(|m| match index {
                0 => m.mashed_in.is_some(),
                _ => m.waters.iter().any(|w| w.water as usize == index + 1),
            });
            let on_at = drawn
                .noted
                .and_then(|m| m.waters.iter().find(|w| w.water as usize == index + 1))
                .map_or_else(|| at(*on), |w| w.at);
            let pulls = found.course.iter().filter(|p| p.at >= at(*on) && p.at <= at(*ends));
            let pull = pulls
                .filter_map(|p| p.pull_cm)
                .fold(None, |most: Option<f64>, cm| Some(most.map_or(cm, |most| most.max(cm))));
            let to = match step.to {
                To::Washback => back.to_owned(),
                To::Next if drained => "drain".to_owned(),
                To::Next => format!("mash {}", wished.mash + 1),
            };
            WaterLine {
                number: index as u32 + 1,
                name: ordinal(index),
                volume_l: setup.programme.waters[index].liquor.volume_l,
                liquor_c: step.liquor.temperature_c,
                on_at,
                drained_at: at(*ends),
                bed_c: step.bed_c,
                drained_l: step.run_off.volume_20_l(),
                gravity: step.run_off.gravity(),
                pull_cm: pull,
                to,
                noted,
            }
        };
    base.mash.steps.iter().zip(&times).enumerate().map(line).collect()
}

/// Where the laboratory's extract goes; the lines between the first and the last add up to what
/// is missing.
pub(super) fn chain(setup: &Setup<'_>, base: &Reckoned) -> Vec<ExtractLine> {
    let mash = &base.mash;
    let whole = mash.laboratory_extract_kg;
    let weak_in = setup.charge.weak_worts.extract_kg;
    let weak_out = mash.weak_worts.liquid.extract_kg;
    let drained: f64 = {
        let steps = mash.steps.iter().filter(|s| s.to == To::Washback);
        steps.map(|s| s.run_off.liquid.extract_kg).sum()
    };
    let line = |label, kg: f64| ExtractLine { label, kg, pct: 100.0 * kg / whole };
    let mut out = vec![
        line("In the malt, by analysis", whole),
        line("Left in coarse pieces", whole - mash.extract_kg),
        line("Left in the draff", mash.draff.extract_kg),
        line("Left in the pipes", drained - mash.worts.liquid.extract_kg),
    ];
    if (weak_out - weak_in).abs() > 0.5 {
        out.push(line("More in weak worts than came with them", weak_out - weak_in));
    }
    out.push(line("To the washback", mash.worts.liquid.extract_kg));
    out
}

pub(super) fn hot_liquor(setup: &Setup<'_>, base: &Reckoned) -> Option<HotLiquor> {
    let cool = base.cool.as_ref()?;
    let kj_kg_k = setup.constants.fitted.water_kj_kg_k;
    let later = base.mash.steps.iter().skip(1);
    let (mut left_kg, mut wanted_kj) = (cool.hot_liquor_kg, 0.0);
    for step in later {
        let (kg, at_c) = (step.liquor.mass_kg(), step.liquor.temperature_c);
        let from_tank = kg.min(left_kg);
        left_kg -= from_tank;
        let rise = |from_c: f64| (at_c - from_c).max(0.0);
        wanted_kj += kj_kg_k
            * (from_tank * rise(cool.hot_liquor_c) + (kg - from_tank) * rise(setup.cold_water_c));
    }
    Some(HotLiquor {
        kg: cool.hot_liquor_kg,
        at_c: cool.hot_liquor_c,
        wanted_mj: wanted_kj / 1000.0,
    })
}

pub(super) fn says(drawn: &Drawn<'_>, setup: &Setup<'_>, base: &Reckoned) -> Vec<String> {
    let mut out: Vec<String> = base.mash.warnings.iter().map(|w| w.says.clone()).collect();
    if let Some(cool) = &base.cool {
        out.extend(cool.warnings.iter().map(|w| w.says.clone()));
    }
    if let Some(wash) = &base.wash {
        out.extend(wash.warnings.iter().map(|w| w.says.clone()));
    }
    let bulk_l = base.mash.worts.volume_20_l();
    let back = drawn.wished.washback.as_deref().and_then(|key| drawn.house.vessel(key));
    if let Some(house::Equipment::Washback(own, _)) = back.map(|v| &v.what)
        && bulk_l > own.volume_l
    {
        out.push(format!(
            "The worts come to {bulk_l:.0} L; the washback holds {:.0} L.",
            own.volume_l
        ));
    }
    if !drawn.wished.tested {
        out.push("No laboratory has tested this malt: extract as of a usual one.".to_owned());
    }
    if setup.charge.weak_worts.extract_kg <= 0.0 {
        out.push("Struck on fresh water: there are no weak worts.".to_owned());
    }
    out
}
