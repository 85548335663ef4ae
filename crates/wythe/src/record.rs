//! More in a case file: sightings added, slips put right, nothing taken out.

use std::path::Path;

use wythe_case::{Case, ContextFact, Date, More, Pass, Repair, Seen, Sighting};
use wythe_engine::WeighError;
use wythe_notes::Noted;
use wythe_pack::Pack;
use wythe_pack::guard::refused;
use wythe_text::{Problem, Problems};

use crate::{Error, change_file};

/// The pass that sightings are added to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PassHead {
    /// Its name; without one the last pass of the case, or `first` where it has none.
    pub id: Option<String>,
    /// Day, for a new pass.
    pub date: Option<Date>,
    /// Who looked, for a new pass.
    pub by: Option<String>,
}

impl PassHead {
    /// The name of the pass in a case.
    pub fn id_in(&self, case: &Case) -> String {
        let last = || case.passes.last().map(|pass| pass.id.clone());
        self.id.clone().or_else(last).unwrap_or_else(|| "first".into())
    }
}

/// What was added.
#[derive(Clone, Debug)]
pub struct Added {
    /// The case as it now is.
    pub case: Case,
    /// How many of its places are new: the last ones.
    pub places: usize,
    /// The facts that were given.
    pub contexts: Vec<ContextFact>,
    /// The repairs that were given.
    pub repairs: Vec<Repair>,
    /// Index of the pass; past the last where none was made.
    pub pass: usize,
    /// How many sightings of that pass are new: the last ones.
    pub sightings: usize,
}

impl Added {
    /// The new sightings.
    pub fn sightings(&self) -> impl Iterator<Item = &Sighting> {
        let all = self.case.passes.get(self.pass).map_or(&[][..], |pass| &pass.sightings);
        all.iter().skip(all.len().saturating_sub(self.sightings))
    }
}

/// Adds to a case file what `noted` makes of the case and the name of the pass. The file keeps its comments and order,
/// and is changed only if it then reads, fits the pack and holds no sentence that makes a determination.
///
/// # Errors
/// Any of that, and then the file is as it was; as [`change_file`].
pub fn add<E: From<Error>>(
    pack: &Pack,
    path: impl AsRef<Path>,
    head: &PassHead,
    noted: impl FnOnce(&Case, &str) -> Result<Noted, E>,
) -> Result<Added, E> {
    let mut added = None;
    change_file(path, |name, text| {
        let case = Case::read(name, text).map_err(Error::from)?;
        let id = head.id_in(&case);
        let noted = noted(&case, &id)?;
        let (text, done) = with(pack, &case, head, id, noted)?;
        added = Some(done);
        Ok::<_, E>(text)
    })?;
    added.ok_or_else(|| Error::from(Problems::from(Problem::new("", "nothing was added", None))).into())
}

fn with(pack: &Pack, case: &Case, head: &PassHead, id: String, noted: Noted) -> Result<(String, Added), Error> {
    speaks_plainly(case, &noted)?;
    let (places, sightings) = (noted.places.len(), noted.sightings.len());
    let more = More {
        places: noted.places,
        contexts: noted.contexts,
        repairs: noted.repairs,
        pass: Pass {
            id,
            title: None,
            date: head.date,
            by: head.by.clone(),
            sightings: noted.sightings,
            locus: Default::default(),
        },
    };
    let (text, case) = case.with_more(&more)?;
    // Whether the pack has every name. That a case can't be weighed is no reason not to keep what was seen.
    if let Err(WeighError::Mismatch(problems)) = wythe_engine::weigh(&crate::pack_of(pack, &case), &case) {
        return Err(problems.into());
    }
    let pass = case
        .passes
        .iter()
        .position(|pass| pass.id == more.pass.id)
        .unwrap_or(case.passes.len());
    Ok((
        text,
        Added {
            case,
            places,
            contexts: more.contexts,
            repairs: more.repairs,
            pass,
            sightings,
        },
    ))
}

/// Refuses words that no report would print: they would block it later.
fn speaks_plainly(case: &Case, noted: &Noted) -> Result<(), Problems> {
    let mut out = Problems::new();
    let mut check = |text: &str| {
        if let Some(word) = refused(text) {
            let what = format!("\"{text}\" makes a determination (\"{word}\"), and no report would print it");
            let help = "say what was seen: its size, its shape, where it is";
            out.push(Problem::new(&case.id, what, Some(help.into())));
        }
    };
    noted.places.iter().for_each(|place| check(&place.label));
    noted.repairs.iter().for_each(|repair| check(&repair.what));
    noted
        .contexts
        .iter()
        .flat_map(|fact| &fact.note)
        .for_each(|note| check(note));
    for sighting in &noted.sightings {
        sighting.note.iter().for_each(|note| check(note));
        match &sighting.seen {
            Seen::NotReached { why, .. } => check(why),
            Seen::Measured { with: Some(with), .. } => check(with),
            _ => {}
        }
    }
    out.into_result(())
}
