//! The malting held against the world: figures in print, and common practice of the trade.
//!
//! Method. Each stage is run as a customary house runs it; no constant was set to meet a range.
//! `printed` holds a figure to what a named source says. `practice` holds it to what the trade
//! does, which is common practice and has no source; houses differ widely. `missed` holds a known
//! miss in sight: it fails when the range is met after all, so that the miss is taken off the list
//! of misses, and it fails when the figure moves.

use process::kiln::{
    self, Air, AirKnot, Charge, Constants, Firing, Peat, Run, Setting, Solve, Turn, Vessel, Wet,
};
use process::{floor, steep};
use proptest::prelude::*;

fn told(what: &str, value: f64, (low, high): (f64, f64), basis: &str) {
    println!("{what}: {value:.3}; {basis} {low} to {high}");
}

fn printed(what: &str, value: f64, range: (f64, f64), source: &str) {
    told(what, value, range, source);
    assert!((range.0..=range.1).contains(&value), "{what}: {value}, {source} {range:?}");
}

fn practice(what: &str, value: f64, range: (f64, f64)) {
    printed(what, value, range, "common practice, no source:");
}

fn missed(what: &str, value: f64, known: f64, range: (f64, f64)) {
    told(what, value, range, "A KNOWN MISS of");
    assert!(!(range.0..=range.1).contains(&value), "{what}: {value} is met; no miss any more");
    assert!((value - known).abs() < 0.1 * known.abs(), "{what}: {value}, known as {known}");
}

/// A kiln of 52 m² with a bed of 146 kg dry matter a square metre, green malt of 43.5 %.
fn bed() -> Charge {
    Charge { depth_m: 146.0 / 350.0, moisture_dry: 0.77, temperature_c: 18.0, ..Charge::default() }
}

fn wire() -> Vessel {
    Vessel {
        area_m2: 52.0,
        wall_loss_w_k: 120.0,
        fan_kg_s: Some(9.4),
        burner_w: Some(560_000.0),
        ..Vessel::default()
    }
}

fn setting(turns_h: &[f64]) -> Setting {
    Setting {
        air: Air::default(),
        humidity_ratio: 0.0065,
        peat: Peat::default(),
        turns: turns_h.iter().map(|h| Turn { at_h: *h, ..Turn::default() }).collect(),
        solve: Solve { cells: 40.0, step_s: 45.0, ..Solve::default() },
    }
}

/// Hot air alone, as a house of slow air fires it; long enough to be ready.
fn plain() -> Firing {
    Firing {
        dry_h: 23.0,
        dry_c: 55.0,
        flow_kg_m2_s: 0.104,
        cure_h: 13.0,
        cure_c: 68.0,
        returned: 0.5,
        ..Firing::default()
    }
}

fn fired(firing: &Firing, turns_h: &[f64]) -> Run {
    kiln::run(&bed(), &wire(), &firing.programme(&setting(turns_h)), &Constants::default())
        .expect("a customary firing runs")
}

/// The same, ended when it is ready.
fn ended(firing: &Firing, turns_h: &[f64]) -> Run {
    let ready_h = fired(firing, turns_h).out.ready_h.expect("it comes to be ready");
    let cure_h = ready_h - firing.peat_h - firing.dry_h;
    fired(&Firing { cure_h, ..firing.clone() }, turns_h)
}

fn steeped(periods: &[(steep::Kind, f64)]) -> steep::Run {
    let phases = periods
        .iter()
        .map(|(kind, hours)| steep::Phase {
            kind: *kind,
            stretch: steep::Stretch { hours: *hours, temperature_c: 13.5 },
        })
        .collect();
    let barley = steep::Charge { dry_kg: 8096.0, moisture_wet: 0.12, ..steep::Charge::default() };
    let vessel = steep::Vessel { fill_kg: 8500.0, ..steep::Vessel::default() };
    steep::run(
        &barley,
        &vessel,
        &steep::Programme { phases, wet_cast: false },
        &steep::Constants::default(),
    )
    .expect("a customary steep runs")
}

/// Wet and dry periods, all of 8 to 16 hours but the last water.
fn customary_steep() -> steep::Run {
    use steep::Kind::{Rest, Wet};
    steeped(&[(Wet, 8.0), (Rest, 14.0), (Wet, 9.0), (Rest, 12.0), (Wet, 5.0)])
}

#[test]
fn wet_and_dry_periods_of_eight_to_sixteen_hours_steep_barley() {
    use steep::Kind::{Rest, Wet};
    let run = customary_steep();
    practice("hours of the steep", run.out.hours, (40.0, 60.0));
    let moisture = 100.0 * run.out.moisture_wet;
    let source = "Evans, Shen and Brookes, J. Inst. Brew. 130 (2024) 126, above 40:";
    printed("out of a steep of 48 h, %", moisture, (40.0, 45.0), source);
    missed("the same, ideally 42 to 45 by them, %", moisture, 40.16, (42.0, 45.0));
    let sixty = steeped(&[(Wet, 10.0), (Rest, 14.0), (Wet, 12.0), (Rest, 14.0), (Wet, 10.0)]);
    let source = "Evans, Shen and Brookes, ideally:";
    printed("out of a steep of 60 h, %", 100.0 * sixty.out.moisture_wet, (42.0, 45.0), source);
    // Periods at the short and at the long end of practice still give a malt that grows.
    let short = steeped(&[(Wet, 8.0), (Rest, 8.0), (Wet, 8.0), (Rest, 8.0), (Wet, 8.0)]);
    let long = steeped(&[(Wet, 16.0), (Rest, 16.0), (Wet, 16.0)]);
    for run in [&short, &long] {
        let moisture = 100.0 * run.out.moisture_wet;
        practice("out of a steep of short or long periods, %", moisture, (40.0, 47.0));
    }
}

#[test]
fn a_tonne_of_barley_gives_the_malt_it_is_known_to_give() {
    let steeped = customary_steep();
    let laid = floor::Programme {
        hand: floor::Hand { covered_fraction: 0.75, ..floor::Hand::default() },
        ..floor::Programme::default()
    };
    let place = floor::Vessel { area_m2: 185.0 };
    let cast = floor::Charge::cast(&steeped.out);
    let piece = floor::run(&cast, &place, &laid, &floor::Constants::default())
        .expect("a customary piece grows");
    practice("days on the floor", piece.out.hours / 24.0, (7.0, 12.0));
    let green = Charge::spread(&piece.out, 52.0);
    let firing = plain();
    let programme = firing.programme(&setting(&[12.0, 20.0]));
    let dried = kiln::run(&green, &wire(), &programme, &Constants::default())
        .expect("a customary firing runs");
    // 1 t of barley at 12 % to about 830 kg of malt at 5 %; "about" is read as 3 %.
    let barley_t = 8.096 / 0.88;
    let at_5_pct = dried.out.dry_kg / 0.95;
    let source = "maltsters' association of the UK, facts of malt:";
    printed("malt of 5 % from a tonne of barley, kg", at_5_pct / barley_t, (805.0, 855.0), source);
    // (880 − 788.5)/880, from the same line.
    let loss = 100.0 * (1.0 - dried.out.dry_kg / 8096.0);
    printed("loss of dry matter, %", loss, (8.4, 12.4), "10.4 by the same, as 2 points about it:");
    let rootlets = 100.0 * dried.out.rootlets_dry_kg / dried.out.dry_kg;
    printed("rootlets and dust, % of malt", rootlets, (3.0, 5.0), "about 4 by the same:");
}

#[test]
fn hot_air_alone_dries_a_piece_in_a_day_to_a_day_and_a_half() {
    for turns in [&[][..], &[12.0, 20.0]] {
        let run = fired(&plain(), turns);
        let ready_h = run.out.ready_h.expect("it comes to be ready");
        practice("hot air alone to 4.5 %, h", ready_h, (24.0, 36.0));
    }
    // Hours to the break are remembered as 12 to 18 for air that is not named.
    let brisk = fired(&Firing { flow_kg_m2_s: 0.14, ..plain() }, &[]);
    let slow = fired(&plain(), &[]);
    let broke = |run: &Run| run.out.break_h.expect("a bed that dries breaks");
    practice("break with 0.14 kg/(m² s), h", broke(&brisk), (12.0, 18.0));
    missed("break with 0.104 kg/(m² s), h", broke(&slow), 20.35, (12.0, 18.0));
}

/// Free drying, the break and the falling rate, as the pages of deep-bed drying draw them.
#[test]
fn the_air_off_stays_cool_and_wet_and_then_rises_all_at_once() {
    let run = fired(&plain(), &[]);
    let broke_h = run.out.break_h.expect("a bed that dries breaks");
    let at = |key: &str, h: f64| run.curves.at(key, h).expect("a column of the kiln");
    // 50 to 55 °C on, and off at the wet bulb of that air, some 24 °C, until near the break.
    for share in [0.2, 0.4, 0.6, 0.8] {
        let h = share * broke_h;
        assert!(at("air_off_relative_humidity", h) > 0.95, "{share} of the way to the break");
        assert!((at("air_off_c", h) - at("air_off_c", 0.5 * broke_h)).abs() < 1.0);
    }
    let rise = at("air_off_c", broke_h + 3.0) - at("air_off_c", broke_h - 1.0);
    practice("rise of the air-off about the break, K in 4 h", rise, (5.0, 30.0));
    // Water leaves at one rate before, and ever more slowly after.
    let lost = |from: f64, to: f64| {
        (at("mean_moisture_dry", from) - at("mean_moisture_dry", to)) / (to - from)
    };
    let (free, late) = (lost(0.3 * broke_h, 0.6 * broke_h), lost(broke_h + 2.0, broke_h + 4.0));
    assert!((lost(0.6 * broke_h, 0.85 * broke_h) / free - 1.0).abs() < 0.03);
    assert!(late < 0.6 * free, "{late} beside {free}");
}

#[test]
fn a_tonne_of_malt_takes_the_heat_it_is_known_to_take() {
    let kiln_kwh_t =
        |run: &Run| run.out.oil_kg * wire().oil_mj_kg / 3.6 / (run.out.mass_kg / 1000.0);
    let returning = ended(&plain(), &[12.0, 20.0]);
    // 600 to 1400 kWh/t for the whole of malting, of which kilning is 80 to 90 %.
    let source = "600 to 1400 kWh/t in all, 80 to 90 % of it kilning, Evans et al. 2024:";
    printed("oil, half the air sent back, kWh/t", kiln_kwh_t(&returning), (480.0, 1260.0), source);
    let open = ended(&Firing { returned: 0.0, ..plain() }, &[12.0, 20.0]);
    // From memory: 3.5 to 6 GJ/t where nothing is recovered.
    let gj_t = kiln_kwh_t(&open) * 3.6e-3;
    practice("oil, no air sent back, GJ/t", gj_t, (3.5, 6.0));
    let drier = ended(&Firing { cure_c: 70.0, returned: 0.0, ..plain() }, &[]);
    let milder = ended(&Firing { cure_c: 63.0, returned: 0.0, ..plain() }, &[]);
    let saved = 100.0 * (1.0 - drier.out.heat_kwh / milder.out.heat_kwh);
    // Kribs, Portland State University 1995, abstract: 20 % in a rig of his own.
    missed("heat saved by curing at 70 and not 63 °C, %", saved, 0.59, (15.0, 25.0));
}

/// Bourne and Wheeler, J. Inst. Brew. 88 (1982) 324: 16 h at 45 °C, 4 h at 55, 4 h at 70, from
/// 45 % to about 4 %. The bed and its air are not told: thin, and plenty.
#[test]
fn a_laboratory_schedule_dries_green_malt() {
    let charge = Charge { depth_m: 0.05, moisture_dry: 0.45 / 0.55, ..bed() };
    let knot = |at_h, temperature_c| AirKnot {
        at_h,
        temperature_c,
        humidity_ratio: 0.008,
        flow_kg_m2_s: None,
    };
    let programme = kiln::Programme {
        air: Air { flow_kg_m2_s: 0.15, ..Air::default() },
        on: vec![
            knot(0.0, 45.0),
            knot(16.0, 45.0),
            knot(16.5, 55.0),
            knot(20.0, 55.0),
            knot(20.5, 70.0),
        ],
        turns: Vec::new(),
        peat: Peat::default(),
        solve: Solve { hours: 24.0, ..Solve::default() },
    };
    let run = |constants: &Constants| {
        let run = kiln::run(&charge, &wire(), &programme, constants);
        100.0 * run.expect("a laboratory kilning runs").out.moisture_wet
    };
    missed("laboratory schedule, %", run(&Constants::default()), 2.6, (3.5, 4.5));
    // With the slow tail that a house may fit it comes nearer.
    let slow = run(&Constants { tail_share: 0.65, ..Constants::default() });
    println!("the same with a slow tail: {slow:.2} %");
    assert!(slow > run(&Constants::default()));
}

/// Smoke, and how much longer it makes a kilning. Houses differ widely.
#[test]
fn peating_takes_a_few_hours_for_a_light_smoke_and_up_to_two_days_for_a_heavy_one() {
    // Hours of smoke for a level, at a hearth's rate and in the air over it.
    let hours_to = |phenols: f64, rate: f64, peat_c: f64, flow: f64| {
        let smoke = Firing {
            peat_h: 48.0,
            peat_kg_t: 48.0 * rate,
            peat_c,
            peat_flow_kg_m2_s: Some(flow),
            dry_h: 0.0,
            cure_h: 0.0,
            ..plain()
        };
        let run = fired(&smoke, &[]);
        let steps = (1..=480).map(|i| f64::from(i) / 10.0);
        let mut over = steps.filter(|h| {
            run.curves.at("phenols_mg_kg_dry", *h).expect("a column of the kiln") >= phenols
        });
        over.next().unwrap_or(f64::INFINITY)
    };
    for phenols in [5.0, 10.0] {
        let hours = hours_to(phenols, 6.0, 42.0, 0.077);
        practice("smoke for a light malt, h", hours, (2.0, 10.0));
    }
    for phenols in [35.0, 40.0] {
        let hours = hours_to(phenols, 10.0, 42.0, 0.077);
        practice("smoke for a heavy malt, h", hours, (12.0, 48.0));
    }
    let brisk = hours_to(35.0, 15.0, 42.0, 0.077);
    missed("smoke for a heavy malt on a brisk hearth, h", brisk, 9.7, (12.0, 48.0));
    // From memory, wide: 3 to 8 kg of air-dry peat a tonne for each mg/kg, on floor kilns.
    let brisk = hours_to(40.0, 15.0, 42.0, 0.077) * 15.0 / 40.0;
    practice("peat for each mg/kg when burnt briskly, kg/t", brisk, (3.0, 8.0));

    // The whole kilning, smoke and all, beside that of hot air alone.
    let ready_h = |firing: &Firing| fired(firing, &[]).out.ready_h.expect("it comes to be ready");
    let alone = ready_h(&plain());
    let smoke = Firing { peat_c: 42.0, peat_flow_kg_m2_s: Some(0.077), ..plain() };
    let light = Firing { peat_h: 4.0, peat_kg_t: 24.0, dry_h: 23.5, ..smoke.clone() };
    practice("a light smoke makes it longer by, h", ready_h(&light) - alone, (1.0, 8.0));
    let heavy =
        Firing { peat_h: 30.0, peat_kg_t: 310.0, dry_c: 52.0, flow_kg_m2_s: 0.067, ..smoke };
    practice("a heavy smoke makes it longer by, h", ready_h(&heavy) - alone, (12.0, 48.0));
}

#[test]
fn barley_is_kept_at_about_twelve_per_cent() {
    let constants = Constants::default();
    for (air_c, humidity) in [(10.0, 0.60), (15.0, 0.65)] {
        let rest = kiln::moisture_at_rest(&constants, air_c, humidity);
        let wet = 100.0 * rest / (1.0 + rest);
        practice("barley at rest in a dry store, %", wet, (11.0, 13.0));
    }
    // Above 13 % it is dried, an encyclopaedic article on malting says; as a harvest comes in.
    let lot = Wet { mass_kg: 24_000.0, moisture_wet: 0.165, ..Wet::default() };
    let dried = kiln::store_dry(&lot, &wire(), &setting(&[]), &constants).expect("a wet lot");
    practice("drying a load for store, h", dried.hours, (3.0, 24.0));
    practice("air-on that does barley no harm, °C", dried.air_on_c, (30.0, 45.0));
}

/// A kilning of its own: bed, air-on, humidity, air.
#[derive(Debug, Clone, Copy)]
struct Plain {
    depth_m: f64,
    moisture_dry: f64,
    air_on_c: f64,
    humidity_ratio: f64,
    flow_kg_m2_s: f64,
}

fn some_kilning() -> impl Strategy<Value = Plain> {
    let bed = (0.05..0.45_f64, 0.55..0.9_f64);
    let air = (42.0..72.0_f64, 0.003..0.012_f64, 0.06..0.25_f64);
    (bed, air).prop_map(|((depth_m, moisture_dry), (air_on_c, humidity_ratio, flow_kg_m2_s))| {
        Plain { depth_m, moisture_dry, air_on_c, humidity_ratio, flow_kg_m2_s }
    })
}

impl Plain {
    fn run(&self, hours: f64, peat: Peat) -> Run {
        let charge = Charge { depth_m: self.depth_m, moisture_dry: self.moisture_dry, ..bed() };
        let programme = kiln::Programme {
            air: Air { flow_kg_m2_s: self.flow_kg_m2_s, ..Air::default() },
            on: vec![AirKnot {
                at_h: 0.0,
                temperature_c: self.air_on_c,
                humidity_ratio: self.humidity_ratio,
                flow_kg_m2_s: None,
            }],
            turns: Vec::new(),
            peat,
            solve: Solve { hours, cells: 40.0, step_s: 60.0, every_h: 0.5, ..Solve::default() },
        };
        let vessel = Vessel { area_m2: 52.0, ..Vessel::default() };
        kiln::run(&charge, &vessel, &programme, &Constants::default()).expect("inside its ranges")
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// At every moment the bed with more air is no moister.
    #[test]
    fn more_airflow_never_dries_slower(one in some_kilning(), more in 1.02..1.6_f64) {
        let less = one.run(24.0, Peat::default());
        let brisk = Plain { flow_kg_m2_s: one.flow_kg_m2_s * more, ..one };
        let brisk = brisk.run(24.0, Peat::default());
        let column = |run: &Run| run.curves.get("mean_moisture_dry").expect("a column").to_vec();
        for (slow, fast) in column(&less).into_iter().zip(column(&brisk)) {
            prop_assert!(fast <= slow + 1e-5, "{fast} with more air, {slow} with less");
        }
    }

    /// Hotter air breaks no later.
    #[test]
    fn hotter_air_on_never_takes_longer_to_the_break(
        one in some_kilning(),
        hotter_dk in 0.5..12.0_f64,
    ) {
        let mild = one.run(60.0, Peat::default()).out.break_h;
        let hot = Plain { air_on_c: one.air_on_c + hotter_dk, ..one };
        let hot = hot.run(60.0, Peat::default()).out.break_h;
        if let Some(mild) = mild {
            let hot = hot.unwrap_or(f64::INFINITY);
            prop_assert!(hot <= mild + 0.02, "{hot} h hotter, {mild} h milder");
        }
    }

    /// Peat burnt evenly: what the malt takes up in an hour falls off once its surface is dry.
    #[test]
    fn phenol_uptake_falls_once_the_surface_is_dry(one in some_kilning()) {
        let one = Plain {
            air_on_c: one.air_on_c.min(50.0),
            depth_m: one.depth_m.max(0.2),
            moisture_dry: one.moisture_dry.max(0.7),
            ..one
        };
        let peat = Peat { hours: 80.0, peat_kg_t: 400.0, ..Peat::default() };
        let run = one.run(80.0, peat);
        // A slow bed may not be dry by the end.
        let moist = run.curves.get("moisture_dry_90").expect("a column").last().copied();
        prop_assume!(moist.is_some_and(|m| m < 0.12));
        let phenols = run.curves.get("phenols_mg_kg_dry").expect("a column");
        let taken: Vec<f64> = phenols.windows(2).map(|w| w[1] - w[0]).collect();
        let (first, last) = (taken[0], taken[taken.len() - 1]);
        // What a wholly wet bed would take of the same smoke in half an hour. Beside that and not
        // beside the first half hour: in brisk dry air a surface is nearly dry from the start.
        let c = Constants::default();
        let wet = c.smoke_g_kg * c.smoke_kept * 400.0 / 80.0 * 0.5;
        prop_assert!(first > 0.0 && last < first, "{last} at the end, {first} at first");
        // A dry surface takes a twentieth, and hot air strips some of it again.
        prop_assert!(last < 0.051 * wet, "{last} at the end, {wet} by a wet bed");
        // On the way it never rises, but for what a bed gains that dew falls on at first.
        for pair in taken.windows(2) {
            prop_assert!(pair[1] <= pair[0] + 0.02 * first, "{pair:?} of {first}");
        }
    }
}
