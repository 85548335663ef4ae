//! What is made from the rule files: the catalogue, the shares in the pack's README, the schemas.

use std::fs;
use std::path::PathBuf;

use crate::files::{between, keep, root, stale, told};

/// Makes every generated file, or with `check` only compares; gives the paths of those that differ.
///
/// # Errors
/// A file that cannot be read or written; a pack that cannot be read or weighed; in words.
pub fn generate(check: bool) -> Result<Vec<String>, String> {
    let root = root()?;
    let pack = wythe::check_pack(root.join("rules/structural")).map_err(|error| error.to_string())?;
    let texts = wythe::read_population(root.join("rules/structural")).map_err(|error| error.to_string())?;
    let files: Vec<(&str, &str)> = texts
        .iter()
        .map(|(file, text)| (file.as_str(), text.as_str()))
        .collect();
    let shares = wythe::house_shares(&pack, &files).map_err(|error| error.to_string())?;
    let mut wanted: Vec<(PathBuf, String)> = Vec::new();
    let readme = PathBuf::from("rules/structural/README.md");
    let text = fs::read_to_string(root.join(&readme)).map_err(|error| told(&readme, &error))?;
    wanted.push((readme, between(&text, "shares", &shares.markdown())?));
    for (path, text) in wythe::catalogue(&pack, &shares).map_err(|error| error.to_string())? {
        wanted.push((PathBuf::from("rules/pages").join(path), text));
    }
    for (name, schema) in crate::schemas(&pack) {
        let text = serde_json::to_string_pretty(&schema).map_err(|error| error.to_string())?;
        wanted.push((PathBuf::from("rules/schema").join(name), text + "\n"));
    }
    let mut changed = keep(&root, &wanted, check)?;
    stale(&root, &root.join("rules/pages"), &wanted, check, &mut changed)?;
    Ok(changed)
}
