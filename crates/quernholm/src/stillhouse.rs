//! From washback to vat, hour by hour: wash runs, middle runs and spirit runs, the cuts as they
//! are collected, and the spirit brought to account.

use crate::casks::Numbers;
use crate::family::{self, Family};
use crate::laboratory::{Laboratory, Sent};
use crate::liquor::Liquor;
use crate::mashing::{Mash, RUN_H};
use crate::safe::Watched;
use crate::stills::{By, Cut, Heart, SPIRIT_STILLS, Still, Stills, WASH_STILL};
use crate::told::{Clock, Diary, Hours, field, to};
use crate::truth;
use crate::{filling, kept, laboratory, nosing};
use gauge::{Fault, Node};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What is about to happen.
#[derive(Debug, Clone)]
enum Act {
    /// The washback at this place is charged to the wash still.
    Wash(usize),
    /// Cut number so much of a run ends.
    Cut(usize, usize),
    /// Is there enough for a spirit run?
    Spirit,
    /// The spirit receiver is brought to account.
    Account,
    /// Thursday: casks are filled.
    Fill,
}

/// A run of a still.
#[derive(Debug)]
struct Run {
    number: u32,
    still: Still,
    make: &'static str,
    pass: &'static str,
    charge: Liquor,
    cuts: Vec<Cut>,
    /// What the nose will find in its heart, where it has one.
    heart: Option<nosing::Heart>,
}

/// What the stillhouse holds.
pub(crate) struct House<'a> {
    clock: &'a Clock,
    pub(crate) diary: &'a mut Diary,
    mashes: &'a [Mash],
    pub(crate) stills: Stills,
    pub(crate) laboratory: Laboratory,
    acts: BinaryHeap<Reverse<(i64, usize)>>,
    all: Vec<Act>,
    runs: Vec<Run>,
    washes_done: usize,
    low_wines: Liquor,
    low_wines_make: &'static str,
    /// Hours the wash of the low wines had worked, about.
    pub(crate) stood_h: Hours,
    middle: Liquor,
    /// How much of Feather's low wines has gone to middle runs, and to spirit runs.
    feather_l: (f64, f64),
    feints: [Liquor; 2],
    receiver: Liquor,
    receiver_make: &'static str,
    transition: Liquor,
    pub(crate) family: Family,
    pub(crate) vat: Liquor,
    pub(crate) vat_make: &'static str,
    still_free: [Hours; 2],
    pub(crate) numbers: Numbers,
    pub(crate) week_casks: u32,
    /// The wrong number has been written and put right.
    pub(crate) wrong_told: bool,
}

/// What the low wines receiver and a feints receiver hold.
const LOW_WINES_L: f64 = 12_000.0;
const FEINTS_L: f64 = 7_000.0;
/// Left in the low wines receiver and a feints receiver after a charge.
const LOW_WINES_HEEL_L: f64 = 700.0;
const FEINTS_HEEL_L: f64 = 250.0;
/// A spirit run with charging, until the next may be charged.
const SPIRIT_RUN_H: f64 = 8.6;
/// Low wines of one wash run, about.
const WASH_GIVES_L: f64 = 4_800.0;
/// What the pump leaves in the spirit receiver, about.
const REMNANT_L: f64 = 22.0;
/// From the first of a charge until the fire is lit under all of it.
const LIT_H: f64 = 0.2;
/// From the charge of a spirit still to the middle of its heart, about.
const TO_HEART_H: f64 = 3.2;
/// From the end of a run until the still is charged again.
const TURN_H: f64 = 0.55;

/// Tells everything from the first charge to the last cask, up to now.
pub(crate) fn distil(
    clock: &Clock,
    mashes: &[Mash],
    numbers: Numbers,
    diary: &mut Diary,
) -> Result<(), Vec<Fault>> {
    let mut house = House {
        clock,
        diary,
        mashes,
        stills: Stills::of(house::quernholm()),
        laboratory: Laboratory::default(),
        acts: BinaryHeap::new(),
        all: Vec::new(),
        runs: Vec::new(),
        washes_done: 0,
        low_wines: Liquor::default(),
        low_wines_make: "pale",
        stood_h: 84.0,
        middle: Liquor::default(),
        feather_l: (0.0, 0.0),
        feints: [Liquor::default(); 2],
        receiver: Liquor::default(),
        receiver_make: "pale",
        transition: Liquor::default(),
        family: Family::default(),
        vat: Liquor::default(),
        vat_make: "pale",
        still_free: [0.0; 2],
        numbers,
        week_casks: 0,
        wrong_told: false,
    };
    kept::tell(house.diary);
    for (place, mash) in mashes.iter().enumerate() {
        house.plan(mash.charge_h, Act::Wash(place));
    }
    for day in 0..(clock.now_h() / 24.0).ceil() as i64 {
        let day_h = day as f64 * 24.0;
        if Clock::in_watch(day_h + 7.8) {
            house.plan(day_h + 7.8, Act::Account);
        }
        if day % 7 == 3 {
            house.plan(day_h + 8.5, Act::Fill);
        }
    }
    house.work()
}

impl House<'_> {
    fn plan(&mut self, at_h: Hours, act: Act) {
        let seconds = (at_h * 3600.0).round() as i64;
        self.acts.push(Reverse((seconds, self.all.len())));
        self.all.push(act);
    }

    fn work(&mut self) -> Result<(), Vec<Fault>> {
        while let Some(Reverse((seconds, place))) = self.acts.pop() {
            let at_h = seconds as f64 / 3600.0;
            if at_h > self.clock.now_h() {
                break;
            }
            match self.all[place].clone() {
                Act::Wash(mash) => self.charge_wash(at_h, mash)?,
                Act::Cut(run, cut) => self.collect(at_h, run, cut),
                Act::Spirit => self.charge_spirit(at_h)?,
                Act::Account => self.account(at_h),
                Act::Fill => filling::fill(self, at_h),
            }
        }
        Ok(())
    }

    pub(crate) fn year(&self, at_h: Hours) -> i16 {
        self.clock.year(at_h)
    }

    /// A strength as the stillhouse hydrometer gives it, % vol.
    fn strength(&mut self, at_h: Hours, liquor: Liquor) -> f64 {
        let off = truth::hydrometer_pct(Clock::week(at_h));
        to(liquor.strength_pct() + off + self.diary.chance.about(0.05), 1)
    }

    /// Litres by dip, temperature, strength.
    fn measured(&mut self, at_h: Hours, liquor: Liquor) -> [(String, Node); 3] {
        let temperature_c = to(16.0 + self.diary.chance.about(1.5), 1);
        let dip = liquor.litres_at(temperature_c) * (1.0 + self.diary.chance.about(0.0012));
        [
            field("bulk_l", to(dip, i32::from(dip <= 500.0))),
            field("temperature_c", temperature_c),
            field("strength_pct", self.strength(at_h, liquor)),
        ]
    }

    fn begin(
        &mut self,
        at_h: Hours,
        (still, make, pass): (Still, &'static str, &'static str),
        charge: Liquor,
    ) -> Result<Hours, Vec<Fault>> {
        let lit_h = at_h + if pass == "wash" { 0.0 } else { LIT_H };
        let one = |fault| vec![fault];
        let course = self.stills.course(still, charge, By::Truth)?;
        let expected = self.stills.course(still, charge, By::House)?;
        let number = self.runs.len() as u32 + 1;
        let spirit = (pass == make).then(|| family::heart(self, lit_h, make, number));
        let cut = spirit.map(|h| Heart { from_min: h.from_min, to_pct: h.to_pct });
        let whole = if pass == "wash" { "low_wines" } else { "middle" };
        let mut cuts = course.cuts(charge, whole, cut).map_err(one)?;
        let (mut end_h, mut heart_end_h) = (0.0, None);
        for (which, cut) in cuts.iter_mut().enumerate() {
            end_h = cut.end_h;
            heart_end_h = if cut.name == "heart" { Some(end_h) } else { heart_end_h };
            cut.end_h += lit_h;
            self.plan(cut.end_h, Act::Cut(number as usize - 1, which));
        }
        let watched = Watched {
            still: still.key,
            charged_h: lit_h,
            course: &course,
            expected: &expected,
            heart_end_h,
            end_h,
        };
        watched.tell(self);
        if let (Some(heart), Some(heart_h)) = (cut, heart_end_h) {
            let (heart_h, end_h) = (lit_h + heart_h, lit_h + end_h);
            let count = *self.family.hearts.entry(make).and_modify(|n| *n += 1).or_insert(1);
            let sent = Sent { run: number, make, still, charge, heart, heart_h, end_h };
            laboratory::send(self, sent, count - 1)?;
        }
        self.runs.push(Run { number, still, make, pass, charge, cuts, heart: spirit });
        Ok(lit_h + end_h)
    }

    fn charge_wash(&mut self, at_h: Hours, place: usize) -> Result<(), Vec<Fault>> {
        let mash = &self.mashes[place];
        let stood_h = at_h - mash.set_h;
        let last = mash.course.gravity(mash.original, stood_h);
        let strength = mash.course.strength_pct(mash.original, stood_h);
        let make = mash.make;
        let number = field("mash", f64::from(mash.number));
        let vessel = mash.vessel.clone();
        let charge = Liquor::of(mash.bulk_l, strength);
        let read = to(last + self.diary.chance.about(0.00015), 4);
        let ready = [number, field("vessel", vessel.as_str()), field("final_gravity", read)];
        self.diary.tell(at_h - 0.2, "attenuate", ready);
        self.stood_h = 0.5 * (self.stood_h + stood_h);
        self.begin(at_h, (WASH_STILL, make, "wash"), charge)?;
        let run = field("run", self.runs.len() as f64);
        let to_still =
            [run, field("from", vessel), field("vessel", WASH_STILL.key), field("make", make)];
        self.diary.tell(at_h, "charge", to_still);
        let before = self.washes_done.checked_sub(1).map(|last| self.mashes[last].make);
        if before.is_some_and(|before| before != make) {
            // What is in the vat is filled into casks before another make comes.
            let afternoon_h = (at_h / 24.0).floor() * 24.0 + 38.0;
            self.plan(afternoon_h - 1.0, Act::Account);
            self.plan(afternoon_h, Act::Fill);
        }
        self.washes_done += 1;
        Ok(())
    }

    /// The cut is turned over: what ran is collected, and after the last the still is emptied.
    fn collect(&mut self, at_h: Hours, place: usize, which: usize) {
        let run = &self.runs[place];
        let (number, still, make, pass) = (run.number, run.still, run.make, run.pass);
        let cut = run.cuts[which].clone();
        let last = which + 1 == run.cuts.len();
        let liquor = cut.liquor;
        let left_l = run.charge.litres() - run.cuts.iter().map(|c| c.liquor.litres()).sum::<f64>();
        let heart = run.heart.filter(|_| cut.name == "heart");
        let transition = heart.is_some_and(|heart| heart.transition);
        if heart.is_some() && !transition && self.receiver_make != make {
            // Spirit of another make is brought to account before this is let in.
            self.account(at_h - 0.2);
            self.receiver_make = make;
        }
        let family = usize::from(make == "ember");
        if cut.name == "low_wines" {
            self.low_wines_make = make;
        }
        let (vessel, held) = match cut.name {
            "low_wines" => ("low_wines_receiver", &mut self.low_wines),
            "middle" => ("spirit_charger", &mut self.middle),
            "heart" if transition => ("transition_receiver", &mut self.transition),
            "heart" => ("spirit_receiver", &mut self.receiver),
            _ => (["feints_receiver_1", "feints_receiver_2"][family], &mut self.feints[family]),
        };
        held.add(liquor);
        let name = cut.name;
        let [bulk, temperature, strength] = self.measured(at_h, liquor);
        let mut fields = vec![
            field("run", f64::from(number)),
            field("cut", name),
            field("from", still.key),
            field("vessel", vessel),
            field("make", make),
            field("family", ["pale", "ember"][family]),
            bulk,
            temperature,
            strength,
        ];
        if transition {
            fields.push(field("transition", true));
        }
        self.diary.tell_late(at_h, at_h + 0.07, "run_off", fields);
        if let Some(heart) = heart {
            nosing::tell(self, heart, at_h);
        }
        if last {
            let to_tank = if pass == "wash" { "pot_ale" } else { "spent_lees" };
            let lees = to(0.06 + self.diary.chance.about(0.01), 2);
            self.diary.tell(
                at_h + 0.3,
                "discharge",
                [
                    field("run", f64::from(number)),
                    field("from", still.key),
                    field("to", to_tank),
                    field("bulk_l", to(left_l, -1)),
                    field("strength_pct", lees.max(0.02)),
                ],
            );
            self.plan(at_h + TURN_H, Act::Spirit);
        }
    }

    /// Whether no more wash of the family that the low wines are of is to come before another.
    fn family_is_over(&self, make: &str) -> bool {
        let family = make == "ember";
        let next = self.mashes.get(self.washes_done);
        next.is_some_and(|mash| (mash.make == "ember") != family)
    }

    /// Charges each spirit still for which there is enough.
    fn charge_spirit(&mut self, at_h: Hours) -> Result<(), Vec<Fault>> {
        let make = self.low_wines_make;
        for (place, still) in SPIRIT_STILLS.into_iter().enumerate() {
            let fits = match make {
                "ember" => place == 1,
                _ => true,
            };
            let watch = (Clock::next_in_watch(at_h, SPIRIT_RUN_H) - at_h).abs() < 1e-9;
            if !watch {
                self.plan(Clock::next_in_watch(at_h, SPIRIT_RUN_H), Act::Spirit);
                return Ok(());
            }
            if !fits || self.still_free[place] > at_h + 0.01 {
                continue;
            }
            if place == 1 && self.waits_for_the_visitor(at_h) {
                continue;
            }
            let end_h = if make == "feather" && place == 1 {
                self.middle_run(at_h, still)?
            } else {
                self.spirit_run(at_h, still, make)?
            };
            if let Some(end_h) = end_h {
                self.still_free[place] = end_h + TURN_H;
            }
        }
        Ok(())
    }

    /// Whoever opens the house for the first time should find a heart running: the run that would
    /// be over by then, or hardly begun, waits.
    fn waits_for_the_visitor(&mut self, at_h: Hours) -> bool {
        let begin_h = self.clock.now_h() - TO_HEART_H;
        let watched = (Clock::next_in_watch(begin_h, SPIRIT_RUN_H) - begin_h).abs() < 1e-9;
        // Not where the low wines could not wait for it.
        let comes_l = WASH_GIVES_L * (begin_h - at_h) / 12.0;
        let room = self.low_wines.litres() + comes_l < LOW_WINES_L;
        let waits =
            room && watched && at_h < begin_h - 1e-6 && at_h + SPIRIT_RUN_H + TURN_H > begin_h;
        if waits {
            self.plan(begin_h, Act::Spirit);
        }
        waits
    }

    /// Two fifths of Feather's low wines pass uncut first.
    fn middle_run(&mut self, at_h: Hours, still: Still) -> Result<Option<Hours>, Vec<Fault>> {
        let (middle, spirit) = self.feather_l;
        let wants = middle < 0.4 * (middle + spirit) + 1500.0 && self.middle.litres() < 3500.0;
        if !wants || self.low_wines.litres() < still.charge_l + LOW_WINES_HEEL_L {
            return Ok(None);
        }
        let charge = self.low_wines.draw(still.charge_l);
        self.feather_l.0 += still.charge_l;
        let end_h = self.begin(at_h, (still, "feather", "middle"), charge)?;
        self.tell_charge(at_h, "low_wines_receiver", Some(charge));
        Ok(Some(end_h))
    }

    fn spirit_run(
        &mut self,
        at_h: Hours,
        still: Still,
        make: &'static str,
    ) -> Result<Option<Hours>, Vec<Fault>> {
        let family = usize::from(make == "ember");
        let low_wines_l = self.low_wines.litres();
        let middle_l = if make == "feather" { self.middle.litres() } else { 0.0 };
        // Whichever stands higher in its receiver gives the more.
        let fuller = self.feints[family].litres() / FEINTS_L - low_wines_l / LOW_WINES_L;
        let share = (0.28 + 1.2 * fuller).clamp(0.0, 0.62);
        let feints_l =
            (self.feints[family].litres() - FEINTS_HEEL_L).clamp(0.0, still.charge_l * share);
        let wanted_l = still.charge_l - feints_l - middle_l;
        let over = self.family_is_over(make) && self.wash_still_rests(at_h);
        let enough = low_wines_l >= wanted_l + LOW_WINES_HEEL_L;
        // The last of a family is worked off whole, if it covers the coils.
        let drain = over && low_wines_l > 50.0 && low_wines_l + feints_l <= still.charge_l;
        let covered = low_wines_l + feints_l >= still.least_l;
        if !(enough || (drain && covered)) {
            return Ok(None);
        }
        let low_wines = self.low_wines.draw(if enough { wanted_l } else { f64::MAX });
        let feints = self.feints[family].draw(feints_l);
        let mut charge = low_wines;
        charge.add(feints);
        if make == "feather" {
            charge.add(std::mem::take(&mut self.middle));
            self.feather_l.1 += low_wines.litres();
        }
        let end_h = self.begin(at_h, (still, make, make), charge)?;
        self.tell_charge(at_h, "low_wines_receiver", enough.then_some(low_wines));
        if feints_l > 0.0 {
            let from = ["feints_receiver_1", "feints_receiver_2"][family];
            self.tell_charge(at_h + 0.1, from, Some(feints));
        }
        if middle_l > 0.0 {
            self.tell_charge(at_h + 0.15, "spirit_charger", None);
        }
        Ok(Some(end_h))
    }

    fn wash_still_rests(&self, at_h: Hours) -> bool {
        let last = self.washes_done.checked_sub(1).map(|last| self.mashes[last].charge_h);
        last.is_none_or(|charge_h| at_h > charge_h + RUN_H)
    }

    /// Tells one part of the charge of the run that was just begun: measured, or the whole.
    fn tell_charge(&mut self, at_h: Hours, from: &str, part: Option<Liquor>) {
        let run = &self.runs[self.runs.len() - 1];
        let mut fields = vec![
            field("run", f64::from(run.number)),
            field("from", from),
            field("vessel", run.still.key),
            field("make", run.make),
        ];
        if let Some(liquor) = part {
            fields.extend(self.measured(at_h, liquor));
        }
        // A moment after the cut that made it possible was turned over.
        self.diary.tell_late(at_h + 0.03, at_h + 0.1, "charge", fields);
    }

    /// Empties the spirit receiver into the vat.
    pub(crate) fn account(&mut self, at_h: Hours) {
        if self.receiver.litres() < 150.0 {
            return;
        }
        let remnant_l = to(REMNANT_L * (1.0 + self.diary.chance.about(0.2)), 0);
        let spirit = self.receiver.draw(self.receiver.litres() - remnant_l);
        self.vat.add(spirit);
        let make = self.receiver_make;
        if self.vat.litres() < spirit.litres() * 1.5 {
            self.vat_make = make;
        }
        let [bulk, temperature, strength] = self.measured(at_h, spirit);
        self.diary.tell(
            at_h,
            "receive",
            [
                field("from", "spirit_receiver"),
                field("vessel", "filling_vat"),
                bulk,
                temperature,
                strength,
                field("remnant_bulk_l", remnant_l),
            ],
        );
    }
}
