//! Rubbish in: torn, cut and scrambled house files are answered with faults in their place.

use house::source::Source;
use proptest::prelude::*;

const SOUND: &str = include_str!("../../../houses/quernholm/makes.toml");

fn every_place_lies_in(text: &str) -> Result<(), TestCaseError> {
    let (source, faults) = Source::parse(text);
    prop_assert_eq!(source.text(), text);
    for (fault, place) in faults {
        prop_assert!(place.span.start <= text.len(), "{} at {:?}", fault, place);
        prop_assert!(place.line >= 1 && place.line <= text.lines().count() + 1);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 200,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_text_is_taken_apart_or_refused(text in "\\PC{0,200}") {
        every_place_lies_in(&text)?;
    }

    #[test]
    fn toml_like_text_is_taken_apart_or_refused(text in "[\\[\\]a-z_=.\"0-9\n{}, #é-]{0,300}") {
        every_place_lies_in(&text)?;
    }

    #[test]
    fn a_torn_house_file_never_falls_over(cut in 0_usize..8000, gap in 1_usize..400) {
        let chars: Vec<char> = SOUND.chars().collect();
        let from = cut % chars.len();
        let to = (from + gap).min(chars.len());
        let torn: String = chars[..from].iter().chain(&chars[to..]).collect();
        every_place_lies_in(&torn)?;
        let sound = house::quernholm();
        let mut texts = sound.texts.clone();
        let at = texts.iter().position(|t| t == SOUND).expect("makes.toml is one of them");
        texts[at] = torn;
        if let Err(problems) = house::read(texts) {
            prop_assert!(!problems.is_empty());
        }
    }
}
