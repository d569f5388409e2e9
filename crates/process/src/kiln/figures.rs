//! The figures of a kilning: what lies on the wire, what the hand sets, the constants.

use gauge::Grade;

gauge::record! {
    /// The green malt on the wire.
    pub struct Charge {
        /// Depth as loaded.
        pub depth_m: f64 = Field::new("m").label("depth").within(0.005, 2.0),
        /// Dry matter in a cubic metre of the bed as loaded.
        pub dry_bulk_kg_m3: f64 = Field::new("kg/m³").label("dry matter a cubic metre")
            .within(200.0, 600.0).or(350.0).sd(25.0)
            .from(Grade::Memory, "300 to 380; measure by the height of a known load"),
        /// Moisture on dry matter.
        pub moisture_dry: f64 = Field::new("kg/kg").label("moisture on dry matter")
            .within(0.03, 1.2),
        /// Temperature of the grain.
        pub temperature_c: f64 = Field::new("°C").label("grain temperature").within(0.0, 60.0),
        /// Share of the dry matter that is rootlets.
        pub rootlet_fraction: f64 = Field::new("kg/kg").label("rootlets in the dry matter")
            .within(0.0, 0.1).or(0.033)
            .from(Grade::Memory, "2.9 to 3.6 % of dry matter, brewing textbooks"),
    }
}

gauge::record! {
    /// The air, save for its course.
    pub struct Air {
        /// Dry air through a square metre.
        pub flow_kg_m2_s: f64 = Field::new("kg/(m² s)").label("dry air").within(0.02, 1.0),
        /// Barometer.
        pub pressure_pa: f64 = Field::new("Pa").label("pressure").within(7e4, 1.1e5)
            .or(101_325.0).from(Grade::Published, "standard atmosphere"),
        /// Share of the air-off sent back once it is dry enough.
        pub returned: f64 = Field::new("kg/kg").label("air sent back").within(0.0, 0.95).or(0.0),
        /// Air is sent back only while the air-off is below this relative humidity.
        pub returned_below: f64 = Field::new("").label("send back below").within(0.05, 0.95)
            .or(0.6).from(Grade::Memory, "used only after the break"),
        /// Sulphur burnt in the first hours for a tonne of dry matter on the wire; it holds down
        /// nitrosamines under a direct fire.
        pub sulphur_kg_t: f64 = Field::new("kg/t").label("sulphur burnt").within(0.0, 10.0)
            .or(0.0).from(Grade::Memory, "1 to 4 kg/t of malt where it is burnt at all"),
        /// Temperature of the weather.
        pub ambient_c: f64 = Field::new("°C").label("weather").within(-30.0, 45.0).or(10.0),
    }
}

gauge::record! {
    /// One knot of the air-on; straight lines between knots, the last holds.
    pub struct AirKnot {
        /// Hours from lighting.
        pub at_h: f64 = Field::new("h").label("at").within(0.0, 500.0),
        /// Air-on temperature.
        pub temperature_c: f64 = Field::new("°C").label("air-on").within(0.0, 110.0),
        /// Humidity ratio of the fresh air after the fire.
        pub humidity_ratio: f64 = Field::new("kg/kg").label("humidity ratio").within(0.0, 0.1)
            .or(0.008),
        /// Dry air from here on; the flow of `[air]` when not given.
        pub flow_kg_m2_s: Option<f64> = Field::new("kg/(m² s)").label("dry air")
            .within(0.02, 1.0),
    }
}

gauge::record! {
    /// A turning of the bed by hand: what lay apart is mixed.
    pub struct Turn {
        /// Hours from lighting.
        pub at_h: f64 = Field::new("h").label("at").within(0.0, 500.0),
        /// How far every layer comes to the mean of the bed: 1 when nothing is told apart after.
        pub mixed_fraction: f64 = Field::new("").label("mixed").within(0.0, 1.0).or(1.0)
            .from(Grade::Design, "a bed shovelled from wire to top"),
    }
}

gauge::record! {
    /// The peat.
    pub struct Peat {
        /// Hours from lighting at which the smoke begins.
        pub from_h: f64 = Field::new("h").label("smoke from").within(0.0, 200.0).or(0.0),
        /// Hours of smoke.
        pub hours: f64 = Field::new("h").label("hours of smoke").within(0.0, 200.0).or(0.0),
        /// Air-dry peat burnt for a tonne of dry matter on the wire.
        pub peat_kg_t: f64 = Field::new("kg/t").label("peat a tonne of dry matter")
            .within(0.0, 1500.0).or(0.0),
        /// Net heat of the peat as burnt.
        pub peat_mj_kg: f64 = Field::new("MJ/kg").label("net heat of peat").within(5.0, 22.0)
            .or(13.5).from(Grade::Memory, "12 to 15 MJ/kg at 25 to 45 % moisture"),
        /// Moisture of the peat as burnt, wet basis.
        pub peat_moisture_wet: f64 = Field::new("kg/kg").label("moisture of the peat")
            .within(0.0, 0.7).or(0.30).from(Grade::Memory, "25 to 45 % as burnt"),
        /// Water made by burning a kilogram of dry peat.
        pub water_kg_kg: f64 = Field::new("kg/kg").label("water of dry peat burnt")
            .within(0.0, 1.0).or(0.55).from(Grade::Memory, "0.5 to 0.6 kg/kg dry peat"),
    }
}

gauge::record! {
    /// How long, and how finely it is reckoned.
    pub struct Solve {
        /// Hours of kilning.
        pub hours: f64 = Field::new("h").label("hours").within(0.05, 500.0),
        /// Cells in the bed.
        pub cells: f64 = Field::new("").label("cells").within(4.0, 2000.0).or(40.0),
        /// Longest step of time.
        pub step_s: f64 = Field::new("s").label("step").within(0.1, 600.0).or(30.0),
        /// Rows of the curves.
        pub every_h: f64 = Field::new("h").label("a row every").within(0.005, 100.0).or(0.25),
        /// The mean moisture wanted, wet basis.
        pub ready_moisture_wet: f64 = Field::new("kg/kg").label("wanted moisture, wet basis")
            .within(0.02, 0.3).or(0.045)
            .from(Grade::Published, "malt of 4 to 5 %, Owens, Cereals Processing Technology"),
    }
}

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// `K` of water activity over moist grain.
        pub emc_k: f64 = Field::new("1/K").within(1e-6, 1e-3).or(2.2919e-5).sd(1e-6)
            .from(Grade::Published, "ASAE D245, barley, modified Henderson"),
        /// `N` of the same.
        pub emc_n: f64 = Field::new("").within(1.2, 3.5).or(2.0123).sd(0.03)
            .from(Grade::Published, "ASAE D245, barley, modified Henderson"),
        /// `C` of the same.
        pub emc_c: f64 = Field::new("K").within(50.0, 400.0).or(195.267).sd(10.0)
            .from(Grade::Published, "ASAE D245, barley, modified Henderson"),
        /// `k0` of the drying rate.
        pub rate_1_s: f64 = Field::new("1/s").within(1.0, 1e4).or(139.3).fitted(25.0)
            .from(Grade::Memory, "O'Callaghan, Menzies and Bailey 1971, barley"),
        /// `E` of the drying rate.
        pub rate_k: f64 = Field::new("K").within(2000.0, 8000.0).or(4426.0).sd(150.0)
            .from(Grade::Memory, "O'Callaghan, Menzies and Bailey 1971, barley"),
        /// Share of the rate that fades as moisture falls below 0.14; 0.65 when the tail is slow.
        pub tail_share: f64 = Field::new("").within(0.0, 0.95).or(0.0).fitted(0.2)
            .from(Grade::Design, "malt stalls near 10 to 12 %; off unless the house fits it"),
        /// `A` of the binding heat of water.
        pub binding: f64 = Field::new("").within(0.0, 2.0).or(0.5904).sd(0.1)
            .from(Grade::Memory, "Bala and Woods 1984, latent heat of malt"),
        /// `B` of the binding heat of water.
        pub binding_fade: f64 = Field::new("kg/kg").within(2.0, 50.0).or(13.67).sd(1.5)
            .from(Grade::Memory, "Bala and Woods 1984, latent heat of malt"),
        /// Heat capacity of dry matter.
        pub dry_heat_j_kg_k: f64 = Field::new("J/(kg K)").within(1000.0, 2500.0).or(1651.0)
            .sd(80.0).from(Grade::Memory, "Bala and Woods 1984"),
        /// Heat from air to grain at 1 kg/(m² s).
        pub film_w_m3_k: f64 = Field::new("W/(m³ K)").within(5e3, 2e5).or(49_320.0).sd(15_000.0)
            .from(Grade::Memory, "Bala and Woods 1984"),
        /// Power of the flow in it.
        pub film_power: f64 = Field::new("").within(0.3, 1.0).or(0.6906).sd(0.05)
            .from(Grade::Memory, "Bala and Woods 1984"),
        /// Phenols given off by a kilogram of smouldering peat.
        pub smoke_g_kg: f64 = Field::new("g/kg").within(0.1, 10.0).or(2.5).fitted(1.0)
            .from(Grade::Memory, "1.5 to 4 g/kg smouldering"),
        /// Most of the smoke's phenols that a moist bed keeps.
        pub smoke_kept: f64 = Field::new("").within(0.01, 0.9).or(0.15).fitted(0.05)
            .from(Grade::Design, "meets the remembered 3 to 8 kg peat a tonne for each ppm"),
        /// Depth of bed in which smoke is taken up.
        pub smoke_depth_kg_m2: f64 = Field::new("kg/m²").within(5.0, 1000.0).or(60.0).fitted(25.0)
            .from(Grade::Design, "the bottom of a bed is peatier"),
        /// Stripping of phenols by hot air at 50 °C; doubles each 10 K.
        pub strip_1_h: f64 = Field::new("1/h").within(0.0, 0.1).or(0.004).fitted(0.002)
            .from(Grade::Design, "losses of hot air after smoking"),
        /// Dust taken off at dressing, share of dry matter.
        pub dust_fraction: f64 = Field::new("kg/kg").within(0.0, 0.03).or(0.0035)
            .from(Grade::Memory, "0.2 to 0.5 % of malt"),
    }
}

impl Charge {
    /// A piece spread over a wire of `area_m2`: its depth follows from the default density.
    pub fn spread(piece: &crate::floor::Out, area_m2: f64) -> Self {
        let bed = Self {
            moisture_dry: piece.moisture_dry,
            temperature_c: piece.temperature_c,
            rootlet_fraction: piece.rootlet_fraction,
            ..Self::default()
        };
        Self { depth_m: piece.dry_kg / (area_m2 * bed.dry_bulk_kg_m3), ..bed }
    }
}

/// What the hand sets.
#[derive(Debug, Clone, PartialEq)]
pub struct Programme {
    /// The air.
    pub air: Air,
    /// Its course.
    pub on: Vec<AirKnot>,
    /// Turnings.
    pub turns: Vec<Turn>,
    /// The peat.
    pub peat: Peat,
    /// How long and how finely.
    pub solve: Solve,
}

/// The air-on at one moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct AirOn {
    pub(super) temperature_c: f64,
    pub(super) humidity_ratio: f64,
    pub(super) flow_kg_m2_s: f64,
}

impl Programme {
    /// How many cells the bed is cut into.
    pub(super) fn cells(&self) -> usize {
        self.solve.cells.round() as usize
    }

    /// The air-on `time_h` after lighting.
    pub(super) fn air_on(&self, time_h: f64) -> AirOn {
        let next = self.on.partition_point(|k| k.at_h <= time_h);
        let before = &self.on[next.saturating_sub(1)];
        let after = self.on.get(next).unwrap_or(before);
        let span = after.at_h - before.at_h;
        let share = if span > 0.0 { ((time_h - before.at_h) / span).max(0.0) } else { 0.0 };
        let between = |a: f64, b: f64| a + share * (b - a);
        let flow = |knot: &AirKnot| knot.flow_kg_m2_s.unwrap_or(self.air.flow_kg_m2_s);
        AirOn {
            temperature_c: between(before.temperature_c, after.temperature_c),
            humidity_ratio: between(before.humidity_ratio, after.humidity_ratio),
            flow_kg_m2_s: between(flow(before), flow(after)),
        }
    }
}
