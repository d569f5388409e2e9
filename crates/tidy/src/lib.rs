//! The house style, held by tests.
