//! The binary `shiel`: everything the program does, by command.
fn main() {}
