//! A house is read whole or not at all, and every fault of all its files is told at once.

use house::load::FILES;
use house::{Equipment, quernholm, read};

/// The texts of Quernholm with some lines changed: (file, what stands there, what to put).
fn broken(changes: &[(usize, &str, &str)]) -> String {
    let mut texts = quernholm().texts;
    for (file, from, to) in changes {
        assert!(texts[*file].contains(from), "{from} is not in {}", FILES[*file]);
        texts[*file] = texts[*file].replacen(from, to, 1);
    }
    match read(texts) {
        Ok(_) => "no fault found".to_owned(),
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            lines.join("\n")
        }
    }
}

#[test]
fn quernholm_stands_without_a_fault() {
    let texts = quernholm().texts;
    let problems = read(texts).err().unwrap_or_default();
    assert!(problems.is_empty(), "{problems:#?}");
    let house = quernholm();
    assert_eq!(house.vessels("washback").count(), 7);
    assert_eq!(house.called("washback_5"), "washback 5");
    assert_eq!(house.make("Ember").map(|m| m.key.as_str()), Some("ember"));
    assert_eq!(house.families(), ["pale", "ember"]);
}

#[test]
fn the_laydown_comes_to_the_seasons_litres() {
    let house = quernholm();
    let of = |make: &str| -> f64 {
        let orders = house.season.orders.iter();
        orders.filter(|o| o.make == make && !o.late_wish).map(|o| o.pure_alcohol_l).sum()
    };
    assert_eq!([of("pale"), of("feather"), of("ember")], [175e3, 35e3, 140e3]);
}

#[test]
fn every_vessel_of_the_house_is_of_the_kind_its_key_says() {
    for vessel in &quernholm().plant.vessels {
        let plain = vessel.key.trim_end_matches(|c: char| c == '_' || c.is_ascii_digit());
        let like = match &vessel.what {
            Equipment::Outlet(..) | Equipment::Supply(..) | Equipment::Warehouse(..) => continue,
            other => other.kind(),
        };
        let kind_in_key = plain.ends_with(like) || like.ends_with(plain);
        assert!(kind_in_key, "{} is a {like}", vessel.key);
    }
}

#[test]
fn a_change_says_what_becomes_of_the_feints() {
    use process::circuit::Feints;
    let makes = quernholm().makes;
    assert_eq!(makes.feints("pale", "feather"), Feints::Mixed);
    assert_eq!(makes.feints("feather", "ember"), Feints::Apart);
    assert_eq!(makes.feints("ember", "pale"), Feints::WorkedOff);
    let after = makes.change("ember", "feather").expect("a line for it");
    assert!((after.cost.transition_runs - 2.0).abs() < 1e-12 && after.allowed);
    // Where the file does not say, the families do.
    let silent = house::make::Makes { changes: Vec::new(), ..makes };
    assert_eq!(silent.feints("pale", "feather"), Feints::Mixed);
    assert_eq!(silent.feints("ember", "pale"), Feints::Apart);
}

#[test]
fn feints_that_may_not_meet_are_told_with_what_would_do() {
    let says = |from: &str, to: &str, wanted: &[&str]| {
        let told = broken(&[(1, from, to)]);
        for words in wanted {
            assert!(told.contains(words), "{words}: {told}");
        }
    };
    let (smoke, shared) =
        ("hours_h = 1.0\nfeints = \"apart\"", "hours_h = 12.0\nfeints = \"mixed\"");
    says(
        smoke,
        "hours_h = 1.0\nfeints = \"mixed\"",
        &["change[2].feints", "feints of pale into ember", "say \"apart\" or \"worked_off\""],
    );
    says(
        shared,
        "hours_h = 12.0\nfeints = \"apart\"",
        &["change[1].feints", "share a receiver", "say \"mixed\" or \"worked_off\""],
    );
    says(shared, "hours_h = 12.0\nfeints = \"mixd\"", &["is \"mixd\"", "is it mixed?"]);
    says(
        smoke,
        "hours_h = 1.0\nfeints = \"apart\"\nallowed = false",
        &["change[2].allowed: ember may follow no other make", "let one change"],
    );
}

#[test]
fn a_broken_house_tells_all_its_faults_in_all_its_files() {
    insta::assert_snapshot!(broken(&[
        // The plant: out of range, a word for a figure, an unknown key, too full, uncovered coils.
        (0, "silo_kg = 60000.0", "silo_kg = -1.0"),
        (0, "area_m2 = 185.0", "area_m2 = \"wide\""),
        (0, "fan_kg_s = 9.4", "fan_kg_a = 9.4"),
        (0, "fill_l = 12900.0", "fill_l = 18000.0"),
        (0, "charge_l = 5200.0", "charge_l = 1700.0"),
        (0, "kind = \"mill\"", "kind = \"mil\""),
        // The makes: names nobody knows, a fan that cannot, feints that go nowhere, shares.
        (1, "barleys = [\"landrace\"]", "barleys = [\"landrase\"]"),
        (1, "share = 0.1", "share = 0.2"),
        (1, "mash_c = 64.2", "mash_c = 164.2"),
        (1, "{ from = \"spirit.feints\" },", ""),
        (1, "to = \"spirit_receiver\"", "to = \"spirit_reciever\""),
        (1, "still = [\"wash_still\"]", "still = [\"wash_stil\"]"),
        (1, "until_time_s = 720.0, ", "until_time_s = 720.0, until_volume_l = 9.0, "),
        (1, "to = \"feints_receiver_2\"", "to = \"feints_receiver_1\""),
        // The barleys and the season.
        (2, "kind = \"landrace\"", "kind = \"old\""),
        (2, "nitrogen_pct_dry = 1.5", "nitrogen_pct = 1.5"),
        (3, "first_mash = \"08-10\"", "first_mash = \"08-40\""),
        (3, "make = \"pale\"", "make = \"pail\""),
        (3, "ends_week_h = 134.0", "ends_week_h = 4.0"),
        (3, "tuesday = 2", "tusday = 2"),
    ]));
}

#[test]
fn a_kilning_the_fan_cannot_blow_is_refused() {
    insta::assert_snapshot!(broken(&[(1, "flow_kg_s = 5.4", "flow_kg_s = 9.9")]));
}

#[test]
fn torn_files_tell_their_syntax_and_not_what_they_lack() {
    insta::assert_snapshot!(broken(&[
        (0, "kind = \"kiln\"", "kind = "),
        (3, "[calendar]", "[calendar"),
    ]));
}

#[test]
fn a_house_without_files_says_which_are_wanted() {
    let nowhere = std::path::Path::new("no-such-house");
    let problems = house::load(nowhere).expect_err("nothing is there");
    let files: Vec<&str> = problems.iter().map(|p| p.file).collect();
    assert_eq!(files, FILES);
}

#[test]
fn a_house_has_its_own_words_for_the_nose() {
    let words = house::quernholm().makes.nose;
    assert!(words.len() >= 6 && words.contains(&"feinty".to_owned()), "{words:?}");
    let mut once = words.clone();
    once.sort();
    once.dedup();
    assert_eq!(once.len(), words.len());
    let mut texts = house::quernholm().texts;
    texts[1] = texts[1].replace("words = [\"clean\"", "words = [3");
    let problems = house::read(texts).unwrap_err();
    assert!(problems.iter().any(|p| p.fault.to_string().contains("nose.words[0]")), "{problems:?}");
}
