//! A case read in the light of a pack: names resolved, sightings turned into likelihoods over grades.

use wythe_case::{Case, Seen, Sighting};
use wythe_pack::{ContextIx, KindIx, Pack};
use wythe_text::{Problems, nearest};

use crate::Reading;
use crate::derive::{derive, suppress};
use crate::soft::reading;

/// A case bound to a pack.
#[derive(Clone, Debug)]
pub(crate) struct Bound {
    /// The places of each kind of the pack, ascending.
    pub of_kind: Vec<Vec<usize>>,
    /// Per context of the pack: whether it holds, where the case says.
    pub contexts: Vec<Option<bool>>,
    /// How many places of each kind the house has.
    pub how_many: Vec<f64>,
    /// The sightings that stand, then derived clues.
    pub readings: Vec<Reading>,
}

impl Bound {
    /// What the case says of a context.
    pub fn context(&self, at: ContextIx) -> Option<bool> {
        self.contexts.get(at.0).copied().flatten()
    }

    /// How many places of a kind the house has.
    pub fn how_many(&self, kind: KindIx) -> f64 {
        self.how_many.get(kind.0).copied().unwrap_or(1.0)
    }

    /// The places of a kind, in the order of the case.
    pub fn places(&self, kind: KindIx) -> impl Iterator<Item = usize> + '_ {
        self.of_kind.get(kind.0).into_iter().flatten().copied()
    }
}

/// Resolves every name of the case; all problems at once.
pub(crate) fn bind(pack: &Pack, case: &Case) -> Result<Bound, Problems> {
    let case = &*crate::with_computed(pack, case);
    let mut out = Problems::default();
    region(pack, case, &mut out);
    let mut kinds = Vec::with_capacity(case.places.len());
    for place in &case.places {
        let found = pack.kind(&place.kind);
        if found.is_none() {
            let names = pack.kinds.iter().map(|kind| kind.id.as_str());
            out.push(case.problem_in(
                &place.locus,
                &["kind"],
                format!("this pack has no kind of place `{}`", place.kind),
                near(&place.kind, names),
            ));
        }
        kinds.push(found.unwrap_or(KindIx(0)));
    }
    let mut contexts = vec![None; pack.contexts.len()];
    for fact in &case.contexts {
        let slot = pack.context(&fact.id).and_then(|at| contexts.get_mut(at.0));
        match slot {
            Some(slot) => *slot = Some(fact.holds),
            None => {
                let names = pack.contexts.iter().map(|context| context.id.as_str());
                out.push(case.problem_at_name(
                    &fact.locus,
                    format!("this pack has no context `{}`", fact.id),
                    retired(pack, &fact.id).or_else(|| near(&fact.id, names)),
                ));
            }
        }
    }
    exclude(pack, case, &mut contexts, &mut out);
    let mut how_many: Vec<f64> = pack.kinds.iter().map(|kind| kind.usual).collect();
    for (kind, count) in &case.how_many {
        let slot = pack.kind(kind).and_then(|at| how_many.get_mut(at.0));
        match slot {
            Some(slot) => *slot = count.max(1.0),
            None => {
                let names = pack.kinds.iter().map(|kind| kind.id.as_str());
                out.push(case.problem_in(
                    &Default::default(),
                    &["how_many", kind],
                    format!("this pack has no kind of place `{kind}`"),
                    near(kind, names),
                ));
            }
        }
    }
    for sighting in case.passes.iter().flat_map(|pass| &pass.sightings) {
        check(pack, case, &kinds, sighting, &mut out);
    }
    crate::computed::check(pack, case, &mut out);
    let mut of_kind = vec![Vec::new(); pack.kinds.len()];
    for (at, kind) in kinds.iter().enumerate() {
        if let Some(places) = of_kind.get_mut(kind.0) {
            places.push(at);
        }
    }
    let mut bound = Bound {
        of_kind,
        contexts,
        how_many,
        readings: Vec::new(),
    };
    if !out.is_empty() {
        return Err(out);
    }
    bound.readings = case
        .standing()
        .iter()
        .filter_map(|standing| reading(pack, standing))
        .collect();
    crate::computed::set_aside(pack, case, &mut bound);
    suppress(pack, case, &mut bound);
    derive(pack, case, &mut bound);
    Ok(bound)
}

/// Where a context holds, those that cannot hold beside it do not.
fn exclude(pack: &Pack, case: &Case, contexts: &mut [Option<bool>], out: &mut Problems) {
    let said = contexts.to_vec();
    let holds = |at: ContextIx| said.get(at.0) == Some(&Some(true));
    for (at, context) in pack.contexts.iter().enumerate() {
        let this = ContextIx(at);
        let beside = (0..pack.contexts.len()).map(ContextIx);
        let others = beside.filter(|other| context.not_with.contains(other) || pack[*other].not_with.contains(&this));
        for other in others.filter(|other| *other != this && holds(this) && (other.0 > at || !holds(*other))) {
            if !holds(other) {
                if let Some(slot) = contexts.get_mut(other.0) {
                    *slot = Some(false);
                }
                continue;
            }
            let names = [context.id.as_str(), pack[other].id.as_str()];
            if let Some(fact) = case
                .contexts
                .iter()
                .rev()
                .find(|fact| names.contains(&fact.id.as_str()))
            {
                out.push(case.problem_at_name(
                    &fact.locus,
                    format!("`{}` and `{}` cannot both hold", names[0], names[1]),
                    Some("leave out the one that does not, or say `no`".into()),
                ));
            }
        }
    }
}

/// Whether the pack has the numbers of where the house stands.
fn region(pack: &Pack, case: &Case, out: &mut Problems) {
    let Some(id) = case.region.as_ref().filter(|id| pack.stands_in.as_ref() != Some(*id)) else {
        return;
    };
    let names = || pack.regions.iter().map(|one| one.id.as_str());
    let (what, help) = if names().any(|known| known == id) {
        (
            format!(
                "the house stands in the region `{id}`, and these are the numbers for: {}",
                pack.region
            ),
            Some(format!(
                "weigh it by the pack's numbers for `{id}`, or say where it stands"
            )),
        )
    } else {
        (format!("this pack has no region `{id}`"), near(id, names()))
    };
    out.push(case.problem_in(&Default::default(), &["region"], what, help));
}

/// What became of a name that the pack once had.
fn retired(pack: &Pack, name: &str) -> Option<String> {
    let old = pack.retired.iter().find(|old| old.id == name)?;
    let now = old.now.as_ref().map(|now| format!(": use `{now}`")).unwrap_or_default();
    Some(format!(
        "retired in {}{now}; {}",
        old.since,
        old.why.trim_end_matches('.')
    ))
}

/// Most names listed in a message.
const LISTED: usize = 20;

/// The nearest name, else the names there are, when they are few.
fn near<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Option<String> {
    let names: Vec<&str> = names.collect();
    match nearest(word, names.iter().copied()) {
        Some(near) => Some(format!("did you mean `{near}`?")),
        None if names.len() <= LISTED => Some(format!("the names are {}", names.join(", "))),
        None => Some("leave it out, or add it to the pack".into()),
    }
}

/// The clue that a name of the trade, or one near to it, stands for.
fn by_other_name(pack: &Pack, name: &str) -> Option<String> {
    let ids = pack.clues.iter().map(|clue| clue.id.as_str());
    let others = || pack.clues.iter().flat_map(|clue| &clue.also_called).map(String::as_str);
    let called = pack.clue_called(name).or_else(|| match nearest(name, ids) {
        Some(_) => None,
        None => pack.clue_called(nearest(name, others())?),
    })?;
    Some(format!("did you mean `{}`?", pack[called].id))
}

fn check(pack: &Pack, case: &Case, kinds: &[KindIx], sighting: &Sighting, out: &mut Problems) {
    let Some(at) = pack.clue(&sighting.clue) else {
        let names = pack.clues.iter().map(|clue| clue.id.as_str());
        out.push(
            case.problem_in(
                &sighting.locus,
                &["clue"],
                format!("this pack has no clue `{}`", sighting.clue),
                retired(pack, &sighting.clue)
                    .or_else(|| by_other_name(pack, &sighting.clue))
                    .or_else(|| near(&sighting.clue, names)),
            ),
        );
        return;
    };
    let clue = &pack[at];
    if let Some(pattern) = clue.pattern {
        out.push(case.problem_in(
            &sighting.locus,
            &["clue"],
            format!("`{}` is derived, not seen", clue.id),
            Some(format!("record `{}` at each place", pack[pattern.of].id)),
        ));
    }
    if kinds.get(sighting.at) != Some(&clue.at) {
        let kind = case.places.get(sighting.at).map_or("", |place| place.kind.as_str());
        out.push(case.problem_in(
            &sighting.locus,
            &["at"],
            format!(
                "`{}` is looked for at a place of kind `{}`, and this is of kind `{kind}`",
                clue.id, pack[clue.at].id
            ),
            Some(format!("name a place of kind `{}`", pack[clue.at].id)),
        ));
    }
    match &sighting.seen {
        Seen::Grade(grade) if clue.grade(grade).is_none() => {
            let names = clue.grades.iter().map(|grade| grade.id.as_str());
            out.push(case.problem_in(
                &sighting.locus,
                &["seen"],
                format!("`{}` has no grade `{grade}`", clue.id),
                near(grade, names),
            ));
        }
        Seen::Measured { reading, .. } => match &clue.measured_by {
            None => {
                let list: Vec<&str> = clue.grades.iter().map(|grade| grade.id.as_str()).collect();
                out.push(case.problem_in(
                    &sighting.locus,
                    &["measured"],
                    format!("`{}` is graded by eye", clue.id),
                    Some(format!("use `seen:` with one of {}", list.join(", "))),
                ));
            }
            Some(by) if by.quantity != reading.quantity => {
                let classes: Vec<&str> = clue
                    .grades
                    .iter()
                    .filter_map(|grade| grade.up_to_text.as_deref())
                    .collect();
                let help = format!("write it as its classes are written: {}", classes.join(", "));
                out.push(case.problem_in(
                    &sighting.locus,
                    &["measured"],
                    format!(
                        "`{}` is measured as {}, and this is {}",
                        clue.id, by.quantity, reading.quantity
                    ),
                    Some(help),
                ));
            }
            Some(_) => {}
        },
        _ => {}
    }
    for (mark, noted) in &sighting.marks {
        let Some(known) = clue.marks.iter().find(|known| known.id == *mark) else {
            let names = clue.marks.iter().map(|known| known.id.as_str());
            let help = if clue.marks.is_empty() {
                Some("it has none: put it in a note".into())
            } else {
                near(mark, names)
            };
            out.push(case.problem_in(
                &sighting.locus,
                &["marks", mark],
                format!("`{}` has no mark `{mark}`", clue.id),
                help,
            ));
            continue;
        };
        for kind in noted.iter().filter(|kind| !known.kinds.contains(kind)) {
            let help = near(kind, known.kinds.iter().map(String::as_str));
            out.push(case.problem_in(
                &sighting.locus,
                &["marks", mark],
                format!("the mark `{mark}` has no kind `{kind}`"),
                help,
            ));
        }
    }
}

#[cfg(test)]
mod tests;
