//! Roots, integrators with events and fixed points: the small numerical tools that the stages
//! share. There is no trade in here; what kept libraries do well they do (nalgebra, statrs).

pub mod fixed_point;
pub mod roots;
pub mod runge_kutta;
