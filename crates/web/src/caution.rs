//! Cautions: beside the act where the hazard is, never to be clicked away.
//!
//! They remind; they never say that a place is safe. Local codes and the house's own assessment
//! come first, and each says so.

use maud::{Markup, html};

/// A hazard of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hazard {
    /// Carbon dioxide over and in the washbacks.
    Washback,
    /// Carbon dioxide of breathing grain in steeps and on floors.
    Grain,
    /// Gases, fire and smoke of the kiln.
    Kiln,
    /// What a burner's own gases do to green malt.
    Burner,
    /// Hot liquor, worts, pot ale.
    HotLiquor,
    /// Spirit vapour at safe, receivers, filling store.
    Spirit,
    /// Charging, heating and emptying a still.
    Still,
    /// Malt dust at mill and bins.
    Dust,
    /// Dust of mouldy grain.
    Mould,
    /// Turning by hand, sacks and barrows.
    Turning,
    /// Grain in a bin.
    Bin,
    /// Casks on the move.
    Lifting,
    /// Caustic and closed vessels.
    Caustic,
    /// Going into any vessel.
    Entry,
    /// A still or receiver that cools while it is shut.
    Vacuum,
    /// Wash that rises while it is heated.
    Foaming,
    /// Hot copper, lees and pot ale.
    Lees,
    /// Foreshots and feints.
    NotForDrinking,
    /// Distilling at all.
    Licence,
}

impl Hazard {
    /// The line that names the hazard, what to do, and what comes before this page.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Washback => (
                "Carbon dioxide lies in and over the washbacks.",
                "Ventilate, wear the alarm, do not lean into a back, and leave at the first alarm \
                 or headache. A flame is no test of the air. Local codes and the house assessment \
                 come first.",
            ),
            Self::Grain => (
                "Grain breathes: steeps and low floors fill with carbon dioxide.",
                "Carbon dioxide lies lowest in an air rest, under a thick piece and in still \
                 weather. Run the extraction before going in, and do not stay alone in a pit. \
                 Local codes and the house assessment come first.",
            ),
            Self::Kiln => (
                "Fire below and smoke above mean carbon monoxide and little oxygen.",
                "Nobody stands on the kiln floor while it is fired: a bed is turned with the fire \
                 drawn and the air proved. Carry the alarm, watch a peat fire, and keep rootlets \
                 from under the floor, where they burn. Local codes and the house assessment come \
                 first.",
            ),
            Self::HotLiquor => (
                "Liquor above 60 °C scalds at once.",
                "Open valves slowly, with gauntlets and visor, and drain and isolate before \
                 anything is opened. Local codes and the house assessment come first.",
            ),
            Self::Spirit => (
                "Spirit vapour burns at room temperature.",
                "No flame, no spark; metal bonded and earthed, vents open to the outside, first \
                 flow slow. Local codes and the house assessment come first.",
            ),
            Self::Still => (
                "Prove the cooling water before heat, and the air cock before emptying.",
                "Vapour at an uncooled outlet is a fire in seconds, and a hot still that is shut \
                 and cooled is crushed. Local codes and the house assessment come first.",
            ),
            Self::Dust => (
                "Malt dust explodes.",
                "Magnets and stone trap clean, stop on a hot bearing or a rubbing belt, sweep \
                 without air lines, no hot work without a permit. Local codes and the house \
                 assessment come first.",
            ),
            Self::Bin => (
                "Grain in a bin bridges and buries.",
                "Nobody walks on it; lock the discharge before anyone looks in. Local codes and \
                 the house assessment come first.",
            ),
            Self::Lifting => (
                "A full hogshead weighs some 285 kg.",
                "Use runner, cradle or hoist, two hands to a cask, chocks in, and nobody below or \
                 downhill of one that moves. Local codes and the house assessment come first.",
            ),
            Self::Caustic => (
                "Caustic burns eyes and skin, and in a closed tank it draws the walls in.",
                "Vent first and leave the vent open; add caustic to water, never with acid or \
                 bleach. Local codes and the house assessment come first.",
            ),
            Self::Entry => (
                "Nobody goes into a vessel without a permit.",
                "Isolate, test the air, keep a person outside and a way to bring someone out \
                 without going in. Local codes and the house assessment come first.",
            ),
            Self::Burner | Self::Mould | Self::Turning => self.of_the_maltings(),
            Self::Vacuum | Self::Foaming | Self::Lees | Self::NotForDrinking | Self::Licence => {
                self.of_the_stillhouse()
            }
        }
    }

    /// The words of the maltings' own hazards.
    fn of_the_maltings(self) -> (&'static str, &'static str) {
        match self {
            Self::Burner => (
                "Burner gases make nitrosamines on green malt.",
                "Heat the air indirectly or with a clean, low-nitrogen flame, use sulphur only as \
                 the authority allows, and have the malt tested: the index here is a reminder, no \
                 analysis. Local codes and the house assessment come first.",
            ),
            Self::Mould => (
                "Dust of mouldy grain scars the lungs.",
                "Wear the mask at intake, on the floors and when the kiln is stripped, and turn \
                 away a lot that smells of mould. Local codes and the house assessment come first.",
            ),
            _ => (
                "Turning and lifting wear a back out.",
                "Change hands often, keep the shovel low and the floor dry, and take sacks and \
                 barrows with a hoist or two to the load. Local codes and the house assessment \
                 come first.",
            ),
        }
    }

    /// The words of the stillhouse's own hazards.
    fn of_the_stillhouse(self) -> (&'static str, &'static str) {
        match self {
            Self::Vacuum => (
                "A hot still that is shut draws itself flat as it cools.",
                "See the air cock open and the anti-collapse valve free before the pot is drained \
                 or cold liquor goes in; the same for a receiver that is emptied. Local codes and \
                 the house assessment come first.",
            ),
            Self::Foaming => (
                "Wash rises before it boils.",
                "Bring it up slowly, watch the glass and have the heat off before froth reaches \
                 the neck: what carries over fouls the condenser and can shut the way out. Local \
                 codes and the house assessment come first.",
            ),
            Self::Lees => (
                "Copper, coils and what is left in the pot scald.",
                "Heat off and air in before the pot is emptied; nobody near the outlet, and no \
                 lees into a cold closed tank. Local codes and the house assessment come first.",
            ),
            Self::NotForDrinking => (
                "Foreshots and feints are not for drinking.",
                "They hold what the cuts are there to keep out, and copper salts. Nose, never \
                 taste, and keep them in the closed circuit. Local codes and the house assessment \
                 come first.",
            ),
            _ => (
                "Distilling needs a licence.",
                "Nearly everywhere spirit may be made only by those approved to, in stills the \
                 revenue knows of, and its officer's figures stand before these. Local codes and \
                 the house assessment come first.",
            ),
        }
    }
}

/// Draws the caution of spirit vapour for spirit as strong as what runs now.
pub fn draw_spirit(strength_pct: f64) -> Markup {
    let (name, advice) = Hazard::Spirit.words();
    let strength = sheets::figure::fixed(strength_pct, 0);
    let flash = process::flash::warned_c(strength_pct).ok();
    let flash = flash.map(|c| sheets::figure::unit(&sheets::figure::fixed(c, 0), "°C"));
    html! {
        (boxed(name, &html! {
            @if let Some(flash) = flash {
                "At " (strength) "\u{202f}% vol the air over it can catch fire from about "
                (flash) ". "
            }
            (advice)
        }))
    }
}

/// Draws the caution.
pub fn draw(hazard: Hazard) -> Markup {
    let (name, advice) = hazard.words();
    boxed(name, &html! { (advice) })
}

fn boxed(name: &str, advice: &Markup) -> Markup {
    html! {
        div.caution role="note" {
            svg viewBox="0 0 26 24" aria-hidden="true" {
                path d="M13 2L25 22H1z" {}
                path d="M13 9v6M13 17.5v2" {}
            }
            p { b { (name) } (advice) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Hazard, draw_spirit};

    #[test]
    fn the_caution_of_vapour_names_a_heat_where_one_is_known() {
        let strong = draw_spirit(60.0).into_string();
        assert!(strong.contains("60\u{202f}% vol") && strong.contains("from about 2"), "{strong}");
        assert!(!draw_spirit(0.5).into_string().contains("from about"));
        assert!(draw_spirit(60.0).into_string().contains("Local codes"));
    }

    #[test]
    fn every_caution_defers_to_local_codes() {
        for hazard in [
            Hazard::Washback,
            Hazard::Grain,
            Hazard::Kiln,
            Hazard::Burner,
            Hazard::Mould,
            Hazard::Turning,
            Hazard::HotLiquor,
            Hazard::Spirit,
            Hazard::Still,
            Hazard::Dust,
            Hazard::Bin,
            Hazard::Lifting,
            Hazard::Caustic,
            Hazard::Entry,
            Hazard::Vacuum,
            Hazard::Foaming,
            Hazard::Lees,
            Hazard::NotForDrinking,
            Hazard::Licence,
        ] {
            let (name, advice) = hazard.words();
            assert!(name.ends_with('.') && name.len() < 90, "{name}");
            assert!(advice.contains("Local codes and the house assessment come first."));
            assert!(!advice.contains(" is safe"), "{advice}");
        }
    }
}
