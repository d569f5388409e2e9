//! Thursday in the filling store: the vat is reduced, casks are filled by meter, the first and
//! last five are weighed as well, and all are laid down in the afternoon.

use crate::casks::{self, CaskKind, KINDS};
use crate::liquor::Liquor;
use crate::stillhouse::House;
use crate::told::{Clock, Diary, Hours, WRONG, field, to};
use crate::truth;
use gauge::Node;

const FILLING_PCT: f64 = 62.8;
/// Left in the vat after a filling.
const HEEL_L: f64 = 400.0;
/// From one cask to the next.
const CASK_H: f64 = 0.07;
/// The week, and the cask of it, whose number was written wrong.
const WRONG_AT: (i64, u32) = (6, 12);
/// Weight of a litre at the filling strength in air, kg: filling tables by the OIML R 22 formula.
const AIR_KG_L: f64 = 0.90179;

const OWNERS: [(&str, f64); 3] = [("house", 0.7), ("broker", 0.22), ("club", 0.08)];

/// Fills what is in the vat.
pub(crate) fn fill(house: &mut House<'_>, at_h: Hours) {
    if house.vat.litres() < 2000.0 {
        return;
    }
    reduce(house, at_h);
    let mut kinds: Vec<CaskKind> = Vec::new();
    let mut left_l = house.vat.litres() - HEEL_L;
    loop {
        let kind = *house.diary.chance.pick(&KINDS);
        if kind.litres > left_l {
            break;
        }
        left_l -= kind.litres * 1.01;
        kinds.push(kind);
    }
    let temperature_c = to(17.0 + house.diary.chance.about(1.0), 1);
    let count = kinds.len();
    for (place, kind) in kinds.into_iter().enumerate() {
        let weighed = place < 5 || place + 5 >= count;
        let filling = Filling {
            at_h: at_h + 1.0 + place as f64 * CASK_H,
            place: place as u32,
            kind,
            weighed,
            temperature_c,
        };
        filling.tell(house);
    }
    house.week_casks = count as u32;
}

/// Reduces the vat with water to the filling strength.
fn reduce(house: &mut House<'_>, at_h: Hours) {
    let vat = house.vat;
    let target = Liquor::of(1000.0, FILLING_PCT);
    let water_kg = vat.alcohol_l * target.water_kg / target.alcohol_l - vat.water_kg;
    if water_kg < 1.0 {
        return;
    }
    house.vat.water_kg += water_kg;
    let temperature_c = to(18.0 + house.diary.chance.about(1.0), 1);
    let bulk_l = house.vat.litres_at(temperature_c) * (1.0 + house.diary.chance.about(0.0008));
    let strength = house.vat.strength_pct() + house.diary.chance.about(0.03);
    house.diary.tell(
        at_h,
        "reduce",
        [
            field("vessel", "filling_vat"),
            field("water_kg", to(water_kg, 1)),
            field("bulk_l", to(bulk_l, 0)),
            field("temperature_c", temperature_c),
            field("strength_pct", to(strength, 1)),
        ],
    );
}

struct Filling {
    at_h: Hours,
    place: u32,
    kind: CaskKind,
    weighed: bool,
    temperature_c: f64,
}

impl Filling {
    fn tell(&self, house: &mut House<'_>) {
        let litres = self.kind.litres * (1.0 + house.diary.chance.about(0.006));
        let spirit = house.vat.draw(litres);
        let week = Clock::week(self.at_h);
        let counted = spirit.litres_at(self.temperature_c)
            * truth::meter(week)
            * (1.0 + house.diary.chance.about(0.0015));
        let year = house.year(self.at_h);
        let cask = casks::number(&mut house.numbers, year);
        let owner = *house.diary.chance.pick(&OWNERS);
        let mut fields = vec![
            field("cask_kind", self.kind.key),
            field("make", house.vat_make),
            field("owner", owner),
            field("from", "filling_vat"),
            field("bulk_l", to(counted, 1)),
            field("temperature_c", self.temperature_c),
            field("strength_pct", FILLING_PCT),
        ];
        if self.weighed {
            let tare = self.kind.tare_kg + house.diary.chance.about(1.2);
            let net = spirit.litres() * AIR_KG_L;
            let scale = |kg: f64| to(kg / 0.2, 0) * 0.2;
            fields.push(field("gross_kg", to(scale(tare + net), 1)));
            fields.push(field("tare_kg", to(scale(tare), 1)));
        }
        let right = |number: &str, mut fields: Vec<(String, Node)>| {
            fields.insert(0, field("cask", number));
            fields
        };
        let wrong = (week, self.place) == WRONG_AT && !house.wrong_told;
        if wrong {
            house.wrong_told = true;
            tell_wrong(self.at_h, &cask, right("", fields.clone()), house.diary);
        }
        let noted_h = self.at_h + 0.05;
        let at_h = self.at_h;
        if wrong {
            // The right entry follows the contra, and tells when it truly happened.
            house.diary.tell_late(at_h, at_h + 5.1, "fill", right(&cask, fields));
        } else {
            house.diary.tell_late(at_h, noted_h, "fill", right(&cask, fields));
        }
        let tall = house.diary.chance.part() < 0.7;
        let warehouse = if tall { "tall_store" } else { "low_store" };
        let placed_h = self.at_h + 6.0;
        house.diary.tell(placed_h, "place", [field("cask", cask), field("warehouse", warehouse)]);
    }
}

/// Two figures of the number changed places; it was seen at the end of the day.
fn tell_wrong(at_h: Hours, cask: &str, mut fields: Vec<(String, Node)>, diary: &mut Diary) {
    let (year, number) = cask.split_once('-').unwrap_or(("", cask));
    let mut figures: Vec<char> = number.chars().collect();
    figures.reverse();
    let wrong: String = figures.into_iter().collect();
    fields[0] = field("cask", format!("{year}-9{wrong}"));
    fields.push(field(WRONG, true));
    diary.tell_late(at_h, at_h + 0.05, "fill", fields);
    let reason = vec![field("reason", format!("the cask is {cask}"))];
    diary.tell_late(at_h + 5.0, at_h + 5.0, "contra", reason);
}
