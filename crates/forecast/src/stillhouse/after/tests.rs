//! Runs with a planted trouble, and the word that should be said of each.

use super::*;
use crate::stillhouse::chance::Chance;
use house::ran::Left;
use jiff::Timestamp;

/// What is wrong in the made-up stillhouse.
#[derive(Default)]
struct Wrong {
    hydrometer_pct: f64,
    /// Share of the charge that spirit still 2 loses.
    leaks: f64,
    /// Of that, how much is added from run to run.
    leaks_more: f64,
}

fn at(hour: i64) -> Timestamp {
    Timestamp::from_second(1_790_000_000 + 3600 * hour).expect("an instant")
}

/// A dip and a strength as they would be noted of so many true litres.
struct Gauges<'a> {
    wrong: &'a Wrong,
    chance: Chance,
}

impl Gauges<'_> {
    fn dip(&mut self, litres: f64) -> f64 {
        litres * (1.0 + 0.0015 * self.chance.normal())
    }
    fn strength(&mut self, pct: f64) -> f64 {
        pct + self.wrong.hydrometer_pct + 0.05 * self.chance.normal()
    }
    fn cut(&mut self, name: &str, hour: i64, (litres, pct): (f64, f64)) -> Collected {
        let (volume_20_l, strength_pct) = (self.dip(litres), self.strength(pct));
        Collected {
            cut: name.to_owned(),
            to: "somewhere".to_owned(),
            at: at(hour),
            volume_20_l,
            strength_pct,
            pure_alcohol_l: 0.01 * volume_20_l * strength_pct,
        }
    }
    fn drawn(&mut self, from: &str, hour: i64, (litres, pct): (f64, f64)) -> Drawn {
        let (volume_20_l, strength_pct) = (self.dip(litres), self.strength(pct));
        Drawn {
            from: from.to_owned(),
            at: at(hour),
            volume_20_l: Some(volume_20_l),
            strength_pct: Some(strength_pct),
            pure_alcohol_l: 0.01 * volume_20_l * strength_pct,
        }
    }
}

/// Twelve wash runs and twelve spirit runs in each of two stills, newest first.
fn told(wrong: &Wrong, seed: u64) -> Vec<Ran> {
    let mut gauges = Gauges { wrong, chance: Chance::of(seed) };
    let mut runs = Vec::new();
    for n in 0..36_u32 {
        let hour = i64::from(n) * 12;
        let still = ["wash_still", "spirit_still_1", "spirit_still_2"][n as usize % 3];
        let wash = still == "wash_still";
        let left = |bulk_l: f64| {
            let pure_alcohol_l = 0.0006 * bulk_l;
            Some(Left { at: at(hour + 9), bulk_l, strength_pct: 0.06, pure_alcohol_l })
        };
        let mut ran = Ran { run: n + 1, still: still.to_owned(), ..Ran::default() };
        ran.charged_at = at(hour);
        if wash {
            let volume_20_l = gauges.dip(12_900.0);
            let strength_pct = 8.0 + GRAVITY_PCT * gauges.chance.normal();
            ran.ferment_h = Some(84.0);
            ran.charged = vec![Drawn {
                from: "washback_1".to_owned(),
                at: at(hour),
                volume_20_l: Some(volume_20_l),
                strength_pct: Some(strength_pct),
                pure_alcohol_l: 0.01 * volume_20_l * strength_pct,
            }];
            // 1 032 L in; 4.7 L stay, 3.1 go by the vents.
            ran.cuts = vec![gauges.cut("low_wines", hour + 8, (4900.0, 100.0 * 1024.2 / 4900.0))];
            ran.left = left(7900.0);
        } else {
            let gone = if still == "spirit_still_2" {
                wrong.leaks + wrong.leaks_more * f64::from(n) / 36.0
            } else {
                0.0
            };
            ran.charged = vec![
                gauges.drawn("low_wines_receiver", hour, (3400.0, 21.0)),
                gauges.drawn("feints_receiver_1", hour, (1800.0, 30.0)),
            ];
            // 714 + 540 = 1 254 L in; 1.3 L stay, 3.8 go by the vents.
            let kept = 1.0 - gone;
            ran.cuts = vec![
                gauges.cut("foreshots", hour + 1, (90.0 * kept, 75.0)),
                gauges.cut("heart", hour + 4, (950.0 * kept, 70.0)),
                gauges.cut("feints", hour + 8, (1900.0, (516.4 - 1254.0 * gone * 0.4) / 19.0)),
            ];
            ran.left = left(2200.0);
        }
        runs.push(ran);
    }
    runs.reverse();
    runs
}

/// The word for the newest run of each of many seeds, of one still.
fn words(wrong: &Wrong, still: &str) -> Vec<After> {
    (0..20)
        .map(|seed| {
            let runs = told(wrong, seed);
            let place = runs.iter().position(|r| r.still == still).expect("a run");
            after(&runs[place], &runs[place + 1..], None, still).expect("it has ended")
        })
        .collect()
}

fn counted(words: &[After], likely: Likely) -> usize {
    words.iter().filter(|w| w.likely == likely).count()
}

#[test]
fn with_nothing_wrong_hardly_a_word_is_said() {
    for still in ["wash_still", "spirit_still_1", "spirit_still_2"] {
        let words = words(&Wrong::default(), still);
        let within = counted(&words, Likely::Within);
        println!("{still}: {within} of {} within; {}", words.len(), words[0].says);
        assert!(within >= 18, "{still}: {:?}", words.iter().map(|w| &w.says).collect::<Vec<_>>());
        // The stated uncertainty is that of the gauges: z has a spread of one.
        let square: f64 = words.iter().map(|w| w.z * w.z).sum::<f64>() / words.len() as f64;
        assert!((0.05..2.5).contains(&square), "{still}: mean square of z {square}");
    }
}

#[test]
fn a_hydrometer_that_reads_high_is_called_a_gauge_and_sized() {
    for still in ["wash_still", "spirit_still_1", "spirit_still_2"] {
        let words = words(&Wrong { hydrometer_pct: 0.4, ..Wrong::default() }, still);
        println!("{still}: {}", words[0].says);
        assert!(counted(&words, Likely::Gauge) >= 18, "{still}: {:?}", words[0]);
        assert_eq!(counted(&words, Likely::Cut), 0);
    }
}

#[test]
fn a_leak_is_looked_for_in_its_own_still_only() {
    let wrong = Wrong { leaks: 0.012, ..Wrong::default() };
    let there = words(&wrong, "spirit_still_2");
    println!("{}", there[0].says);
    assert!(counted(&there, Likely::Leak) >= 18, "{:?}", there[0]);
    let elsewhere = words(&wrong, "spirit_still_1");
    assert_eq!(counted(&elsewhere, Likely::Leak), 0, "{:?}", elsewhere[0]);
}

#[test]
fn a_leak_that_grows_is_found_too() {
    let wrong = Wrong { leaks_more: 0.02, ..Wrong::default() };
    let there = words(&wrong, "spirit_still_2");
    println!("{}", there[0].says);
    assert!(counted(&there, Likely::Leak) >= 18, "{:?}", there[0]);
    let grows = there.iter().filter(|w| w.says.contains("more from run to run")).count();
    assert!(grows >= 14, "{grows} of {}", there.len());
}

#[test]
fn one_short_run_is_called_one_short_run() {
    let mut runs = told(&Wrong::default(), 3);
    let place = runs.iter().position(|r| r.still == "spirit_still_1").expect("a run");
    let heart = &mut runs[place].cuts[1];
    heart.volume_20_l -= 40.0;
    heart.pure_alcohol_l -= 28.0;
    let word = after(&runs[place], &runs[place + 1..], None, "spirit still 1").expect("ended");
    println!("{}", word.says);
    assert_eq!(word.likely, Likely::Once);
}

#[test]
fn a_late_cut_is_no_loss_and_is_only_spoken_of_when_the_head_is_fitted() {
    let mut runs = told(&Wrong::default(), 5);
    let place = runs.iter().position(|r| r.still == "spirit_still_1").expect("a run");
    // Sixty litres of pure alcohol that should have gone with the feints.
    let cuts = &mut runs[place].cuts;
    cuts[1].volume_20_l += 96.0;
    cuts[1].pure_alcohol_l += 60.0;
    cuts[2].volume_20_l -= 96.0;
    cuts[2].pure_alcohol_l -= 60.0;
    let foretold = Foretold {
        heart_pure_l: 665.0,
        sd_l: 12.0,
        to_pct: 65.0,
        found_to_pct: Some(61.2),
        fitted: true,
    };
    let word = |foretold: &Foretold| {
        after(&runs[place], &runs[place + 1..], Some(foretold), "spirit still 1").expect("ended")
    };
    println!("{}", word(&foretold).says);
    assert_eq!(word(&foretold).likely, Likely::Cut);
    assert!(word(&foretold).says.contains("late, near 61.2 % vol"), "{}", word(&foretold).says);
    let unfitted = Foretold { fitted: false, ..foretold };
    assert_eq!(word(&unfitted).likely, Likely::Within);
}

#[test]
fn a_run_that_has_not_ended_has_no_account() {
    let mut runs = told(&Wrong::default(), 1);
    runs[0].left = None;
    assert_eq!(after(&runs[0], &runs[1..], None, "the still"), None);
}

#[test]
fn lines_add_up_to_the_difference() {
    let runs = told(&Wrong::default(), 2);
    for ran in &runs {
        let word = after(ran, &[], None, "the still").expect("ended");
        let sum = |lines: &[Line]| lines.iter().map(|l| l.pure_alcohol_l).sum::<f64>();
        let difference = sum(&word.found) - sum(&word.charged);
        assert!((difference - word.difference_l).abs() < 1e-9, "{difference}");
    }
}
