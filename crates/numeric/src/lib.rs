//! Roots, integrators with events, fixed points and least squares: the small numerical tools that
//! the stages share. There is no trade in here; what kept libraries do well they do (nalgebra,
//! statrs).

pub mod fixed_point;
pub mod least_squares;
pub mod roots;
pub mod runge_kutta;
