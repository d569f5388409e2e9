//! A make's route through the house as a circuit of stills.

use super::circuit::CircuitAsked;
use gauge::Fault;
use house::make::{Make, Pass};
use house::{Equipment, House};
use process::circuit::{Hearth, Place, Source, Vessel};
use process::still::{Cut, Until};

/// The route as a circuit, and what the circuit does not know of its stills.
#[derive(Debug, Clone)]
pub(super) struct Route {
    /// The stills in the order of the passes.
    pub(super) vessel: Vessel,
    /// The stream that is the spirit.
    pub(super) product: String,
    /// For each still of the circuit: the vessels of the house it may be run in, and the hours to
    /// charge and discharge it.
    pub(super) kept: Vec<Kept>,
    /// The share that skips the middle still, where there is one.
    pub(super) skip: Option<f64>,
}

/// What the house knows of a pass.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kept {
    /// The pass.
    pub(super) pass: String,
    /// Vessels it may be run in, the usual one first.
    pub(super) stills: Vec<String>,
    /// Hours to charge, discharge and rinse.
    pub(super) turnaround_h: f64,
    /// Temperature at which a charge comes in, °C.
    pub(super) charge_c: f64,
}

/// The make by its key or name.
pub(super) fn make_of<'h>(house: &'h House, make: &str) -> Result<&'h Make, Fault> {
    house.make(make).ok_or_else(|| Fault::NotAllowed {
        field: "make".into(),
        found: make.to_owned(),
        allowed: house.makes.makes.iter().map(|m| m.key.clone()).collect(),
    })
}

/// The route of `make`, with what is asked of it in place of what the file says.
pub(super) fn route(house: &House, make: &Make, asked: &CircuitAsked) -> Result<Route, Fault> {
    let passes = &make.route.passes;
    let mut vessel = Vessel::default();
    let mut kept = Vec::with_capacity(passes.len());
    for pass in passes {
        let (place, own) = place(house, pass, asked)?;
        vessel.stills.push(place);
        kept.push(own);
    }
    let mut route = Route { vessel, product: make.route.product.clone(), kept, skip: None };
    route.skip_share(asked.skip, &make.key)?;
    if let Some(cuts) = &asked.cuts {
        route.keep_to(cuts)?;
    }
    Ok(route)
}

fn place(house: &House, pass: &Pass, asked: &CircuitAsked) -> Result<(Place, Kept), Fault> {
    let still = pass.stills.first().and_then(|key| house.vessel(key));
    let Some((own, stage, conditions)) = still.and_then(|vessel| match &vessel.what {
        Equipment::Still(own, stage, conditions) => Some((own, stage, conditions)),
        _ => None,
    }) else {
        return Err(Fault::MissingPart { field: "pass.still".into(), wanted: "a still" });
    };
    let hearth = Hearth {
        heat_w: conditions.heat_w,
        head_loss_w_k: asked.head_loss * stage.head_loss_w_k,
        ambient_c: conditions.ambient_c,
        copper_kg: stage.copper_kg,
        temperature_c: Some(own.charge_c),
        film_20_l: stage.film_20_l,
        charge_20_l: Some(own.charge_l),
        least_charge_20_l: stage.least_charge_20_l,
        charge_ceiling_pct: own.charge_ceiling_pct,
    };
    let source =
        |part: &house::make::Part| Source { from: part.from.clone(), fraction: part.fraction };
    let place = Place {
        name: pass.name.clone(),
        charge: pass.charge.iter().map(source).collect(),
        hearth,
        heat: Vec::new(),
        cuts: pass.cuts.iter().map(|cut| cut.cut.clone()).collect(),
        dilute: false,
    };
    let kept = Kept {
        pass: pass.name.clone(),
        stills: pass.stills.clone(),
        turnaround_h: own.turnaround_h,
        charge_c: own.charge_c,
    };
    Ok((place, kept))
}

impl Route {
    /// Lets another share of the low wines pass the middle still by.
    fn skip_share(&mut self, asked: Option<f64>, make: &str) -> Result<(), Fault> {
        let Some((middle, stream)) = self.middle() else {
            let Some(share) = asked else { return Ok(()) };
            return Err(Fault::Unworkable {
                field: "skip".into(),
                trouble: format!("{make} has no middle still, so no share of {share} can skip it"),
                remedy: "give the make a pass that takes a share of the low wines".to_owned(),
            });
        };
        let fraction = |place: &Place| -> f64 {
            let parts = place.charge.iter().filter(|part| part.from == stream);
            parts.map(|part| part.fraction).sum()
        };
        let Some(skip) = asked else {
            self.skip = Some(1.0 - fraction(&self.vessel.stills[middle]));
            return Ok(());
        };
        Fault::check("skip", skip, "", 0.0..=1.0)?;
        self.skip = Some(skip);
        let others: f64 = self.vessel.stills[middle + 1..].iter().map(&fraction).sum();
        for (place, still) in self.vessel.stills.iter_mut().enumerate() {
            for part in still.charge.iter_mut().filter(|part| part.from == stream) {
                let whole = if place == middle { 1.0 - skip } else { skip };
                let now = if place == middle { 1.0 } else { others };
                part.fraction = if place == middle { whole } else { whole * part.fraction / now };
            }
            still.charge.retain(|part| part.fraction > LEAST);
        }
        if skip > 1.0 - LEAST {
            let name = format!("{}.", self.vessel.stills[middle].name);
            self.vessel.stills.remove(middle);
            self.kept.remove(middle);
            for still in &mut self.vessel.stills {
                still.charge.retain(|part| !part.from.starts_with(&name));
            }
        }
        Ok(())
    }

    /// The pass that takes only a share of a stream of which later passes take the rest.
    fn middle(&self) -> Option<(usize, String)> {
        self.vessel.stills.iter().enumerate().find_map(|(place, still)| {
            let later = &self.vessel.stills[place + 1..];
            let shared = still.charge.iter().find(|part| {
                part.from != "wash"
                    && part.fraction < 1.0
                    && later.iter().any(|s| s.charge.iter().any(|p| p.from == part.from))
            })?;
            Some((place, shared.from.clone()))
        })
    }

    /// Puts the cuts that the house keeps to in the place of the file's.
    fn keep_to(&mut self, cuts: &house::KeptCuts) -> Result<(), Fault> {
        let place = self.product_place()?;
        let name = self.product.clone();
        let still = &mut self.vessel.stills[place];
        let own = format!("{}.", still.name);
        let heart = still.cuts.iter().position(|cut| name.strip_prefix(&own) == Some(&cut.name));
        let Some(heart) = heart else { return Ok(()) };
        if let Some(before) = heart.checked_sub(1) {
            still.cuts[before].until = Until::TimeS(60.0 * cuts.heart_from_min);
        }
        still.cuts[heart].until = Until::StrengthPct(cuts.heart_to_pct);
        Ok(())
    }

    /// The still that makes the spirit.
    pub(super) fn product_place(&self) -> Result<usize, Fault> {
        let makes = |still: &Place, cut: &Cut| format!("{}.{}", still.name, cut.name);
        let mut stills = self.vessel.stills.iter();
        let place =
            stills.position(|still| still.cuts.iter().any(|cut| makes(still, cut) == self.product));
        place.ok_or_else(|| Fault::MissingPart {
            field: "product".into(),
            wanted: "a cut of the route that is the spirit",
        })
    }
}

/// A share below this is no share.
const LEAST: f64 = 1e-6;
