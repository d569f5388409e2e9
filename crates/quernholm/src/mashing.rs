//! From bin to washback: into which bin malt was put, from which it was drawn, what the mash gave
//! and how the washback worked.

use crate::malting::Malt;
use crate::stages::Course;
use crate::told::{Clock, Diary, Hours, field, to};
use crate::truth::{Truth, WARM_MASH, WARM_SET_C};
use gauge::{Fault, Node};
use std::collections::BTreeMap;

/// A washback that was set.
#[derive(Debug, Clone)]
pub(crate) struct Mash {
    pub(crate) number: u32,
    pub(crate) make: &'static str,
    pub(crate) vessel: String,
    pub(crate) set_h: Hours,
    pub(crate) charge_h: Hours,
    pub(crate) bulk_l: f64,
    pub(crate) original: f64,
    pub(crate) course: Course,
}

const GRIST_KG: f64 = 2500.0;
const BIN_KG: f64 = 16_000.0;
const FILL_L: f64 = 12_900.0;
/// A washback stands so long before it is ready, h.
const STANDS_H: f64 = 80.0;
/// A run of the wash still, h, with charging.
pub(crate) const RUN_H: f64 = 7.5;

/// What is mashed in each week; the last week goes on for ever.
const CAMPAIGN: [&str; 10] =
    ["pale", "pale", "pale", "pale", "pale", "feather", "ember", "ember", "ember", "ember"];
/// Week (from 0) and first day of a short spell of Ember, of as much malt as one piece gives.
const SPELL: (usize, usize) = (3, 3);
/// Hours from the last wash of one family to the first of another: low wines are worked off.
const CHANGE_H: f64 = 10.0;

fn make_of(at_h: Hours) -> &'static str {
    let (week, day) = ((at_h / 168.0) as usize, (at_h.rem_euclid(168.0) / 24.0) as usize);
    if week == SPELL.0 && day >= SPELL.1 {
        return "ember";
    }
    CAMPAIGN[week.min(CAMPAIGN.len() - 1)]
}

/// Mashes of a day, Monday first, and the hours at which they begin.
const DAY_MASHES: [usize; 7] = [2, 2, 2, 1, 2, 0, 0];
const MASH_HOURS: [f64; 2] = [6.5, 14.5];

#[derive(Debug, Clone)]
struct Layer {
    since_h: Hours,
    kg: f64,
    moisture_wet: f64,
}

#[derive(Debug, Clone, Default)]
struct Bin {
    make: &'static str,
    layers: Vec<Layer>,
    drawn: bool,
}

impl Bin {
    fn kg(&self) -> f64 {
        self.layers.iter().map(|layer| layer.kg).sum()
    }
    fn oldest_h(&self) -> Hours {
        self.layers.first().map_or(f64::MAX, |layer| layer.since_h)
    }
}

/// The eight bins.
struct Bins([Bin; 8]);

impl Bins {
    /// A bin of the same make that has room and is not being drawn from, else an empty one, else
    /// any of the make with room.
    fn put(&mut self, malt: &Malt) -> Option<usize> {
        let room = |bin: &Bin| bin.make == malt.make && bin.kg() + malt.kg <= BIN_KG;
        let fresh = |bin: &Bin| !bin.layers.is_empty() && !bin.drawn && room(bin);
        let bins = &mut self.0;
        let place = bins
            .iter()
            .position(fresh)
            .or_else(|| bins.iter().position(|bin| bin.layers.is_empty()))
            .or_else(|| bins.iter().position(room))?;
        let bin = &mut bins[place];
        if bin.layers.is_empty() {
            *bin = Bin { make: malt.make, ..Bin::default() };
        }
        bin.layers.push(Layer {
            since_h: malt.strip_h,
            kg: malt.kg,
            moisture_wet: malt.moisture_wet,
        });
        Some(place)
    }

    /// Draws from the oldest of the make: bin, kilograms, moisture, one for each layer touched.
    fn draw(&mut self, make: &str, mut kg: f64) -> Vec<(usize, f64, f64)> {
        let mut out = Vec::new();
        while kg > 0.0 {
            let of_make = |(_, bin): &(usize, &mut Bin)| bin.make == make && bin.kg() > 0.0;
            let oldest = self.0.iter_mut().enumerate().filter(of_make);
            let Some((place, bin)) =
                oldest.min_by(|a, b| a.1.oldest_h().total_cmp(&b.1.oldest_h()))
            else {
                break;
            };
            bin.drawn = true;
            let layer = &mut bin.layers[0];
            let part = layer.kg.min(kg);
            out.push((place + 1, part, layer.moisture_wet));
            layer.kg -= part;
            kg -= part;
            if layer.kg <= 0.0 {
                bin.layers.remove(0);
            }
        }
        out
    }
}

/// The malt that stands in four bins when malting opens.
fn opening(bins: &mut Bins, diary: &mut Diary) {
    for (place, bin) in bins.0.iter_mut().take(4).enumerate() {
        let at_h = -21.0 * 24.0 - 90.0 + place as f64;
        let moisture_wet = 0.046;
        *bin = Bin { make: "pale", ..Bin::default() };
        bin.layers.push(Layer { since_h: at_h, kg: 15_000.0, moisture_wet });
        diary.tell(
            at_h,
            "opening",
            [
                field("account", format!("vessel/bin_{}", place + 1)),
                field("make", "pale"),
                field("kg", 15_000.0),
                field("moisture_wet", moisture_wet),
            ],
        );
    }
}

/// When each mash of all weeks up to an hour begins.
fn mash_hours(until_h: Hours) -> Vec<Hours> {
    let days = (until_h / 24.0).ceil() as usize;
    (0..days)
        .flat_map(|day| {
            let hours = MASH_HOURS.iter().take(DAY_MASHES[day % 7]);
            hours.map(move |hour| day as f64 * 24.0 + hour)
        })
        .collect()
}

/// Courses by make: of the true yeast, and as the forecast would have it.
struct Courses {
    known: BTreeMap<i64, (Course, Course)>,
}

impl Courses {
    fn of(&mut self, set_c: f64) -> Result<(Course, Course), Vec<Fault>> {
        let key = (set_c * 2.0).round() as i64;
        if let Some(pair) = self.known.get(&key) {
            return Ok(pair.clone());
        }
        let truth = Truth::of("pale");
        let set_c = key as f64 / 2.0;
        let pair = (
            Course::run(set_c, truth.vigour, truth.ethanol_kg_kg)?,
            Course::run(set_c, 1.0, 0.448)?,
        );
        self.known.insert(key, pair.clone());
        Ok(pair)
    }
}

/// Tells all strips, draws, mashes, settings and readings, and gives the washbacks.
pub(crate) fn mash(
    clock: &Clock,
    malts: &[Malt],
    diary: &mut Diary,
) -> Result<Vec<Mash>, Vec<Fault>> {
    let mut bins = Bins(std::array::from_fn(|_| Bin::default()));
    opening(&mut bins, diary);
    let mut courses = Courses { known: BTreeMap::new() };
    let mut waiting = malts.iter().peekable();
    let mut free = [f64::MIN; 7];
    let mut still_free = f64::MIN;
    let mut out = Vec::new();
    for at_h in mash_hours(clock.now_h() + 24.0) {
        let draw_h = at_h - 3.0;
        while let Some(malt) = waiting.next_if(|malt| malt.strip_h <= draw_h) {
            strip(malt, &mut bins, diary);
        }
        let make = make_of(at_h);
        let number = out.len() as u32 + 1;
        let drawn = bins.draw(make, GRIST_KG);
        let Some(washback) = free.iter().position(|free| *free <= at_h + 7.0) else {
            continue;
        };
        let dry: f64 = drawn.iter().map(|(_, kg, moisture)| kg * (1.0 - moisture)).sum();
        tell_mash(number, draw_h, &drawn, diary);
        let set = Setting { number, make, washback: washback + 1, set_h: at_h + 7.5 };
        let mut mash = set.tell(dry, &mut courses, diary)?;
        let last = out.last().map(|last: &Mash| last.make == "ember");
        if last.is_some_and(|ember| ember != (make == "ember")) {
            still_free += CHANGE_H;
        }
        // The wash still takes one after the other, each run within the watches.
        mash.charge_h = Clock::next_in_watch((mash.set_h + STANDS_H).max(still_free), RUN_H);
        // What has stood over the week's end is not run in a rush: the low wines must find room.
        let early = mash.charge_h.rem_euclid(168.0) < 48.0;
        // Nor does the one spirit still that runs Ember keep up with a wash every eight hours.
        let wait_h = if make == "ember" {
            4.5
        } else if early {
            2.5
        } else {
            0.5
        };
        still_free = mash.charge_h + RUN_H + wait_h;
        free[washback] = mash.charge_h + 1.0;
        out.push(mash);
    }
    for malt in waiting.filter(|malt| malt.strip_h <= clock.now_h()) {
        strip(malt, &mut bins, diary);
    }
    Ok(out)
}

fn strip(malt: &Malt, bins: &mut Bins, diary: &mut Diary) {
    let Some(bin) = bins.put(malt) else { return };
    diary.tell(
        malt.strip_h,
        "strip",
        [
            field("piece", f64::from(malt.piece)),
            field("from", "kiln"),
            field("vessel", format!("bin_{}", bin + 1)),
            field("make", malt.make),
            field("kg", malt.kg),
            field("moisture_wet", malt.moisture_wet),
            field("phenols_mg_kg_dry", malt.phenols_mg_kg_dry),
            field("hold", malt.hold),
        ],
    );
}

fn tell_mash(number: u32, draw_h: Hours, drawn: &[(usize, f64, f64)], diary: &mut Diary) {
    let mash = || field("mash", f64::from(number));
    for (place, (bin, kg, moisture)) in drawn.iter().enumerate() {
        diary.tell(
            draw_h + place as f64 * 0.25,
            "draw",
            [
                mash(),
                field("vessel", format!("bin_{bin}")),
                field("kg", to(*kg, 3)),
                field("moisture_wet", *moisture),
            ],
        );
    }
    let (strike, mashed) = (71.2 + diary.chance.about(0.4), 64.2 + diary.chance.about(0.35));
    let water_l = 10_000.0 + to(diary.chance.about(40.0), -1);
    diary.tell(
        draw_h + 3.0,
        "mash",
        [
            mash(),
            field("strike_c", to(strike, 1)),
            field("mash_c", to(mashed, 1)),
            field("water_l", water_l),
        ],
    );
}

struct Setting {
    number: u32,
    make: &'static str,
    washback: usize,
    set_h: Hours,
}

impl Setting {
    fn tell(
        &self,
        dry_kg: f64,
        courses: &mut Courses,
        diary: &mut Diary,
    ) -> Result<Mash, Vec<Fault>> {
        let extract = dry_kg * (Truth::of(self.make).extract + diary.chance.about(0.004));
        let bulk_l = FILL_L + to(diary.chance.about(35.0), -1);
        let original = gravity_of(extract / (bulk_l / 1000.0));
        let warm = self.number == WARM_MASH;
        let set_c = if warm { WARM_SET_C } else { 19.0 + diary.chance.about(0.3) };
        let (course, expected) = courses.of(set_c)?;
        let vessel = format!("washback_{}", self.washback);
        let read = to(original + diary.chance.about(0.0001), 4);
        diary.tell(
            self.set_h,
            "set",
            [
                field("mash", f64::from(self.number)),
                field("vessel", vessel.as_str()),
                field("bulk_l", bulk_l),
                field("temperature_c", to(set_c, 1)),
                field("original_gravity", read),
                field("yeast_kg", 60.0),
            ],
        );
        for after_h in [10.0, 20.0, 30.0, 42.0, 54.0, 66.0] {
            let gravity = course.gravity(original, after_h) + diary.chance.about(0.0003);
            let temperature = course.temperature_c(after_h) + diary.chance.about(0.2);
            let foretold = [
                ("gravity", to(expected.gravity(original, after_h), 4).into()),
                ("temperature_c", to(expected.temperature_c(after_h), 1).into()),
            ];
            let doubt = [("gravity", 0.002.into()), ("temperature_c", 0.8.into())];
            diary.tell(
                self.set_h + after_h,
                "reading",
                [
                    field("vessel", vessel.as_str()),
                    field("gravity", to(gravity, 4)),
                    field("temperature_c", to(temperature, 1)),
                    field("expected", Node::part(foretold)),
                    field("expected_sd", Node::part(doubt)),
                    field("constants_version", "first"),
                ],
            );
        }
        let (number, make, set_h) = (self.number, self.make, self.set_h);
        Ok(Mash { number, make, vessel, set_h, charge_h: set_h, bulk_l, original, course })
    }
}

/// The gravity of worts with so much extract in a cubic metre.
fn gravity_of(extract_kg_m3: f64) -> f64 {
    // Two or three steps of the secant from a straight line are enough for five figures.
    let mut gravity = 1.0 + extract_kg_m3 / 2600.0;
    for _ in 0..4 {
        let here = gauge::wort::kernel::extract_kg_m3(gravity);
        gravity += (extract_kg_m3 - here) / 2600.0;
    }
    gravity
}
