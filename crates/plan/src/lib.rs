//! What to do when: the work that is due.
