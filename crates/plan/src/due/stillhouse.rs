//! Washbacks that ferment, wash to be charged, low wines and feints, runs in progress.

use super::{Act, Desk, STILL_READING_H, WASH_READING_H, repeated, wanting};
use crate::clock::later;
use crate::kind::TaskKind;
use crate::readings::{BULK_L, GRAVITY, STRENGTH_PCT, TEMPERATURE_C};
use crate::work::{Number, Work};
use forecast::stillhouse::Expected;
use forecast::{Course, Figure, Step};
use house::standing::{Running, Washback};
use house::{Equipment, Make};
use jiff::Timestamp;
use std::collections::HashMap;

/// When a washback becomes free: its key and the moment.
pub(super) type Freed = Vec<(String, Timestamp)>;

/// Work of the stillhouse, and when washbacks come free by it.
pub(super) fn work(desk: &Desk<'_>) -> (Vec<Work>, Freed) {
    let mut out = Vec::new();
    let mut free: HashMap<String, Timestamp> = HashMap::new();
    for goes in &going(desk) {
        run(desk, goes, &mut out, &mut free);
    }
    let mut backs: Vec<&Washback> = desk.standing.washbacks.iter().collect();
    backs.sort_by_key(|back| back.set_at);
    let mut freed = Freed::new();
    let mut low_wines = LowWines::standing(desk);
    let courses = Course::of_all(desk.house, desk.forecasts, desk.standing, desk.now);
    for back in backs {
        let course = courses.iter().find(|(mash, _)| *mash == back.mash).map(|(_, course)| course);
        readings(desk, back, course, &mut out);
        if let Some(charge) = wash_charge(desk, back, course, &mut free) {
            freed.push((back.vessel.clone(), charge.at));
            low_wines.add(desk, &back.make, later(charge.at, wash_hours(desk, &back.make)));
            out.push(charge);
        }
    }
    low_wines.charges(desk, &mut free, &mut out);
    (out, freed)
}

/// One reading a watch while a washback works.
fn readings(desk: &Desk<'_>, back: &Washback, course: Option<&Course>, out: &mut Vec<Work>) {
    let noted = back.gravity.iter().chain(&back.temperature_c).map(|reading| reading.at);
    let last = noted.max().unwrap_or(back.set_at);
    let ready = later(back.set_at, usual_h(desk, back));
    for at in repeated(later(last, WASH_READING_H), WASH_READING_H, desk) {
        if at >= ready.max(desk.now) {
            break;
        }
        let mut work = desk.work(&Act {
            kind: TaskKind::Reading,
            verb: "note gravity and temperature",
            vessel: &back.vessel,
            make: Some(&back.make),
            lot: Some(back.mash),
            at,
            mark: format!("{}-{}", back.mash, at.as_second() / 60),
        });
        let expected = course.and_then(|course| course.at(at.max(desk.now)));
        work.figures = expected.iter().flatten().map(Number::from).collect();
        work.caution = Some("washback");
        out.push(wanting(work, &[GRAVITY, TEMPERATURE_C]));
    }
}

fn usual_h(desk: &Desk<'_>, back: &Washback) -> f64 {
    desk.make(&back.make).map_or(84.0, |make| make.ferment.programme.hours)
}

fn first_pass(make: &Make) -> Option<(&str, usize)> {
    let passes = make.route.passes.iter().enumerate();
    let mut wash = passes.filter(|(_, p)| p.charge.iter().any(|part| part.from == "wash"));
    let (index, pass) = wash.next()?;
    Some((pass.stills.first()?.as_str(), index))
}

fn run_of<'d>(desk: &'d Desk<'_>, make: &str, index: usize) -> Option<&'d Step> {
    desk.batch(make)?.steps.iter().filter(|s| s.stage == "still").nth(index)
}

fn wash_hours(desk: &Desk<'_>, make: &str) -> f64 {
    let index = desk.make(make).and_then(first_pass).map_or(0, |(_, index)| index);
    run_of(desk, make, index).map_or(8.0, |step| step.end_h - step.start_h)
}

/// A washback goes to the still when it is ready, the still is free and a watch is on.
fn wash_charge(
    desk: &Desk<'_>,
    back: &Washback,
    course: Option<&Course>,
    free: &mut HashMap<String, Timestamp>,
) -> Option<Work> {
    let make = desk.make(&back.make)?;
    let (still, index) = first_pass(make)?;
    let ready = later(back.set_at, usual_h(desk, back));
    let still_free = free.get(still).copied().unwrap_or(ready);
    let wanted = ready.max(still_free);
    let latest = latest_of(desk, back, course);
    // A time that has passed stays where it was, so that the page can say how late it is.
    let usual = desk.clock.next_watch(wanted);
    let runs_h = wash_hours(desk, &back.make);
    let sooner = latest.filter(|latest| usual > *latest).and_then(|_| {
        let ready = course.and_then(Course::ready)?.max(still_free_now(free, still, desk.now));
        before_the_stop(desk, ready, runs_h).filter(|at| *at < usual)
    });
    let at = sooner.unwrap_or(usual);
    let mut work = desk.work(&Act {
        kind: TaskKind::ChargeWash,
        verb: "charge",
        vessel: still,
        make: Some(&back.make),
        lot: Some(back.mash),
        at,
        mark: back.mash.to_string(),
    });
    work.latest = latest;
    let from = desk.house.called(&back.vessel);
    work.why = Some(match sooner {
        Some(_) => format!("from {from}, before the stop: it would not keep until the next watch"),
        None => format!("from {from}"),
    });
    work.figures = vec![Number::noted(("bulk_l", "wash", "L", 0), back.bulk_l)];
    let keys = ["strength_pct", "final_gravity"];
    work.figures.extend(desk.numbers(&back.make, "ferment", &keys));
    if let Some(step) = run_of(desk, &back.make, index) {
        let keys = ["run_h", "over_20_l", "over_strength_pct"];
        work.figures.extend(keys.iter().filter_map(|k| step.figure(k)).map(Number::from));
    }
    work.caution = Some("still");
    let begins = at.max(desk.now);
    free.insert(still.to_owned(), later(begins, runs_h));
    Some(wanting(work, &[GRAVITY, BULK_L]))
}

fn still_free_now(free: &HashMap<String, Timestamp>, still: &str, now: Timestamp) -> Timestamp {
    free.get(still).copied().unwrap_or(now).max(now)
}

/// The latest that a washback is distilled: by its course, else by its longest time.
fn latest_of(desk: &Desk<'_>, back: &Washback, course: Option<&Course>) -> Option<Timestamp> {
    let longest = desk.house.vessel(&back.vessel).and_then(|v| match &v.what {
        Equipment::Washback(own, _) => Some(later(back.set_at, own.longest_h)),
        _ => None,
    });
    course.map(Course::latest).or(longest)
}

/// A moment from `from` on from which a run is done inside the watch that is on.
fn before_the_stop(desk: &Desk<'_>, from: Timestamp, runs_h: f64) -> Option<Timestamp> {
    (desk.clock.in_watch(from) && desk.clock.in_watch(later(from, runs_h))).then_some(from)
}

/// What waits for the later passes, family by family, and what comes to it.
struct LowWines {
    /// Family, litres, since when, and the make last brought.
    pools: Vec<(String, f64, Timestamp, String)>,
}

impl LowWines {
    fn standing(desk: &Desk<'_>) -> Self {
        let mut pools = Self { pools: Vec::new() };
        for receiver in &desk.standing.receivers {
            let waits = desk.house.vessel(&receiver.vessel).is_some_and(|v| match &v.what {
                Equipment::Receiver(_, holds) => !matches!(*holds, "spirit" | "transition"),
                Equipment::Charger(_, feeds) => feeds.iter().any(|f| {
                    !desk
                        .house
                        .makes
                        .makes
                        .iter()
                        .any(|m| first_pass(m).is_some_and(|(still, _)| still == f))
                }),
                _ => false,
            });
            if waits {
                let makes = desk.house.makes.makes.iter();
                let make = makes.clone().find(|m| m.family == receiver.family);
                let make = make.map(|m| m.key.clone()).unwrap_or_default();
                pools.pour(&receiver.family, receiver.volume_20_l, desk.now, &make);
            }
        }
        pools
    }

    fn pour(&mut self, family: &str, litres: f64, at: Timestamp, make: &str) {
        if let Some(pool) = self.pools.iter_mut().find(|p| p.0 == family) {
            pool.1 += litres;
            pool.2 = pool.2.max(at);
            make.clone_into(&mut pool.3);
        } else {
            self.pools.push((family.to_owned(), litres, at, make.to_owned()));
        }
    }

    /// The low wines of one wash charge, there when it has run.
    fn add(&mut self, desk: &Desk<'_>, make: &str, at: Timestamp) {
        let Some(of) = desk.make(make) else {
            return;
        };
        let index = first_pass(of).map_or(0, |(_, index)| index);
        let litres = run_of(desk, make, index)
            .and_then(|step| step.figure("over_20_l"))
            .map_or(0.0, |f| f.value);
        // What stands is charged first; later low wines only move the moment when they are needed.
        if at <= desk.until {
            self.pour(&of.family, litres, desk.now, make);
        }
    }

    /// As many charges as what waits will fill, one after another in each still that may.
    fn charges(&self, desk: &Desk<'_>, free: &mut HashMap<String, Timestamp>, out: &mut Vec<Work>) {
        for (family, litres, since, make) in &self.pools {
            let Some(of) = desk.make(make) else {
                continue;
            };
            let mut left_l = *litres;
            for number in 0..24 {
                let Some(pass) = of.route.passes.last() else {
                    break;
                };
                let stills = pass.stills.iter();
                let Some(still) = stills.min_by_key(|s| {
                    let ready = free.get(s.as_str()).copied().unwrap_or(*since);
                    later(ready, change_h(desk, s, make))
                }) else {
                    break;
                };
                let Some(Equipment::Still(own, ..)) = desk.house.vessel(still).map(|v| &v.what)
                else {
                    break;
                };
                let ready = free.get(still).copied().unwrap_or(*since);
                let ready = later(ready, change_h(desk, still, make));
                let at = desk.clock.next_watch(ready);
                if left_l < own.charge_l || at > desk.until {
                    break;
                }
                left_l -= own.charge_l;
                let (work, hours) = spirit_charge(desk, (still, own.charge_l), make, at, number);
                free.insert(still.clone(), later(at, hours));
                let family = format!("feints of {family}");
                out.push(Work { why: Some(family), ..work });
            }
        }
    }
}

/// Hours of working off and cleaning before `make` may follow what runs in a still now.
fn change_h(desk: &Desk<'_>, still: &str, make: &str) -> f64 {
    let running = desk.standing.stills.iter().find(|s| s.vessel == still);
    let Some(before) = running.map(|s| s.make.as_str()).filter(|before| *before != make) else {
        return 0.0;
    };
    let fits = |word: &str, make: &str| word == make || word == "any";
    let mut changes = desk.house.makes.changes.iter();
    let change = changes.find(|c| fits(&c.from, before) && fits(&c.to, make));
    change.map_or(0.0, |c| c.cost.hours_h)
}

fn spirit_charge(
    desk: &Desk<'_>,
    (still, charge_l): (&str, f64),
    make: &str,
    at: Timestamp,
    number: u32,
) -> (Work, f64) {
    let mut work = desk.work(&Act {
        kind: TaskKind::ChargeSpirit,
        verb: "charge",
        vessel: still,
        make: Some(make),
        lot: None,
        at,
        mark: format!("{make}-{}-{number}", at.as_second() / 60),
    });
    work.figures = vec![Number::noted(("charge_l", "charge", "L", 0), charge_l)];
    let step = desk.batch(make).and_then(|batch| batch.run_in(desk.house, still));
    let kept = desk.standing.cuts.iter().find(|kept| kept.make == make);
    let fitted = &desk.forecasts.fitted;
    let expected = Expected::of_next_plain(desk.house, (make, still), kept, fitted).ok();
    work.figures.extend(expected.iter().flat_map(next_figures));
    work.caution = Some("still");
    let hours = step.map_or(9.0, |step| step.end_h - step.start_h);
    (wanting(work, &[STRENGTH_PCT, BULK_L]), hours)
}

/// What to watch for in a charge of the usual strength, cut as the house keeps to.
fn next_figures(expected: &Expected) -> Vec<Number> {
    let first =
        Figure { key: "first_strength_pct", label: "first running", ..expected.strength_at(0.0) };
    let strength = ("charge_strength_pct", "strength of the charge", "% vol", 1);
    let reckoned = |shown, value| Number { noted: false, ..Number::noted(shown, value) };
    let mut out = vec![reckoned(strength, expected.charge.strength_pct), Number::from(&first)];
    if let Some(kept) = expected.kept {
        let from = ("heart_from_min", "heart from", "min", 0);
        out.push(Number::noted(from, kept.from_min));
        let heart = expected.heart(kept).ok();
        let figure = |key: &str| heart.as_ref().and_then(|heart| heart.figure(key));
        out.extend(figure("heart_from_pct").map(Number::from));
        let to = ("heart_to_pct", "heart to", "% vol", 1);
        out.push(Number::noted(to, kept.to_pct));
        let keys = ["heart_20_l", "heart_strength_pct"];
        out.extend(keys.iter().filter_map(|key| figure(key)).map(Number::from));
    }
    let runs_h = expected.trace.end_s() / 3600.0;
    out.push(reckoned(("run_h", "runs", "h", 1), runs_h));
    out
}

/// A run in progress and what its own charge lets expect of it.
struct Goes<'d> {
    running: &'d Running,
    expected: Option<Expected>,
}

/// The runs in progress, reckoned side by side.
fn going<'d>(desk: &Desk<'d>) -> Vec<Goes<'d>> {
    let (house, fitted) = (desk.house, &desk.forecasts.fitted);
    let cuts = &desk.standing.cuts;
    let one = |running: &'d Running| {
        let kept = cuts.iter().find(|kept| kept.make == running.make);
        let expected = Expected::of_running(house, running, kept, fitted).ok();
        Goes { running, expected }
    };
    std::thread::scope(|scope| {
        let hands: Vec<_> = desk
            .standing
            .stills
            .iter()
            .map(|running| (running, scope.spawn(move || one(running))))
            .collect();
        hands
            .into_iter()
            .map(|(running, hand)| hand.join().unwrap_or(Goes { running, expected: None }))
            .collect()
    })
}

/// Cuts and readings of a run in progress.
fn run(
    desk: &Desk<'_>,
    goes: &Goes<'_>,
    out: &mut Vec<Work>,
    free: &mut HashMap<String, Timestamp>,
) {
    let running = goes.running;
    let Some(expected) = &goes.expected else {
        return;
    };
    let heat_up_h = expected.heat_up_s / 3600.0;
    let runs_h = expected.trace.end_s() / 3600.0;
    let first = later(running.since, heat_up_h);
    let end = later(first, runs_h);
    let turnaround_h = match desk.house.vessel(&running.vessel).map(|v| &v.what) {
        Some(Equipment::Still(own, ..)) => own.turnaround_h,
        _ => 0.0,
    };
    free.insert(running.vessel.clone(), later(end, turnaround_h));
    let act = |kind, act, at: Timestamp| {
        desk.work(&Act {
            kind,
            verb: act,
            vessel: &running.vessel,
            make: Some(&running.make),
            lot: Some(running.run),
            at,
            mark: format!("{}-{}", running.run, at.as_second() / 60),
        })
    };
    for (name, time_s, figure) in cuts(expected) {
        let at = later(first, time_s / 3600.0);
        if at >= desk.now {
            let mut work = act(TaskKind::Reading, name, at);
            work.figures = vec![figure];
            work.caution = Some("spirit");
            out.push(wanting(work, &[STRENGTH_PCT]));
        }
    }
    for at in repeated(first.max(desk.now), STILL_READING_H, desk) {
        if at >= end {
            break;
        }
        let mut work = act(TaskKind::Reading, "note the strength at the safe", at);
        let time_s = (at.as_second() - first.as_second()) as f64;
        work.figures = vec![Number::from(&expected.strength_at(time_s))];
        work.caution = Some("spirit");
        out.push(wanting(work, &[STRENGTH_PCT]));
    }
}

/// The cuts of a run, each with its moment from the first running and the strength at it.
fn cuts(expected: &Expected) -> Vec<(&'static str, f64, Number)> {
    let Some(kept) = expected.kept else {
        return Vec::new();
    };
    let heart = expected.heart(kept).ok();
    let figure = |key: &str| heart.as_ref().and_then(|heart| heart.figure(key));
    let from = figure("heart_from_pct").map(|f| ("to heart", 60.0 * kept.from_min, f.into()));
    let to_pct = ("heart_to_pct", "heart to", "% vol", 1);
    // Where the heart ends is decided; when it does is reckoned.
    let to = figure("heart_to_h")
        .map(|f| ("to feints", 3600.0 * f.value, Number::noted(to_pct, kept.to_pct)));
    from.into_iter().chain(to).collect()
}
