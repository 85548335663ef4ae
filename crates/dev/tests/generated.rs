//! What is made from the rule files is up to date.
#![allow(missing_docs, clippy::unwrap_used)]

#[test]
fn generated_files_are_up_to_date() {
    let changed = wythe_dev::generate(true).unwrap();
    assert!(
        changed.is_empty(),
        "not up to date: {}\nrun `cargo dev generate`, read what changed, and commit it",
        changed.join(", ")
    );
}
