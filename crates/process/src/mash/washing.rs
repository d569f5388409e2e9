//! How water takes the extract out of the bed.

/// Liquid in the bed or run off it, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Liquid {
    /// Water.
    pub water_kg: f64,
    /// Extract.
    pub extract_kg: f64,
}

/// How a water meets the bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Raked in: bed and water become one.
    Mixed,
    /// Sparged on a bed at rest: the water pushes the wort before it.
    Displaced,
}

/// What a drain leaves and takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drained {
    /// Run off.
    pub run_off: Liquid,
    /// Held by the bed.
    pub held: Liquid,
}

/// Runs `liquor` through a bed that holds `bed`, and drains until it holds `held_kg` of water.
///
/// The first water is always mixed (a bed that holds no wort yet cannot be displaced). `tanks` is
/// the number of mixed layers down the bed: 1 to 2 in a traditional tun with its rakes at rest, 2
/// to 4 in a lauter tun.
pub fn drain(bed: Liquid, liquor: Liquid, how: How, held_kg: f64, tanks: f64) -> Drained {
    let water = bed.water_kg + liquor.water_kg;
    let extract = bed.extract_kg + liquor.extract_kg;
    let left = match how {
        How::Mixed => extract * held_kg / water,
        How::Displaced => {
            let theta = liquor.water_kg / bed.water_kg;
            let pushed = left_in_bed(theta, tanks) * bed.extract_kg + liquor.extract_kg;
            // What the bed then gives up by draining lower goes at the strength it has.
            pushed * (held_kg / bed.water_kg).min(1.0)
        }
    };
    Drained {
        run_off: Liquid { water_kg: water - held_kg, extract_kg: extract - left },
        held: Liquid { water_kg: held_kg, extract_kg: left },
    }
}

/// Share of the bed's extract left when `theta` bed volumes of water have pushed through.
///
/// φ(θ, N) = (1/N) Σ_{i=1..N} exp(−Nθ) Σ_{j<i} (Nθ)^j/j!; between whole numbers of layers, on the
/// straight line.
pub fn left_in_bed(theta: f64, tanks: f64) -> f64 {
    let whole = |n: u32| {
        let x = f64::from(n) * theta;
        let (mut term, mut sum, mut total) = (1.0, 0.0, 0.0);
        for i in 1..=n {
            sum += term;
            total += sum;
            term *= x / f64::from(i);
        }
        total * (-x).exp() / f64::from(n)
    };
    let below = tanks.floor().max(1.0);
    let share = (tanks - below).max(0.0);
    let low = whole(below as u32);
    if share == 0.0 { low } else { low + share * (whole(below as u32 + 1) - low) }
}
