//! What no single figure can tell: whether bed, air and kiln go together. Each fault says what
//! would do.

use super::drying::{AIR_HEAT_J_KG_K, AirState, film_w_kg_k};
use super::figures::{Charge, Constants, Programme};
use super::plant::{LEAST_DRAUGHT_KG_M2_S, Plant};
use super::vessel::Vessel;
use gauge::fault::Side;
use gauge::moist_air::kernel::saturation_humidity_ratio;
use gauge::{Fault, Record};

/// Rounding that a flow given as a share of the fan's own may carry.
const ROUNDING: f64 = 1e-9;

/// A kilning before it is reckoned.
pub(super) struct Limits<'a> {
    pub(super) charge: &'a Charge,
    pub(super) vessel: &'a Vessel,
    pub(super) programme: &'a Programme,
    pub(super) constants: &'a Constants,
}

impl Limits<'_> {
    /// The first thing that cannot be.
    pub(super) fn check(&self) -> Result<(), Fault> {
        let programme = self.programme;
        if programme.on.is_empty() {
            return Err(Fault::MissingPart { field: "air.on".into(), wanted: "a list of knots" });
        }
        in_order(programme.on.iter().map(|k| k.at_h), "air.on")?;
        in_order(programme.turns.iter().map(|t| t.at_h), "turn")?;
        for (i, knot) in programme.on.iter().enumerate() {
            if let Some(fault) = knot.faults().into_iter().next() {
                return Err(fault.within(&format!("air.on[{i}]")));
            }
            self.not_too_moist(i)?;
        }
        for (i, turn) in programme.turns.iter().enumerate() {
            if let Some(fault) = turn.faults().into_iter().next() {
                return Err(fault.within(&format!("turn[{i}]")));
            }
        }
        self.depth()?;
        for flow in self.flows() {
            self.fan(&flow)?;
        }
        self.cells()
    }

    /// Air cannot hold more water than saturates it.
    fn not_too_moist(&self, i: usize) -> Result<(), Fault> {
        let knot = &self.programme.on[i];
        let most = saturation_humidity_ratio(knot.temperature_c, self.programme.air.pressure_pa);
        if knot.humidity_ratio <= most {
            return Ok(());
        }
        Err(Fault::Beyond {
            field: format!("air.on[{i}].humidity_ratio").into(),
            value: knot.humidity_ratio,
            unit: "kg/kg",
            side: Side::AtMost,
            limit: most,
            sets: format!("air saturated at {:.1} °C", knot.temperature_c).into(),
        })
    }

    fn depth(&self) -> Result<(), Fault> {
        let (charge, vessel) = (self.charge, self.vessel);
        let Some(limit) = vessel.deepest_m.filter(|m| charge.depth_m > m * (1.0 + ROUNDING)) else {
            return Ok(());
        };
        let kg = limit * charge.dry_bulk_kg_m3 * vessel.area_m2;
        Err(Fault::Beyond {
            field: "bed.depth_m".into(),
            value: charge.depth_m,
            unit: "m",
            side: Side::AtMost,
            limit,
            sets: format!("the deepest bed of this kiln, {kg:.0} kg of dry matter on its wire")
                .into(),
        })
    }

    /// Every flow asked for, with its path.
    fn flows(&self) -> Vec<Asked> {
        let programme = self.programme;
        let general = programme.on.iter().any(|k| k.flow_kg_m2_s.is_none());
        let first = programme.air.flow_kg_m2_s;
        let mut all: Vec<Asked> = Vec::new();
        if general {
            all.push(Asked { field: "air.flow_kg_m2_s".into(), flow_kg_m2_s: first });
        }
        all.extend(programme.on.iter().enumerate().filter_map(|(i, knot)| {
            let field = format!("air.on[{i}].flow_kg_m2_s");
            knot.flow_kg_m2_s.map(|flow_kg_m2_s| Asked { field, flow_kg_m2_s })
        }));
        all
    }

    /// The fan must move the air, and drive it through the bed as it is loaded.
    fn fan(&self, asked: &Asked) -> Result<(), Fault> {
        let beyond = |limit: f64, sets: String| {
            Err(Fault::Beyond {
                field: asked.field.clone().into(),
                value: asked.flow_kg_m2_s,
                unit: "kg/(m² s)",
                side: Side::AtMost,
                limit,
                sets: sets.into(),
            })
        };
        let most = self.vessel.fan_kg_s.map(|kg_s| kg_s / self.vessel.area_m2);
        if let Some(most) = most.filter(|most| asked.flow_kg_m2_s > most * (1.0 + ROUNDING)) {
            let kg_s = most * self.vessel.area_m2;
            return beyond(most, format!("all the {kg_s:.1} kg/s of the fan on this wire"));
        }
        let Some(fan_pa) = self.vessel.fan_pa else { return Ok(()) };
        let plant = Plant { vessel: self.vessel, charge: self.charge, programme: self.programme };
        // The wet bed and cold air-off of the first hours: the least it will ever resist.
        let moisture = [self.charge.moisture_dry];
        let off = AirState::new(self.charge.temperature_c, 0.0);
        let takes = plant.pressure_drop_pa(&moisture, off, asked.flow_kg_m2_s);
        if takes <= fan_pa {
            return Ok(());
        }
        let limit = plant.driven_by(fan_pa, &moisture, off);
        beyond(
            limit,
            format!("what {fan_pa:.0} Pa of the fan drive through this bed; it takes {takes:.0}"),
        )
    }

    /// The box rule wants cells thinner than twice the depth in which the air cools.
    fn cells(&self) -> Result<(), Fault> {
        let flows = self.flows().into_iter().map(|asked| asked.flow_kg_m2_s);
        let asked = flows.fold(f64::INFINITY, f64::min);
        let drawn = if self.vessel.draws_by_flue() { LEAST_DRAUGHT_KG_M2_S } else { asked };
        let least = drawn.min(asked) * (1.0 - self.vessel.leak_fraction);
        let film = film_w_kg_k(self.constants, self.charge.dry_bulk_kg_m3, least);
        let thickest = 2.0 * least * AIR_HEAT_J_KG_K / film;
        let limit = (self.charge.depth_m * self.charge.dry_bulk_kg_m3 / thickest).ceil();
        if self.programme.solve.cells.round() < limit {
            return Err(Fault::Beyond {
                field: "solve.cells".into(),
                value: self.programme.solve.cells,
                unit: "",
                side: Side::AtLeast,
                limit,
                sets: "a bed this deep in air this slow".into(),
            });
        }
        Ok(())
    }
}

/// A flow and where it is written.
struct Asked {
    field: String,
    flow_kg_m2_s: f64,
}

fn in_order(times: impl Iterator<Item = f64>, list: &str) -> Result<(), Fault> {
    let mut before = f64::NEG_INFINITY;
    for (i, value) in times.enumerate() {
        if value <= before {
            let field = format!("{list}[{i}].at_h").into();
            return Err(Fault::NotInOrder { field, value, before, unit: "h" });
        }
        before = value;
    }
    Ok(())
}
