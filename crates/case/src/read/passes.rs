//! Passes, in the order they were made.

use std::collections::{BTreeMap, BTreeSet};

use wythe_text::{Item, nearest, shown};

use super::desk::Desk;
use super::{MAX_PASSES, MAX_SIGHTINGS, sighting};
use crate::{Date, Pass, Seen, Sighting};

/// What has been met so far, over all passes.
#[derive(Default)]
struct Met {
    passes: BTreeSet<String>,
    /// Each sighting by id.
    sightings: BTreeMap<String, Of>,
    /// What was reached so far.
    reached: BTreeSet<Of>,
    /// Ids that a later sighting corrects.
    corrected: BTreeSet<String>,
    date: Option<Date>,
    count: usize,
}

/// Of which pass a sighting speaks, by number, its clue and its place.
type Of = (usize, String, usize);

pub(super) fn read(desk: &mut Desk, item: &Item<'_>) -> Vec<Pass> {
    let items = item.list(&mut desk.out);
    if let Some(over) = items.get(MAX_PASSES) {
        over.problem(
            &mut desk.out,
            format!("more than {MAX_PASSES} passes"),
            Some("join some of them".into()),
        );
    }
    let mut met = Met::default();
    items
        .iter()
        .take(MAX_PASSES)
        .filter_map(|item| pass(desk, item, &mut met))
        .collect()
}

fn pass(desk: &mut Desk, item: &Item<'_>, met: &mut Met) -> Option<Pass> {
    let fields = item.fields(&mut desk.out, &["pass", "title", "date", "by", "sightings"]);
    let id_item = fields.required(&mut desk.out, "pass");
    let id = id_item.and_then(|item| desk.name(&item));
    if let (Some(item), Some(id)) = (id_item, &id)
        && !met.passes.insert(id.clone())
    {
        let what = format!("the pass {} is listed twice", shown(id));
        item.problem(&mut desk.out, what, Some("give it another name".into()));
    }
    let title = fields.optional("title").and_then(|item| desk.words(&item));
    let by = fields.optional("by").and_then(|item| desk.words(&item));
    let date = fields.optional("date").and_then(|item| {
        let date = desk.date(&item)?;
        match met.date {
            Some(before) if date < before => {
                let what = format!("this pass is dated before the one above it ({before})");
                let help = "list passes in the order they were made";
                item.problem(&mut desk.out, what, Some(help.into()));
            }
            _ => met.date = Some(date),
        }
        Some(date)
    });
    let items = fields
        .optional("sightings")
        .map(|item| item.list(&mut desk.out))
        .unwrap_or_default();
    let id = id.unwrap_or_default();
    let sightings = sightings(desk, &id, &items, met);
    (!id.is_empty()).then(|| Pass {
        id,
        title,
        date,
        by,
        sightings,
        locus: item.locus(),
    })
}

fn sightings(desk: &mut Desk, pass: &str, items: &[Item<'_>], met: &mut Met) -> Vec<Sighting> {
    let mut read: Vec<Sighting> = Vec::new();
    for (number, item) in (1_usize..).zip(items) {
        if met.count >= MAX_SIGHTINGS {
            let help = Some("split the case, or leave out what matters least".into());
            item.problem(&mut desk.out, format!("more than {MAX_SIGHTINGS} sightings"), help);
            break;
        }
        if desk.out.is_full() {
            break;
        }
        met.count = met.count.saturating_add(1);
        let Some(sighting) = sighting::read(desk, item, format!("{pass}.{number}")) else {
            continue;
        };
        let here = (met.passes.len(), sighting.clue.clone(), sighting.at);
        let of = match &sighting.corrects {
            Some(id) => (corrected(desk, item, met, id), here.1, here.2),
            None => here,
        };
        if met.sightings.insert(sighting.id.clone(), of.clone()).is_some() {
            let what = format!("the sighting {} is listed twice", shown(&sighting.id));
            let problem = item
                .doc()
                .problem_in(&item.locus(), &["id"], what, Some("give it another `id`".into()));
            desk.out.push(problem);
        }
        if !matches!(sighting.seen, Seen::NotReached { .. }) && !met.reached.insert(of) {
            let what = format!("{} is sighted twice at this place in one pass", shown(&sighting.clue));
            let help = "keep the one that says most, make a second pass of it, or say which one it `corrects`";
            let problem = item.doc().problem_in(&item.locus(), &["clue"], what, Some(help.into()));
            desk.out.push(problem);
        }
        read.push(sighting);
    }
    read
}

/// The pass that a correction speaks of: that of the sighting it takes the place of, which counts no more.
fn corrected(desk: &mut Desk, item: &Item<'_>, met: &mut Met, id: &str) -> usize {
    let mut refuse = |what: String, help: Option<String>| {
        desk.out
            .push(item.doc().problem_in(&item.locus(), &["corrects"], what, help));
        met.passes.len()
    };
    let Some(of) = met.sightings.get(id) else {
        let near = nearest(id, met.sightings.keys().map(String::as_str));
        let help = match near {
            Some(near) => format!("did you mean `{near}`? a sighting corrects one above it"),
            None => "a sighting corrects one above it; a sighting without an `id` is `<pass>.<n>`".into(),
        };
        return refuse(format!("there is no sighting {} above", shown(id)), Some(help));
    };
    if !met.corrected.insert(id.to_owned()) {
        let help = "correct the correction: name its id here";
        return refuse(format!("{} is corrected twice", shown(id)), Some(help.into()));
    }
    met.reached.remove(of);
    of.0
}
