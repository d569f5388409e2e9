//! What to do when: the work that is due, and the shape in which a plan leaves the house.

mod clock;
pub mod due;
pub mod kind;
pub mod plan;
pub mod readings;
pub mod work;

pub use due::{Span, charges, coming_mashes, due, due_of};
pub use kind::TaskKind;
pub use plan::Plan;
pub use work::{Number, Work};
