//! The heat of a mash, kept from the striking to the last drain: kJ above 0 °C.

use super::strike::{MashIn, mash_c};
use super::washing::Liquid;
use super::{Bed, Charge, Constants, Draff, Grist, Programme, To, Vessel, Worts};
use crate::{Balance, Matter};
use gauge::Fault;
use gauge::fault::Side;
use numeric::roots::{Bracket, NoRoot, brent};

/// Litres a kilogram of extract fills in weak worts, from memory of the trade.
pub const EXTRACT_L_KG: f64 = 0.62;
/// Hottest that a first water can be.
const HOTTEST_C: f64 = 99.0;

/// Water in the grist.
pub(super) fn malt_water_kg(grist: &Grist) -> f64 {
    grist.dry_kg * grist.moisture_wet / (1.0 - grist.moisture_wet)
}

/// Heat and specific heats as the mash goes on.
#[derive(Debug, Clone)]
pub(super) struct Heat {
    pub(super) strike_c: f64,
    pub(super) malt_kg: f64,
    /// kJ/(kg K): water; dry malt; extract, as a mean of what is in the tun.
    water: f64,
    solids: f64,
    extract: f64,
    /// Extract of the weak worts: the same once it is mixed in.
    recycled: f64,
    recycled_extract_kg: f64,
    tun_kj_k: f64,
    loss_kj_min_k: f64,
    room_c: f64,
    mash_in: MashIn,
    constants: Constants,
    bed_c: f64,
    liquor_kj: f64,
    room_kj: f64,
    worts_kj: f64,
    weak_kj: f64,
}

impl Heat {
    pub(super) fn of(
        charge: &Charge,
        vessel: &Vessel,
        programme: &Programme,
        constants: &Constants,
    ) -> Result<Self, Fault> {
        let grist = &charge.grist;
        let malt_kg = grist.dry_kg / (1.0 - grist.moisture_wet);
        let water = constants.fitted.water_kj_kg_k;
        let malt = constants.malt_kj_kg_k(grist.moisture_wet);
        let mut heat = Self {
            strike_c: f64::NAN,
            malt_kg,
            water,
            solids: (malt * malt_kg - water * malt_water_kg(grist)) / grist.dry_kg,
            extract: constants.fitted.extract_kj_kg_k,
            recycled: constants.fitted.extract_kj_kg_k,
            recycled_extract_kg: charge.weak_worts.extract_kg,
            tun_kj_k: vessel.tun_kj_k,
            loss_kj_min_k: vessel.loss_w_k * 0.06,
            room_c: vessel.room_c,
            mash_in: MashIn {
                malt_kg,
                moisture_wet: grist.moisture_wet,
                malt_c: grist.grist_c,
                liquor_kg: 0.0,
                liquor_kj_kg_k: water,
                tun_kj_k: vessel.tun_kj_k,
                tun_c: vessel.tun_c,
                loss_kj: vessel.mash_in_loss_kj,
            },
            constants: constants.clone(),
            bed_c: f64::NAN,
            liquor_kj: 0.0,
            room_kj: 0.0,
            worts_kj: 0.0,
            weak_kj: 0.0,
        };
        heat.strike_c = heat.find_strike(charge, programme)?;
        let first = heat.liquor(0, charge, programme).liquid;
        if first.water_kg < charge.weak_worts.water_kg {
            return Err(Fault::Beyond {
                field: "weak_worts.water_kg".into(),
                value: charge.weak_worts.water_kg,
                unit: "kg",
                side: Side::AtMost,
                limit: first.water_kg,
                sets: "what the first water takes".into(),
            });
        }
        Ok(heat)
    }

    /// The first water's temperature: as given, or so that the mash comes to `mash_c`. Its litres
    /// are given, so its mass changes with the answer and the closed form is not enough.
    fn find_strike(&self, charge: &Charge, programme: &Programme) -> Result<f64, Fault> {
        let first = &programme.waters[0].liquor;
        let Some(wanted) = programme.mash_c else {
            return Ok(first.temperature_c.unwrap_or(f64::NAN));
        };
        let mash_at = |strike_c: f64| {
            let liquor = first_liquor(first.volume_l, strike_c, charge);
            mash_c(&self.mash_in_with(&liquor), strike_c, &self.constants)
        };
        let bracket = Bracket { low: 20.0, high: HOTTEST_C, tolerance: 1e-10 };
        brent(bracket, |t| mash_at(t) - wanted).map_err(|none| match none {
            NoRoot::SameSign { .. } => Fault::NeverReached {
                field: "mash_c".into(),
                wanted,
                reached: mash_at(if mash_at(20.0) > wanted { 20.0 } else { HOTTEST_C }),
                unit: "°C",
            },
            NoRoot::NotConverged { steps, residual, .. } => {
                Fault::NotConverged { what: "striking heat", steps, residual }
            }
        })
    }

    fn mash_in_with(&self, liquor: &Liquid) -> MashIn {
        let kg = liquor.water_kg + liquor.extract_kg;
        let kj_k = self.water * liquor.water_kg
            + self.constants.fitted.extract_kj_kg_k * liquor.extract_kg;
        MashIn { liquor_kg: kg, liquor_kj_kg_k: kj_k / kg, ..self.mash_in }
    }

    /// The water of a step as it is run in.
    pub(super) fn liquor(&self, index: usize, charge: &Charge, programme: &Programme) -> Worts {
        let figures = &programme.waters[index].liquor;
        if index == 0 {
            let liquid = first_liquor(figures.volume_l, self.strike_c, charge);
            return Worts { liquid, temperature_c: self.strike_c };
        }
        let temperature_c = figures.temperature_c.unwrap_or(f64::NAN);
        let water_kg = figures.volume_l * gauge::water::density_kg_m3(temperature_c) / 1000.0;
        Worts { liquid: Liquid { water_kg, extract_kg: 0.0 }, temperature_c }
    }

    /// Heat the bed takes up a kelvin, before a water is run in.
    fn bed_kj_k(&self, bed: &Bed) -> f64 {
        self.water * bed.liquid.water_kg
            + self.extract * (bed.liquid.extract_kg + bed.kept_kg)
            + self.solids * bed.insoluble_kg
            + self.tun_kj_k
    }

    fn liquor_kj_k(&self, liquor: &Liquid) -> f64 {
        self.water * liquor.water_kg + self.recycled * liquor.extract_kg
    }

    /// Bed temperature once the water is in.
    pub(super) fn run_in(&mut self, index: usize, liquor: &Worts, bed: &Bed) -> f64 {
        let liquor_kj_k = self.liquor_kj_k(&liquor.liquid);
        self.liquor_kj += liquor_kj_k * liquor.temperature_c;
        self.bed_c = if index == 0 {
            let mash_in = self.mash_in_with(&liquor.liquid);
            mash_c(&mash_in, liquor.temperature_c, &self.constants)
        } else {
            let bed_kj_k = self.bed_kj_k(bed);
            (bed_kj_k * self.bed_c + liquor_kj_k * liquor.temperature_c) / (bed_kj_k + liquor_kj_k)
        };
        self.bed_c
    }

    /// Lets bed and liquor cool to the room for so long, and gives the temperature then.
    ///
    /// What the tun holds as a whole does not change while extract dissolves or wort stands in the
    /// underback at the tun's temperature, so the whole of it cools.
    pub(super) fn cool(&mut self, minutes: f64, liquor: &Worts, bed: &Bed) -> f64 {
        let kj_k = self.bed_kj_k(bed) + self.liquor_kj_k(&liquor.liquid);
        let above = self.bed_c - self.room_c;
        let fall = -(-self.loss_kj_min_k * minutes / kj_k).exp_m1();
        // Integral of the loss over the fall, and the fall itself: the same heat told twice.
        self.room_kj += kj_k * above * fall;
        self.bed_c = self.room_c + above * (-self.loss_kj_min_k * minutes / kj_k).exp();
        self.bed_c
    }

    /// Extract has dissolved: its specific heat is the mean of the malt it was, the water bound in
    /// it and what the weak worts brought.
    pub(super) fn dissolved(&mut self, bed: &Bed) {
        let of_malt = bed.extract_kg - bed.bound_kg;
        let recycled = self.constants.fitted.extract_kj_kg_k * self.recycled_extract_kg;
        self.extract = (self.solids * of_malt + self.water * bed.bound_kg + recycled)
            / (bed.extract_kg + self.recycled_extract_kg);
        self.recycled = self.extract;
    }

    fn liquid_kj_k(&self, liquid: &Liquid) -> f64 {
        self.water * liquid.water_kg + self.extract * liquid.extract_kg
    }

    /// Notes the heat that a drain carries.
    pub(super) fn run_off(&mut self, to: To, worts: &Worts) {
        let kj = self.liquid_kj_k(&worts.liquid) * worts.temperature_c;
        match to {
            To::Washback => self.worts_kj += kj,
            To::Next => self.weak_kj += kj,
        }
    }

    /// Temperature of all the drains to one place, run together.
    pub(super) fn mean_c(&self, to: To, all: &Liquid) -> f64 {
        let kj = if to == To::Washback { self.worts_kj } else { self.weak_kj };
        let kj_k = self.liquid_kj_k(all);
        if kj_k > 0.0 { kj / kj_k } else { self.bed_c }
    }

    pub(super) fn balance(&self, balance: &mut Balance, left_in_pipes: f64, draff: &Draff) {
        let m = &self.mash_in;
        let malt_kj_k = self.constants.malt_kj_kg_k(m.moisture_wet) * m.malt_kg;
        let slaking = self.constants.slaking_kj_kg(m.moisture_wet) * m.malt_kg;
        let held = Liquid { water_kg: draff.water_kg, extract_kg: draff.extract_kg };
        let draff_kj_k = self.liquid_kj_k(&held) + self.solids * draff.insoluble_kg;
        let energy = Matter::Energy;
        balance.input(energy, "waters", self.liquor_kj);
        balance.input(energy, "grist", malt_kj_k * m.malt_c);
        balance.input(energy, "slaking", slaking);
        balance.input(energy, "tun_before", self.tun_kj_k * m.tun_c);
        balance.output(energy, "worts", (1.0 - left_in_pipes) * self.worts_kj);
        balance.output(energy, "next_weak_worts", self.weak_kj);
        balance.output(energy, "draff", draff_kj_k * self.bed_c);
        balance.output(energy, "tun_after", self.tun_kj_k * self.bed_c);
        balance.lost(energy, "mashing_in", m.loss_kj);
        balance.lost(energy, "room", self.room_kj);
        balance.lost(energy, "pipes", left_in_pipes * self.worts_kj);
    }
}

/// Weak worts made up with water to the litres of the first water at its temperature.
fn first_liquor(volume_l: f64, at_c: f64, charge: &Charge) -> Liquid {
    let extract_kg = charge.weak_worts.extract_kg;
    let litres = volume_l - EXTRACT_L_KG * extract_kg;
    Liquid { water_kg: litres * gauge::water::density_kg_m3(at_c) / 1000.0, extract_kg }
}
