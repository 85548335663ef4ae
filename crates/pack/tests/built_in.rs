//! The built-in pack reads clean.
use wythe_pack::{Pack, PackFile};

#[test]
fn the_structural_pack_passes_the_whole_check() {
    let texts = wythe_rules::structural();
    let files: Vec<PackFile<'_>> = texts.iter().map(|(path, text)| PackFile { path, text }).collect();
    let pack = Pack::check(&files).unwrap_or_else(|problems| panic!("{problems}"));
    assert!(pack.mechanisms.len() >= 14 && pack.clues.len() >= 35 && pack.responses.len() >= 7);
}
