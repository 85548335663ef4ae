//! Packs and cases from the disk.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use thiserror::Error;
use wythe_case::Case;
use wythe_engine::WeighError;
use wythe_pack::{Pack, PackFile};
use wythe_report::ReportError;
use wythe_text::{MAX_BYTES, Problem, Problems};

/// Most files in a pack.
const MAX_FILES: usize = 5_000;

/// Whatever can go wrong between a file and a report.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum Error {
    /// A file or folder could not be read.
    #[error("{} could not be read: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file could not be saved; it is as it was.
    #[error("{} could not be saved, and is as it was: {source}", path.display())]
    Save {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A new file is there already.
    #[error("{} is there already, and was left as it is; give another name", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// Another program has been changing the file for half a minute.
    #[error("another program is changing {}; it was left as it is: try again", path.display())]
    Busy {
        /// The file.
        path: PathBuf,
    },
    /// What is wrong with a file: every problem, each with its line.
    #[error("{0}")]
    Problems(#[from] Problems),
    /// A case could not be weighed.
    #[error(transparent)]
    Weigh(#[from] WeighError),
    /// A report could not be given.
    #[error(transparent)]
    Report(#[from] ReportError),
}

/// Reads a case file: YAML, or JSON when the name ends in `.json`. Files of readings that it names are looked for in its
/// folder and below.
///
/// # Errors
/// A file that cannot be read; every problem in it.
pub fn read_case(path: impl AsRef<Path>) -> Result<Case, Error> {
    let path = path.as_ref();
    let name = path.display().to_string();
    let folder = path.parent().unwrap_or(Path::new(""));
    Ok(Case::read_with(&name, &text_of(path)?, &mut |file| {
        let path = folder.join(file);
        let shown = path.display().to_string();
        match text_of(&path) {
            Ok(text) => Ok((shown, text)),
            Err(error) => Err(Problem::new(&name, error.to_string().trim(), None).into()),
        }
    })?)
}

/// Reads a rule pack from its folder.
///
/// # Errors
/// A file that cannot be read; every problem in any of them.
pub fn read_pack(dir: impl AsRef<Path>) -> Result<Pack, Error> {
    pack_by(dir.as_ref(), Pack::read)
}

/// Reads a rule pack from its folder, and refuses also what makes it poor knowledge: see [`Pack::check`].
///
/// # Errors
/// A file that cannot be read; every problem in any of them.
pub fn check_pack(dir: impl AsRef<Path>) -> Result<Pack, Error> {
    pack_by(dir.as_ref(), Pack::check)
}

fn pack_by(dir: &Path, read: fn(&[PackFile<'_>]) -> Result<Pack, Problems>) -> Result<Pack, Error> {
    let mut paths = Vec::new();
    gather(dir, 2, &mut paths)?;
    paths.sort();
    let mut texts = Vec::with_capacity(paths.len());
    for path in &paths {
        let inside = path.strip_prefix(dir).unwrap_or(path);
        let parts: Vec<String> = inside
            .components()
            .map(|part| part.as_os_str().to_string_lossy().into_owned())
            .collect();
        texts.push((parts.join("/"), text_of(path)?));
    }
    let files: Vec<PackFile<'_>> = texts.iter().map(|(path, text)| PackFile { path, text }).collect();
    Ok(read(&files)?)
}

/// The trials of a rule pack: name and text of each YAML file under the folder `trials` of the pack's folder, in the
/// order of their paths. None when there is no such folder.
///
/// # Errors
/// A file that cannot be read.
pub fn read_trials(dir: impl AsRef<Path>) -> Result<Vec<(String, String)>, Error> {
    texts_under(&dir.as_ref().join("trials"))
}

/// The typical houses and published figures of a rule pack: name and text of each YAML file under the folder `population`
/// of the pack's folder, in the order of their paths. None when there is no such folder.
///
/// # Errors
/// A file that cannot be read.
pub fn read_population(dir: impl AsRef<Path>) -> Result<Vec<(String, String)>, Error> {
    texts_under(&dir.as_ref().join("population"))
}

fn texts_under(dir: &Path) -> Result<Vec<(String, String)>, Error> {
    if !dir.is_dir() {
        return Ok(Vec::new());
    }
    let mut paths = Vec::new();
    gather(dir, 2, &mut paths)?;
    paths.sort();
    paths
        .iter()
        .map(|path| Ok((path.display().to_string(), text_of(path)?)))
        .collect()
}

/// The YAML files of a folder and, `deep` levels down, of its folders.
fn gather(dir: &Path, deep: usize, paths: &mut Vec<PathBuf>) -> Result<(), Error> {
    let refused = |source| Error::File {
        path: dir.to_owned(),
        source,
    };
    for entry in fs::read_dir(dir).map_err(refused)? {
        let path = entry.map_err(refused)?.path();
        if path.is_dir() {
            if deep > 1 {
                gather(&path, deep.saturating_sub(1), paths)?;
            }
        } else if path.extension().is_some_and(|ending| ending == "yaml") {
            if paths.len() >= MAX_FILES {
                let what = format!("this folder has more than {MAX_FILES} files, too many for a pack");
                return Err(Problems::from(Problem::new(&dir.display().to_string(), what, None)).into());
            }
            paths.push(path);
        }
    }
    Ok(())
}

/// The text of a file, no more of it than a reader takes.
pub(crate) fn text_of(path: &Path) -> Result<String, Error> {
    let refused = |source| Error::File {
        path: path.to_owned(),
        source,
    };
    let mut bytes = Vec::new();
    let most = u64::try_from(MAX_BYTES).unwrap_or(u64::MAX).saturating_add(1);
    fs::File::open(path)
        .map_err(refused)?
        .take(most)
        .read_to_end(&mut bytes)
        .map_err(refused)?;
    // A file cut here is over the limit: the reader says so. Cut it where no letter is split.
    if bytes.len() > MAX_BYTES {
        return Ok(String::from_utf8_lossy(&bytes).into_owned());
    }
    String::from_utf8(bytes).map_err(|error| {
        let line = error
            .as_bytes()
            .get(..error.utf8_error().valid_up_to())
            .unwrap_or_default()
            .iter()
            .filter(|byte| **byte == b'\n')
            .count();
        let what = format!("line {} is not text in UTF-8", line.saturating_add(1));
        Problems::from(Problem::new(
            &path.display().to_string(),
            what,
            Some("save the file as UTF-8".into()),
        ))
        .into()
    })
}
