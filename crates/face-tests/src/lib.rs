//! The pages, driven in a real browser.
