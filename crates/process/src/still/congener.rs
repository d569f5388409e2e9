//! Congeners as passengers: traces that follow ethanol and water without moving them.
//!
//! K = y/x at infinite dilution along the boiling curve at 101.325 kPa,
//! `ln K = c0 + c1 u + c2 u² + c3 u³ + c4 u⁴`, `u = x/(x + 0.5)`, for `x` from 0 to 0.89.
//!
//! Every K is a model figure and none is a measurement. The polynomials meet modified UNIFAC
//! (Dortmund) times vapour pressure to 1.2 %; against real spirit the rough uncertainty is that of
//! [`Congener::uncertainty_pct`]. Acetic acid, 2-phenylethanol, phenol and guaiacol are
//! anchored at `x = 0` on values from memory.
//!
//! # Source
//! J. Gmehling, J. Li and M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178 and 37 (1998) 4876, the
//! group model, as computed with the program library `thermo` 0.6.1; the fit is our own.

/// Congeners that come over together and share one fitted factor on their volatility.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// First over: aldehyde, ethyl acetate, acetal, methanol.
    Solvent,
    /// The esters of pear, apple and wax.
    Fruit,
    /// Higher alcohols.
    Oil,
    /// What is made or comes late: furfural, acetic acid, rose.
    Late,
    /// Phenols of the kiln's smoke.
    Smoke,
}

impl Group {
    /// All groups, in the order in which they come over.
    pub const ALL: [Self; 5] = [Self::Solvent, Self::Fruit, Self::Oil, Self::Late, Self::Smoke];

    /// Gives the key of the factor on their volatility among the constants of the still.
    pub fn factor_key(self) -> &'static str {
        match self {
            Self::Solvent => "solvent_volatility",
            Self::Fruit => "fruit_volatility",
            Self::Oil => "oil_volatility",
            Self::Late => "late_volatility",
            Self::Smoke => "phenol_volatility",
        }
    }
}

/// One congener: its spelling and its volatility.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Congener {
    /// Spelling in cases and results.
    pub key: &'static str,
    /// With which others it comes over, and what the nose calls them together.
    pub group: Group,
    /// Rough uncertainty of K against real spirit, %.
    pub uncertainty_pct: f64,
    c: [f64; 5],
}

impl Congener {
    /// One whose volatility does not depend on the liquid, for closed forms.
    #[cfg(test)]
    pub(crate) const fn steady(key: &'static str, ln_k: f64) -> Self {
        Self { key, group: Group::Late, uncertainty_pct: 0.0, c: [ln_k, 0.0, 0.0, 0.0, 0.0] }
    }

    /// Gives the congener spelt `key`.
    pub fn named(key: &str) -> Option<&'static Self> {
        CONGENERS.iter().find(|c| c.key == key)
    }
    /// Whether it comes of smoke.
    pub fn phenol(&self) -> bool {
        self.group == Group::Smoke
    }
    /// Gives ln K over a liquid of ethanol mole fraction `x`.
    pub fn ln_volatility(&self, x: f64) -> f64 {
        let u = x / (x + 0.5);
        let c = &self.c;
        c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * c[4])))
    }
}

/// All congeners known, in the order in which a book lists them.
pub const CONGENERS: [Congener; 20] = [
    Congener {
        key: "acetaldehyde",
        group: Group::Solvent,
        uncertainty_pct: 25.0,
        c: [4.09551, -7.53569, 15.99654, -25.64169, 17.6257],
    },
    Congener {
        key: "ethyl_acetate",
        group: Group::Solvent,
        uncertainty_pct: 20.0,
        c: [4.98293, -10.54611, 15.18639, -25.58028, 18.45009],
    },
    Congener {
        key: "methanol",
        group: Group::Solvent,
        uncertainty_pct: 8.0,
        c: [2.0809, -6.36685, 15.44011, -24.54249, 15.58765],
    },
    Congener {
        key: "1_propanol",
        group: Group::Oil,
        uncertainty_pct: 12.0,
        c: [2.82444, -10.54624, 19.51081, -32.41033, 22.16828],
    },
    Congener {
        key: "2_methyl_1_propanol",
        group: Group::Oil,
        uncertainty_pct: 15.0,
        c: [3.38397, -11.9494, 19.55333, -33.08331, 22.90487],
    },
    Congener {
        key: "3_methyl_1_butanol",
        group: Group::Oil,
        uncertainty_pct: 15.0,
        c: [3.47339, -13.63221, 20.49849, -35.20104, 24.49],
    },
    Congener {
        key: "2_methyl_1_butanol",
        group: Group::Oil,
        uncertainty_pct: 15.0,
        c: [3.50414, -13.59667, 20.35504, -34.94751, 24.32987],
    },
    Congener {
        key: "isoamyl_acetate",
        group: Group::Fruit,
        uncertainty_pct: 30.0,
        c: [6.03909, -15.21536, 16.85795, -30.10618, 22.15596],
    },
    Congener {
        key: "ethyl_hexanoate",
        group: Group::Fruit,
        uncertainty_pct: 40.0,
        c: [6.3346, -16.50687, 16.15312, -29.61827, 22.40564],
    },
    Congener {
        key: "ethyl_octanoate",
        group: Group::Fruit,
        uncertainty_pct: 50.0,
        c: [6.87325, -19.53699, 17.01355, -32.28041, 24.66361],
    },
    Congener {
        key: "ethyl_decanoate",
        group: Group::Fruit,
        uncertainty_pct: 60.0,
        c: [7.44993, -22.61476, 17.91211, -34.91297, 26.85557],
    },
    Congener {
        key: "acetal",
        group: Group::Solvent,
        uncertainty_pct: 40.0,
        c: [4.38912, -11.10177, 13.8606, -25.24947, 22.04128],
    },
    Congener {
        key: "furfural",
        group: Group::Late,
        uncertainty_pct: 25.0,
        c: [1.89533, -12.45188, 25.10104, -37.87109, 23.49458],
    },
    Congener {
        key: "acetic_acid",
        group: Group::Late,
        uncertainty_pct: 25.0,
        c: [-0.33559, -5.61512, 16.32879, -26.5067, 17.5639],
    },
    Congener {
        key: "2_phenylethanol",
        group: Group::Late,
        uncertainty_pct: 40.0,
        c: [0.77995, -14.19368, 22.74712, -37.94331, 24.64233],
    },
    Congener {
        key: "phenol",
        group: Group::Smoke,
        uncertainty_pct: 30.0,
        c: [0.66197, -15.90758, 24.16666, -35.177, 23.67597],
    },
    Congener {
        key: "o_cresol",
        group: Group::Smoke,
        uncertainty_pct: 40.0,
        c: [1.21209, -17.21041, 24.89034, -36.3032, 24.07775],
    },
    Congener {
        key: "m_cresol",
        group: Group::Smoke,
        uncertainty_pct: 40.0,
        c: [0.77928, -17.30938, 25.20918, -36.81072, 24.37616],
    },
    Congener {
        key: "p_cresol",
        group: Group::Smoke,
        uncertainty_pct: 40.0,
        c: [0.69874, -17.59692, 26.13547, -38.28517, 25.24308],
    },
    Congener {
        key: "guaiacol",
        group: Group::Smoke,
        uncertainty_pct: 60.0,
        c: [1.38245, -18.0378, 25.46047, -37.55683, 28.72934],
    },
];
