//! The air of the tun room: carbon dioxide given off, and the fresh air that keeps it thin.
//!
//! The room is taken as well mixed; low corners are far worse. Nothing here says that a place is
//! safe.

use super::back::Back;
use crate::maltings::seen::{hours, later};
use house::{Equipment, House};
use jiff::Timestamp;

/// Exposure limit over eight hours, parts in a million: 5000 in Britain and the United States.
pub const LIMIT_PPM: f64 = 5000.0;
/// Outside air, parts in a million.
const OUTSIDE_PPM: f64 = 420.0;
/// The most is looked for so far ahead, h.
const AHEAD_H: u32 = 72;

/// The air of the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Carbon dioxide given off now, m³/h at 20 °C.
    pub now_m3_h: f64,
    /// The most in the next three days.
    pub most_m3_h: f64,
    /// When that is.
    pub most_at: Timestamp,
    /// Fresh air that keeps the room under the limit now, m³/h.
    pub fresh_now_m3_h: f64,
    /// The same at the most.
    pub fresh_most_m3_h: f64,
    /// What the fan gives; none where the house's file has no tun room.
    pub fan_m3_h: Option<f64>,
    /// Room, m³; the same.
    pub room_m3: Option<f64>,
    /// Whether the fan is enough for the most.
    pub enough: bool,
    /// Minutes until the limit is passed if the fan stops now; none where nothing is given off.
    pub minutes_to_limit: Option<f64>,
}

/// Gives the fresh air that keeps a room of even air under a limit: `G / (C − C_outside)`.
///
/// # Units
/// m³/h of gas; result m³/h.
/// # Range
/// A limit above outside air.
/// # Error
/// A well-mixed room; a real one has corners that are worse.
/// # Source
/// Steady balance of the gas.
/// # Example
/// ```
/// let fresh = forecast::tun_room::air::fresh_m3_h(15.0);
/// assert!((fresh - 3275.0).abs() < 1.0);
/// ```
pub fn fresh_m3_h(gas_m3_h: f64) -> f64 {
    gas_m3_h / ((LIMIT_PPM - OUTSIDE_PPM) * 1e-6)
}

/// Gives the minutes until the limit is passed in a room of still, even air.
///
/// # Units
/// m³/h of gas; result min.
/// # Range
/// Gas above nought, air as outside at the start.
/// # Error
/// As [`fresh_m3_h`].
/// # Source
/// Balance of the gas in a closed room.
pub fn minutes_to_limit(room_m3: f64, gas_m3_h: f64) -> f64 {
    60.0 * room_m3 * (LIMIT_PPM - OUTSIDE_PPM) * 1e-6 / gas_m3_h
}

/// The air of the room over these washbacks.
pub(super) fn air(house: &House, backs: &[Back], at: Timestamp) -> Air {
    let own = house.vessels("tun_room").find_map(|v| match &v.what {
        Equipment::TunRoom(room) => Some(room.clone()),
        _ => None,
    });
    let given = |when: Timestamp| -> f64 {
        backs.iter().map(|back| back.gas_at(hours(back.set_at, when))).sum()
    };
    let now_m3_h = given(at);
    let (mut most_m3_h, mut most_at) = (now_m3_h, at);
    for step in 1..=2 * AHEAD_H {
        let when = later(at, 0.5 * f64::from(step));
        let gas = given(when);
        if gas > most_m3_h {
            (most_m3_h, most_at) = (gas, when);
        }
    }
    let fresh_most_m3_h = fresh_m3_h(most_m3_h);
    let room_m3 = own.as_ref().map(|room| room.volume_m3);
    let still = room_m3.filter(|_| now_m3_h > 0.0);
    Air {
        now_m3_h,
        most_m3_h,
        most_at,
        fresh_now_m3_h: fresh_m3_h(now_m3_h),
        fresh_most_m3_h,
        fan_m3_h: own.as_ref().map(|room| room.fan_m3_h),
        room_m3,
        enough: own.as_ref().is_some_and(|room| room.fan_m3_h >= fresh_most_m3_h),
        minutes_to_limit: still.map(|room_m3| minutes_to_limit(room_m3, now_m3_h)),
    }
}
