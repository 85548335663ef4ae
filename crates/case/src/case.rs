//! The case as a whole.

use wythe_text::{Doc, Locus, Problem, Problems};

use crate::{Beside, Date, Place, Readings, Sighting, read};

/// The format of case files that this crate reads and writes.
pub const FORMAT: i64 = 1;

/// One house, and what was seen on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Name of the case.
    pub id: String,
    /// Title for people; the id when the case gives none.
    pub title: String,
    /// Day of the visit.
    pub visited: Option<Date>,
    /// Where the house stands: a region of the pack, by its id; none where the pack's own numbers hold.
    pub region: Option<String>,
    /// How many places of a kind the whole house has, where that is not the usual number. Over 0.
    pub how_many: Vec<(String, f64)>,
    /// Places. The house itself is always the first.
    pub places: Vec<Place>,
    /// What is known of the contexts; one that is not listed is unknown.
    pub contexts: Vec<ContextFact>,
    /// Passes, in the order they were made.
    pub passes: Vec<Pass>,
    /// Repairs, in the order of the file.
    pub repairs: Vec<Repair>,
    /// Sheets of readings that the case names, and what was computed from each.
    pub readings: Vec<Readings>,
    pub(crate) doc: Option<Doc>,
}

/// A fact of house, site, weather or history.
#[derive(Clone, Debug, PartialEq)]
pub struct ContextFact {
    /// The context, as the pack names it.
    pub id: String,
    /// True when it holds, false when it does not.
    pub holds: bool,
    /// Free note.
    pub note: Option<String>,
    /// What it was computed from: a sheet of the case and one of its numbers, by index. None when a person said it.
    pub computed: Option<(usize, usize)>,
    /// Where the case file says so.
    pub locus: Locus,
}

/// One walk over the house.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// Name in the case.
    pub id: String,
    /// Title for people.
    pub title: Option<String>,
    /// Day.
    pub date: Option<Date>,
    /// Who looked.
    pub by: Option<String>,
    /// What was seen, in the order of the file.
    pub sightings: Vec<Sighting>,
    /// Where the case file says so.
    pub locus: Locus,
}

/// Work done on the house that covers or undoes signs: what was seen before it stands no more.
#[derive(Clone, Debug, PartialEq)]
pub struct Repair {
    /// Day, when it is known.
    pub date: Option<Date>,
    /// Index of the first pass after it; the number of passes when none is. Without a date it lies before the first.
    pub before_pass: usize,
    /// The places, by index. It covers what lies in them too.
    pub at: Vec<usize>,
    /// The clues it covers, as the pack names them; empty for all.
    pub clues: Vec<String>,
    /// What was done.
    pub what: String,
    /// Where the case file says so.
    pub locus: Locus,
}

impl Case {
    /// A case with the house and nothing else.
    pub fn new(id: &str, title: &str) -> Self {
        Self {
            id: id.to_owned(),
            title: title.to_owned(),
            visited: None,
            region: None,
            how_many: Vec::new(),
            places: vec![Place::house()],
            contexts: Vec::new(),
            passes: Vec::new(),
            repairs: Vec::new(),
            readings: Vec::new(),
            doc: None,
        }
    }

    /// Reads a case file: YAML, or JSON when the name ends in `.json`.
    ///
    /// # Errors
    /// Every problem found, each with its place in the text.
    pub fn read(name: &str, text: &str) -> Result<Self, Problems> {
        read::case(name, text, &mut |_| {
            let help = "give the readings in the case, under `sheet:`";
            Err(Problem::new(name, "no file is read beside this case", Some(help.into())).into())
        })
    }

    /// Reads a case file, with the files of readings that it names: `beside` gives the text of one, and the name to
    /// show for it. Only names in the folder of the case or below it are asked for.
    ///
    /// # Errors
    /// Every problem found, each with its place in its text.
    pub fn read_with(name: &str, text: &str, beside: &mut Beside<'_>) -> Result<Self, Problems> {
        read::case(name, text, beside)
    }

    /// The case as it stood after that pass: later passes and repairs left out. None when there is no such pass.
    pub fn as_of(&self, pass: &str) -> Option<Self> {
        let last = self.passes.iter().position(|made| made.id == pass)?;
        let mut case = self.clone();
        case.passes.truncate(last.saturating_add(1));
        case.repairs.retain(|repair| repair.before_pass <= last);
        let later = |of: (usize, usize)| self.readings.get(of.0).is_some_and(|sheet| sheet.pass > last);
        case.contexts.retain(|fact| !fact.computed.is_some_and(later));
        case.readings.retain(|sheet| sheet.pass <= last);
        Some(case)
    }

    /// The case as it stood at the end of a day: later passes and repairs left out. None when no pass was made by then,
    /// or when a pass made by then can't be told, for want of dates. A pass without a date has that of the pass before
    /// it; the first one, that of the visit.
    pub fn as_of_day(&self, day: Date) -> Option<Self> {
        let mut last = self.visited;
        let mut made = 0;
        for pass in &self.passes {
            last = pass.date.or(last);
            if last? > day {
                break;
            }
            made += 1;
        }
        let mut case = self.clone();
        case.passes.truncate(made);
        case.repairs.retain(|repair| repair.date.is_none_or(|date| date <= day));
        (made > 0).then_some(case)
    }

    /// A problem with what stands at `locus` in the case file.
    pub fn problem_at(&self, locus: &Locus, what: impl Into<String>, help: Option<String>) -> Problem {
        self.problem_in(locus, &[], what, help)
    }

    /// A problem with the value that `path` leads to, name by name, from the mapping at `locus`: `["marks", "path"]`
    /// from a sighting's locus is the value of its mark `path`.
    pub fn problem_in(&self, locus: &Locus, path: &[&str], what: impl Into<String>, help: Option<String>) -> Problem {
        match &self.doc {
            Some(doc) => doc.problem_in(locus, path, what, help),
            None => Problem::new(&self.id, what, help),
        }
    }

    /// A problem with the name of the value at `locus`, as of a context.
    pub fn problem_at_name(&self, locus: &Locus, what: impl Into<String>, help: Option<String>) -> Problem {
        match &self.doc {
            Some(doc) => doc.problem_at_name(locus, what, help),
            None => Problem::new(&self.id, what, help),
        }
    }
}
