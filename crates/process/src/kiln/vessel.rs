//! The kiln itself: wire, fire, fan or flue, and how much of each it has.

use gauge::Grade;

gauge::record! {
    /// The kiln. A limit that is not given is none.
    pub struct Vessel {
        /// Area of the wire.
        pub area_m2: f64 = Field::new("m²").label("wire area").within(0.1, 1000.0).or(1.0)
            .extensive(),
        /// Deepest bed it may be loaded with.
        pub deepest_m: Option<f64> = Field::new("m").label("deepest bed").within(0.005, 2.0),
        /// Heat to the air over heat in the oil.
        pub burner_efficiency: f64 = Field::new("").label("burner efficiency")
            .within(0.3, 1.0).or(0.85).from(Grade::Memory, "indirect burners 0.80 to 0.90"),
        /// Most heat that the burner gives to the air; that of peat comes on top.
        pub burner_w: Option<f64> = Field::new("W").label("burner").within(100.0, 1e8)
            .extensive(),
        /// Net heat of the oil.
        pub oil_mj_kg: f64 = Field::new("MJ/kg").label("net heat of oil").within(30.0, 50.0)
            .or(42.7).from(Grade::Memory, "net heat of kerosene and gas oil"),
        /// Share of the oil's gases that go through the bed: 0 heated by a stove, 1 an open fire.
        pub direct_fraction: f64 = Field::new("").label("direct fire").within(0.0, 1.0).or(0.0),
        /// Share of the peat's net heat that reaches the air; the rest stays with a hearth that
        /// smoulders, its ash and its flue. Its water and its smoke go to the bed all the same.
        pub peat_heat_fraction: f64 = Field::new("").label("peat heat to the air")
            .within(0.0, 1.0).or(1.0)
            .from(Grade::Design, "all of it, until the house finds what its hearth gives"),
        /// Nitrogen oxides in the air-on when all gases go through the bed.
        pub nox_mg_m3: f64 = Field::new("mg/m³").label("nitrogen oxides, open fire")
            .within(0.0, 500.0).or(1.0)
            .from(Grade::Design, "a unit to count in; the house measures its own fire"),
        /// Heat lost through walls and roof, a kelvin of air-on over the weather.
        pub wall_loss_w_k: f64 = Field::new("W/K").label("loss of walls and roof")
            .within(0.0, 1e5).or(0.0).extensive(),
        /// Share of the air that passes the bed by at its edges.
        pub leak_fraction: f64 = Field::new("").label("air past the bed").within(0.0, 0.1).or(0.0)
            .from(Grade::Memory, "0 to 10 %"),
        /// Most dry air that the fan moves.
        pub fan_kg_s: Option<f64> = Field::new("kg/s").label("fan").within(0.01, 500.0)
            .extensive(),
        /// Pressure that the fan holds at that flow.
        pub fan_pa: Option<f64> = Field::new("Pa").label("pressure of the fan")
            .within(10.0, 5000.0),
        /// Work on the air over electricity.
        pub fan_efficiency: f64 = Field::new("").label("fan efficiency").within(0.1, 0.9)
            .or(0.55).from(Grade::Memory, "0.5 to 0.65"),
        /// Height of the flue over the bed. A kiln that has one and no fan draws by it alone.
        pub flue_m: Option<f64> = Field::new("m").label("height of the flue").within(1.0, 40.0),
    }
}

impl Vessel {
    /// Whether the warm air in the flue is all that moves the air.
    pub fn draws_by_flue(&self) -> bool {
        self.flue_m.is_some() && self.fan_kg_s.is_none()
    }
}
