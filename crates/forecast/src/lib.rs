//! What will happen: stages chained for a batch in a house.
