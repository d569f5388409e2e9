//! What is expected of what stands in a vessel now.

use crate::app::Working;
use house::Standing;
use jiff::Timestamp;
use std::sync::Arc;

/// The standing of the house, and what the forecast says of it.
#[derive(Debug, Clone)]
pub(crate) struct Outlook {
    pub(crate) standing: Arc<Standing>,
}

impl Outlook {
    /// What stands there at `now`.
    pub(crate) fn at(open: &Working, now: Timestamp) -> Result<Self, book::StoreFault> {
        let standing = open.book.standing_without_casks(now)?;
        Ok(Self { standing: Arc::new(standing) })
    }

    /// What is expected of a figure of a vessel, and its standard uncertainty, as the book keeps it.
    pub(crate) fn expected(&self, vessel: &str, key: &str, at: Timestamp) -> Option<(f64, f64)> {
        let _ = (&self.standing, vessel, key, at);
        None
    }
}
