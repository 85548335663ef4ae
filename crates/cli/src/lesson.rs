//! `wythe lesson`.

use std::path::PathBuf;

use clap::Args;

use crate::asked::Rules;
use crate::run::Stopped;

/// The end of its long help.
pub const LESSON: &str = "\
The page steps through the sightings in the order that they were made: what was
found, what it moved and by how much, and by which rules. It can ask for a guess
before each step, and keeps the score. It needs no network, and works by
keyboard: left and right arrow step, Home and End go to either end.

  wythe lesson examples/cases/second-pass.yaml --page second-pass.html

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use;
3 too tangled to weigh exactly";

/// `wythe lesson`.
#[derive(Debug, Args)]
pub struct Lesson {
    /// The case files; with several, the page lets the reader choose.
    #[arg(required = true)]
    pub cases: Vec<PathBuf>,
    /// Write the page to this file, as HTML.
    #[arg(long, value_name = "FILE")]
    pub page: PathBuf,
    #[command(flatten)]
    pub rules: Rules,
}

/// What is printed.
pub fn lesson(asked: &Lesson) -> Result<String, Stopped> {
    let mut lessons = Vec::with_capacity(asked.cases.len());
    for path in &asked.cases {
        let case = wythe::read_case(path)?;
        let pack = asked.rules.read_for(&case)?;
        lessons.push(wythe::lesson_of(&pack, &case)?);
    }
    let page = wythe::report::lesson::lesson_page(&lessons).map_err(wythe::Error::from)?;
    crate::survey::write(&asked.page, &page)?;
    let steps: usize = lessons.iter().map(|lesson| lesson.steps.len()).sum();
    Ok(format!(
        "{}: {} to step through, {steps} sightings.\n",
        asked.page.display(),
        if lessons.len() == 1 {
            "1 house".into()
        } else {
            format!("{} houses", lessons.len())
        }
    ))
}
