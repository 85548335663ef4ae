//! Builds the crate anew when a rule file changes.
fn main() {
    println!("cargo:rerun-if-changed=structural");
}
