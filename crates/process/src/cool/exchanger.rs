//! A plate cooler: two streams past each other, steady.

use gauge::Fault;
use numeric::roots::{Bracket, NoRoot, brent};

/// The two streams and what passes between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchange {
    /// Heat the worts carry, W/K: flow times specific heat.
    pub worts_w_k: f64,
    /// Worts in.
    pub worts_in_c: f64,
    /// Heat the water carries, W/K.
    pub water_w_k: f64,
    /// Water in.
    pub water_in_c: f64,
    /// Conductance of the plates.
    pub conductance_w_k: f64,
}

/// What leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchanged {
    /// Worts out.
    pub worts_out_c: f64,
    /// Water out.
    pub water_out_c: f64,
    /// Heat passed.
    pub heat_w: f64,
    /// Share of the most that could pass.
    pub effectiveness: f64,
}

/// Gives the effectiveness of a counter-current exchanger.
///
/// ε = (1 − exp(−NTU (1 − r))) / (1 − r exp(−NTU (1 − r))), NTU = UA/C_min, r = C_min/C_max
///
/// # Units
/// Pure numbers.
/// # Range
/// NTU from 0, r 0 to 1.
/// # Error
/// Plates at the ends pass less: 0.95 to 1 of NTU in truth, from memory.
/// # Source
/// Standard form of heat-transfer textbooks.
/// # Example
/// ```
/// let e = process::cool::effectiveness(5.1282, 0.73553);
/// assert!((e - 0.91594).abs() < 1e-5);
/// ```
pub fn effectiveness(ntu: f64, ratio: f64) -> f64 {
    if (1.0 - ratio).abs() < 1e-9 {
        return ntu / (1.0 + ntu);
    }
    // Both differences are small near r = 1, so they are taken as such.
    let passed = -(-ntu * (1.0 - ratio)).exp_m1();
    passed / (1.0 - ratio + ratio * passed)
}

/// Passes heat between the two streams.
pub fn exchange(streams: &Exchange) -> Exchanged {
    let least = streams.worts_w_k.min(streams.water_w_k);
    let most = streams.worts_w_k.max(streams.water_w_k);
    let effectiveness = effectiveness(streams.conductance_w_k / least, least / most);
    let heat_w = effectiveness * least * (streams.worts_in_c - streams.water_in_c);
    Exchanged {
        worts_out_c: streams.worts_in_c - heat_w / streams.worts_w_k,
        water_out_c: streams.water_in_c + heat_w / streams.water_w_k,
        heat_w,
        effectiveness,
    }
}

/// Gives the heat that the water must carry, W/K, for the worts to leave at `set_c`; none when even
/// `most_w_k` does not bring them there. `streams.water_w_k` is not read.
pub fn water_for(streams: &Exchange, set_c: f64, most_w_k: f64) -> Result<Option<f64>, Fault> {
    let out = |water_w_k: f64| exchange(&Exchange { water_w_k, ..*streams }).worts_out_c;
    if out(most_w_k) > set_c {
        return Ok(None);
    }
    // With hardly any water the worts leave as they came.
    let bracket = Bracket {
        low: 1e-6 * streams.worts_w_k,
        high: most_w_k,
        tolerance: 1e-10 * streams.worts_w_k,
    };
    match brent(bracket, |w| out(w) - set_c) {
        Ok(found) => Ok(Some(found)),
        Err(NoRoot::SameSign { .. }) => Ok(None),
        Err(NoRoot::NotConverged { steps, residual, .. }) => {
            Err(Fault::NotConverged { what: "flow of cooling water", steps, residual })
        }
    }
}

/// Gives the conductance of the plates, W/K, that a logged run shows; `streams.conductance_w_k` is
/// not read. `NaN` when the worts leave colder than any plates could make them.
///
/// NTU = ln((1 − ε r)/(1 − ε)) / (1 − r)
pub fn conductance_of(streams: &Exchange, worts_out_c: f64) -> f64 {
    let least = streams.worts_w_k.min(streams.water_w_k);
    let ratio = least / streams.worts_w_k.max(streams.water_w_k);
    let heat_w = streams.worts_w_k * (streams.worts_in_c - worts_out_c);
    let e = heat_w / (least * (streams.worts_in_c - streams.water_in_c));
    let ntu = if (1.0 - ratio).abs() < 1e-9 {
        e / (1.0 - e)
    } else {
        ((1.0 - e * ratio) / (1.0 - e)).ln() / (1.0 - ratio)
    };
    ntu * least
}
