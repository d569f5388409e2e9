//! How large a trouble is by several readings at once, when part of their scatter is common.

/// The scatter of some differences: `S = diag(own) + Σ g g'`.
#[derive(Debug, Clone)]
pub(crate) struct Scatter {
    /// Variance that is each one's own.
    pub(crate) own: Vec<f64>,
    /// For each thing that is common, how one standard uncertainty of it moves each difference.
    pub(crate) common: Vec<Vec<f64>>,
}

/// A trouble: how large, how sure, and how heavily the differences speak for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sized {
    pub(crate) size: f64,
    pub(crate) sd: f64,
    /// `(f'S⁻¹d)² / f'S⁻¹f`, less where the differences scatter more than their gauges allow.
    pub(crate) weight: f64,
}

impl Scatter {
    /// Sizes a trouble that shows as `signature` in `differences`.
    pub(crate) fn size(&self, differences: &[f64], signature: &[f64]) -> Sized {
        let nothing = Sized { size: 0.0, sd: f64::INFINITY, weight: 0.0 };
        let Some(root) = self.root() else {
            return nothing;
        };
        let (d, f) = (solved(&root, differences), solved(&root, signature));
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let strength = dot(&f, &f);
        if strength <= 0.0 {
            return nothing;
        }
        let size = dot(&f, &d) / strength;
        let rest = dot(&d, &d) - size * size * strength;
        // What is left over after the trouble says how far the stated scatter falls short.
        let degrees = differences.len() as f64 - 1.0;
        let wider = if degrees > 0.0 { (rest / degrees).max(1.0) } else { 1.0 };
        Sized { size, sd: (wider / strength).sqrt(), weight: size * size * strength / wider }
    }

    /// Cholesky's lower triangle of S.
    fn root(&self) -> Option<Vec<Vec<f64>>> {
        let size = self.own.len();
        let mut root = vec![vec![0.0; size]; size];
        for i in 0..size {
            for j in 0..=i {
                let mut value: f64 = self.common.iter().map(|g| g[i] * g[j]).sum();
                if i == j {
                    value += self.own[i];
                }
                value -= (0..j).map(|k| root[i][k] * root[j][k]).sum::<f64>();
                root[i][j] = if i == j { value.sqrt() } else { value / root[j][j] };
                if !root[i][j].is_finite() {
                    return None;
                }
            }
        }
        Some(root)
    }
}

/// `L⁻¹ v`.
fn solved(root: &[Vec<f64>], v: &[f64]) -> Vec<f64> {
    let mut out: Vec<f64> = Vec::with_capacity(v.len());
    for (row, value) in root.iter().zip(v) {
        let known: f64 = row.iter().zip(&out).map(|(l, x)| l * x).sum();
        out.push((value - known) / row[out.len()]);
    }
    out
}
