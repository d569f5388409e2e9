//! What wants noting with each piece of work, each with its range.

use gauge::Field;

/// Temperature of the grain of a piece.
pub const GRAIN_C: Field = Field::new("grain_c", "°C").label("grain").within(0.0, 60.0);
/// Air-off of the kiln.
pub const AIR_OFF_C: Field = Field::new("air_off_c", "°C").label("air-off").within(0.0, 110.0);
/// Moisture of malt as it is stripped.
pub const MOISTURE_PCT: Field =
    Field::new("moisture_pct", "%").label("moisture of the malt").within(1.0, 15.0);
/// Mash after mashing in.
pub const MASH_C: Field = Field::new("mash_c", "°C").label("mash").within(40.0, 80.0);
/// Gravity of worts or wash.
pub const GRAVITY: Field = Field::new("gravity", "").label("gravity").within(0.98, 1.15);
/// Temperature of worts or wash.
pub const TEMPERATURE_C: Field =
    Field::new("temperature_c", "°C").label("temperature").within(0.0, 45.0);
/// Setting temperature.
pub const SET_C: Field = Field::new("set_c", "°C").label("set at").within(5.0, 40.0);
/// Litres as they lie.
pub const BULK_L: Field = Field::new("bulk_l", "L").label("litres").within(0.0, 1e6);
/// Strength at 20 °C.
pub const STRENGTH_PCT: Field =
    Field::new("strength_pct", "% vol").label("strength").within(0.0, 100.0);
