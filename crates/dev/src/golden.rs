//! Golden files: what the program prints for each example house.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::files::{keep, root, stale, yaml_in};

/// The conclusions whose reasons are kept, per house: the one to act on, and one that could be taken for it.
const REASONS: [(&str, [&str; 2]); 6] = [
    ("bent-corner", ["corner_drop", "perimeter_edge_drop"]),
    ("dropped-corner", ["corner_drop", "corner_pop"]),
    ("quiet-corner", ["corner_pop", "ground_movement"]),
    ("second-pass", ["header_sag", "perimeter_edge_drop"]),
    ("short-seat", ["lintel_short_bearing", "ground_movement"]),
    ("tilted-slab", ["ground_movement", "ordinary_settlement"]),
];

/// The house that was seen in two passes.
const TWO_PASSES: &str = "second-pass";

/// Makes every golden file, or with `check` only compares; gives the paths of those that differ.
///
/// # Errors
/// A file that cannot be read or written, or a command that goes wrong; in words.
pub fn golden(check: bool) -> Result<Vec<String>, String> {
    let root = root()?;
    let cases = yaml_in(&root.join("examples/cases"))?;
    let mut wanted: Vec<(PathBuf, String)> = Vec::new();
    for case in cases {
        let name = case
            .file_stem()
            .map(|stem| stem.to_string_lossy().into_owned())
            .unwrap_or_default();
        let file = format!("examples/cases/{name}.yaml");
        let dir = PathBuf::from("tests/golden").join(&name);
        wanted.push((dir.join("weigh.txt"), wythe(&root, &["weigh", &file])?));
        wanted.push((dir.join("weigh.json"), wythe(&root, &["weigh", &file, "--json"])?));
        wanted.push((dir.join("look.txt"), wythe(&root, &["look", &file])?));
        wanted.push((dir.join("client.txt"), wythe(&root, &["client", &file])?));
        wanted.push((dir.join("client.md"), wythe(&root, &["client", &file, "--markdown"])?));
        wanted.push((dir.join("engineer.txt"), wythe(&root, &["engineer", &file])?));
        wanted.push((dir.join("steps.txt"), wythe(&root, &["steps", &file])?));
        wanted.push((
            dir.join("plan.svg"),
            wythe(&root, &["draw", &file, "--plan", "--svg", "-"])?,
        ));
        if name == TWO_PASSES {
            let passes = ["compare", &file, "--pass", "first", "--pass", "second"];
            wanted.push((dir.join("compare.txt"), wythe(&root, &passes)?));
        }
        for about in REASONS
            .iter()
            .filter(|(house, _)| *house == name)
            .flat_map(|(_, reasons)| reasons)
        {
            wanted.push((
                dir.join(format!("reasons-{about}.txt")),
                wythe(&root, &["reasons", &file, about])?,
            ));
            wanted.push((
                dir.join(format!("draw-{about}.svg")),
                wythe(&root, &["draw", &file, about, "--svg", "-"])?,
            ));
        }
    }
    let mut changed = keep(&root, &wanted, check)?;
    stale(&root, &root.join("tests/golden"), &wanted, check, &mut changed)?;
    Ok(changed)
}

/// What the program prints.
fn wythe(root: &Path, args: &[&str]) -> Result<String, String> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let mut command = Command::new(cargo);
    command
        .current_dir(root)
        .args(["run", "--quiet", "--package", "wythe-cli", "--"])
        .args(args);
    let output = command
        .output()
        .map_err(|error| format!("the program could not be run: {error}"))?;
    if !output.status.success() {
        return Err(format!(
            "wythe {} went wrong:\n{}",
            args.join(" "),
            String::from_utf8_lossy(&output.stderr)
        ));
    }
    String::from_utf8(output.stdout).map_err(|error| error.to_string())
}
