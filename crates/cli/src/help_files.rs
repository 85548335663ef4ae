//! `wythe help-files`: man pages and completions, from the same definition as the help.

use std::io;
use std::path::PathBuf;

use clap::{Args, CommandFactory, ValueEnum};
use clap_complete::Shell;

use crate::run::Stopped;

/// `wythe help-files`.
#[derive(Debug, Args)]
pub struct HelpFiles {
    /// The folder to write them to; made when it is not there.
    pub dir: PathBuf,
}

/// Writes a man page for each command and completions for each shell.
pub fn help_files(asked: &HelpFiles) -> Result<String, Stopped> {
    let written = write(asked).map_err(|error| Stopped {
        code: 1,
        says: format!("{} could not be written: {error}", asked.dir.display()),
    })?;
    Ok(format!("{written} files written to {}\n", asked.dir.display()))
}

fn write(asked: &HelpFiles) -> io::Result<usize> {
    std::fs::create_dir_all(&asked.dir)?;
    let command = crate::args::Args::command();
    clap_mangen::generate_to(command.clone(), &asked.dir)?;
    for shell in Shell::value_variants() {
        clap_complete::generate_to(*shell, &mut command.clone(), "wythe", &asked.dir)?;
    }
    Ok(std::fs::read_dir(&asked.dir)?.count())
}
