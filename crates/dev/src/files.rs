//! Files that are made: compared, written, and taken away when nothing makes them any more.

use std::fs;
use std::path::{Path, PathBuf};

/// The root of the repository: two folders above this package.
pub(crate) fn root() -> Result<PathBuf, String> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent()
        .and_then(Path::parent)
        .map(Path::to_owned)
        .ok_or_else(|| "this package has no repository around it".into())
}

/// The entries of a folder, in the order of their names.
pub(crate) fn list(dir: &Path) -> Result<Vec<PathBuf>, String> {
    let entries = fs::read_dir(dir).map_err(|error| told(dir, &error))?;
    let mut paths = entries
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| told(dir, &error))?;
    paths.sort();
    Ok(paths)
}

/// The YAML files of a folder.
pub(crate) fn yaml_in(dir: &Path) -> Result<Vec<PathBuf>, String> {
    let is_yaml = |path: &PathBuf| path.extension().is_some_and(|ending| ending == "yaml");
    Ok(list(dir)?.into_iter().filter(is_yaml).collect())
}

/// Writes each file whose text differs, or with `check` only names it; gives the paths of those that differ.
pub(crate) fn keep(root: &Path, wanted: &[(PathBuf, String)], check: bool) -> Result<Vec<String>, String> {
    let mut changed = Vec::new();
    for (path, text) in wanted {
        let full = root.join(path);
        if fs::read_to_string(&full).is_ok_and(|old| old == *text) {
            continue;
        }
        changed.push(path.display().to_string());
        if !check {
            fs::create_dir_all(full.parent().unwrap_or(root)).map_err(|error| told(&full, &error))?;
            fs::write(&full, text).map_err(|error| told(&full, &error))?;
        }
    }
    Ok(changed)
}

/// Takes away files of the folders in `folder` that nothing makes any more, or with `check` only names them.
pub(crate) fn stale(
    root: &Path,
    folder: &Path,
    wanted: &[(PathBuf, String)],
    check: bool,
    changed: &mut Vec<String>,
) -> Result<(), String> {
    if !folder.exists() {
        return Ok(());
    }
    for dir in list(folder)?.into_iter().filter(|path| path.is_dir()) {
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

/// The text with what stands between two marks, `<!-- name: begin -->` and `<!-- name: end -->`, made anew.
pub(crate) fn between(text: &str, name: &str, inside: &str) -> Result<String, String> {
    let (begin, end) = (format!("<!-- {name}: begin -->\n"), format!("<!-- {name}: end -->"));
    let missing = || format!("the marks `{}` and `{end}` are missing", begin.trim_end());
    let (before, rest) = text.split_once(&begin).ok_or_else(missing)?;
    let (_, after) = rest.split_once(&end).ok_or_else(missing)?;
    Ok(format!("{before}{begin}\n{}\n\n{end}{after}", inside.trim()))
}

pub(crate) fn told(path: &Path, error: &std::io::Error) -> String {
    format!("{}: {error}", path.display())
}
