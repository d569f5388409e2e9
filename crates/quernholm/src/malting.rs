//! From lorry to bin: what was steeped, cast, turned, kilned and stripped, and what was read of it.

use crate::grown::{Dried, Grounds, Grown, Handled, Pair, Stretch, firing};
use crate::letters::{self, Sent};
use crate::store::{self, Drawn, Store};
use crate::told::{Clock, Diary, Hours, field, to};
use crate::truth::{LONG_STEEP_H, LONG_STEEP_PIECE, Truth};
use gauge::{Fault, Node};
use process::floor::{How, Spread, Turn};

/// A piece of malt, once stripped.
#[derive(Debug, Clone)]
pub(crate) struct Malt {
    pub(crate) piece: u32,
    pub(crate) make: &'static str,
    pub(crate) strip_h: Hours,
    pub(crate) kg: f64,
    pub(crate) moisture_wet: f64,
    pub(crate) phenols_mg_kg_dry: f64,
    /// Whether it waits for the laboratory.
    pub(crate) hold: bool,
}

/// Under water and air, h.
const STEEP_H: f64 = 46.0;
/// On the floor, h: eight days and a half.
const FLOOR_H: f64 = 204.0;
/// Between two pieces on one floor, h.
const CLEAR_H: f64 = 12.0;
/// Between two kilnings, h.
const TURNAROUND_H: f64 = 5.0;
const BARLEY_KG: f64 = 9200.0;
/// Malting opens so long before the first mash.
const LEAD_H: f64 = -21.0 * 24.0;

/// Which make the pieces are for, so that the malt of each has rested when its weeks come: six
/// Pale with one Ember among them, three Feather, then Ember with a Pale between.
fn make_of(piece: u32) -> &'static str {
    match piece {
        0..=3 | 5 | 6 => "pale",
        7..=9 => "feather",
        4 | 10 | 11 => "ember",
        later if later % 4 == 3 => "pale",
        _ => "ember",
    }
}

fn kiln_h(make: &str) -> f64 {
    match make {
        "feather" => 33.0,
        "ember" => 60.0,
        _ => 28.0,
    }
}

/// When the kiln is loaded with each piece: as soon as the kiln is free and the piece's floor has
/// been free long enough.
fn loads(until_h: Hours) -> Vec<Hours> {
    let mut loads = vec![LEAD_H + STEEP_H + FLOOR_H];
    while loads.last().is_some_and(|last| *last < until_h) {
        let last = loads.len() - 1;
        let kiln = loads[last] + kiln_h(make_of(last as u32)) + TURNAROUND_H;
        let floor = loads.len().checked_sub(4).map_or(kiln, |k| loads[k] + FLOOR_H + CLEAR_H);
        loads.push(kiln.max(floor));
    }
    loads
}

/// Shifts all so that a kilning over peat is well under way now, with some of the smoke to come.
fn shifted(mut loads: Vec<Hours>, now_h: Hours) -> Vec<Hours> {
    let shift = loads
        .iter()
        .enumerate()
        .filter(|(piece, _)| make_of(*piece as u32) == "ember")
        .map(|(piece, load)| now_h - (load + 0.36 * kiln_h(make_of(piece as u32))))
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(0.0);
    for load in &mut loads {
        *load += shift;
    }
    loads
}

/// Tells everything from lorry to bin, save into which bin, and gives the malt.
pub(crate) fn malt(clock: &Clock, diary: &mut Diary) -> Result<Vec<Malt>, Vec<Fault>> {
    let mut grounds = Grounds::new();
    store::open(LEAD_H - 24.0 * 4.0, &grounds.house, diary);
    let mut store = Store::default();
    let mut out = Vec::new();
    let loads = shifted(loads(clock.now_h() + 400.0), clock.now_h());
    let mut floor_free = [f64::MIN; 4];
    let mut steep_free = [f64::MIN; 2];
    for (place, load_h) in loads.into_iter().enumerate() {
        let (floor, steep) = (place % 4, place % 2);
        let lay_h = cast_hour(load_h - FLOOR_H).max(floor_free[floor] + CLEAR_H);
        let mut steep_h = (lay_h - STEEP_H).max(steep_free[steep] + 4.0);
        floor_free[floor] = load_h;
        steep_free[steep] = lay_h;
        let number = place as u32 + 1;
        if number == LONG_STEEP_PIECE {
            steep_h -= LONG_STEEP_H;
        }
        // What is steeped from here on is not told.
        if steep_h > clock.now_h() {
            continue;
        }
        let make = make_of(place as u32);
        let kg = BARLEY_KG + to(diary.chance.about(15.0), -1);
        let parts = store.draw((make, kg), steep_h, &grounds.house, diary);
        let hours = At { steep: steep_h, lay: lay_h, load: load_h };
        let vessels = (format!("steep_{}", steep + 1), format!("floor_{}", floor + 1));
        let piece = Piece { number, make, hours, vessels, parts, kg };
        out.push(piece.tell(clock, &mut grounds, diary)?);
    }
    leave_one_to_turn(clock, diary);
    Ok(out)
}

/// Casting is for the watch: what falls on the week's end is done at its nearer edge.
fn cast_hour(at_h: Hours) -> Hours {
    if Clock::in_watch(at_h) {
        return at_h;
    }
    let monday = Clock::next_in_watch(at_h, 0.0);
    let saturday = monday - 41.0;
    if at_h - saturday < monday - at_h { saturday } else { monday }
}

/// At the hour of first start the piece on one floor is due its turn: the last was a little over
/// eight hours ago. A turn since then was not given yet, where the one before it is recent enough;
/// else it was given earlier.
fn leave_one_to_turn(clock: &Clock, diary: &mut Diary) {
    const LATE_H: f64 = 11.0;
    let (now, since) = (clock.now_h(), clock.now_h() - 8.1);
    let here = |kind: &str, fields: &[(String, Node)]| {
        let floor = fields.iter().find(|(k, _)| k == "vessel").map(|(_, v)| v);
        kind == "turn" && floor == Some(&"floor_2".into())
    };
    let missed = |kind: &str, at_h: f64, fields: &[(String, Node)]| {
        here(kind, fields) && at_h > since && at_h <= now
    };
    let before = diary.last_before(since, here);
    if before.is_some_and(|at_h| now - at_h <= LATE_H) {
        diary.forget(missed);
    } else {
        diary.put_earlier(since, missed);
    }
}

/// When a piece went under water, to its floor and on to the kiln.
#[derive(Debug, Clone, Copy)]
struct At {
    steep: Hours,
    lay: Hours,
    load: Hours,
}

struct Piece {
    number: u32,
    make: &'static str,
    hours: At,
    /// Steep and floor.
    vessels: (String, String),
    parts: Vec<Drawn>,
    kg: f64,
}

/// Hours a steep stands drained before it is cast.
const DRAINED_H: f64 = 0.5;
/// A piece is thinned once its rootlets warm it, hours from casting.
const THIN_H: f64 = 60.3;
/// Acrospires are looked at, hours from casting.
const LOOK_H: f64 = 124.5;
/// So many first turns are done with the plough: the piece is still cool.
const PLOUGHED: usize = 2;
/// Between two turns, and between two looks at the kiln.
const TURN_EVERY_H: f64 = 8.0;
const LOOK_EVERY_H: f64 = 4.0;

impl Piece {
    fn number(&self) -> (String, Node) {
        field("piece", f64::from(self.number))
    }

    fn tell(
        &self,
        clock: &Clock,
        grounds: &mut Grounds,
        diary: &mut Diary,
    ) -> Result<Malt, Vec<Fault>> {
        let handled = self.handled(grounds);
        let weather = grounds.weather(clock.day_of_year(self.hours.lay));
        let grown = grounds.grow(&handled, &weather)?;
        let dried = grounds.dry(self.make, &grown, &weather)?;
        self.tell_steep(&handled, &grown, diary);
        let lay = [self.number(), field("vessel", self.vessels.1.as_str())];
        diary.tell(self.hours.lay, "lay", lay);
        self.tell_floor(&handled, &grown, diary);
        self.tell_firing(grounds, diary);
        diary.tell(self.hours.load, "load", [self.number(), field("vessel", "kiln")]);
        self.tell_kiln(grounds, &dried, diary);
        Ok(self.tell_malt(&dried.truly, diary))
    }

    fn long(&self) -> bool {
        self.number == LONG_STEEP_PIECE
    }

    /// Waters, turns and thinnings as they were done: what the house's steeping lacks of the hours
    /// to the casting, the last rest gives and takes.
    fn handled(&self, grounds: &Grounds) -> Handled<'_> {
        let first = &self.parts[0];
        let barley = grounds.house.barley(first.barley);
        let usual = barley.map(house::Barley::steeping).unwrap_or_default();
        let mut stretches: Vec<Stretch> = usual
            .iter()
            .map(|t| Stretch { wet: t.under_water, hours: t.until_h - t.from_h })
            .collect();
        let whole_h = self.hours.lay - self.hours.steep;
        let mut more_h = whole_h - stretches.iter().map(|s| s.hours).sum::<f64>();
        if let Some(last) = stretches.last_mut() {
            let long_h = if self.long() { LONG_STEEP_H } else { 0.0 };
            last.hours += long_h - DRAINED_H;
            more_h -= long_h;
        }
        stretches.push(Stretch { wet: false, hours: DRAINED_H });
        for rest in stretches.iter_mut().rev().filter(|s| !s.wet && s.hours > 2.0) {
            let given = more_h.max(2.0 - rest.hours);
            rest.hours += given;
            more_h -= given;
        }
        let floor_h = self.hours.load - self.hours.lay;
        let turned = (1..).map(|n| f64::from(n) * TURN_EVERY_H);
        let turns = turned.take_while(|at_h| *at_h < floor_h - 3.0).enumerate();
        let covered = barley.map_or(1.0, |barley| barley.floor.hand.covered_fraction);
        let thinned = Spread { at_h: THIN_H, covered_fraction: 1.0 };
        Handled {
            barley: first.barley,
            turns: turns
                .map(|(n, at_h)| Turn {
                    at_h,
                    how: if n < PLOUGHED { How::Plough } else { How::Turn },
                })
                .collect(),
            spreads: if covered < 1.0 { vec![thinned] } else { Vec::new() },
            stretches,
            floor_h,
            kg: self.kg,
            moisture_wet: first.moisture_wet,
        }
    }

    fn tell_steep(&self, handled: &Handled<'_>, grown: &Pair<Grown>, diary: &mut Diary) {
        let (steep_h, steep) = (self.hours.steep, self.vessels.0.as_str());
        let water = |diary: &mut Diary| field("water_c", to(15.0 + diary.chance.about(0.3), 1));
        for (place, part) in self.parts.iter().enumerate() {
            let fields = vec![
                self.number(),
                field("vessel", steep),
                field("lot", part.lot.as_str()),
                field("make", self.make),
                field("kg", part.kg),
                field("moisture_wet", part.moisture_wet),
                water(diary),
            ];
            let at_h = steep_h + 0.2 * place as f64;
            diary.tell_late(at_h, at_h + 0.07, "steep", fields);
        }
        let mut at_h = 0.0;
        for pair in handled.stretches.windows(2) {
            at_h += pair[0].hours;
            let mut fields = vec![self.number(), field("vessel", steep)];
            if pair[1].wet {
                fields.extend([field("act", "fill"), water(diary)]);
            } else {
                fields.push(field("act", "drain"));
            }
            diary.tell_late(steep_h + at_h, steep_h + at_h + 0.07, "water", fields);
        }
        let end_h = self.hours.lay - steep_h;
        for after_h in [8.0, 26.0, end_h - 0.3] {
            let of = |pair: &Grown, key| pair.steep.curves.at(key, after_h).unwrap_or(f64::NAN);
            let wet = of(&grown.truly, "moisture_wet") + diary.chance.about(0.002);
            let warm = of(&grown.truly, "temperature_c") + diary.chance.about(0.3);
            let foretold = to(of(&grown.foretold, "moisture_wet"), 3);
            diary.tell(
                steep_h + after_h,
                "reading",
                [
                    field("vessel", steep),
                    field("moisture_wet", to(wet, 3)),
                    field("temperature_c", to(warm, 1)),
                    field("expected", Node::part([("moisture_wet", foretold.into())])),
                    field("expected_sd", Node::part([("moisture_wet", 0.008.into())])),
                    field("constants_version", "first"),
                ],
            );
        }
    }

    /// What was read at each turn, and once of the acrospires.
    fn tell_floor(&self, handled: &Handled<'_>, grown: &Pair<Grown>, diary: &mut Diary) {
        let (lay_h, floor) = (self.hours.lay, self.vessels.1.as_str());
        let of = |grown: &Grown, key, at_h| grown.floor.curves.at(key, at_h).unwrap_or(f64::NAN);
        for turn in &handled.turns {
            let warm = unturned_c(&grown.truly, turn.at_h) + diary.chance.about(0.4);
            let foretold = to(unturned_c(&grown.foretold, turn.at_h), 1);
            let fields = vec![
                self.number(),
                field("vessel", floor),
                field("how", turn.how.word()),
                field("grain_c", to(warm, 1)),
                field("expected", Node::part([("grain_c", foretold.into())])),
                field("expected_sd", Node::part([("grain_c", 1.0.into())])),
                field("constants_version", "first"),
            ];
            // The night hand of one Sunday wrote it up on Monday morning.
            let late = self.number == 18 && (0.4..0.44).contains(&(turn.at_h / handled.floor_h));
            let at_h = lay_h + turn.at_h;
            let noted_h = if late { at_h + 11.5 } else { at_h + 0.05 };
            diary.tell_late(at_h, noted_h, "turn", fields);
        }
        for spread in &handled.spreads {
            let fields = [
                self.number(),
                field("vessel", floor),
                field("covered_fraction", spread.covered_fraction),
            ];
            diary.tell(lay_h + spread.at_h, "thin", fields);
        }
        let seen = of(&grown.truly, "acrospire", LOOK_H) + diary.chance.about(0.03);
        let foretold = to(of(&grown.foretold, "acrospire", LOOK_H), 2);
        diary.tell(
            lay_h + LOOK_H,
            "reading",
            [
                field("vessel", floor),
                field("acrospire", to(seen.max(0.0), 2)),
                field("expected", Node::part([("acrospire", foretold.into())])),
                field("expected_sd", Node::part([("acrospire", 0.06.into())])),
            ],
        );
    }

    /// What the kiln is set to, as the make has it.
    fn tell_firing(&self, grounds: &Grounds, diary: &mut Diary) {
        let Some(make) = grounds.house.make(self.make) else { return };
        let Some(fired) = firing(&make.kiln) else { return };
        let of = &fired.of;
        let mut fields = vec![
            self.number(),
            field("flow_kg_s", fired.flow_kg_s),
            field("dry_c", of.dry_c),
            field("dry_h", of.dry_h),
            field("cure_c", of.cure_c),
            field("cure_h", of.cure_h),
            field("returned", of.returned),
            field("ramp_h", of.ramp_h),
            field("wanted_moisture_wet", make.kiln.ready_moisture_wet),
        ];
        if of.peat_h > 0.0 {
            fields.extend([
                field("peat_h", of.peat_h),
                field("peat_kg_t", of.peat_kg_t),
                field("peat_c", of.peat_c),
                field("peat_flow_kg_s", fired.peat_flow_kg_s),
                field("wanted_phenols_mg_kg_dry", make.aim.phenols_mg_kg_dry),
            ]);
        }
        diary.tell_as_distiller(self.hours.load - 0.5, "firing", fields);
    }

    /// Air-on, air-off, what was burnt, and samples of the bed once it has broken. The break comes
    /// a little later than was expected: the fan gives less than its plate says.
    fn tell_kiln(&self, grounds: &Grounds, dried: &Pair<Dried>, diary: &mut Diary) {
        let hours = kiln_h(self.make);
        let load_h = self.hours.load;
        let kilning = grounds.house.make(self.make).map(|make| &make.kiln);
        let peat_h = kilning.and_then(firing).map_or(0.0, |fired| fired.of.peat_h);
        for at_h in kilning.into_iter().flat_map(|kilning| kilning.turns_h.iter()) {
            diary.tell(load_h + at_h, "turn", [self.number(), field("vessel", "kiln")]);
        }
        let mut after_h = LOOK_EVERY_H;
        while after_h < hours {
            let truly = &dried.truly;
            let mut near =
                |value: f64, sd: f64, decimals| to(value + diary.chance.about(sd), decimals);
            let foretold = to(dried.foretold.at("air_off_c", after_h), 1);
            let mut fields = vec![
                field("vessel", "kiln"),
                field("air_on_c", near(truly.at("air_on_c", after_h), 0.4, 1)),
                field("air_off_c", near(truly.at("air_off_c", after_h), 0.5, 1)),
                field("oil_kg", near(truly.oil_kg(after_h), 1.0, 0).max(0.0)),
            ];
            if peat_h > 0.0 && after_h < peat_h + LOOK_EVERY_H {
                fields
                    .push(field("peat_kg", near(truly.peat_kg(after_h, peat_h), 4.0, -1).max(0.0)));
            }
            let moist = truly.at("mean_moisture_dry", after_h);
            if after_h > 0.7 * hours {
                let wet = (moist / (1.0 + moist)).max(0.02);
                fields.push(field("moisture_wet", near(wet, 0.003, 3).max(0.01)));
            }
            fields.extend([
                field("expected", Node::part([("air_off_c", foretold.into())])),
                field("expected_sd", Node::part([("air_off_c", 1.5.into())])),
                field("constants_version", "first"),
            ]);
            let at_h = load_h + after_h;
            diary.tell_late(at_h, at_h + 0.07, "reading", fields);
            after_h += LOOK_EVERY_H;
        }
    }

    /// What was stripped, and the laboratory's letter about it.
    fn tell_malt(&self, dried: &Dried, diary: &mut Diary) -> Malt {
        let loss = Truth::of(self.make).malting_loss
            + if self.long() { 0.012 } else { 0.0 }
            + diary.chance.about(0.003);
        let barley_dry: f64 = self.parts.iter().map(|p| p.kg * (1.0 - p.moisture_wet)).sum();
        let out = &dried.run.out;
        let moisture_wet = to(out.moisture_wet + diary.chance.about(0.0012), 3);
        let smoke = out.phenols_mg_kg_dry;
        let phenols = smoke * (1.0 + diary.chance.about(0.03));
        let strip_h = self.hours.load + kiln_h(self.make);
        let malt = Malt {
            piece: self.number,
            make: self.make,
            strip_h,
            kg: to(barley_dry * (1.0 - loss) / (1.0 - moisture_wet), -1),
            moisture_wet,
            // The house's own colour test at the strip.
            phenols_mg_kg_dry: to(phenols * (1.0 + diary.chance.about(0.04)), 1),
            hold: letters::waits(self.make),
        };
        let (piece, make) = (self.number, self.make);
        let sent = Sent { piece, make, strip_h, moisture_wet, phenols_mg_kg_dry: phenols };
        letters::tell(sent, dried, diary);
        malt
    }
}

/// The heap as the thermometer finds it before the shovel does: on from the last two rows of the
/// curve, which lie an hour apart and both after the turn before.
fn unturned_c(grown: &Grown, turn_h: f64) -> f64 {
    let row_h = (turn_h - 0.02).floor();
    let at = |hour| grown.floor.curves.at("temperature_c", hour).unwrap_or(f64::NAN);
    at(row_h) + (turn_h - row_h) * (at(row_h) - at(row_h - 1.0))
}
