//! Golden files: what the program prints for each example house.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The conclusions whose reasons are kept, per house: the one to act on, and one that could be taken for it.
const REASONS: [(&str, [&str; 2]); 6] = [
    ("bent-corner", ["corner_drop", "perimeter_edge_drop"]),
    ("dropped-corner", ["corner_drop", "corner_pop"]),
    ("quiet-corner", ["corner_pop", "ground_movement"]),
    ("second-pass", ["header_sag", "perimeter_edge_drop"]),
    ("short-seat", ["lintel_short_bearing", "ground_movement"]),
    ("tilted-slab", ["ground_movement", "ordinary_settlement"]),
];

/// Makes every golden file, or with `check` only compares; gives the paths of those that differ.
pub fn golden(check: bool) -> Result<Vec<String>, String> {
    let root = root()?;
    let mut cases: Vec<PathBuf> = list(&root.join("examples/cases"))?
        .into_iter()
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect();
    cases.sort();
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
        for about in REASONS
            .iter()
            .filter(|(house, _)| *house == name)
            .flat_map(|(_, reasons)| reasons)
        {
            wanted.push((
                dir.join(format!("reasons-{about}.txt")),
                wythe(&root, &["reasons", &file, about])?,
            ));
        }
    }
    let mut changed = Vec::new();
    for (path, text) in &wanted {
        let full = root.join(path);
        if fs::read_to_string(&full).is_ok_and(|old| old == *text) {
            continue;
        }
        changed.push(path.display().to_string());
        if !check {
            fs::create_dir_all(full.parent().unwrap_or(&root)).map_err(|error| told(&full, &error))?;
            fs::write(&full, text).map_err(|error| told(&full, &error))?;
        }
    }
    stale(&root, &wanted, check, &mut changed)?;
    Ok(changed)
}

/// Golden files that nothing makes any more.
fn stale(root: &Path, wanted: &[(PathBuf, String)], check: bool, changed: &mut Vec<String>) -> Result<(), String> {
    let golden = root.join("tests/golden");
    if !golden.exists() {
        return Ok(());
    }
    for dir in list(&golden)?.into_iter().filter(|path| path.is_dir()) {
        for file in list(&dir)? {
            if !wanted.iter().any(|(path, _)| root.join(path) == file) {
                changed.push(file.strip_prefix(root).unwrap_or(&file).display().to_string());
                if !check {
                    fs::remove_file(&file).map_err(|error| told(&file, &error))?;
                }
            }
        }
    }
    Ok(())
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

/// The root of the repository: two folders above this package.
fn root() -> Result<PathBuf, String> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent()
        .and_then(Path::parent)
        .map(Path::to_owned)
        .ok_or_else(|| "this package has no repository around it".into())
}

fn list(dir: &Path) -> Result<Vec<PathBuf>, String> {
    let entries = fs::read_dir(dir).map_err(|error| told(dir, &error))?;
    let mut paths = entries
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| told(dir, &error))?;
    paths.sort();
    Ok(paths)
}

fn told(path: &Path, error: &std::io::Error) -> String {
    format!("{}: {error}", path.display())
}
