//! From lorry to bin: what was steeped, cast, turned, kilned and stripped.

use crate::told::{Clock, Diary, Hours, field, to};
use crate::truth::{LONG_STEEP_H, LONG_STEEP_PIECE, Truth};
use std::f64::consts::PI;

/// A piece of malt, once stripped.
#[derive(Debug, Clone)]
pub(crate) struct Malt {
    pub(crate) piece: u32,
    pub(crate) make: &'static str,
    pub(crate) strip_h: Hours,
    pub(crate) kg: f64,
    pub(crate) moisture_wet: f64,
    pub(crate) phenols_mg_kg_dry: f64,
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

/// Shifts all so that a kilning is well under way now.
fn shifted(mut loads: Vec<Hours>, now_h: Hours) -> Vec<Hours> {
    let shift = loads
        .iter()
        .enumerate()
        .map(|(piece, load)| now_h - (load + 0.45 * kiln_h(make_of(piece as u32))))
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(0.0);
    for load in &mut loads {
        *load += shift;
    }
    loads
}

/// The barley of a make's next piece.
#[derive(Debug, Default)]
struct Store {
    two_row: u32,
}

impl Store {
    /// The lot, its moisture; lorries come when a new lot is begun.
    fn draw(&mut self, make: &str, steep_h: Hours, diary: &mut Diary) -> (String, f64) {
        if make == "feather" {
            return ("landrace_1".to_owned(), 0.125);
        }
        self.two_row += 1;
        let Some(new) = self.two_row.checked_sub(OLD_PIECES + 1) else {
            return ("old_row_1".to_owned(), 0.116);
        };
        let lot = format!("two_row_{}", new / LOT_PIECES + 1);
        if new % LOT_PIECES == 0 {
            for lorry in 0..3 {
                let at = Clock::next_in_watch(steep_h - 72.0 + f64::from(lorry) * 1.5, 1.0);
                intake(diary, at, &lot, "two_row");
            }
        }
        (lot, 0.12)
    }
}

/// Pieces that last year's barley gives, and a lot of three lorries.
const OLD_PIECES: u32 = 15;
const LOT_PIECES: u32 = 8;

fn intake(diary: &mut Diary, at_h: Hours, lot: &str, barley: &str) {
    let kg = 25_000.0 + to(diary.chance.about(60.0), -1);
    let (moisture, nitrogen) = if barley == "landrace" { (0.125, 1.92) } else { (0.12, 1.5) };
    let nitrogen = to(nitrogen + diary.chance.about(0.01), 2);
    diary.tell(
        at_h,
        "intake",
        [
            field("lot", lot),
            field("barley", barley),
            field("vessel", "barley_store"),
            field("kg", kg),
            field("moisture_wet", moisture),
            field("nitrogen_pct_dry", nitrogen),
        ],
    );
}

/// Tells everything from lorry to bin, save into which bin, and gives the malt.
pub(crate) fn malt(clock: &Clock, diary: &mut Diary) -> Vec<Malt> {
    let opening_h = LEAD_H - 24.0 * 4.0;
    diary.tell(
        opening_h,
        "opening",
        [
            field("account", "lot/old_row_1"),
            field("barley", "two_row_old"),
            field("kg", 140_000.0),
            field("moisture_wet", 0.116),
            field("nitrogen_pct_dry", 1.48),
        ],
    );
    intake(diary, opening_h + 30.0, "landrace_1", "landrace");
    intake(diary, opening_h + 32.0, "landrace_1", "landrace");
    let mut store = Store::default();
    let mut out = Vec::new();
    let loads = shifted(loads(clock.now_h() + 400.0), clock.now_h());
    let mut floor_free = [f64::MIN; 4];
    let mut steep_free = [f64::MIN; 2];
    for (place, load_h) in loads.into_iter().enumerate() {
        let floor = place % 4;
        let steep = place % 2;
        let lay_h = cast_hour(load_h - FLOOR_H).max(floor_free[floor] + CLEAR_H);
        let steep_h = (lay_h - STEEP_H).max(steep_free[steep] + 4.0);
        floor_free[floor] = load_h;
        steep_free[steep] = lay_h;
        let piece = Piece { number: place as u32 + 1, make: make_of(place as u32), load_h, lay_h };
        out.push(piece.tell(steep_h, (steep + 1, floor + 1), &mut store, diary));
    }
    leave_one_to_turn(clock, diary);
    out
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
/// eight hours ago.
fn leave_one_to_turn(clock: &Clock, diary: &mut Diary) {
    let (now, since) = (clock.now_h(), clock.now_h() - 8.1);
    diary.put_earlier(since, |kind, at_h, fields| {
        let floor = fields.iter().find(|(k, _)| k == "vessel").map(|(_, v)| v);
        kind == "turn" && at_h > since && at_h <= now && floor == Some(&"floor_2".into())
    });
}

struct Piece {
    number: u32,
    make: &'static str,
    load_h: Hours,
    lay_h: Hours,
}

impl Piece {
    fn tell(
        &self,
        steep_h: Hours,
        (steep, floor): (usize, usize),
        store: &mut Store,
        diary: &mut Diary,
    ) -> Malt {
        let long = self.number == LONG_STEEP_PIECE;
        let steep_h = if long { steep_h - LONG_STEEP_H } else { steep_h };
        let (lot, moisture) = store.draw(self.make, steep_h, diary);
        let piece = || field("piece", f64::from(self.number));
        let kg = BARLEY_KG + to(diary.chance.about(15.0), -1);
        let steep = format!("steep_{steep}");
        let floor = format!("floor_{floor}");
        diary.tell(
            steep_h,
            "steep",
            [
                piece(),
                field("vessel", steep.as_str()),
                field("lot", lot),
                field("make", self.make),
                field("kg", kg),
                field("moisture_wet", moisture),
            ],
        );
        let drained = 0.455 + if long { 0.021 } else { 0.0 } + diary.chance.about(0.002);
        for (after_h, share) in [(8.0, 0.33), (26.0, 0.41), (self.lay_h - steep_h - 1.0, drained)] {
            let water_c = to(13.0 + diary.chance.about(0.4), 1);
            diary.tell(
                steep_h + after_h,
                "reading",
                [
                    field("vessel", steep.as_str()),
                    field("moisture_wet", to(share, 3)),
                    field("temperature_c", water_c),
                ],
            );
        }
        diary.tell(self.lay_h, "lay", [piece(), field("vessel", floor.as_str())]);
        self.tell_floor(&floor, diary);
        diary.tell(self.load_h, "load", [piece(), field("vessel", "kiln")]);
        self.tell_kiln(diary);
        let truth = Truth::of(self.make);
        let loss = truth.malting_loss + if long { 0.012 } else { 0.0 } + diary.chance.about(0.003);
        let dry = kg * (1.0 - moisture) * (1.0 - loss);
        let malt_moisture = to(0.045 + diary.chance.about(0.0015), 3);
        let phenols = match self.make {
            "ember" => to(32.5 + diary.chance.about(1.5), 1),
            "feather" => to(5.3 + diary.chance.about(0.4), 1),
            _ => 0.0,
        };
        Malt {
            piece: self.number,
            make: self.make,
            strip_h: self.load_h + kiln_h(self.make),
            kg: to(dry / (1.0 - malt_moisture), -1),
            moisture_wet: malt_moisture,
            phenols_mg_kg_dry: phenols,
        }
    }

    /// Turned every eight hours; warmest when the rootlets grow.
    fn tell_floor(&self, floor: &str, diary: &mut Diary) {
        let mut at_h = self.lay_h + 8.0;
        while at_h < self.load_h - 3.0 {
            let share = (at_h - self.lay_h) / (self.load_h - self.lay_h);
            let grain_c = 13.2 + 4.6 * (PI * share).sin() + diary.chance.about(0.3);
            let fields = vec![
                field("piece", f64::from(self.number)),
                field("vessel", floor),
                field("grain_c", to(grain_c, 1)),
            ];
            // The night hand of one Sunday wrote it up on Monday morning.
            let late = self.number == 18 && (0.4..0.44).contains(&share);
            let noted_h = if late { at_h + 11.5 } else { at_h + 0.05 };
            diary.tell_late(at_h, noted_h, "turn", fields);
            at_h += 8.0;
        }
    }

    /// Air off, cool until the break and warm after it. The break came a little later than was
    /// expected: the fan gives less than its plate says.
    fn tell_kiln(&self, diary: &mut Diary) {
        let hours = kiln_h(self.make);
        let air_off = |at: f64, breaks: f64| {
            let before = if self.make == "ember" { 27.5 } else { 29.5 };
            let after = 55.0 - before;
            before + after / (1.0 + (-(at - breaks * hours) / (0.05 * hours)).exp())
        };
        let mut after_h = 4.0;
        while after_h < hours {
            let expected = to(air_off(after_h, 0.66), 1);
            let read = to(air_off(after_h, 0.68) + diary.chance.about(0.5), 1);
            diary.tell(
                self.load_h + after_h,
                "reading",
                [
                    field("vessel", "kiln"),
                    field("air_off_c", read),
                    field("expected", gauge::Node::part([("air_off_c", expected.into())])),
                    field("expected_sd", gauge::Node::part([("air_off_c", 1.5.into())])),
                    field("constants_version", "first"),
                ],
            );
            after_h += 4.0;
        }
    }
}
