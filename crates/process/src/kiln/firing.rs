//! A firing as a distiller speaks of it: so long over peat, so long drying, so long curing.
//!
//! A [`Programme`] is knots of air-on; nobody at a kiln thinks in knots. A firing has three
//! phases, each with its hours, its air-on and its air: the *smoke*, mild, while the corns are
//! moist; the *drying*, as hot as moist enzymes bear; the *cure*, hotter, once the malt is dry.
//! The change from one phase to the next takes `ramp_h` and counts as part of the later one, so
//! the hours of the phases sum to the hours of the whole.

use super::figures::{Air, AirKnot, Peat, Programme, Solve, Turn};
use gauge::{Grade, Node, Record};

gauge::record! {
    /// A firing: smoke, drying, cure.
    pub struct Firing {
        /// Hours of smoke, from lighting.
        pub peat_h: f64 = Field::new("h").label("hours of smoke").within(0.0, 200.0).or(0.0),
        /// Air-dry peat burnt for a tonne of dry matter on the wire.
        pub peat_kg_t: f64 = Field::new("kg/t").label("peat a tonne of dry matter")
            .within(0.0, 1500.0).or(0.0),
        /// Air-on while peat burns.
        pub peat_c: f64 = Field::new("°C").label("air-on over peat").within(15.0, 65.0).or(45.0)
            .from(Grade::Memory, "45 to 50 °C, mild enough to take up smoke"),
        /// Dry air while peat burns; that of the drying when not given.
        pub peat_flow_kg_m2_s: Option<f64> = Field::new("kg/(m² s)").label("dry air over peat")
            .within(0.02, 1.0),
        /// Hours of drying after the smoke.
        pub dry_h: f64 = Field::new("h").label("hours of drying").within(0.0, 300.0),
        /// Air-on of the drying.
        pub dry_c: f64 = Field::new("°C").label("air-on of the drying").within(15.0, 90.0)
            .or(55.0).from(Grade::Memory, "50 to 55 °C to the break, 60 to 65 °C after"),
        /// Dry air of the drying and the cure.
        pub flow_kg_m2_s: f64 = Field::new("kg/(m² s)").label("dry air").within(0.02, 1.0),
        /// Hours of curing after the drying.
        pub cure_h: f64 = Field::new("h").label("hours of curing").within(0.0, 100.0),
        /// Air-on of the cure.
        pub cure_c: f64 = Field::new("°C").label("air-on of the cure").within(15.0, 110.0)
            .or(68.0).from(Grade::Memory, "distilling malt is cured at 65 to 75 °C"),
        /// Share of the air-off sent back once it is dry enough.
        pub returned: f64 = Field::new("kg/kg").label("air sent back").within(0.0, 0.95).or(0.0),
        /// Hours in which the fire is brought from one phase to the next.
        pub ramp_h: f64 = Field::new("h").label("change of fire").within(0.01, 12.0).or(0.5)
            .from(Grade::Memory, "half an hour to an hour"),
    }
}

/// Where a firing is done: the weather, the peat, the turnings, how finely it is reckoned.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// The air; its flow and the share sent back are the firing's.
    pub air: Air,
    /// Humidity ratio of the fresh air.
    pub humidity_ratio: f64,
    /// The peat; its hours and amount are the firing's.
    pub peat: Peat,
    /// Turnings of the bed; those after the end fall away.
    pub turns: Vec<Turn>,
    /// How finely; the hours are the firing's.
    pub solve: Solve,
}

/// One phase laid out in time.
#[derive(Debug, Clone, Copy)]
struct Phase {
    hours: f64,
    temperature_c: f64,
    flow_kg_m2_s: f64,
}

impl Firing {
    /// Hours of the whole.
    pub fn hours(&self) -> f64 {
        self.peat_h + self.dry_h + self.cure_h
    }

    /// Peat burnt in an hour for a tonne of dry matter; nought when there is no smoke.
    pub fn peat_rate_kg_t_h(&self) -> f64 {
        if self.peat_h > 0.0 { self.peat_kg_t / self.peat_h } else { 0.0 }
    }

    /// Dry air while peat burns.
    pub fn peat_flow(&self) -> f64 {
        self.peat_flow_kg_m2_s.unwrap_or(self.flow_kg_m2_s)
    }

    fn phases(&self) -> impl Iterator<Item = Phase> {
        let phase =
            |hours, temperature_c, flow_kg_m2_s| Phase { hours, temperature_c, flow_kg_m2_s };
        let flow = self.flow_kg_m2_s;
        let all = [
            phase(self.peat_h, self.peat_c, self.peat_flow()),
            phase(self.dry_h, self.dry_c, flow),
            phase(self.cure_h, self.cure_c, flow),
        ];
        // A phase of less than a second is none.
        all.into_iter().filter(|p| p.hours > 3e-4)
    }

    /// The knots, turnings and peat that this firing is.
    pub fn programme(&self, setting: &Setting) -> Programme {
        let mut on: Vec<AirKnot> = Vec::with_capacity(6);
        let mut from_h = 0.0;
        for phase in self.phases() {
            let until_h = from_h + phase.hours;
            let ramp_h = if from_h > 0.0 { self.ramp_h.min(phase.hours) } else { 0.0 };
            let knot = |at_h| AirKnot {
                at_h,
                temperature_c: phase.temperature_c,
                humidity_ratio: setting.humidity_ratio,
                flow_kg_m2_s: Some(phase.flow_kg_m2_s),
            };
            on.push(knot(from_h + ramp_h));
            if until_h - (from_h + ramp_h) > 3e-4 {
                on.push(knot(until_h));
            }
            from_h = until_h;
        }
        let smoke = self.peat_h > 0.0 && self.peat_kg_t > 0.0;
        Programme {
            air: Air {
                flow_kg_m2_s: self.flow_kg_m2_s,
                returned: self.returned,
                ..setting.air.clone()
            },
            on,
            turns: setting.turns.iter().filter(|t| t.at_h < from_h).cloned().collect(),
            peat: Peat {
                from_h: 0.0,
                hours: if smoke { self.peat_h } else { 0.0 },
                peat_kg_t: if smoke { self.peat_kg_t } else { 0.0 },
                ..setting.peat.clone()
            },
            solve: Solve { hours: self.hours(), ..setting.solve.clone() },
        }
    }

    /// The firing in sentences, a phase each, as it would stand on a slate by the kiln.
    pub fn says(&self) -> Vec<String> {
        let mut out = Vec::with_capacity(4);
        if self.peat_h > 0.0 {
            out.push(format!(
                "Smoke for {:.1} h at {:.0} °C, {:.0} kg of peat a tonne of dry matter, \
                 {:.3} kg/(m² s) of air.",
                self.peat_h,
                self.peat_c,
                self.peat_kg_t,
                self.peat_flow()
            ));
        }
        if self.dry_h > 0.0 {
            out.push(format!(
                "Dry for {:.1} h at {:.1} °C, {:.3} kg/(m² s) of air.",
                self.dry_h, self.dry_c, self.flow_kg_m2_s
            ));
        }
        if self.cure_h > 0.0 {
            out.push(format!("Cure for {:.1} h at {:.1} °C.", self.cure_h, self.cure_c));
        }
        if self.returned > 0.0 {
            out.push(format!(
                "Send back {:.0} % of the air once it comes off dry.",
                100.0 * self.returned
            ));
        }
        out
    }

    /// As part of a result: its figures by key, and its hours.
    pub fn node(&self) -> Node {
        let figures = self.figures().into_iter();
        let mut entries: Vec<(&'static str, Node)> =
            figures.filter_map(|(field, value)| Some((field.key, value?.into()))).collect();
        entries.push(("hours", self.hours().into()));
        Node::part(entries)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turn(at_h: f64) -> Turn {
        let mut turn = Turn::default();
        turn.set("at_h", at_h);
        turn
    }

    fn setting() -> Setting {
        Setting {
            air: Air::default(),
            humidity_ratio: 0.0065,
            peat: Peat::default(),
            turns: [14.0, 44.0].map(turn).to_vec(),
            solve: Solve::default(),
        }
    }

    fn feather() -> Firing {
        Firing {
            peat_h: 4.0,
            peat_kg_t: 24.0,
            peat_c: 42.0,
            peat_flow_kg_m2_s: Some(0.077),
            dry_h: 23.5,
            flow_kg_m2_s: 0.104,
            cure_h: 5.5,
            returned: 0.5,
            ..Firing::default()
        }
    }

    #[test]
    fn phases_become_knots_that_rise_in_time() {
        let programme = feather().programme(&setting());
        let knots: Vec<(f64, f64, Option<f64>)> =
            programme.on.iter().map(|k| (k.at_h, k.temperature_c, k.flow_kg_m2_s)).collect();
        let (slow, fast) = (Some(0.077), Some(0.104));
        let wanted = [
            (0.0, 42.0, slow),
            (4.0, 42.0, slow),
            (4.5, 55.0, fast),
            (27.5, 55.0, fast),
            (28.0, 68.0, fast),
            (33.0, 68.0, fast),
        ];
        assert_eq!(knots, wanted);
        assert!((programme.solve.hours - 33.0).abs() < 1e-12);
        // The turning after the end has fallen away.
        assert_eq!(programme.turns.len(), 1);
        assert!((programme.peat.hours - 4.0).abs() < 1e-12 && programme.peat.from_h == 0.0);
    }

    #[test]
    fn a_phase_shorter_than_the_change_of_fire_is_all_change() {
        let short = Firing { cure_h: 0.3, ..feather() };
        let times: Vec<f64> = short.programme(&setting()).on.iter().map(|k| k.at_h).collect();
        assert!(times.windows(2).all(|w| w[1] > w[0]), "{times:?}");
        assert!((times[times.len() - 1] - short.hours()).abs() < 1e-9);
    }

    #[test]
    fn no_smoke_is_no_phase_and_no_peat() {
        let plain = Firing { peat_h: 0.0, ..feather() };
        let programme = plain.programme(&setting());
        assert_eq!(programme.on[0].temperature_c, 55.0);
        assert_eq!((programme.peat.hours, programme.peat.peat_kg_t), (0.0, 0.0));
        assert_eq!(plain.says().len(), 3);
        assert_eq!(feather().says().len(), 4);
    }

    #[test]
    fn a_firing_runs_as_its_programme() {
        let charge = super::super::Charge {
            depth_m: 0.2,
            moisture_dry: 0.77,
            temperature_c: 18.0,
            ..Default::default()
        };
        let short = Firing { dry_h: 6.0, cure_h: 2.0, flow_kg_m2_s: 0.18, ..feather() };
        let run = super::super::run(
            &charge,
            &super::super::Vessel::default(),
            &short.programme(&setting()),
            &super::super::Constants::default(),
        )
        .expect("a customary firing");
        assert!((run.out.hours - short.hours()).abs() < 1e-12);
        assert!((run.out.cure_c - short.cure_c).abs() < 1e-9);
        assert!(run.out.phenols_mg_kg_dry > 0.5);
    }
}
