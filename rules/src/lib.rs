//! The rule packs as data: each a folder of YAML files, bundled into the library.
//!
//! This crate knows nothing: it hands out texts. `wythe-pack` reads them.

use include_dir::{Dir, include_dir};

static STRUCTURAL: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/structural");

/// The structural pack: path inside the pack and text of each of its YAML files, in the order of their paths.
///
/// ```
/// assert!(wythe_rules::structural().iter().any(|(path, _)| *path == "pack.yaml"));
/// ```
pub fn structural() -> Vec<(&'static str, &'static str)> {
    let mut files = Vec::new();
    gather(&STRUCTURAL, &mut files);
    files.sort_unstable();
    files
}

fn gather(dir: &'static Dir<'static>, files: &mut Vec<(&'static str, &'static str)>) {
    for file in dir.files() {
        if let (Some(path), Some(text)) = (file.path().to_str(), file.contents_utf8())
            && path.ends_with(".yaml")
        {
            files.push((path, text));
        }
    }
    for inner in dir.dirs() {
        gather(inner, files);
    }
}
