//! The demo's history, made with hidden constants and instrument errors.
