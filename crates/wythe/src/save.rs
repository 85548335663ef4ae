//! Case files on the disk, changed so that nothing is ever lost: one writer at a time, the old file whole or the new
//! one whole.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::Error;
use crate::files::text_of;

/// How long to wait for another program that is at the same file.
const WAIT: Duration = Duration::from_secs(30);
const PAUSE: Duration = Duration::from_millis(15);
const PART: &str = ".part";

/// Changes a file: `change` makes its new text from its old one, given its name.
///
/// Programs that change one file at once do so one after the other, each reading what the one before it wrote; a lock
/// file beside it, `.<name>.lock`, sees to that. The new text goes to a file beside the old one, is written through to
/// the disk, and takes the old one's name in one step: whatever stops the machine in between, the file is the old or
/// the new one, whole.
///
/// # Errors
/// What `change` refuses, and then the file is as it was; a file that cannot be read or saved; [`Error::Busy`].
pub fn change_file<E: From<Error>>(
    path: impl AsRef<Path>,
    change: impl FnOnce(&str, &str) -> Result<String, E>,
) -> Result<(), E> {
    let name = path.as_ref().display().to_string();
    // A link is followed, so that the file it leads to is changed and the link stays.
    let path = fs::canonicalize(&path).map_err(|source| refused(path.as_ref(), source))?;
    let lock = Lock::of(&path)?;
    let text = text_of(&path)?;
    let new = change(&name, &text)?;
    if new != text {
        save(&path, &new).map_err(|source| Error::Save {
            path: path.clone(),
            source,
        })?;
    }
    drop(lock);
    Ok(())
}

/// Makes a new file, whole or not at all; one that is there already is left alone.
///
/// # Errors
/// [`Error::Exists`]; a file that cannot be saved.
pub fn new_file(path: impl AsRef<Path>, text: &str) -> Result<(), Error> {
    let path = path.as_ref();
    let failed = |source: io::Error| match source.kind() {
        io::ErrorKind::AlreadyExists => Error::Exists { path: path.to_owned() },
        _ => Error::Save {
            path: path.to_owned(),
            source,
        },
    };
    if path.symlink_metadata().is_ok() {
        return Err(Error::Exists { path: path.to_owned() });
    }
    let part = part(path, text).map_err(failed)?;
    part.persist_noclobber(path).map_err(|error| failed(error.error))?;
    write_through(folder(path));
    Ok(())
}

fn refused(path: &Path, source: io::Error) -> Error {
    Error::File {
        path: path.to_owned(),
        source,
    }
}

fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// `.<name><end>`: beside the file, and no case file by its ending.
fn beside(path: &Path, end: &str) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    format!(".{name}{end}")
}

/// A file beside `path` that holds the text, written through to the disk.
fn part(path: &Path, text: &str) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    let (start, usual) = (beside(path, "."), usual_rights());
    builder.prefix(&start).suffix(PART);
    if let Some(usual) = usual {
        builder.permissions(usual);
    }
    let mut part = builder.tempfile_in(folder(path))?;
    part.write_all(text.as_bytes())?;
    part.as_file().sync_all()?;
    Ok(part)
}

/// What a new file may be done with where the user has not said otherwise. A temporary file is its owner's only.
fn usual_rights() -> Option<fs::Permissions> {
    #[cfg(unix)]
    return Some(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    #[cfg(not(unix))]
    None
}

fn save(path: &Path, text: &str) -> io::Result<()> {
    clear(path);
    let part = part(path, text)?;
    part.as_file().set_permissions(fs::metadata(path)?.permissions())?;
    part.persist(path).map_err(|error| error.error)?;
    write_through(folder(path));
    Ok(())
}

/// Has the folder's new entry written to the disk too, where folders can be opened as files.
fn write_through(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// Takes away what a program left that was stopped while it saved this file. Only with the lock held.
fn clear(path: &Path) {
    let start = beside(path, ".");
    for entry in fs::read_dir(folder(path)).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with(&start) && name.ends_with(PART) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Held while a file is changed; let go when dropped, or when its program ends in whatever way.
struct Lock {
    path: PathBuf,
    file: File,
}

impl Lock {
    fn of(path: &Path) -> Result<Self, Error> {
        let lock = folder(path).join(beside(path, ".lock"));
        let start = Instant::now();
        loop {
            let open = File::options().create(true).truncate(false).write(true).open(&lock);
            let file = open.map_err(|source| refused(&lock, source))?;
            match file.try_lock() {
                Ok(()) => {
                    // Whoever held it before may have taken the file away: then it locks nothing.
                    let ours = same_file::Handle::from_path(&lock).ok();
                    let held = file.try_clone().and_then(same_file::Handle::from_file).ok();
                    if ours.is_some() && ours == held {
                        return Ok(Self { path: lock, file });
                    }
                }
                Err(fs::TryLockError::WouldBlock) => {}
                Err(fs::TryLockError::Error(source)) => return Err(refused(&lock, source)),
            }
            if start.elapsed() > WAIT {
                return Err(Error::Busy { path: path.to_owned() });
            }
            sleep(PAUSE);
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // While the lock is held: a program that waits for it sees that it is gone, and makes its own.
        let _ = fs::remove_file(&self.path);
        let _ = self.file.unlock();
    }
}

#[cfg(test)]
mod tests;
