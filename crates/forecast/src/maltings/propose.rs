//! What the kiln should be fired with, for wanted phenols, moisture and latest time.
