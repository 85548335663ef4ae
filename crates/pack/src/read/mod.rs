//! Reading a pack from its files: names first, then heads, then links, then the template.

mod clues;
mod computed;
mod desk;
mod links;
mod mechanisms;
mod policy;
mod regions;
mod responses;
mod rules;
mod tables;

use wythe_text::{Doc, Locus, Problem, Problems};

use crate::{Node, Pack, Template, check};
use desk::{Desk, Names};

/// One file of a pack: its path inside the pack's folder, with `/` between, and its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PackFile<'a> {
    /// Such as `clues/step_crack_veneer.yaml`.
    pub path: &'a str,
    /// The whole text.
    pub text: &'a str,
}

/// Where a rule stands, for problems found later.
#[derive(Clone)]
pub(crate) struct Place {
    pub doc: Doc,
    pub locus: Locus,
}

impl Place {
    pub fn problem(&self, what: impl Into<String>, help: Option<String>) -> Problem {
        self.doc.problem_at(&self.locus, what, help)
    }
}

/// Where each link and each head was read, for the checks of the whole.
#[derive(Default)]
pub(crate) struct Places {
    pub docs: Vec<(String, Doc)>,
    pub links: Vec<(Node, usize, Place)>,
    pub heads: Vec<(Node, Place)>,
    pub not_expected: Vec<(crate::MechanismIx, usize, Place)>,
}

impl Places {
    /// A problem at a key of a file of the pack.
    pub fn problem(&self, path: &str, key: &str, what: String, help: &str) -> Problem {
        let help = Some(help.to_owned());
        let Some((_, doc)) = self.docs.iter().find(|(name, _)| name == path) else {
            return Problem::new(path, what, help);
        };
        let root = doc.root();
        let found = root.members().into_iter().find(|(name, _)| *name == Some(key));
        doc.problem_at(&found.map_or(root, |(_, item)| item).locus(), what, help)
    }
}

const FOLDERS: [&str; 8] = [
    "contexts",
    "clues",
    "responses",
    "mechanisms",
    "limits",
    "hazards",
    "suppressions",
    "regions",
];
const SINGLES: [&str; 6] = ["pack", "words", "sources", "places", "families", "wording"];
/// A file that a pack may have: names no longer used.
const RETIRED: &str = "retired.yaml";
/// Folders of a pack that are not rules.
const IGNORED: [&str; 2] = ["trials", "population"];

/// Reads a pack; `thorough` refuses also what makes it poor knowledge.
pub(crate) fn pack(files: &[PackFile<'_>], thorough: bool) -> Result<Pack, Problems> {
    let mut problems = Problems::default();
    let mut sorted: Vec<&PackFile<'_>> = files.iter().filter(|file| is_rule(file.path)).collect();
    sorted.sort_by_key(|file| file.path);
    let mut docs: Vec<(&str, Doc)> = Vec::with_capacity(sorted.len());
    let mut unread: Vec<&str> = Vec::new();
    for file in sorted {
        match Doc::parse(file.path, file.text) {
            Ok(doc) => docs.push((file.path, doc)),
            Err(found) => {
                problems.extend(found);
                unread.push(file.path);
            }
        }
    }
    let shelf = Shelf { docs, unread };
    let [
        Some(head),
        Some(words),
        Some(sources),
        Some(places),
        Some(families),
        Some(wording),
    ] = SINGLES.map(|name| shelf.single(name, &mut problems))
    else {
        return Err(problems);
    };
    let names = Names::of(&shelf, &sources, &places, &families, &head, &mut problems);
    let mut desk = Desk {
        names,
        words: tables::words(&words, &mut problems),
        problems,
    };
    let policy = policy::policy(&mut desk, &head);
    let (id, title, version, region, reference_population) = policy::identity(&mut desk, &head);
    let sources = tables::sources(&mut desk, &sources);
    let kinds = tables::kinds(&mut desk, &places);
    let contexts = shelf
        .folder("contexts")
        .map(|doc| tables::context(&mut desk, doc))
        .collect();
    let mut places = Places::default();
    let mut clues: Vec<_> = shelf.folder("clues").map(|doc| clues::clue(&mut desk, doc)).collect();
    desk.names.learn_clues(&clues);
    clues::patterns(&mut desk, &shelf, &mut clues);
    let mut responses: Vec<_> = shelf
        .folder("responses")
        .map(|doc| responses::head(&mut desk, doc))
        .collect();
    desk.names.learn_responses(&responses);
    let mut mechanisms: Vec<_> = shelf
        .folder("mechanisms")
        .map(|doc| mechanisms::head(&mut desk, doc))
        .collect();
    responses::links(&mut desk, &shelf, &mut responses, &clues, &mut places);
    mechanisms::links(&mut desk, &shelf, &mut mechanisms, &clues, &mut places);
    let families = mechanisms::families(&mut desk, &families, &mechanisms);
    let limits = shelf
        .folder("limits")
        .map(|doc| rules::limit(&mut desk, doc, &clues))
        .collect();
    let hazards = shelf
        .folder("hazards")
        .map(|doc| rules::hazard(&mut desk, doc, &clues))
        .collect();
    let suppressions = shelf
        .folder("suppressions")
        .map(|doc| rules::suppression(&mut desk, doc, &clues))
        .collect();
    let wording = tables::wording(&mut desk, &wording);
    places.docs = shelf
        .docs
        .iter()
        .map(|(path, doc)| ((*path).to_owned(), doc.clone()))
        .collect();
    let regions = shelf
        .folder("regions")
        .map(|doc| regions::region(&mut desk, doc))
        .collect();
    let retired = shelf.docs.iter().find(|(path, _)| *path == RETIRED);
    let retired = retired
        .map(|(_, doc)| regions::retired(&mut desk, doc))
        .unwrap_or_default();
    let mut problems = desk.problems;
    check::sentences(&shelf.docs, &mut problems);
    if thorough {
        check::reading_level(&shelf.docs, &mut problems);
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut pack = Pack {
        id,
        title,
        version,
        region,
        stands_in: None,
        reference_population,
        policy,
        kinds,
        contexts,
        clues,
        responses,
        mechanisms,
        families,
        limits,
        hazards,
        suppressions,
        sources,
        wording,
        regions,
        retired,
        template: Template::default(),
    };
    pack.template = Template::of(&pack);
    check::whole(&pack, &places, &mut problems);
    if thorough {
        check::thorough(&pack, &places, &mut problems);
    }
    problems.into_result(pack)
}

fn is_rule(path: &str) -> bool {
    path.ends_with(".yaml") && !IGNORED.iter().any(|folder| path.starts_with(&format!("{folder}/")))
}

/// The parsed files of a pack, in the order of their paths.
pub(super) struct Shelf<'a> {
    docs: Vec<(&'a str, Doc)>,
    /// Files that are there and could not be read.
    unread: Vec<&'a str>,
}

impl<'a> Shelf<'a> {
    fn single(&self, name: &str, problems: &mut Problems) -> Option<Doc> {
        let path = format!("{name}.yaml");
        let found = self.docs.iter().find(|(at, _)| *at == path).map(|(_, doc)| doc.clone());
        if found.is_none() && !self.unread.contains(&path.as_str()) {
            problems.push(Problem::new(
                &path,
                "this file is missing from the pack",
                Some(format!("add `{path}` to the pack's folder")),
            ));
        }
        found
    }

    pub fn folder(&self, folder: &'static str) -> impl Iterator<Item = &Doc> {
        self.docs
            .iter()
            .filter(move |(path, _)| stem(path, folder).is_some())
            .map(|(_, doc)| doc)
    }

    /// The names that a folder's files give.
    pub fn stems(&self, folder: &'static str) -> Vec<String> {
        self.docs
            .iter()
            .filter_map(|(path, _)| stem(path, folder))
            .map(str::to_owned)
            .collect()
    }

    /// The names of the files that could not be read.
    pub fn unread_stems(&self) -> Vec<String> {
        let stem_of = |path: &&str| {
            path.rsplit('/')
                .next()
                .and_then(|name| name.strip_suffix(".yaml"))
                .map(str::to_owned)
        };
        self.unread.iter().filter_map(stem_of).collect()
    }

    pub fn strays(&self) -> impl Iterator<Item = &Doc> {
        self.docs
            .iter()
            .filter(|(path, _)| {
                *path != RETIRED
                    && !SINGLES.iter().any(|name| *path == format!("{name}.yaml"))
                    && !FOLDERS.iter().any(|folder| stem(path, folder).is_some())
            })
            .map(|(_, doc)| doc)
    }
}

/// The stem of a file directly in a folder.
fn stem<'p>(path: &'p str, folder: &str) -> Option<&'p str> {
    let rest = path.strip_prefix(folder)?.strip_prefix('/')?.strip_suffix(".yaml")?;
    (!rest.contains('/')).then_some(rest)
}
