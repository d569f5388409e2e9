//! Barley in store: lorries at the gate, germination tests, a lot of a wet harvest that is dried,
//! tested and held, and from which lot the next piece is drawn.

use crate::told::{Clock, Diary, Hours, field, to};
use gauge::Node;
use house::Barley;
use house::House;

/// Barley drawn for a piece from one lot.
#[derive(Debug, Clone)]
pub(crate) struct Drawn {
    pub(crate) lot: String,
    pub(crate) barley: &'static str,
    pub(crate) kg: f64,
    pub(crate) moisture_wet: f64,
}

/// Pieces that last year's barley gives, and a lot of three lorries.
const OLD_PIECES: u32 = 15;
const LOT_PIECES: u32 = 8;
/// Lorries come so long before the first steeping of their lot, so that three days of germination
/// lie between.
const AHEAD_H: f64 = 100.0;
const LORRY_KG: f64 = 25_000.0;
/// What is left in a corner of a silo when it is swept.
const SWEPT_KG: f64 = 10.0;
/// The lot with a lorry above the nitrogen that was agreed, and what it brought.
const DEAR_LOT: u32 = 2;
const DEAR_NITROGEN_PCT: f64 = 1.71;
const DEDUCTED_PCT: f64 = 0.9;
/// The lot of a wet harvest is tested again in this week.
const RETEST_WEEK: f64 = 12.0;

/// The store as pieces are drawn from it.
#[derive(Debug, Default)]
pub(crate) struct Store {
    two_row: u32,
    left_kg: f64,
}

impl Store {
    /// What the next piece of a make is made of; lorries come when a new lot is begun, and what
    /// the lot before has left goes into its first piece.
    pub(crate) fn draw(
        &mut self,
        (make, kg): (&str, f64),
        steep_h: Hours,
        house: &House,
        diary: &mut Diary,
    ) -> Vec<Drawn> {
        let one = |lot: &str, barley, moisture_wet, kg| Drawn {
            lot: lot.to_owned(),
            barley,
            kg,
            moisture_wet,
        };
        if make == "feather" {
            return vec![one("landrace_1", "landrace", 0.125, kg)];
        }
        self.two_row += 1;
        let Some(new) = self.two_row.checked_sub(OLD_PIECES + 1) else {
            return vec![one("old_row_1", "two_row_old", 0.116, kg)];
        };
        let lot = |number: u32| format!("two_row_{number}");
        let number = new / LOT_PIECES + 1;
        let mut out = Vec::new();
        if new % LOT_PIECES == 0 {
            let rest = to(self.left_kg - SWEPT_KG, -1);
            self.left_kg = lorries(number, steep_h - AHEAD_H, house, diary);
            if number > 1 && rest > 0.0 {
                out.push(one(&lot(number - 1), "two_row", 0.12, rest));
            }
        }
        let rest: f64 = out.iter().map(|part| part.kg).sum();
        self.left_kg -= kg - rest;
        out.insert(0, one(&lot(number), "two_row", 0.12, kg - rest));
        out
    }
}

/// One lorry.
struct Lorry<'a> {
    lot: &'a str,
    barley: &'a Barley,
    silo: &'a str,
    moisture_wet: f64,
    nitrogen_pct_dry: f64,
    decided: Vec<(String, Node)>,
}

impl Lorry<'_> {
    fn tell(self, at_h: Hours, kg: f64, diary: &mut Diary) {
        let mut near = |value: f64, sd: f64, decimals| to(value + diary.chance.about(sd), decimals);
        let (store, of) = (&self.barley.store, &self.barley.analysis);
        let mut fields = vec![
            field("lot", self.lot),
            field("barley", self.barley.key.as_str()),
            field("vessel", self.silo),
            field("kg", kg),
            field("moisture_wet", self.moisture_wet),
            field("nitrogen_pct_dry", near(self.nitrogen_pct_dry, 0.01, 2)),
            field("corn_weight_g", near(of.corn_weight_g, 0.4, 1)),
            field("screenings_pct", near(store.screenings_pct, 0.2, 1).max(0.0)),
            field("admixture_pct", near(store.admixture_pct, 0.1, 1).max(0.0)),
            field("insects", "no"),
            field("nose", "sound"),
        ];
        fields.extend(self.decided);
        diary.tell_late(at_h, at_h + 0.1, "intake", fields);
    }
}

fn lorry_kg(diary: &mut Diary) -> f64 {
    LORRY_KG + to(diary.chance.about(60.0), -1)
}

/// When a lorry comes that is wanted at an hour: what falls on the week's end comes before it.
fn before(at_h: Hours) -> Hours {
    let next = Clock::next_in_watch(at_h, 5.0);
    if next > at_h { next - 48.0 } else { at_h }
}

/// A lot of three lorries and its test; gives what it weighs.
fn lorries(number: u32, at_h: Hours, house: &House, diary: &mut Diary) -> f64 {
    let Some(barley) = house.barley("two_row") else { return 0.0 };
    let lot = format!("two_row_{number}");
    let at_h = before(at_h);
    let mut whole_kg = 0.0;
    for lorry in 0..3 {
        let dear = number == DEAR_LOT && lorry == 2;
        let decided = match lorry {
            0 => vec![field("decision", "hold"), field("reason", "germination to be tested")],
            _ if dear => vec![
                field("decision", "deduct"),
                field("deducted_pct", DEDUCTED_PCT),
                field("reason", "nitrogen above 1.65 %"),
            ],
            _ => vec![field("decision", "accept")],
        };
        let kg = lorry_kg(diary);
        whole_kg += kg;
        let one = Lorry {
            lot: &lot,
            barley,
            silo: if number % 2 == 1 { "silos 1 and 2" } else { "silos 2 and 3" },
            moisture_wet: 0.12,
            nitrogen_pct_dry: if dear { DEAR_NITROGEN_PCT } else { 1.5 },
            decided,
        };
        one.tell(at_h + f64::from(lorry) * 1.5, kg, diary);
    }
    let of = &barley.analysis;
    let counted = (of.germinative_energy_4ml_pct, of.germinative_energy_8ml_pct);
    test(&lot, at_h + 74.0, counted, vec![field("release", "yes")], diary);
    whole_kg
}

fn test(
    lot: &str,
    at_h: Hours,
    (in_4ml, in_8ml): (f64, f64),
    decided: Vec<(String, Node)>,
    diary: &mut Diary,
) {
    let mut counted = |pct: f64| to((pct + diary.chance.about(0.8)).min(100.0), 0);
    let mut fields = vec![
        field("lot", lot),
        field("germinative_energy_4ml_pct", counted(in_4ml)),
        field("germinative_energy_8ml_pct", counted(in_8ml)),
        field("germinative_capacity_pct", counted(98.5)),
    ];
    fields.extend(decided);
    diary.tell_as_distiller(at_h, "germination", fields);
}

/// What lies there when malting opens: last year's, the landrace, and a lorry of a wet harvest.
pub(crate) fn open(opening_h: Hours, house: &House, diary: &mut Diary) {
    diary.tell(
        opening_h,
        "opening",
        [
            field("account", "lot/old_row_1"),
            field("barley", "two_row_old"),
            field("vessel", "silos 1 and 2, and the flat store"),
            field("kg", 140_000.0),
            field("moisture_wet", 0.116),
            field("nitrogen_pct_dry", 1.48),
        ],
    );
    if let Some(barley) = house.barley("landrace") {
        for lorry in 0..2 {
            let one = Lorry {
                lot: "landrace_1",
                barley,
                silo: "silo 4",
                moisture_wet: 0.125,
                nitrogen_pct_dry: 1.92,
                decided: vec![field("decision", "accept")],
            };
            let kg = lorry_kg(diary);
            one.tell(opening_h + 30.0 + 2.0 * f64::from(lorry), kg, diary);
        }
        let of = &barley.analysis;
        let counted = (of.germinative_energy_4ml_pct, of.germinative_energy_8ml_pct);
        let release = vec![field("release", "yes")];
        test("landrace_1", opening_h + 104.0, counted, release, diary);
    }
    wet_harvest(opening_h + 36.0, house, diary);
}

/// A lorry at 16.5 %: dried in three beds before the first piece wants the kiln, then found
/// sensitive to water, and held until it has lain longer.
fn wet_harvest(at_h: Hours, house: &House, diary: &mut Diary) {
    let lot = "two_row_wet_1";
    let Some(barley) = house.barley("two_row_wet") else { return };
    let moisture_wet = barley.store.arrival_moisture_wet.unwrap_or(0.165);
    let kg = lorry_kg(diary);
    let decided = vec![field("decision", "hold"), field("reason", "too wet to keep: to be dried")];
    let nitrogen_pct_dry = barley.analysis.nitrogen_pct_dry;
    let lorry = Lorry { lot, barley, silo: "silo 3", moisture_wet, nitrogen_pct_dry, decided };
    lorry.tell(at_h, kg, diary);
    let beds = [to(kg / 3.0, -1), to(kg / 3.0, -1)];
    let last_kg = kg - beds.iter().sum::<f64>();
    for (place, bed_kg) in beds.into_iter().chain([last_kg]).enumerate() {
        let dried = 0.12 + to(diary.chance.about(0.001), 3);
        let dry_kg = bed_kg * (1.0 - moisture_wet) * (0.997 + diary.chance.about(0.0004));
        let fields = vec![
            field("lot", lot),
            field("vessel", "kiln"),
            field("hours", to(BED_H + diary.chance.about(0.3), 1)),
            field("air_on_c", 40.0),
            field("from_kg", bed_kg),
            field("from_moisture_wet", moisture_wet),
            field("kg", to(dry_kg / (1.0 - dried), -1)),
            field("moisture_wet", dried),
        ];
        let end_h = at_h + 4.0 + (BED_H + 3.0) * (place as f64 + 1.0);
        diary.tell_late(end_h, end_h + 0.2, "dry", fields);
    }
    for (tested_h, in_8ml) in [(at_h + 150.0, 66.0), (5.0 * 168.0 + 31.0, 69.0)] {
        let left_d = ((RETEST_WEEK - 1.0) * 168.0 - tested_h) / 24.0;
        let held = vec![
            field("release", "no"),
            field("retest_days", to(left_d, 0)),
            field("reason", "sensitive to water"),
        ];
        test(lot, tested_h, (97.0, in_8ml), held, diary);
    }
}

/// Hours of air on one bed of wet barley.
const BED_H: f64 = 12.0;
