//! The places a person stands in, as pages.
