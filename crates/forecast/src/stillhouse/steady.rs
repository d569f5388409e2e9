//! What one charge of a pass carries, by the plain reckoning of a route that runs as it always
//! does.
//!
//! Congeners do not move ethanol and water, so once a pass has been run the share of each that
//! goes with every cut is known, and what returns sums up by itself: of a congener of which the
//! share `f` comes back to its own charge, the charge holds `forward/(1 - f)`. Alcohol and water
//! the same, save that `f` hangs on the charge; there the strength is sought at which it closes.

use super::congeners::{GROUPS, in_wash, place};
use super::fitted::Fitted;
use super::heart::Cuts;
use super::route::{cut_named, cuts_of, pot, programme, usual_wash, with_head};
use gauge::Fault;
use house::make::Make;
use house::{House, KeptCuts};
use numeric::roots::{Bracket, NoRoot, brent};
use process::still::{CONGENERS, Charge, Constants, Moles, Run, Spirit, mole_fraction, run};

/// Amounts of one stream for one charge of wash.
#[derive(Debug, Clone, Default)]
struct Stream {
    moles: Moles,
    /// Of every congener, in the order of the book.
    grams: Vec<f64>,
}

impl Stream {
    fn nothing(carried: bool) -> Self {
        let kinds = if carried { CONGENERS.len() } else { 0 };
        Self { moles: Moles::default(), grams: vec![0.0; kinds] }
    }
    fn add(&mut self, other: &Self, fraction: f64) {
        self.moles = self.moles.plus(other.moles.times(fraction));
        for (own, other) in self.grams.iter_mut().zip(&other.grams) {
            *own += fraction * other;
        }
    }
}

/// One charge of a pass as it is when all runs as usual.
#[derive(Debug, Clone)]
pub(crate) struct Usual {
    /// Alcohol and water of one charge.
    pub(crate) charge: Moles,
    /// Of it, what goes forward for the first time in this pass.
    pub(crate) forward: Moles,
    /// Grams of every congener, in the order of the book.
    pub(crate) grams: Vec<f64>,
    /// Every cut of the passes before, by name, for one charge of wash.
    pub(crate) before: Vec<(String, Moles)>,
    /// The cuts of this pass, likewise.
    pub(crate) cuts: Vec<(String, Moles)>,
}

/// What is asked of the reckoning.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Asked<'a> {
    pub(crate) house: &'a House,
    pub(crate) make: &'a Make,
    /// Place of the pass in the route.
    pub(crate) pass: usize,
    /// The still it is run in; the pass's usual one when not given.
    pub(crate) still: Option<&'a str>,
    pub(crate) kept: Option<&'a KeptCuts>,
    pub(crate) fitted: &'a Fitted,
    /// Volatilities; levels are those of `fitted`.
    pub(crate) constants: &'a Constants,
    /// Whether congeners are wanted.
    pub(crate) carried: bool,
}

/// Gives what one charge of the pass carries. With a `charge` at hand that is kept to, and only
/// its congeners are reckoned; else a charge of the still's usual litres.
pub(crate) fn charge(asked: &Asked<'_>, charge: Option<Moles>) -> Result<Usual, Fault> {
    let passes = &asked.make.route.passes;
    let mut streams: Vec<Vec<Stream>> = Vec::with_capacity(asked.pass + 1);
    let mut before = Vec::new();
    for (index, of) in passes.iter().enumerate().take(asked.pass) {
        let pass = passed(asked, index, &streams, None)?;
        let names = of.cuts.iter().map(|c| &c.cut.name);
        for (name, stream) in names.zip(&pass.cuts) {
            before.push((format!("{}.{name}", of.name), stream.moles));
        }
        streams.push(pass.cuts);
    }
    let pass = passed(asked, asked.pass, &streams, charge)?;
    // Of the whole in balance, as much as this charge's alcohol is of it.
    let share = pass.charge.ethanol_mol / pass.whole.moles.ethanol_mol;
    let names = passes[asked.pass].cuts.iter().map(|c| c.cut.name.clone());
    Ok(Usual {
        charge: pass.charge,
        forward: pass.forward.times(share),
        grams: pass.whole.grams.iter().map(|g| share * g).collect(),
        before,
        cuts: names.zip(pass.cuts.iter().map(|c| c.moles)).collect(),
    })
}

/// A pass in balance.
struct Passed {
    /// One charge.
    charge: Moles,
    /// All that is charged for one charge of wash, what returns in it.
    whole: Stream,
    /// Of that, what is new to the pass.
    forward: Moles,
    cuts: Vec<Stream>,
}

fn passed(
    asked: &Asked<'_>,
    index: usize,
    streams: &[Vec<Stream>],
    at_hand: Option<Moles>,
) -> Result<Passed, Fault> {
    let pass = &asked.make.route.passes[index];
    let still = asked.still.filter(|_| index == asked.pass);
    let still = still.or(pass.stills.first().map(String::as_str)).unwrap_or_default();
    let own = pot(asked.house, still)?;
    let mut forward = Stream::nothing(asked.carried);
    let mut returning = Vec::new();
    for part in &pass.charge {
        match cut_named(asked.make, &part.from) {
            _ if part.from == "wash" => forward.add(&wash(asked)?, part.fraction),
            Some((p, cut)) if p < index => forward.add(&streams[p][cut], part.fraction),
            Some((p, cut)) if p == index => returning.push((cut, part.fraction)),
            // What comes back from a later pass is for the whole circuit to say.
            _ => {}
        }
    }
    let loss = asked.fitted.head(still).map_or(own.vessel.head_loss_w_k, |h| h.head_loss_w_k);
    let vessel = with_head(own.vessel, loss);
    let programme =
        programme(asked.house, own, cuts_of(asked.make, pass, asked.kept.map(Cuts::from)));
    let one = |charge: Moles, congeners: bool| -> Result<Run, Fault> {
        let mut filling = Charge::of_moles(charge);
        if congeners {
            filling.congeners = CONGENERS.iter().map(|c| (c, 1.0)).collect();
        }
        run(&filling, &vessel, &programme, asked.constants)
    };
    let litres = own.own.charge_l;
    let charge = match at_hand {
        Some(charge) => charge,
        None => settled(forward.moles, litres, &returning, |charge| one(charge, false))?,
    };
    let run = one(charge, asked.carried)?;
    let whole = balanced(&forward, &run, charge, &returning);
    let cuts = run.cuts.iter().map(|cut| of_whole(&whole, cut, charge)).collect();
    Ok(Passed { charge, whole, forward: forward.moles, cuts })
}

/// The wash of one charge, with what it carries.
fn wash(asked: &Asked<'_>) -> Result<Stream, Fault> {
    let first = asked.make.route.passes.iter();
    let still = first
        .filter(|pass| pass.charge.iter().any(|part| part.from == "wash"))
        .find_map(|pass| pass.stills.first());
    let own = pot(asked.house, still.map_or("", String::as_str))?;
    let moles = usual_wash(asked.house, asked.make, own);
    let pure_l = moles.pure_alcohol_l();
    let grams = in_wash(asked.house, asked.make).into_iter();
    let grams = grams
        .map(|(congener, g_l)| g_l * pure_l * asked.fitted.groups[place(congener.group)].level);
    Ok(Stream { moles, grams: grams.collect() })
}

/// A charge of so many litres whose own cuts return to it as they left.
///
/// What a stronger charge returns is less of it, by a good deal: going round and round may swing,
/// so the strength at which it closes is sought in a bracket.
fn settled(
    forward: Moles,
    litres: f64,
    returning: &[(usize, f64)],
    one: impl Fn(Moles) -> Result<Run, Fault>,
) -> Result<Moles, Fault> {
    let filled = |whole: Moles| whole.times(litres / whole.volume_20_l());
    if returning.is_empty() {
        return Ok(filled(forward));
    }
    let of = |fraction: f64| filled(Moles { ethanol_mol: fraction, water_mol: 1.0 - fraction });
    let mut fault = None;
    let off = |fraction: f64| {
        let charge = of(fraction);
        let run = match one(charge) {
            Ok(run) => run,
            Err(found) => {
                fault = Some(found);
                return f64::NAN;
            }
        };
        let (ethanol, water) = back(&run, charge, returning);
        // Logarithms of what is charged over what should be: equal where it closes.
        let ethanol = forward.ethanol_mol / (1.0 - ethanol) / charge.ethanol_mol;
        let water = forward.water_mol / (1.0 - water) / charge.water_mol;
        (ethanol / water).ln()
    };
    let low = 0.5 * forward.fraction();
    let high = mole_fraction(STRONGEST_PCT);
    let bracket = Bracket { low, high, tolerance: CLOSE * low };
    match brent(bracket, off) {
        Ok(fraction) => Ok(of(fraction)),
        Err(NoRoot::NotConverged { steps, residual, .. }) => {
            Err(Fault::NotConverged { what: "strength of a usual charge", steps, residual })
        }
        Err(NoRoot::SameSign { at_low, .. }) => Err(fault.unwrap_or(Fault::NotConverged {
            what: "strength of a usual charge",
            steps: 2,
            residual: at_low,
        })),
    }
}

/// No charge of a pot still is stronger, % vol.
const STRONGEST_PCT: f64 = 60.0;
/// A hundredth of what a hydrometer shows.
const CLOSE: f64 = 1e-5;

/// Shares of a charge's alcohol and water that come back to it.
fn back(run: &Run, charge: Moles, returning: &[(usize, f64)]) -> (f64, f64) {
    returning.iter().fold((0.0, 0.0), |(ethanol, water), (cut, fraction)| {
        let over = run.cuts[*cut].distillate;
        (
            ethanol + fraction * over.ethanol_mol / charge.ethanol_mol,
            water + fraction * over.water_mol / charge.water_mol,
        )
    })
}

fn balanced(forward: &Stream, run: &Run, charge: Moles, returning: &[(usize, f64)]) -> Stream {
    let (ethanol, water) = back(run, charge, returning);
    let grams = forward.grams.iter().enumerate().map(|(at, grams)| {
        let back: f64 = returning.iter().map(|(cut, f)| f * run.cuts[*cut].congeners[at].1).sum();
        // What wholly returns would never leave; the last thousandth does.
        grams / (1.0 - back).max(1e-3)
    });
    Stream {
        moles: Moles {
            ethanol_mol: forward.moles.ethanol_mol / (1.0 - ethanol),
            water_mol: forward.moles.water_mol / (1.0 - water),
        },
        grams: grams.collect(),
    }
}

/// A cut of all the charges that one charge of wash leads to.
fn of_whole(whole: &Stream, cut: &process::still::CutRun, charge: Moles) -> Stream {
    let share = whole.moles.ethanol_mol / charge.ethanol_mol;
    Stream {
        moles: cut.distillate.times(share),
        grams: whole.grams.iter().zip(&cut.congeners).map(|(g, (_, part))| g * part).collect(),
    }
}

/// The strength of a usual part of a charge, by where it came from: the cut that runs there.
pub(crate) fn strength_from(make: &Make, usual: &Usual, pass: usize, vessel: &str) -> Option<f64> {
    let mut found = Moles::default();
    for (p, of) in make.route.passes.iter().enumerate() {
        for cut in of.cuts.iter().filter(|cut| cut.to == vessel) {
            let name = &cut.cut.name;
            let whole = format!("{}.{name}", of.name);
            let own = usual.cuts.iter().filter(|(key, _)| p == pass && key == name);
            let earlier = usual.before.iter().filter(|(key, _)| *key == whole);
            for (_, moles) in own.chain(earlier) {
                found = found.plus(*moles);
            }
        }
    }
    (found.ethanol_mol > 0.0).then(|| found.strength_pct())
}

/// Litres at 20 °C of so much pure alcohol at a strength.
pub(crate) fn spirit(pure_alcohol_l: f64, strength_pct: f64) -> Spirit {
    Spirit { volume_20_l: 100.0 * pure_alcohol_l / strength_pct, strength_pct }
}

/// Sums something over the first so many congeners of each group, in the order of the groups.
pub(crate) fn by_group(kinds: usize, of: impl Fn(usize) -> f64) -> [f64; 5] {
    let mut out = [0.0; GROUPS.len()];
    for (at, congener) in CONGENERS.iter().enumerate().take(kinds) {
        out[place(congener.group)] += of(at);
    }
    out
}

#[cfg(test)]
mod tests;
