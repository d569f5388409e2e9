//! The run of a real charge, foretold with its band, and what any cut of it would give.
//!
//! The charge is what was noted: its litres and strength, part by part. The run is followed once
//! at the best figures and once more for each thing it hangs on, moved by its standard
//! uncertainty; what a cut gives is read off all of them, and the differences are its band. No
//! congener moves alcohol or water, so one moved run shows the volatilities of all groups, and
//! how much of each the wash carries needs no run at all: the grams are in proportion.

use super::fitted::{Fitted, Known};
use super::heart::{Cuts, Heart};
use super::route::{Pot, cuts_of, make, pass_in, pot, product_of, programme, with_head};
use super::steady::{self, Asked};
use crate::figure::{Band, Figure, Shown};
use gauge::Fault;
use house::make::Make;
use house::standing::Running;
use house::{House, KeptCuts, Ran};
use process::still::{
    Charge, Congener, Constants, Moles, Point, Programme, Spirit, Trace, Until, Vessel,
};

/// Standard uncertainty of the strength of a charge, % vol: a hydrometer.
const CHARGE_PCT: f64 = 0.1;
/// Of its litres, as a share: a dip and what clings.
const CHARGE: f64 = 0.003;
/// Of the heat, as a share: a steam gauge.
const HEAT: f64 = 0.05;
/// Of the heat lost by a head that has not been fitted, as a share.
pub(crate) const HEAD: f64 = 0.25;
/// What is moved by all volatilities at once.
pub(crate) const VOLATILITY: &str = "volatility of the congeners";
const BOILING: &str = "boiling of alcohol and water";
const LOSS: &str = "heat lost by the head";

/// The same run with one thing moved by its standard uncertainty.
#[derive(Debug, Clone)]
pub(crate) struct Moved {
    /// What was moved.
    pub(crate) label: &'static str,
    pub(crate) trace: Trace,
    pub(crate) grams: Vec<f64>,
    pub(crate) heat_up_s: f64,
}

/// The run to expect of one charge.
#[derive(Debug, Clone)]
pub struct Expected {
    /// The make.
    pub make: String,
    /// The still.
    pub still: String,
    /// Name of the pass: `wash`, `middle`, `spirit`.
    pub pass: String,
    /// What is charged: litres at 20 °C and strength.
    pub charge: Spirit,
    /// Seconds from the charge to the first running.
    pub heat_up_s: f64,
    /// The cut kept to; none for a pass that is not cut.
    pub kept: Option<Cuts>,
    /// The run at the best figures, congeners in grams.
    pub trace: Trace,
    /// Heat lost by the head, W/K, as the house has it or as fitted.
    pub head_loss_w_k: f64,
    /// Whether the head of this still has been fitted.
    pub head_fitted: bool,
    pub(crate) moved: Vec<Moved>,
    pub(crate) grams: Vec<f64>,
    pub(crate) fitted: Fitted,
}

/// What a run is made of, so that each of it may be moved.
#[derive(Clone)]
struct Parts {
    spirit: Spirit,
    vessel: Vessel,
    programme: Programme,
    constants: Constants,
}

impl Expected {
    /// Gives the run to expect of the charge that was noted.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// A charge the still can take; else the fault of the still.
    /// # Error
    /// The band of each figure, nine times in ten, for what the model knows of itself.
    /// # Source
    /// As [`process::still`] and [`super::congeners`].
    pub fn of(
        house: &House,
        ran: &Ran,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, &ran.make)?;
        let pass = pass_of(of, ran)?;
        let constants = fitted.constants();
        let still = Some(ran.still.as_str());
        let carried = true;
        let constants = &constants;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        let moles = charged(house, &asked, ran)?;
        Self::reckoned(&asked, moles)
    }

    /// Gives the run to expect of the next charge of a still when all goes as usual: its usual
    /// litres, of the strength at which what returns is as much as went before.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// A make that the still runs.
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_next(
        house: &House,
        make_key: &str,
        still: &str,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, make_key)?;
        let pass = pass_in(of, still)?;
        let constants = fitted.constants();
        let still = Some(still);
        let carried = true;
        let constants = &constants;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        Self::reckoned(&asked, None)
    }

    /// Gives the run to expect of a charge of which only the pure alcohol is known, as it stands
    /// in a running still, at the strength of a usual charge; no congeners in it, for speed.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// As [`Self::of`].
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_running(
        house: &House,
        running: &Running,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, &running.make)?;
        let pass = pass_in(of, &running.vessel)?;
        let constants = &fitted.constants();
        let still = Some(running.vessel.as_str());
        let carried = false;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        let usual = steady::charge(&asked, None)?.charge;
        let share = running.pure_alcohol_l / usual.pure_alcohol_l();
        Self::reckoned(&asked, Some(usual.times(share)))
    }

    /// Gives the run to expect of a still's next charge, as [`Self::of_next`] and without
    /// congeners, for speed.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// As [`Self::of_next`].
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_next_plain(
        house: &House,
        (make_key, still): (&str, &str),
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, make_key)?;
        let pass = pass_in(of, still)?;
        let constants = &fitted.constants();
        let (still, carried) = (Some(still), false);
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        Self::reckoned(&asked, None)
    }

    /// Gives the run to expect of so many litres of a strength in a still.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// As [`Self::of`].
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_charge(
        house: &House,
        (make_key, still): (&str, &str),
        charge: Spirit,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, make_key)?;
        let pass = pass_in(of, still)?;
        let constants = fitted.constants();
        let still = Some(still);
        let carried = true;
        let constants = &constants;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        Self::reckoned(&asked, Some(Moles::of_spirit(charge)))
    }

    fn reckoned(asked: &Asked<'_>, at_hand: Option<Moles>) -> Result<Self, Fault> {
        let pass = &asked.make.route.passes[asked.pass];
        let still = asked.still.unwrap_or_default();
        let own = pot(asked.house, still)?;
        let usual = steady::charge(asked, at_hand)?;
        let cuts = cuts_of(asked.make, pass, asked.kept.map(Cuts::from));
        let kept = product_of(asked.make, pass).map(|at| Cuts::of(&cuts, at));
        let head = asked.fitted.head(still);
        let loss = head.map_or(own.vessel.head_loss_w_k, |h| h.head_loss_w_k);
        let loss_sd = head.map_or(HEAD * loss, |h| h.sd);
        let parts = Parts {
            spirit: Spirit {
                volume_20_l: usual.charge.volume_20_l(),
                strength_pct: usual.charge.strength_pct(),
            },
            vessel: with_head(own.vessel, loss),
            programme: programme(asked.house, own, cuts),
            constants: asked.constants.clone(),
        };
        let volatile = asked.fitted.constants_moved();
        let others = Asked { constants: &volatile, ..*asked };
        let (whole, moved) = std::thread::scope(|scope| {
            // What the charge carries hangs on the volatilities too, through what returned to it.
            let carried =
                asked.carried.then(|| scope.spawn(|| steady::charge(&others, Some(usual.charge))));
            let whole = run_of(&parts, own, &usual.grams);
            let moved = moves(&parts, loss_sd, own, &usual.grams);
            let other = carried.and_then(|hand| hand.join().ok()?.ok());
            let volatility = other.and_then(|other| {
                let parts = Parts { constants: volatile.clone(), ..parts.clone() };
                let (trace, heat_up_s) = run_of(&parts, own, &other.grams).ok()?;
                let label = VOLATILITY;
                Some(Moved { label, trace, grams: other.grams, heat_up_s })
            });
            (whole, moved.into_iter().chain(volatility).collect())
        });
        let (trace, heat_up_s) = whole?;
        let mut moved: Vec<Moved> = moved;
        if head.is_some() {
            held_to_the_fit(&trace, &mut moved, &parts, loss_sd, own);
        }
        Ok(Self {
            make: asked.make.key.clone(),
            still: still.to_owned(),
            pass: pass.name.clone(),
            charge: parts.spirit,
            heat_up_s,
            kept,
            trace,
            head_loss_w_k: loss,
            head_fitted: head.is_some(),
            moved,
            grams: usual.grams.clone(),
            fitted: asked.fitted.clone(),
        })
    }

    /// The run alone, no congeners in it, with some of it changed.
    pub(crate) fn only(
        house: &House,
        ran: &Ran,
        kept: Option<&KeptCuts>,
        changed: super::head::Changed,
    ) -> Result<Trace, Fault> {
        let of = make(house, &ran.make)?;
        let pass = pass_of(of, ran)?;
        let constants = Constants::default();
        let fitted = Fitted::default();
        let still = Some(ran.still.as_str());
        let asked = Asked {
            house,
            make: of,
            pass,
            still,
            kept,
            fitted: &fitted,
            constants: &constants,
            carried: false,
        };
        let own = pot(house, &ran.still)?;
        let moles = match charged(house, &asked, ran)? {
            Some(moles) => moles,
            None => steady::charge(&asked, None)?.charge,
        };
        let spirit = Spirit {
            volume_20_l: moles.volume_20_l(),
            strength_pct: moles.strength_pct() + changed.charge_pct,
        };
        let cuts = cuts_of(of, &of.route.passes[pass], kept.map(Cuts::from));
        let mut programme = programme(house, own, cuts);
        let heat_w = programme.conditions.heat_w;
        programme.conditions.heat_w = heat_w.map(|heat| heat * changed.heat);
        let vessel = with_head(own.vessel, changed.loss_w_k);
        Trace::of(&Charge::of_spirit(spirit), &vessel, &programme, &constants)
    }

    /// The congeners charged, g.
    pub fn congeners(&self) -> impl Iterator<Item = (&'static Congener, f64)> {
        self.trace.congeners().iter().map(|(c, _)| *c).zip(self.grams.iter().copied())
    }

    /// Whether a group of congeners is known by figures or is a shape only.
    pub fn known(&self, group: process::still::Group) -> Known {
        self.fitted.group(group).known
    }

    /// Strength at the safe so many seconds from the first running.
    pub fn strength_at(&self, time_s: f64) -> Figure {
        let shown = Shown("strength_pct", "strength at the safe", "% vol", 1);
        self.at(shown, time_s, |point| point.strength_pct)
    }

    /// Flow at the safe so many seconds from the first running.
    pub fn flow_at(&self, time_s: f64) -> Figure {
        let shown = Shown("flow_l_min", "flow at the safe", "L/min at 20 °C", 1);
        self.at(shown, time_s, |point| point.flow_l_min)
    }

    /// Temperature in the head so many seconds from the first running.
    pub fn head_at(&self, time_s: f64) -> Figure {
        self.at(Shown("head_c", "head", "°C", 1), time_s, |point| point.head_c)
    }

    /// Litres that have come over so many seconds from the first running.
    pub fn over_at(&self, time_s: f64) -> Figure {
        let shown = Shown("over_20_l", "come over", "L at 20 °C", 0);
        self.at(shown, time_s, |point| point.over_l)
    }

    /// Seconds from the charge to the first running.
    pub fn heat_up(&self) -> Figure {
        let figure = Shown("heat_up_h", "to the first running", "h", 1);
        let moved = self.moved.iter().map(|m| (m.label, m.heat_up_s / 3600.0));
        banded(figure.of(self.heat_up_s / 3600.0), moved)
    }

    fn at(&self, shown: Shown, time_s: f64, of: impl Fn(&Point) -> f64) -> Figure {
        let moved = self.moved.iter().map(|m| (m.label, of(&m.trace.point(time_s))));
        banded(shown.of(of(&self.trace.point(time_s))), moved)
    }

    /// Gives what the heart between two cuts would be.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// Cuts within the run, the end below the strength at the beginning; else the still's fault.
    /// # Error
    /// The band of each figure.
    /// # Source
    /// As [`Self::of`].
    pub fn heart(&self, cuts: Cuts) -> Result<Heart, Fault> {
        super::heart::heart(self, cuts)
    }
}

/// The pass a run was: wash, where it had fermented; else by its still and by what it was cut to.
pub(crate) fn pass_of(make: &Make, ran: &Ran) -> Result<usize, Fault> {
    let passes = &make.route.passes;
    let of_wash = |pass: &house::make::Pass| pass.charge.iter().any(|p| p.from == "wash");
    let found = passes.iter().position(|pass| {
        pass.stills.contains(&ran.still)
            && of_wash(pass) == ran.ferment_h.is_some()
            && ran.cuts.iter().all(|cut| pass.cuts.iter().any(|c| c.cut.name == cut.cut))
    });
    found.map_or_else(|| pass_in(make, &ran.still), Ok)
}

/// The alcohol and water that were charged; nothing where nothing was noted.
pub(crate) fn charged(house: &House, asked: &Asked<'_>, ran: &Ran) -> Result<Option<Moles>, Fault> {
    if ran.charged.is_empty() {
        return Ok(None);
    }
    let wanting = ran.charged.iter().any(|p| p.volume_20_l.is_none() && p.strength_pct.is_none());
    let usual = if wanting { Some(steady::charge(asked, None)?) } else { None };
    let mut whole = Moles::default();
    for part in &ran.charged {
        let strength = || {
            let usual = usual.as_ref()?;
            let of_wash = part_of_wash(house, part.pure_alcohol_l, ran);
            of_wash.or_else(|| steady::strength_from(asked.make, usual, asked.pass, &part.from))
        };
        let spirit = match (part.volume_20_l, part.strength_pct) {
            (Some(volume_20_l), Some(strength_pct)) => Spirit { volume_20_l, strength_pct },
            (Some(volume_20_l), None) => {
                let strength_pct = 100.0 * part.pure_alcohol_l / volume_20_l;
                Spirit { volume_20_l, strength_pct }
            }
            (None, Some(strength_pct)) => steady::spirit(part.pure_alcohol_l, strength_pct),
            (None, None) => {
                let usual_pct = usual.as_ref().map_or(25.0, |u| u.forward.strength_pct());
                steady::spirit(part.pure_alcohol_l, strength().unwrap_or(usual_pct))
            }
        };
        whole = whole.plus(Moles::of_spirit(spirit));
    }
    Ok(Some(whole))
}

/// The strength of a washback charged whole: it was filled to its mark.
fn part_of_wash(house: &House, pure_alcohol_l: f64, ran: &Ran) -> Option<f64> {
    ran.ferment_h?;
    let from = house.vessel(&ran.charged.first()?.from)?;
    match &from.what {
        house::Equipment::Washback(_, stage) => Some(100.0 * pure_alcohol_l / stage.fill_l),
        _ => None,
    }
}

fn run_of(parts: &Parts, own: Pot<'_>, grams: &[f64]) -> Result<(Trace, f64), Fault> {
    let mut charge = Charge::of_spirit(parts.spirit);
    charge.filling.temperature_c = Some(own.own.charge_c);
    charge.congeners =
        process::still::CONGENERS.iter().zip(grams).map(|(c, grams)| (c, *grams)).collect();
    let trace = Trace::of(&charge, &parts.vessel, &parts.programme, &parts.constants)?;
    let heat_up_s = trace.start().heat_up_s.unwrap_or(0.0);
    Ok((trace, heat_up_s))
}

/// Every run with one thing moved; one that would not run is left out of the band.
fn moves(parts: &Parts, loss_sd: f64, own: Pot<'_>, grams: &[f64]) -> Vec<Moved> {
    let mut all: Vec<(&'static str, Parts)> = Vec::with_capacity(5);
    let mut with = |label, change: &dyn Fn(&mut Parts)| {
        let mut moved = parts.clone();
        change(&mut moved);
        all.push((label, moved));
    };
    with(BOILING, &|p| p.constants.nrtl_a21 += nrtl_sd());
    with(LOSS, &|p| p.vessel.head_loss_w_k += loss_sd);
    with("heat", &|p| {
        let heat_w = p.programme.conditions.heat_w;
        p.programme.conditions.heat_w = heat_w.map(|heat| heat * (1.0 + HEAT));
    });
    with("strength of the charge", &|p| p.spirit.strength_pct += CHARGE_PCT);
    with("litres of the charge", &|p| p.spirit.volume_20_l *= 1.0 + CHARGE);
    let one = |(label, parts): &(&'static str, Parts)| {
        let (trace, heat_up_s) = run_of(parts, own, grams).ok()?;
        Some(Moved { label, trace, grams: grams.to_vec(), heat_up_s })
    };
    std::thread::scope(|scope| {
        let hands: Vec<_> = all
            .chunks(all.len().div_ceil(2))
            .map(|some| scope.spawn(move || some.iter().filter_map(one).collect::<Vec<_>>()))
            .collect();
        hands.into_iter().flat_map(|hand| hand.join().unwrap_or_default()).collect()
    })
}

/// What the boiling of alcohol and water leaves open the fit of the head has taken up: with
/// another equilibrium another head would have met the same strengths. So where the head is
/// fitted the one is moved with the other, and the strength ten minutes into the run stays.
fn held_to_the_fit(trace: &Trace, moved: &mut [Moved], parts: &Parts, loss_sd: f64, own: Pot<'_>) {
    const EARLY_S: f64 = 600.0;
    let early = |trace: &Trace| trace.point(EARLY_S).strength_pct;
    let change = |label| {
        let of = moved.iter().find(|m| m.label == label)?;
        Some(early(&of.trace) - early(trace))
    };
    let (Some(boiling), Some(loss)) = (change(BOILING), change(LOSS)) else {
        return;
    };
    let mut other = parts.clone();
    other.constants.nrtl_a21 += nrtl_sd();
    let held = other.vessel.head_loss_w_k - loss_sd * boiling / loss;
    other.vessel.head_loss_w_k = held.max(0.0);
    if let Some(place) = moved.iter().position(|m| m.label == BOILING)
        && let Ok((trace, heat_up_s)) = run_of(&other, own, &moved[place].grams)
    {
        moved[place].trace = trace;
        moved[place].heat_up_s = heat_up_s;
    }
}

fn nrtl_sd() -> f64 {
    use gauge::Record;
    let field = Constants::FIELDS.iter().find(|f| f.key == "nrtl_a21");
    field.map_or(0.0, |f| f.sd)
}

/// A figure with the band that its moved values make.
pub(crate) fn banded(figure: Figure, moved: impl Iterator<Item = (&'static str, f64)>) -> Figure {
    let parts: Vec<(&'static str, f64)> =
        moved.map(|(label, value)| (label, value - figure.value)).collect();
    spread(figure, &parts)
}

/// A figure with the band that changes of it, each by one standard uncertainty, make.
pub(crate) fn spread(mut figure: Figure, parts: &[(&'static str, f64)]) -> Figure {
    let known = parts.iter().filter(|(_, change)| change.is_finite());
    let variance: f64 = known.clone().map(|(_, change)| change * change).sum();
    if variance > 0.0 && figure.value.is_finite() {
        let mut because: Vec<(String, f64)> = known
            .map(|(label, change)| ((*label).to_owned(), change * change / variance))
            .collect();
        because.sort_by(|a, b| b.1.total_cmp(&a.1));
        because.truncate(3);
        figure.band = Some(Band { because, ..Band::around(figure.value, variance.sqrt()) });
    }
    figure
}

impl Cuts {
    /// The cuts of a pass whose spirit is the cut at `product`.
    fn of(cuts: &[process::still::Cut], product: usize) -> Self {
        let from_min = match product.checked_sub(1).map(|before| cuts[before].until) {
            Some(Until::TimeS(seconds)) => seconds / 60.0,
            _ => 0.0,
        };
        let to_pct = match cuts[product].until {
            Until::StrengthPct(pct) => pct,
            _ => 1.0,
        };
        Self { from_min, to_pct }
    }
}

#[cfg(test)]
mod tests;
