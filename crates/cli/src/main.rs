//! The program wythe.
fn main() {}
