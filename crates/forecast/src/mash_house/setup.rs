//! A mash put together for reckoning: grist, tun, waters, cooler and washback of one house.

use super::tun::TunFitted;
use super::under_way::{Others, as_noted};
use super::wished::{Wished, WishedWater};
use crate::chain::{WORT_PH, usual_weather};
use gauge::wort::kernel as wort;
use gauge::{Fault, Grade};
use house::standing::WeakWorts as Kept;
use house::{Equipment, House, Make, Standing};
use jiff::Timestamp;
use process::mash::{self, WeakWorts};
use process::{cool, ferment, mill};

/// Malt never comes colder from the bins than this.
const COLDEST_MALT_C: f64 = 5.0;
/// Weak worts in a lagged tank where nobody noted how warm they are, from memory of the trade. Only
/// their litres hang on it: a thousandth for three degrees.
pub(super) const WEAK_WORTS_C: f64 = 72.0;
/// Litres of water at striking heat, kg/L.
const STRUCK_KG_L: f64 = 0.975;
/// A fiftieth of the first water stays fresh, so that weak worts can be brought to its heat.
const MOST_WEAK: f64 = 0.98;

gauge::record! {
    /// What is read or weighed for a mash and not known exactly, as shifts from the best figure.
    pub(crate) struct Read {
        /// Of the grist, wet basis.
        pub(crate) moisture_wet: f64 = Field::new("").label("grist moisture").or(0.0).sd(0.002)
            .from(Grade::Memory, "sampling of one grist"),
        /// Of the grist.
        pub(crate) grist_c: f64 = Field::new("°C").label("grist temperature").or(0.0).sd(1.5)
            .from(Grade::Memory, "malt as it lies in bin and grist case"),
        /// Of the first water, as a share of its litres.
        pub(crate) water: f64 = Field::new("").label("water volume").or(0.0).sd(0.004)
            .from(Grade::Memory, "a dip of a hot liquor tank"),
        /// Of the extract, % of dry malt.
        pub(crate) extract_pct_dry: f64 = Field::new("%").label("extract of the malt").or(0.0)
            .sd(0.4).from(Grade::Memory, "one laboratory mash"),
        /// Of the share that ferments.
        pub(crate) fermentability: f64 = Field::new("").label("fermentability").or(0.0).sd(0.005)
            .from(Grade::Memory, "one laboratory fermentation"),
        /// Of the tun before, °C.
        pub(crate) tun_c: f64 = Field::new("°C").label("tun before").or(0.0).sd(2.0)
            .from(Grade::Memory, "a tun that has stood empty for hours"),
    }
}

/// A mash as it is usual of a make, of usual malt.
pub(crate) fn usual(house: &House, make: &str, mash: u32, at: Timestamp) -> Option<Wished> {
    let make = house.make(make)?;
    let malt = mash::Grist::default();
    let programme = &make.mash.programme;
    let water = |w: &mash::Water| WishedWater {
        volume_l: w.liquor.volume_l,
        temperature_c: w.liquor.temperature_c,
    };
    Some(Wished {
        mash,
        make: make.key.clone(),
        at,
        grist_kg: make.mash.grist.grist_kg,
        moisture_wet: malt.moisture_wet,
        extract_pct_dry: malt.extract_pct_dry,
        fermentability: malt.fermentability,
        tested: false,
        bins: Vec::new(),
        mash_c: programme.mash_c.or_else(|| struck_at(house, make))?,
        waters: programme.waters.iter().map(water).collect(),
        set_c: make.ferment.programme.set_c,
        yeast_kg: make.ferment.pitch.yeast_kg,
        hours: make.ferment.programme.hours,
        washback: None,
        on_weak_worts: true,
        stops: None,
        decided: false,
    })
}

/// The mash of a make whose file gives the heat of the first water instead.
fn struck_at(house: &House, make: &Make) -> Option<f64> {
    let usual = mash::Grist::default();
    let dry_kg = make.mash.grist.grist_kg * (1.0 - usual.moisture_wet);
    let grist = mash::Grist { dry_kg, ..usual };
    let charge = mash::Charge { grist, weak_worts: WeakWorts::default() };
    let tun = TunFitted::believed(house);
    mash::run(&charge, &tun.vessel, &make.mash.programme, &tun.constants).ok().map(|m| m.mash_c)
}

/// All that a mash is reckoned from.
#[derive(Debug, Clone)]
pub(crate) struct Setup<'h> {
    pub(crate) make: &'h Make,
    pub(crate) charge: mash::Charge,
    pub(crate) tun: mash::Vessel,
    pub(crate) programme: mash::Programme,
    pub(crate) constants: mash::Constants,
    pub(crate) mill: Option<mill::Run>,
    pub(crate) plates: Option<(cool::Vessel, f64, f64)>,
    pub(crate) washback: ferment::Vessel,
    pub(crate) cold_water_c: f64,
    pub(crate) set_c: f64,
    pub(crate) yeast_kg: f64,
    pub(crate) hours: f64,
    /// Rows of the fermentation's curves.
    pub(crate) every_h: f64,
    /// Constants of the washback.
    pub(crate) working: ferment::Constants,
}

/// A mash reckoned to the wash.
#[derive(Debug, Clone)]
pub(crate) struct Reckoned {
    pub(crate) mash: mash::Run,
    pub(crate) cool: Option<cool::Run>,
    pub(crate) wash: Option<ferment::Run>,
}

impl<'h> Setup<'h> {
    /// Puts a wished mash together; its weak worts are none yet.
    pub(crate) fn of(house: &'h House, fitted: &TunFitted, wished: &Wished) -> Result<Self, Fault> {
        let make = house.make(&wished.make).ok_or_else(|| Fault::NotAllowed {
            field: "make".into(),
            found: wished.make.clone(),
            allowed: house.makes.makes.iter().map(|m| m.key.clone()).collect(),
        })?;
        let weather = usual_weather(house, wished.at);
        let mill = ground(house, wished, weather.air_c.max(COLDEST_MALT_C));
        let usual = mash::Grist::default();
        let best = mill.as_ref().map_or(usual.extract_recovery, |m| m.extract_recovery);
        let grist_kg = mill.as_ref().map_or(wished.grist_kg, |m| m.dry_kg / (1.0 - m.moisture_wet));
        let grist = mash::Grist {
            dry_kg: grist_kg * (1.0 - wished.moisture_wet),
            moisture_wet: wished.moisture_wet,
            grist_c: mill.as_ref().map_or(weather.air_c, |m| m.grist_c),
            extract_pct_dry: wished.extract_pct_dry,
            fermentability: wished.fermentability,
            extract_recovery: (best * fitted.recovery).min(1.0),
            ..usual
        };
        let mut programme = make.mash.programme.clone();
        programme.mash_c = Some(wished.mash_c);
        for (water, other) in programme.waters.iter_mut().zip(&wished.waters) {
            water.liquor.volume_l = other.volume_l;
            water.liquor.temperature_c = other.temperature_c;
        }
        if let Some(first) = programme.waters.first_mut() {
            first.liquor.temperature_c = None;
        }
        Ok(Self {
            make,
            charge: mash::Charge { grist, weak_worts: WeakWorts::default() },
            tun: fitted.vessel.clone(),
            programme,
            constants: fitted.constants.clone(),
            mill,
            plates: plates(house),
            washback: washback(house, wished.washback.as_deref()),
            cold_water_c: weather.cold_water_c,
            set_c: wished.set_c,
            yeast_kg: wished.yeast_kg,
            hours: wished.hours,
            every_h: 2.0,
            working: ferment::Constants::default(),
        })
    }

    /// On weak worts as they lie.
    pub(crate) fn on_kept(&mut self, kept: &Kept) {
        let plato = wort::plato_of_gravity(kept.gravity);
        let at_c = kept.temperature_c.unwrap_or(WEAK_WORTS_C);
        let water = gauge::water::density_kg_m3;
        let volume_20_l = kept.bulk_l * water(at_c) / water(20.0);
        let mass_kg = volume_20_l * wort::density_kg_m3(kept.gravity) / 1000.0;
        self.on(mass_kg * (1.0 - plato / 100.0), mass_kg * plato / 100.0);
    }

    /// On weak worts of so much water and extract, as far as the first water has room for them.
    pub(crate) fn on(&mut self, water_kg: f64, extract_kg: f64) {
        let first_l = self.programme.waters.first().map_or(0.0, |w| w.liquor.volume_l);
        let room_kg = MOST_WEAK * STRUCK_KG_L * (first_l - mash::EXTRACT_L_KG * extract_kg);
        let share = if water_kg > room_kg { (room_kg / water_kg).max(0.0) } else { 1.0 };
        self.charge.weak_worts =
            WeakWorts { water_kg: share * water_kg, extract_kg: share * extract_kg };
    }

    /// On the weak worts of a week of the same mashes.
    pub(crate) fn on_steady(&mut self) -> Result<(), Fault> {
        let run = mash::steady(&self.charge, &self.tun, &self.programme, &self.constants)?;
        self.on(run.weak_worts.liquid.water_kg, run.weak_worts.liquid.extract_kg);
        Ok(())
    }

    /// Moves what is read by so much.
    pub(crate) fn shifted(&self, read: &Read) -> Self {
        let mut out = self.clone();
        let grist = &mut out.charge.grist;
        let kg = grist.dry_kg / (1.0 - grist.moisture_wet);
        grist.moisture_wet = (grist.moisture_wet + read.moisture_wet).max(0.0);
        grist.dry_kg = kg * (1.0 - grist.moisture_wet);
        grist.grist_c += read.grist_c;
        grist.extract_pct_dry += read.extract_pct_dry;
        grist.fermentability = (grist.fermentability + read.fermentability).min(0.925);
        out.tun.tun_c += read.tun_c;
        if let Some(first) = out.programme.waters.first_mut() {
            first.liquor.volume_l *= 1.0 + read.water;
        }
        out
    }

    /// The mash alone.
    pub(crate) fn mash(&self) -> Result<mash::Run, Fault> {
        mash::run(&self.charge, &self.tun, &self.programme, &self.constants)
    }

    /// The worts over the cooler.
    pub(crate) fn cooled(&self, mash: &mash::Run) -> Option<cool::Run> {
        let (vessel, worts_kg_s, most) = self.plates.as_ref()?;
        let charge = cool::Charge {
            volume_20_l: mash.worts.volume_20_l(),
            plato: mash.worts.plato(),
            temperature_c: mash.worts.temperature_c,
        };
        let programme = cool::Programme {
            set_c: self.set_c,
            worts_kg_s: *worts_kg_s,
            water_c: self.cold_water_c,
            water_most_kg_s: *most,
        };
        cool::run(&charge, vessel, &programme, &cool::Constants::default()).ok()
    }

    /// The washback.
    pub(crate) fn fermented(&self, mash: &mash::Run, set_c: f64) -> Result<ferment::Run, Fault> {
        let fill_l = mash.worts.volume_20_l();
        let dry_kg_m3 = 1000.0 * self.yeast_kg * self.make.ferment.pitch.yeast_dry / fill_l;
        let yeast = ferment::Yeast { dry_kg_m3, ..ferment::Yeast::default() };
        let charge = ferment::Charge { wort: mash.wort(), yeast, ph: WORT_PH };
        let vessel = ferment::Vessel { fill_l, ..self.washback.clone() };
        let mut programme = self.make.ferment.programme.clone();
        (programme.set_c, programme.hours, programme.every_h) = (set_c, self.hours, self.every_h);
        ferment::run(&charge, &vessel, &programme, &self.working)
    }

    /// All of it.
    pub(crate) fn run(&self) -> Result<Reckoned, Fault> {
        let mash = self.mash()?;
        let cool = self.cooled(&mash);
        let set_c = cool.as_ref().map_or(self.set_c, |c| c.set_c);
        let wash = Some(self.fermented(&mash, set_c)?);
        Ok(Reckoned { mash, cool, wash })
    }
}

/// What the house's mill makes of a grist at its setting.
fn ground(house: &House, wished: &Wished, malt_c: f64) -> Option<mill::Run> {
    let (stage, rollers) = house.vessels("mill").find_map(|v| match &v.what {
        Equipment::Mill(_, stage, rollers) => Some((stage, rollers)),
        _ => None,
    })?;
    let charge = mill::Charge {
        dry_kg: wished.grist_kg * (1.0 - wished.moisture_wet),
        moisture_wet: wished.moisture_wet,
        malt_c,
    };
    mill::run(&charge, stage, rollers, &mill::Constants::default()).ok()
}

fn plates(house: &House) -> Option<(cool::Vessel, f64, f64)> {
    house.vessels("cooler").find_map(|v| match &v.what {
        Equipment::Cooler(stage, flows) => {
            Some((stage.clone(), flows.worts_kg_s, flows.water_most_kg_s))
        }
        _ => None,
    })
}

fn washback(house: &House, wanted: Option<&str>) -> ferment::Vessel {
    let own = wanted.and_then(|key| house.vessel(key));
    let all = own.into_iter().chain(house.vessels("washback"));
    let mut stages = all.filter_map(|v| match &v.what {
        Equipment::Washback(_, stage) => Some(stage.clone()),
        _ => None,
    });
    stages.next().unwrap_or_default()
}

/// The weak worts that a wished mash is struck on: those that lie, else those that the mash under
/// way will leave, else those of a week of the same.
pub(crate) fn weak_worts(
    setup: &mut Setup<'_>,
    house: &House,
    standing: &Standing,
    fitted: &TunFitted,
    wished: &Wished,
) -> Result<(), Fault> {
    if !wished.on_weak_worts {
        return Ok(());
    }
    if let Some(kept) = standing.weak_worts.as_ref().filter(|k| k.mash + 1 == wished.mash) {
        setup.on_kept(kept);
        return Ok(());
    }
    let before = standing.mashed.iter().find(|m| m.mash + 1 == wished.mash);
    if let Some(before) = before.filter(|m| m.mashed_in.is_some() && m.make == wished.make)
        && let Ok(other) = as_noted(house, Others::of(standing), fitted, before)
        && let Ok(run) = other.mash()
    {
        setup.on(run.weak_worts.liquid.water_kg, run.weak_worts.liquid.extract_kg);
        return Ok(());
    }
    setup.on_steady()
}
