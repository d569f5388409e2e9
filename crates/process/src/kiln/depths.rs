//! The bed by depth over time: what the picture of a kilning is shaded from.

use super::figures::Charge;

/// Layers kept; more would not be seen.
const LAYERS: usize = 24;

/// Moisture by depth at the time of every row of the curves, and the phenols at the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Depths {
    /// Middle of each layer: share of the dry matter from the wire.
    pub shares: Vec<f64>,
    /// When, hours from lighting.
    pub times_h: Vec<f64>,
    /// Moisture on dry matter: for each time, of each layer.
    pub moisture_dry: Vec<Vec<f64>>,
    /// Phenols on dry malt of each layer at the end.
    pub phenols_mg_kg_dry: Vec<f64>,
    /// Depth and moisture as loaded.
    pub loaded_m: f64,
    /// Moisture on dry matter as loaded.
    pub loaded_dry: f64,
}

/// How far a layer sinks that lost so much water: share of its height.
///
/// `S = 15.91 [1 − exp(−0.0996 ΔM)]` %, `ΔM` points of moisture on dry matter lost.
/// B. K. Bala and J. L. Woods 1984, from memory.
pub(super) fn sunk(lost_dry: f64) -> f64 {
    0.1591 * -(-0.0996 * 100.0 * lost_dry.max(0.0)).exp_m1()
}

impl Depths {
    pub(super) fn new(charge: &Charge, cells: usize) -> Self {
        let layers = cells.min(LAYERS);
        Self {
            shares: (0..layers).map(|i| (i as f64 + 0.5) / layers as f64).collect(),
            times_h: Vec::new(),
            moisture_dry: Vec::new(),
            phenols_mg_kg_dry: Vec::new(),
            loaded_m: charge.depth_m,
            loaded_dry: charge.moisture_dry,
        }
    }

    /// Keeps the bed as it stands.
    pub(super) fn row(&mut self, time_h: f64, moisture: &[f64]) {
        self.times_h.push(time_h);
        self.moisture_dry.push(self.layers(moisture));
    }

    /// Cells as layers: the value at each layer's middle, on the straight line between cells.
    pub(super) fn layers(&self, cells: &[f64]) -> Vec<f64> {
        self.shares.iter().map(|share| between(cells, *share)).collect()
    }

    /// The moisture at a share of the dry matter from the wire and a time: on straight lines.
    /// `None` where there are no rows.
    pub fn moisture_at(&self, share: f64, time_h: f64) -> Option<f64> {
        let (row, next, part) = self.rows_at(time_h)?;
        let (a, b) = (between(row, share), between(next, share));
        Some(a + part * (b - a))
    }

    /// The rows about a time and how far it lies between them.
    fn rows_at(&self, time_h: f64) -> Option<(&[f64], &[f64], f64)> {
        let next = self.times_h.partition_point(|t| *t <= time_h);
        let before = next.saturating_sub(1);
        let next = next.min(self.times_h.len().checked_sub(1)?);
        let span = self.times_h[next] - self.times_h[before];
        let part = if span > 0.0 { (time_h - self.times_h[before]) / span } else { 0.0 };
        let rows = &self.moisture_dry;
        Some((&rows[before], &rows[next], part.clamp(0.0, 1.0)))
    }

    /// Where the bed has dried to `moisture_dry`: pairs of hours and share of the dry matter from
    /// the wire, drier below it. It begins at the wire when the lowest layer comes to it and ends
    /// at the top when the last does; a turned bed sets it back. Empty where the bed is drier
    /// from the start, or never comes to it.
    pub fn contour(&self, moisture_dry: f64) -> Vec<(f64, f64)> {
        let fronts: Vec<f64> =
            self.moisture_dry.iter().map(|row| self.front(row, moisture_dry)).collect();
        let mut line = Vec::new();
        for (i, front) in fronts.iter().enumerate() {
            let inside = *front > 0.0 && *front < 1.0;
            if let Some(before) = i.checked_sub(1) {
                let (left, right) = (&self.moisture_dry[before], &self.moisture_dry[i]);
                let edges = [
                    (fronts[before] <= 0.0 && *front > 0.0, 0),
                    (fronts[before] < 1.0 && *front >= 1.0, self.shares.len() - 1),
                ];
                for (crossed, layer) in edges {
                    if crossed {
                        let part = (left[layer] - moisture_dry) / (left[layer] - right[layer]);
                        let span = self.times_h[i] - self.times_h[before];
                        let time_h = self.times_h[before] + part.clamp(0.0, 1.0) * span;
                        line.push((time_h, if layer == 0 { 0.0 } else { 1.0 }));
                    }
                }
            }
            if inside {
                line.push((self.times_h[i], *front));
            }
        }
        line
    }

    /// The lowest share at which a column rises through that moisture: 0 when its foot is wetter,
    /// 1 when all of it is drier.
    fn front(&self, row: &[f64], moisture_dry: f64) -> f64 {
        match row.iter().position(|m| *m >= moisture_dry) {
            None => 1.0,
            Some(0) => 0.0,
            Some(i) => {
                let part = (moisture_dry - row[i - 1]) / (row[i] - row[i - 1]);
                self.shares[i - 1] + part * (self.shares[i] - self.shares[i - 1])
            }
        }
    }

    /// Height over the wire of a share of the dry matter: the bed sinks as it dries.
    pub fn height_m(&self, share: f64, time_h: f64) -> Option<f64> {
        let (row, next, part) = self.rows_at(time_h)?;
        let layers = row.len() as f64;
        let heights = row.iter().zip(next).enumerate().map(|(i, (a, b))| {
            let moisture = a + part * (b - a);
            let covered = (share * layers - i as f64).clamp(0.0, 1.0);
            covered * (1.0 - sunk(self.loaded_dry - moisture))
        });
        Some(self.loaded_m / layers * heights.sum::<f64>())
    }
}

/// The value at a share from the wire, on the straight line between middles; flat at the ends.
fn between(cells: &[f64], share: f64) -> f64 {
    let place = (share * cells.len() as f64 - 0.5).clamp(0.0, cells.len() as f64 - 1.0);
    let i = (place as usize).min(cells.len().saturating_sub(2));
    let above = cells.get(i + 1).unwrap_or(&cells[i]);
    cells[i] + (place - i as f64) * (above - cells[i])
}
