//! What the files of a house must agree on among themselves.

use crate::check_changes;
use crate::load::{FILES, House};
use crate::make::{Make, Pass};
use crate::vessel::{Equipment, Still};
use gauge::Fault;
use gauge::fault::Side;

pub(crate) type Found = Vec<(&'static str, Fault)>;
const PLANT: &str = FILES[0];
pub(crate) const MAKES: &str = FILES[1];
const SEASON: &str = FILES[3];

/// Every disagreement, each with the file it is written in.
pub(crate) fn all(house: &House) -> Found {
    let mut found = Found::new();
    plant(house, &mut found);
    shares(house, &mut found);
    for make in &house.makes.makes {
        make_names(house, make, &mut found);
        make_figures(house, make, &mut found);
        route(house, make, &mut found);
        flows(make, &mut found);
    }
    families(house, &mut found);
    check_changes::changes(house, &mut found);
    season(house, &mut found);
    for barley in house.barleys.iter().filter(|b| b.steep.phases.is_empty()) {
        let field = format!("barley.{}.steep.phase", barley.key).into();
        let wanted = "a list of waters and air rests";
        found.push((FILES[2], Fault::MissingPart { field, wanted }));
    }
    found
}

pub(crate) fn not_one_of<'a>(
    field: String,
    found: &str,
    allowed: impl IntoIterator<Item = &'a str>,
) -> Option<Fault> {
    let allowed: Vec<String> = allowed.into_iter().map(str::to_owned).collect();
    if allowed.iter().any(|a| a == found) {
        return None;
    }
    Some(Fault::NotAllowed { field: field.into(), found: found.to_owned(), allowed })
}

/// The fault when `value` is more than `limit`; a figure already at fault is not a number and
/// gives no second fault.
fn at_most(
    field: String,
    (value, unit): (f64, &'static str),
    limit: f64,
    sets: impl Into<std::borrow::Cow<'static, str>>,
) -> Option<Fault> {
    (value > limit).then(|| Fault::Beyond {
        field: field.into(),
        value,
        unit,
        side: Side::AtMost,
        limit,
        sets: sets.into(),
    })
}

fn at_least(
    field: String,
    (value, unit): (f64, &'static str),
    limit: f64,
    sets: impl Into<std::borrow::Cow<'static, str>>,
) -> Option<Fault> {
    (value < limit).then(|| Fault::Beyond {
        field: field.into(),
        value,
        unit,
        side: Side::AtLeast,
        limit,
        sets: sets.into(),
    })
}

const NEEDED: [(&str, &str); 10] = [
    ("steep", "a vessel of kind steep"),
    ("floor", "a vessel of kind floor"),
    ("kiln", "a vessel of kind kiln"),
    ("bin", "a vessel of kind bin"),
    ("mill", "a vessel of kind mill"),
    ("mash_tun", "a vessel of kind mash_tun"),
    ("cooler", "a vessel of kind cooler"),
    ("washback", "a vessel of kind washback"),
    ("still", "a vessel of kind still"),
    ("vat", "a vessel of kind vat"),
];

fn plant(house: &House, found: &mut Found) {
    for (kind, wanted) in NEEDED {
        if house.vessels(kind).next().is_none() {
            let field = "vessel".into();
            found.push((PLANT, Fault::MissingPart { field, wanted }));
        }
    }
    for vessel in &house.plant.vessels {
        let at = |key: &str| format!("vessel.{}.{key}", vessel.key);
        let faults = match &vessel.what {
            Equipment::Still(still, stage, _) => vec![
                at_most(at("charge_l"), (still.charge_l, "L"), still.pot_l, "what the pot holds"),
                at_least(
                    at("charge_l"),
                    (still.charge_l, "L"),
                    stage.least_charge_20_l.unwrap_or(f64::NAN),
                    "what covers the coils",
                ),
            ],
            Equipment::Washback(back, stage) => vec![
                at_most(
                    at("fill_l"),
                    (stage.fill_l, "L"),
                    back.volume_l,
                    "what the washback holds",
                ),
                at_least(at("usual_h"), (back.usual_h, "h"), back.least_h, "the least time"),
                at_most(at("usual_h"), (back.usual_h, "h"), back.longest_h, "the longest time"),
            ],
            Equipment::Bin(bin, _) => vec![at_least(
                at("keep_weeks"),
                (bin.keep_weeks, "weeks"),
                bin.rest_weeks,
                "the least rest",
            )],
            Equipment::Charger(charger, feeds) => fed(house, &vessel.key, charger.volume_l, feeds),
            _ => Vec::new(),
        };
        found.extend(faults.into_iter().flatten().map(|f| (PLANT, f)));
    }
}

fn still<'h>(house: &'h House, key: &str) -> Option<(&'h Still, f64)> {
    match &house.vessel(key)?.what {
        Equipment::Still(still, stage, _) => {
            Some((still, stage.least_charge_20_l.unwrap_or(f64::NAN)))
        }
        _ => None,
    }
}

fn fed(house: &House, charger: &str, volume_l: f64, feeds: &[String]) -> Vec<Option<Fault>> {
    let mut faults = Vec::new();
    for (index, key) in feeds.iter().enumerate() {
        let stills = house.vessels("still").map(|v| v.key.as_str());
        faults.push(not_one_of(format!("vessel.{charger}.feeds[{index}]"), key, stills));
        if let Some((still, _)) = still(house, key) {
            faults.push(at_least(
                format!("vessel.{charger}.volume_l"),
                (volume_l, "L"),
                still.charge_l,
                format!("the charge of {}", house.called(key)),
            ));
        }
    }
    faults
}

fn shares(house: &House, found: &mut Found) {
    let sum: f64 = house.makes.makes.iter().map(|m| m.aim.share).sum();
    let sets = "the shares of all makes make one whole";
    if house.makes.makes.is_empty() {
        let field = "make".into();
        let wanted = "a make";
        found.push((MAKES, Fault::MissingPart { field, wanted }));
    } else if (sum - 1.0).abs() > 1e-9 {
        let low = at_least("make".to_owned(), (sum, "in all"), 1.0, sets);
        let high = at_most("make".to_owned(), (sum, "in all"), 1.0, sets);
        found.extend(low.or(high).map(|f| (MAKES, f)));
    }
}

fn make_names(house: &House, make: &Make, found: &mut Found) {
    let at = |key: &str| format!("make.{}.{key}", make.key);
    if make.barleys.is_empty() {
        let fault = Fault::MissingPart { field: at("barleys").into(), wanted: "a list of barleys" };
        found.push((MAKES, fault));
    }
    for (index, barley) in make.barleys.iter().enumerate() {
        let known = house.barleys.iter().map(|b| b.key.as_str());
        let fault = not_one_of(at(&format!("barleys[{index}]")), barley, known);
        found.extend(fault.map(|f| (MAKES, f)));
    }
    for (key, empty, wanted) in [
        ("kiln.phase", make.kiln.phases.is_empty(), "a list of kiln phases"),
        ("mash.water", make.mash.programme.waters.is_empty(), "a list of waters"),
        ("pass", make.route.passes.is_empty(), "a list of passes"),
    ] {
        if empty {
            let field = at(key).into();
            found.push((MAKES, Fault::MissingPart { field, wanted }));
        }
    }
}

fn make_figures(house: &House, make: &Make, found: &mut Found) {
    let at = |key: &str| format!("make.{}.{key}", make.key);
    let mut faults = Vec::new();
    for vessel in &house.plant.vessels {
        let called = &vessel.name;
        match &vessel.what {
            Equipment::Kiln(kiln, stage) => {
                let most = stage.fan_kg_s.unwrap_or(f64::INFINITY);
                for (index, phase) in make.kiln.phases.iter().enumerate() {
                    let flow = (phase.figures.flow_kg_s, "kg/s");
                    let field = at(&format!("kiln.phase[{index}].flow_kg_s"));
                    faults.push(at_most(field, flow, most, "the most the fan moves"));
                }
                let returned = (make.kiln.returned, "");
                let sets = "the most that may be returned";
                faults.push(at_most(at("kiln.returned"), returned, kiln.most_returned, sets));
            }
            Equipment::MashTun(tun, _) => faults.push(at_most(
                at("mash.grist_kg"),
                (make.mash.grist.grist_kg, "kg"),
                tun.grist_kg,
                format!("what {called} takes"),
            )),
            Equipment::Mill(mill, ..) => faults.push(at_most(
                at("mash.grist_kg"),
                (make.mash.grist.grist_kg, "kg"),
                mill.grist_kg,
                format!("what {called} grinds at a time"),
            )),
            Equipment::Washback(back, _) => {
                let hours = (make.ferment.programme.hours, "h");
                let field = || at("ferment.hours");
                let least = format!("the least time of {called}");
                let longest = format!("the longest time of {called}");
                faults.push(at_least(field(), hours, back.least_h, least));
                faults.push(at_most(field(), hours, back.longest_h, longest));
            }
            _ => {}
        }
    }
    let mut last: Option<Fault> = None;
    for fault in faults.into_iter().flatten() {
        // Seven like washbacks say the same thing once.
        if last.as_ref().and_then(Fault::field) != fault.field() {
            found.push((MAKES, fault.clone()));
        }
        last = Some(fault);
    }
}

fn route(house: &House, make: &Make, found: &mut Found) {
    let mut streams: Vec<String> = vec!["wash".to_owned()];
    for pass in &make.route.passes {
        streams.extend(pass.cuts.iter().map(|c| format!("{}.{}", pass.name, c.cut.name)));
    }
    let streams: Vec<&str> = streams.iter().map(String::as_str).collect();
    for (index, pass) in make.route.passes.iter().enumerate() {
        let at = |key: String| format!("make.{}.pass[{index}].{key}", make.key);
        let mut faults = vec![];
        for (place, key) in pass.stills.iter().enumerate() {
            let stills = house.vessels("still").map(|v| v.key.as_str());
            faults.push(not_one_of(at(format!("still[{place}]")), key, stills));
        }
        for (place, part) in pass.charge.iter().enumerate() {
            let field = at(format!("charge[{place}].from"));
            faults.push(not_one_of(field, &part.from, streams.iter().copied()));
        }
        for (place, cut) in pass.cuts.iter().enumerate() {
            let takes = |kind: &str| matches!(kind, "receiver" | "charger" | "vat");
            let vessels = house.plant.vessels.iter();
            let known = vessels.filter(|v| takes(v.what.kind())).map(|v| v.key.as_str());
            faults.push(not_one_of(at(format!("cut[{place}].to")), &cut.to, known));
        }
        found.extend(faults.into_iter().flatten().map(|f| (MAKES, f)));
        whole_wash(house, make, (index, pass), found);
    }
    let field = format!("make.{}.product", make.key);
    let cuts = streams.iter().copied().filter(|s| *s != "wash");
    found.extend(not_one_of(field, &make.route.product, cuts).map(|f| (MAKES, f)));
}

/// A pass needs a still, a charge and a cut; one that takes a washback must hold it and, with it,
/// cover its coils.
fn whole_wash(house: &House, make: &Make, (index, pass): (usize, &Pass), found: &mut Found) {
    let at = |key: &str| format!("make.{}.pass[{index}].{key}", make.key);
    for (key, empty, wanted) in [
        ("still", pass.stills.is_empty(), "a list of stills"),
        ("charge", pass.charge.is_empty(), "a list of what is charged"),
        ("cut", pass.cuts.is_empty(), "a list of cuts"),
    ] {
        if empty {
            let field = at(key).into();
            found.push((MAKES, Fault::MissingPart { field, wanted }));
        }
    }
    let takes_wash = pass.charge.iter().any(|c| c.from == "wash");
    let fill_l = house
        .vessels("washback")
        .find_map(|v| match &v.what {
            Equipment::Washback(_, stage) => Some(stage.fill_l),
            _ => None,
        })
        .unwrap_or(f64::NAN);
    for (place, key) in pass.stills.iter().enumerate() {
        let Some((still, least_l)) = still(house, key).filter(|_| takes_wash) else {
            continue;
        };
        let charge_l = fill_l / (fill_l / still.charge_l).ceil();
        let field = at(&format!("still[{place}]"));
        let sets = format!("what covers the coils of {}", house.called(key));
        found.extend(at_least(field, (charge_l, "L"), least_l, sets).map(|f| (MAKES, f)));
    }
}

/// Whatever leaves a still goes on whole: into a charge, or out as the spirit.
fn flows(make: &Make, found: &mut Found) {
    let taken = |stream: &str| -> f64 {
        let charges = make.route.passes.iter().flat_map(|p| &p.charge);
        charges.filter(|c| c.from == stream).fold(0.0, |sum, c| sum + c.fraction)
    };
    let mut streams = vec![("wash".to_owned(), format!("make.{}.pass", make.key))];
    for (index, pass) in make.route.passes.iter().enumerate() {
        for (place, cut) in pass.cuts.iter().enumerate() {
            let path = format!("make.{}.pass[{index}].cut[{place}]", make.key);
            streams.push((format!("{}.{}", pass.name, cut.cut.name), path));
        }
    }
    for (stream, path) in streams {
        let taken = taken(&stream);
        let product = stream == make.route.product;
        let want = if product { 0.0 } else { 1.0 };
        if (taken - want).abs() > 1e-9 {
            let sets = if product {
                format!("for {stream} is the spirit")
            } else {
                format!("so that the charges take in the whole of {stream}")
            };
            let low = at_least(path.clone(), (taken, "charged"), want, sets.clone());
            let high = at_most(path, (taken, "charged"), want, sets);
            found.extend(low.or(high).map(|f| (MAKES, f)));
        }
    }
}

/// The foreshots and feints of two families never meet in one receiver.
fn families(house: &House, found: &mut Found) {
    let mut kept: Vec<(&str, &str)> = Vec::new();
    for make in &house.makes.makes {
        for (index, pass) in make.route.passes.iter().enumerate() {
            for (place, cut) in pass.cuts.iter().enumerate() {
                let own = format!("{}.{}", pass.name, cut.cut.name);
                let returned = pass.charge.iter().any(|c| c.from == own);
                let Some(vessel) = house.vessel(&cut.to).filter(|_| returned) else {
                    continue;
                };
                let other = kept.iter().find(|(to, _)| *to == vessel.key);
                if other.is_some_and(|(_, family)| *family != make.family) {
                    let free = house
                        .vessels("receiver")
                        .filter(|v| matches!(v.what, Equipment::Receiver(_, "feints")))
                        .map(|v| v.key.clone())
                        .filter(|key| !kept.iter().any(|(to, f)| to == key && *f != make.family))
                        .collect();
                    let fault = Fault::NotAllowed {
                        field: format!("make.{}.pass[{index}].cut[{place}].to", make.key).into(),
                        found: cut.to.clone(),
                        allowed: free,
                    };
                    found.push((MAKES, fault));
                } else {
                    kept.push((vessel.key.as_str(), make.family.as_str()));
                }
            }
        }
    }
}

fn season(house: &House, found: &mut Found) {
    for (index, order) in house.season.orders.iter().enumerate() {
        let at = |key: &str| format!("order[{index}].{key}");
        let makes = house.makes.makes.iter().map(|m| m.key.as_str());
        let casks = house.plant.casks.iter().map(|c| c.key.as_str());
        let make = not_one_of(at("make"), &order.make, makes);
        let cask = not_one_of(at("cask"), &order.cask, casks);
        found.extend(make.into_iter().chain(cask).map(|f| (SEASON, f)));
    }
    let watch = &house.season.watch;
    if watch.begins_week_h >= watch.ends_week_h {
        let fault = Fault::NotInOrder {
            field: "watch.ends_week_h".into(),
            value: watch.ends_week_h,
            before: watch.begins_week_h,
            unit: "h",
        };
        found.push((SEASON, fault));
    }
    let days: usize = house.season.mash_days.iter().map(|(_, n)| n).sum();
    let mashes = (house.season.calendar.week_mashes, "a week");
    let field = || "calendar.week_mashes".to_owned();
    let sets = "as many as the mash days add up to";
    let low = at_least(field(), mashes, days as f64, sets);
    let high = at_most(field(), mashes, days as f64, sets);
    found.extend(low.or(high).map(|f| (SEASON, f)));
}
