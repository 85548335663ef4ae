//! cargo dev: generates golden files and other made files; unpublished.
fn main() {}
