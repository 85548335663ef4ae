//! From a case file to a [`Case`], gathering every problem on the way.

mod desk;
mod passes;
mod places;
mod readings;
mod repairs;
mod sighting;
mod work;

use wythe_text::{Doc, Fields, Problems, Tree};

use crate::{Case, ContextFact, FORMAT, Place};
use desk::Desk;
pub use readings::Beside;

/// Most places in a case.
pub const MAX_PLACES: usize = 2_000;
/// Most passes in a case.
pub const MAX_PASSES: usize = 200;
/// Most sightings in a case, over all passes.
pub const MAX_SIGHTINGS: usize = 20_000;
/// Most repairs in a case.
const MAX_REPAIRS: usize = 200;
/// Most places of one kind that a house can have.
const MOST_OF_A_KIND: f64 = 10_000.0;

const KEYS: [&str; 17] = [
    "format", "id", "title", "visited", "region", "how_many", "places", "contexts", "passes", "repairs", "surveys",
    "lintels", "trends", "walls", "openings", "cracks", "sites",
];

pub(crate) fn case(name: &str, text: &str, beside: &mut Beside<'_>) -> Result<Case, Problems> {
    let doc = Doc::parse(name, text)?;
    let mut desk = Desk::new();
    let fields = doc.root().fields(&mut desk.out, &KEYS);
    format(&mut desk, &fields);
    let id = fields
        .required(&mut desk.out, "id")
        .and_then(|item| desk.name(&item))
        .unwrap_or_default();
    let title = fields
        .optional("title")
        .and_then(|item| desk.words(&item))
        .unwrap_or_else(|| id.clone());
    let visited = fields.optional("visited").and_then(|item| desk.date(&item));
    let region = fields.optional("region").and_then(|item| desk.name(&item));
    let how_many = how_many(&mut desk, &fields);
    let places = match fields.optional("places") {
        Some(item) => places::read(&mut desk, &item),
        None => vec![Place::house()],
    };
    desk.know(&places);
    let contexts = contexts(&mut desk, &fields);
    let passes = fields
        .optional("passes")
        .map(|item| passes::read(&mut desk, &item))
        .unwrap_or_default();
    let repairs = match fields.optional("repairs") {
        Some(item) => repairs::read(&mut desk, &item, visited, &passes),
        None => Vec::new(),
    };
    let mut case = Case {
        id,
        title,
        visited,
        region,
        how_many,
        places,
        contexts,
        passes,
        repairs,
        readings: Vec::new(),
        doc: Some(doc.clone()),
    };
    case.readings = readings::read(&mut desk, &fields, &case, beside);
    desk.out.into_result(case)
}

fn format(desk: &mut Desk, fields: &Fields<'_>) {
    let help = Some(format!("begin the file with `format: {FORMAT}`"));
    let Some(item) = fields.optional("format") else {
        if matches!(fields.item().tree(), Tree::Map(_)) {
            desk.out.push(fields.problem("`format` is missing here", help));
        }
        return;
    };
    if let Some(format) = item.integer(&mut desk.out)
        && format != FORMAT
    {
        let help = format!("this program reads format {FORMAT}");
        item.problem(&mut desk.out, format!("format {format} is not known here"), Some(help));
    }
}

fn how_many(desk: &mut Desk, fields: &Fields<'_>) -> Vec<(String, f64)> {
    let Some(item) = fields.optional("how_many") else {
        return Vec::new();
    };
    let mut read = Vec::new();
    for (_, item) in item.entries(&mut desk.out) {
        let kind = desk.name_of(&item);
        let Some(number) = item.number(&mut desk.out) else {
            continue;
        };
        if number > 0.0 && number <= MOST_OF_A_KIND {
            read.extend(kind.map(|kind| (kind, number)));
        } else {
            let help = Some("leave it out when the house has the usual number".into());
            item.problem(
                &mut desk.out,
                format!("the number must be over 0 and at most {MOST_OF_A_KIND}"),
                help,
            );
        }
    }
    read
}

fn contexts(desk: &mut Desk, fields: &Fields<'_>) -> Vec<ContextFact> {
    let Some(item) = fields.optional("contexts") else {
        return Vec::new();
    };
    let mut read = Vec::new();
    for (_, item) in item.entries(&mut desk.out) {
        let id = desk.name_of(&item);
        let (holds, note) = if matches!(item.tree(), Tree::Map(_)) {
            let fields = item.fields(&mut desk.out, &["holds", "note"]);
            let holds = fields
                .required(&mut desk.out, "holds")
                .and_then(|item| desk.yes_no_unknown(&item));
            (holds, fields.optional("note").and_then(|item| desk.words(&item)))
        } else {
            (desk.yes_no_unknown(&item), None)
        };
        if let (Some(id), Some(holds)) = (id, holds) {
            read.push(ContextFact {
                id,
                holds,
                note,
                computed: None,
                locus: item.locus(),
            });
        }
    }
    read
}
