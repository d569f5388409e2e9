//! The figures of a mash: what goes in, the tun, the waters, the free constants.

use super::washing::How;
use crate::conversion;
use gauge::Grade;

const MEMORY: &str = "from memory of the trade";
const BOOK: &str = "fit to the Pauls and Whites Brewing Room Book, 1984/85, 0 to 8 % moisture";

gauge::record! {
    /// Grist, and what is known of the malt it was ground from.
    pub struct Grist {
        /// Dry matter of the grist.
        pub dry_kg: f64 = Field::new("kg").label("Grist, dry").within(0.1, 1e6).extensive(),
        /// Moisture on a wet basis.
        pub moisture_wet: f64 = Field::new("").label("Moisture").within(0.0, 0.12).or(0.045),
        /// Temperature.
        pub grist_c: f64 = Field::new("°C").label("Grist").within(-10.0, 60.0).or(15.0),
        /// Extract by the laboratory, of dry matter.
        pub extract_pct_dry: f64 = Field::new("% dry").label("Extract").within(50.0, 90.0)
            .or(79.5).sd(0.4).from(Grade::Memory, "a modern distilling malt, from memory"),
        /// Share of the extract that ferments, dextrin opened in the washback counted.
        pub fermentability: f64 = Field::new("").label("Fermentability").within(0.60, 0.925)
            .or(0.872).sd(0.005).from(Grade::Memory, "distilling malt 0.86 to 0.88, from memory"),
        /// Share of the laboratory's extract that this grist will yield: the mill says.
        pub extract_recovery: f64 = Field::new("").label("Recovery by the grist")
            .within(0.80, 1.0).or(0.99).from(Grade::Memory, MEMORY),
        /// Alpha-amylase, a fresh standard malt being 1.
        pub enzyme_alpha: f64 = Field::new("").label("Alpha-amylase").within(0.05, 5.0).or(1.0)
            .from(Grade::Design, "a fresh standard malt is 1"),
        /// Beta-amylase, the same.
        pub enzyme_beta: f64 = Field::new("").label("Beta-amylase").within(0.05, 5.0).or(1.0)
            .from(Grade::Design, "a fresh standard malt is 1"),
    }
}

gauge::record! {
    /// Last worts of the mash before, run in with the first water.
    pub struct WeakWorts {
        /// Water in them.
        pub water_kg: f64 = Field::new("kg").label("Water").within(0.0, 1e6).or(0.0).extensive(),
        /// Extract in them.
        pub extract_kg: f64 = Field::new("kg").label("Extract").within(0.0, 1e5).or(0.0)
            .extensive(),
    }
}

/// What goes in.
#[derive(Debug, Clone, PartialEq)]
pub struct Charge {
    /// The grist.
    pub grist: Grist,
    /// Last worts of the mash before.
    pub weak_worts: WeakWorts,
}

gauge::record! {
    /// The mash tun.
    pub struct Vessel {
        /// Heat its metal takes up: 500 to 1000 for each tonne of malt.
        pub tun_kj_k: f64 = Field::new("kJ/K").label("Heat of the tun").within(0.0, 1e6)
            .or(2000.0).from(Grade::Memory, MEMORY).fitted(600.0).extensive(),
        /// Its temperature before mashing in.
        pub tun_c: f64 = Field::new("°C").label("Tun before").within(-10.0, 95.0).or(45.0)
            .from(Grade::Memory, "a tun rinsed hot").sd(5.0),
        /// Heat it loses to the room for each kelvin.
        pub loss_w_k: f64 = Field::new("W/K").label("Heat loss").within(0.0, 1e5).or(130.0)
            .from(Grade::Memory, "a covered, lagged full tun cools 0.3 to 0.6 K/h").fitted(40.0)
            .extensive(),
        /// Heat lost while mashing in.
        pub mash_in_loss_kj: f64 = Field::new("kJ").label("Lost at mashing in")
            .within(0.0, 1e7).or(0.0).extensive(),
        /// Temperature of the room.
        pub room_c: f64 = Field::new("°C").label("Room").within(-20.0, 45.0).or(15.0),
    }
}

gauge::record! {
    /// One water.
    pub struct Liquor {
        /// Its volume as it is run in, weak worts and all.
        pub volume_l: f64 = Field::new("L").label("Water").within(1.0, 1e6).extensive(),
        /// Its temperature; left out for the first when `mash_c` is given.
        pub temperature_c: Option<f64> = Field::new("°C").label("At").within(20.0, 99.0),
        /// How long it stands on the bed.
        pub stand_min: f64 = Field::new("min").label("Stands").within(0.0, 600.0).or(30.0),
        /// How long it drains.
        pub drain_min: f64 = Field::new("min").label("Drains").within(1.0, 900.0).or(75.0),
    }
}

/// Where a drain goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum To {
    /// To the washback, over the cooler.
    Washback,
    /// To the weak-wort tank, for the next mash.
    Next,
}

/// One water and how it is used.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// Its figures.
    pub liquor: Liquor,
    /// Raked in or sparged on; the first is always mixed.
    pub how: How,
    /// Where its drain goes.
    pub to: To,
}

/// What the hand decides.
#[derive(Debug, Clone, PartialEq)]
pub struct Programme {
    /// Temperature wanted after mashing in; the first water's then follows from the heat balance.
    pub mash_c: Option<f64>,
    /// The waters, two to six, in order.
    pub waters: Vec<Water>,
}

gauge::record! {
    /// Free constants of heat and washing.
    pub struct Fitted {
        /// Specific heat of water and of the water in malt and worts.
        pub water_kj_kg_k: f64 = Field::new("kJ/(kg K)").within(4.0, 4.3).or(4.19)
            .from(Grade::Memory, "mean of 0 to 100 °C"),
        /// Specific heat of dry malt.
        pub malt_kj_kg_k: f64 = Field::new("kJ/(kg K)").within(1.0, 2.5).or(1.588)
            .from(Grade::Computed, BOOK),
        /// What each per cent of moisture adds to that.
        pub malt_kj_kg_k_pct: f64 = Field::new("kJ/(kg K %)").within(0.0, 0.1).or(0.0218)
            .from(Grade::Computed, BOOK),
        /// Heat of slaking of dry malt.
        pub slaking_kj_kg: f64 = Field::new("kJ/kg").within(0.0, 100.0).or(38.8)
            .from(Grade::Computed, BOOK),
        /// How it falls with each per cent of moisture.
        pub slaking_per_pct: f64 = Field::new("1/%").within(0.0, 1.0).or(0.130)
            .from(Grade::Computed, BOOK),
        /// Specific heat of extract: 4.19 − 0.027 P for weak worts.
        pub extract_kj_kg_k: f64 = Field::new("kJ/(kg K)").within(0.5, 4.0).or(1.49)
            .from(Grade::Memory, MEMORY),
        /// Mixed layers down the bed while a water is sparged on.
        pub tanks: f64 = Field::new("").label("Layers of the bed").within(1.0, 20.0).or(1.5)
            .from(Grade::Memory, "1 to 2 in a traditional tun, 2 to 4 in a lauter tun")
            .fitted(0.4),
        /// Water held after the first drain, for each kilogram of malt as it is.
        pub held_first_kg_kg: f64 = Field::new("kg/kg").within(0.3, 4.0).or(1.5)
            .from(Grade::Memory, MEMORY).fitted(0.15),
        /// After the second, and any between it and the last two.
        pub held_second_kg_kg: f64 = Field::new("kg/kg").within(0.3, 4.0).or(1.1)
            .from(Grade::Memory, MEMORY),
        /// After the last but one.
        pub held_third_kg_kg: f64 = Field::new("kg/kg").within(0.3, 4.0).or(1.0)
            .from(Grade::Memory, MEMORY),
        /// After the last: 0.8 gives draff of about 78 % moisture.
        pub held_last_kg_kg: f64 = Field::new("kg/kg").within(0.3, 4.0).or(0.8)
            .from(Grade::Memory, MEMORY).fitted(0.08),
        /// Share of the extract that no water reaches.
        pub not_washable: f64 = Field::new("").within(0.0, 0.05).or(0.005)
            .from(Grade::Memory, "0.5 to 1.5 % of extract").fitted(0.003),
        /// Share of the worts left in pipes and cooler.
        pub left_in_pipes: f64 = Field::new("").within(0.0, 0.02).or(0.002)
            .from(Grade::Memory, MEMORY),
        /// Share of the laboratory's extract that is neither starch nor sugar.
        pub solids_of_extract: f64 = Field::new("").within(0.0, 0.2).or(0.0755)
            .from(Grade::Memory, "0.06 kg of 0.794 kg extract in a kilogram of dry malt")
            .fitted(0.01),
        /// Share that was sugar before the mash.
        pub sugar_of_extract: f64 = Field::new("").within(0.0, 0.3).or(0.107)
            .from(Grade::Memory, "0.085 kg of 0.794 kg, the same"),
        /// Share of that sugar that is glucose, fructose or sucrose; the rest is maltose.
        pub preformed_hexose: f64 = Field::new("").within(0.0, 1.0).or(0.7)
            .from(Grade::Memory, MEMORY),
    }
}

/// The free constants: of heat and washing, and of the enzymes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Constants {
    /// Heat and washing.
    pub fitted: Fitted,
    /// The enzymes.
    pub enzymes: conversion::Constants,
}

impl Constants {
    /// Specific heat of malt as it is.
    pub fn malt_kj_kg_k(&self, moisture_wet: f64) -> f64 {
        self.fitted.malt_kj_kg_k + self.fitted.malt_kj_kg_k_pct * 100.0 * moisture_wet
    }
    /// Heat set free when a kilogram of malt as it is takes up water.
    pub fn slaking_kj_kg(&self, moisture_wet: f64) -> f64 {
        self.fitted.slaking_kj_kg * (-self.fitted.slaking_per_pct * 100.0 * moisture_wet).exp()
    }
    /// Water held by the bed after drain `index` of `count`, for each kilogram of malt as it is.
    pub fn held_kg_kg(&self, index: usize, count: usize) -> f64 {
        match (index, count - 1 - index) {
            (_, 0) => self.fitted.held_last_kg_kg,
            (0, _) => self.fitted.held_first_kg_kg,
            (_, 1) if index > 1 => self.fitted.held_third_kg_kg,
            _ => self.fitted.held_second_kg_kg,
        }
    }
}
