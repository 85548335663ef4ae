//! The sheets of readings that a case names.

use std::collections::BTreeSet;

use wythe_text::{Fields, Item, Problems, shown};

use super::desk::Desk;
use super::work;
use crate::sheets::{CrackReadings, Lintel, Opening, Site, Survey, Wall, WallCracks};
use crate::{Case, Readings, Section};

/// Gives the text of a file beside the case, by the name that the case has for it: the name to show, and the text.
pub type Beside<'b> = dyn FnMut(&str) -> Result<(String, String), Problems> + 'b;

/// Most sheets in a case.
const MAX_SHEETS: usize = 200;

/// Every sheet of the case, worked out.
pub(super) fn read(desk: &mut Desk, fields: &Fields<'_>, case: &Case, beside: &mut Beside<'_>) -> Vec<Readings> {
    let mut reader = Reader {
        case,
        beside,
        names: BTreeSet::new(),
        surveys: Vec::new(),
        floors: Vec::new(),
    };
    let mut all = Vec::new();
    for section in Section::ALL {
        let items = fields
            .optional(section.key())
            .map(|item| item.list(&mut desk.out))
            .unwrap_or_default();
        for item in items {
            if all.len() >= MAX_SHEETS {
                let help = Some("split the case, or leave out what matters least".into());
                item.problem(
                    &mut desk.out,
                    format!("more than {MAX_SHEETS} sheets of readings"),
                    help,
                );
                return all;
            }
            if desk.out.is_full() {
                return all;
            }
            all.extend(reader.sheet(desk, section, &item));
        }
    }
    all
}

struct Reader<'r> {
    case: &'r Case,
    beside: &'r mut Beside<'r>,
    names: BTreeSet<String>,
    surveys: Vec<(String, Survey)>,
    floors: Vec<work::Floor>,
}

impl Reader<'_> {
    fn sheet(&mut self, desk: &mut Desk, section: Section, item: &Item<'_>) -> Option<Readings> {
        let own: &[&str] = match section {
            Section::Survey => &["sides", "inside", "earlier", "benchmarks"],
            Section::Trend => &["points", "clue"],
            Section::Cracks => &["clue", "survey"],
            Section::Lintel | Section::Wall | Section::Opening | Section::Site => &[],
        };
        let known: Vec<&str> = ["id", "pass", "at", "file", "sheet", "title"]
            .iter()
            .chain(own)
            .copied()
            .collect();
        let fields = item.fields(&mut desk.out, &known);
        let id = fields
            .required(&mut desk.out, "id")
            .and_then(|item| desk.name(&item))
            .unwrap_or_default();
        if !id.is_empty() && !self.names.insert(id.clone()) {
            let what = format!("the sheet {} is listed twice", shown(&id));
            item.problem(&mut desk.out, what, Some("give it another `id`".into()));
        }
        let pass = self.pass(desk, &fields)?;
        let at = match fields.optional("at") {
            Some(item) => Some(desk.place(&item)?),
            None => None,
        };
        let before = desk.out.len();
        let blank = Readings {
            section,
            title: fields
                .optional("title")
                .and_then(|item| desk.words(&item))
                .unwrap_or_else(|| id.clone()),
            id,
            date: None,
            pass,
            file: None,
            taken: (0, "readings"),
            sd_mm: 0.0,
            computed: Vec::new(),
            entered: false,
            notes: Vec::new(),
            locus: item.locus(),
            entry: item.tree().clone(),
        };
        let needs_place = |desk: &mut Desk| {
            if at.is_none() {
                fields.required(&mut desk.out, "at");
            }
            at
        };
        let found = match section {
            Section::Survey => {
                let (file, survey) = self.source(desk, &fields, Survey::read, |item, out| {
                    Some(Survey::of_item(item, out))
                })?;
                let places = work::Sides::read(desk, &fields);
                let earlier = fields.optional("earlier").and_then(|item| self.earlier(desk, &item));
                let marks = fields
                    .optional("benchmarks")
                    .map(|item| desk.names(&item))
                    .unwrap_or_default();
                if desk.out.len() > before {
                    return None;
                }
                let worked = work::survey(
                    self.case,
                    blank,
                    &survey,
                    at.unwrap_or(0),
                    &places,
                    earlier.map(|one| (one, marks)),
                );
                let id = worked.as_ref().map(|(one, _)| one.id.clone()).unwrap_or_default();
                self.surveys.push((id.clone(), survey));
                worked.map(|(one, analysis)| {
                    self.floors.push(work::Floor {
                        id,
                        sides: places,
                        analysis,
                    });
                    Readings { file, ..one }
                })
            }
            Section::Lintel => {
                let at = needs_place(desk)?;
                let (file, lintel) = self.source(desk, &fields, Lintel::read, Lintel::of_item)?;
                work::lintel(blank, &lintel, at, item).map(|one| Readings { file, ..one })
            }
            Section::Trend => {
                let (file, cracks) = self.source(desk, &fields, CrackReadings::read, |item, out| {
                    Some(CrackReadings::of_item(item, out))
                })?;
                let points = work::Points::read(desk, &fields, at);
                if desk.out.len() > before {
                    return None;
                }
                work::trend_of(self.case, blank, &cracks, &points, item).map(|one| Readings { file, ..one })
            }
            Section::Wall => {
                let at = needs_place(desk)?;
                let wall = fields
                    .required(&mut desk.out, "sheet")
                    .map(|item| Wall::of_item(&item, &mut desk.out))?;
                if desk.out.len() > before {
                    return None;
                }
                work::wall(blank, &wall, at, item)
            }
            Section::Opening => {
                let at = needs_place(desk)?;
                let opening = fields
                    .required(&mut desk.out, "sheet")
                    .map(|item| Opening::of_item(&item, &mut desk.out))?;
                if desk.out.len() > before {
                    return None;
                }
                work::opening(blank, &opening, at, item)
            }
            Section::Cracks => {
                let at = needs_place(desk)?;
                let (file, cracks) = self.source(desk, &fields, WallCracks::read, |item, out| {
                    Some(WallCracks::of_item(item, out))
                })?;
                let clue = fields.optional("clue").and_then(|item| desk.name(&item));
                let floor = match fields.optional("survey") {
                    Some(item) => Some(self.floor(desk, &item)?),
                    None => None,
                };
                if desk.out.len() > before {
                    return None;
                }
                work::cracks(blank, &cracks, at, clue, floor, item).map(|one| Readings { file, ..one })
            }
            Section::Site => {
                let (file, site) =
                    self.source(desk, &fields, Site::read, |item, out| Some(Site::of_item(item, out)))?;
                if desk.out.len() > before {
                    return None;
                }
                work::site(blank, &site, at.unwrap_or(0), item).map(|one| Readings { file, ..one })
            }
        };
        match found {
            Ok(readings) => Some(readings),
            Err(problems) => {
                desk.out.extend(problems);
                None
            }
        }
    }

    /// The pass that a sheet belongs to: the one named, else the last.
    fn pass(&self, desk: &mut Desk, fields: &Fields<'_>) -> Option<usize> {
        let passes = &self.case.passes;
        let Some(item) = fields.optional("pass") else {
            if passes.is_empty() {
                let help = "list the visit under `passes`, such as `- {pass: first}`";
                desk.out
                    .push(fields.problem("readings belong to a pass, and the case has none", Some(help.into())));
            }
            return passes.len().checked_sub(1);
        };
        let names: Vec<&str> = passes.iter().map(|pass| pass.id.as_str()).collect();
        item.one_of(&mut desk.out, &names)
    }

    /// The sheet, from the file that the entry names or from the entry itself.
    fn source<T>(
        &mut self,
        desk: &mut Desk,
        fields: &Fields<'_>,
        read: fn(&str, &str) -> Result<T, Problems>,
        of_item: fn(&Item<'_>, &mut Problems) -> Option<T>,
    ) -> Option<(Option<String>, T)> {
        match (fields.optional("file"), fields.optional("sheet")) {
            (Some(item), None) => {
                let file = item.text(&mut desk.out)?;
                if !is_beside(file) {
                    let help = "name a file in the folder of the case or below it, such as `floors.csv`";
                    item.problem(
                        &mut desk.out,
                        format!("{} does not lie beside the case", shown(file)),
                        Some(help.into()),
                    );
                    return None;
                }
                let (name, text) = match (self.beside)(file) {
                    Ok(found) => found,
                    Err(problems) => {
                        for problem in problems.iter() {
                            item.problem(&mut desk.out, problem.what.clone(), problem.help.clone());
                        }
                        return None;
                    }
                };
                match read(&name, &text) {
                    Ok(sheet) => Some((Some(file.to_owned()), sheet)),
                    Err(problems) => {
                        desk.out.extend(problems);
                        None
                    }
                }
            }
            (None, Some(item)) => {
                let before = desk.out.len();
                let sheet = of_item(&item, &mut desk.out);
                if desk.out.len() > before {
                    None
                } else {
                    sheet.map(|sheet| (None, sheet))
                }
            }
            (None, None) => {
                let help = "give `file:` beside the case, or the readings under `sheet:`";
                desk.out
                    .push(fields.problem("no readings are named here", Some(help.into())));
                None
            }
            (Some(_), Some(second)) => {
                second.key_problem(
                    &mut desk.out,
                    "`file` and `sheet` are both given",
                    Some("keep one".into()),
                );
                None
            }
        }
    }

    /// The survey of the case by that name.
    fn floor(&self, desk: &mut Desk, item: &Item<'_>) -> Option<&work::Floor> {
        let names: Vec<&str> = self.floors.iter().map(|floor| floor.id.as_str()).collect();
        if names.is_empty() {
            let help = "list it under `surveys`";
            item.problem(&mut desk.out, "the case has no survey", Some(help.into()));
            return None;
        }
        let at = item.one_of(&mut desk.out, &names)?;
        self.floors.get(at)
    }

    fn earlier(&self, desk: &mut Desk, item: &Item<'_>) -> Option<Survey> {
        let names: Vec<&str> = self.surveys.iter().map(|(id, _)| id.as_str()).collect();
        if names.is_empty() {
            let help = "list the earlier survey above this one";
            item.problem(&mut desk.out, "there is no survey above this one", Some(help.into()));
            return None;
        }
        let at = item.one_of(&mut desk.out, &names)?;
        self.surveys.get(at).map(|(_, survey)| survey.clone())
    }
}

/// A plain name, or one in a folder below: never out of the folder of the case.
fn is_beside(file: &str) -> bool {
    let plain = |part: &str| !part.is_empty() && part != "." && part != ".." && !part.contains([':', '\\']);
    !file.is_empty() && file.split('/').all(plain)
}
