//! The stages of one batch in a house, one after another.

pub(crate) mod begin;
mod bin;
mod cask;
mod cool;
mod ferment;
mod fill;
mod floor;
pub(crate) mod handling;
mod kiln;
mod mash;
mod mill;
mod reduce;
mod steep;
mod stills;
mod totals;

pub(crate) use begin::weather as usual_weather;
pub(crate) use ferment::WORT_PH;

use crate::batch::{Asked, Batch, Loss};
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::Chain;
use crate::stillhouse::Cuts;
use gauge::Fault;
use house::barley::Barley;
use house::make::Make;
use house::plant::{CaskKind, Vessel, Weather};
use house::{Equipment, House};

/// What every link of the chain looks at.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame<'h> {
    pub(crate) house: &'h House,
    pub(crate) make: &'h Make,
    pub(crate) barley: &'h Barley,
    /// While the piece is steeped, grown and dried.
    pub(crate) malting: Weather,
    /// While it is mashed and distilled.
    pub(crate) mashing: Weather,
    /// Years the casks lie.
    pub(crate) cask_years: f64,
    /// The cuts the house keeps to for the make.
    pub(crate) kept: Option<Cuts>,
}

impl<'h> Frame<'h> {
    /// The first vessel of a kind, with what `pick` makes of it.
    pub(crate) fn first<T>(
        &self,
        kind: &'static str,
        pick: impl Fn(&'h Equipment) -> Option<T>,
    ) -> Result<(&'h Vessel, T), Fault> {
        self.house
            .plant
            .vessels
            .iter()
            .find_map(|vessel| Some((vessel, pick(&vessel.what)?)))
            .ok_or(Fault::MissingPart { field: "vessel".into(), wanted: kind })
    }
}

impl<'h> Frame<'h> {
    /// The kind of cask the make is filled into: that of its first order, else the house's first.
    pub(crate) fn cask(&self) -> Result<&'h CaskKind, Fault> {
        let orders = self.house.season.orders.iter();
        let of_make = orders.filter(|order| order.make == self.make.key);
        let kinds = of_make.filter_map(|order| self.house.cask(&order.cask));
        let first = self.house.plant.casks.first();
        let wanted = "a kind of cask";
        kinds.chain(first).next().ok_or(Fault::MissingPart { field: "cask".into(), wanted })
    }
}

/// Litres of pure alcohol that a kilogram of extract gives when all of it ferments by Balling's
/// sum: 2.0665 kg of extract make 1 kg of ethanol.
pub(crate) const PURE_L_A_KG_EXTRACT: f64 =
    1000.0 / (2.0665 * gauge::alcoholometry::kernel::ETHANOL_KG_M3);

/// Litres of pure alcohol of a mass of ethanol.
pub(crate) fn pure_l(ethanol_kg: f64) -> f64 {
    1000.0 * ethanol_kg / gauge::alcoholometry::kernel::ETHANOL_KG_M3
}

/// A stage's link in the chain.
type Link = fn(&mut Chain, &Frame<'_>) -> Result<(), Fault>;

/// Every stage from barley to cask, in the order of the work.
const LINKS: [Link; 12] = [
    steep::link,
    floor::link,
    kiln::link,
    bin::link,
    mill::link,
    mash::link,
    cool::link,
    ferment::link,
    stills::link,
    reduce::link,
    fill::link,
    cask::link,
];

/// How many of them make wash of barley.
const STAGES_TO_WASH: usize = 8;

/// Runs every stage of a batch.
pub(crate) fn run(frame: &Frame<'_>) -> Result<Chain, Fault> {
    let mut chain = begin::chain(frame)?;
    for link in LINKS {
        link(&mut chain, frame)?;
    }
    Ok(chain)
}

/// Runs the stages up to the wash, at their best figures.
pub(crate) fn to_wash(frame: &Frame<'_>) -> Result<Carry, Fault> {
    let mut chain = begin::chain(frame)?.without_bands();
    for link in &LINKS[..STAGES_TO_WASH] {
        link(&mut chain, frame)?;
    }
    Ok(chain.carry)
}

/// Foretells one batch.
pub(crate) fn batch(house: &House, asked: &Asked) -> Result<Batch, Vec<Fault>> {
    let frame = begin::frame(house, asked)?;
    let one = |fault| vec![fault];
    let mut chain = run(&frame).map_err(one)?;
    let summary = totals::link(&mut chain, &frame).map_err(one)?;
    let t = chain.carry.malt_kg / 1000.0;
    let keys = totals::LOSSES.iter().map(|(key, _)| *key).chain(["unaccounted"]);
    let losses = keys
        .zip(summary.losses)
        .map(|(key, l_t)| Loss { key, label: l_t.label, pure_alcohol_l: l_t.value * t, l_t })
        .collect();
    let mut totals = hours(&chain);
    totals.extend(summary.totals);
    Ok(Batch {
        make: frame.make.key.clone(),
        title: frame.make.name.clone(),
        barley: frame.barley.key.clone(),
        start: asked.start,
        steps: chain.steps,
        totals,
        ceiling: summary.ceiling,
        losses,
    })
}

/// Hours of malting, of rest, and from the mill to new spirit.
fn hours(chain: &Chain) -> Vec<Figure> {
    let ends = |stage: &str| {
        let of_stage = chain.steps.iter().filter(|step| step.stage == stage);
        of_stage.map(|step| step.end_h).fold(0.0, f64::max)
    };
    vec![
        Shown("malting_h", "from steep to bin", "h", 0).of(ends("kiln")),
        Shown("rest_h", "rest in the bin", "h", 0).of(ends("bin") - ends("kiln")),
        Shown("spirit_h", "from mill to new spirit", "h", 0).of(ends("still") - ends("bin")),
    ]
}
