//! Which clue a few words name.

use wythe_pack::{ClueIx, KindIx, Pack};
use wythe_text::nearest;

use crate::bit::Bit;
use crate::words::{among, choices, fold, said};
use crate::{Desk, places};

/// A clue that words name, how many of the words, and whether they say that there was none.
pub(crate) struct Named {
    pub clue: ClueIx,
    pub words: usize,
    pub none: bool,
}

/// A name of a clue, folded, and whether it is the name of its absence.
fn names(pack: &Pack, clue: ClueIx) -> Vec<(Vec<String>, bool)> {
    let clue = &pack[clue];
    let names = [&clue.id, &clue.title, &clue.says].into_iter().chain(&clue.also_called);
    names
        .map(|name| (fold(name), false))
        .chain(clue.none_says.iter().map(|name| (fold(name), true)))
        .collect()
}

/// The clues that are looked for at a kind of place; all of them without one. Those derived from others are not seen.
fn at_kind(pack: &Pack, kind: Option<KindIx>) -> Vec<ClueIx> {
    let all = (0..pack.clues.len()).map(ClueIx);
    all.filter(|clue| pack[*clue].pattern.is_none() && kind.is_none_or(|kind| pack[*clue].at == kind))
        .collect()
}

/// Those of the clues that the first words name, by as many words as can be.
fn named(pack: &Pack, clues: &[ClueIx], words: &[Bit<'_>]) -> Vec<Named> {
    let phrase = |length: usize| -> Vec<String> {
        let text: Vec<&str> = words.iter().take(length).map(|word| word.text).collect();
        fold(&text.join(" "))
    };
    let by = |length: usize, fits: Fits| -> Vec<Named> {
        let phrase = phrase(length);
        let one = |clue: &ClueIx| {
            let mut names = names(pack, *clue).into_iter();
            let (_, none) = names.find(|(name, none)| fits(&phrase, name, *none))?;
            Some(Named {
                clue: *clue,
                words: length,
                none,
            })
        };
        clues.iter().filter_map(one).collect()
    };
    let first = |fits: Fits| {
        let lengths = (1..=words.len()).rev();
        lengths.map(|length| by(length, fits)).find(|found| !found.is_empty())
    };
    let whole: Fits = |few, name, _| few == name;
    let some: Fits = |few, name, none| !none && among(few, name);
    first(whole).or_else(|| first(some)).unwrap_or_default()
}

/// Whether a phrase fits a name, given whether that is the name of an absence.
type Fits = fn(&[String], &[String], bool) -> bool;

/// The clue that the words of an item begin with; else a problem.
pub(crate) fn find(desk: &mut Desk<'_>, at: usize, item: Bit<'_>, words: &[Bit<'_>]) -> Option<Named> {
    let pack = desk.pack;
    let kind = desk.case.places.get(at).and_then(|place| pack.kind(&place.kind));
    let here = at_kind(pack, kind);
    let mut found = named(pack, &here, words);
    if found.len() > 1 {
        let titles: Vec<String> = found.iter().map(|one| said(&pack[one.clue].id)).collect();
        let said = words
            .iter()
            .take(found.first()?.words)
            .map(|word| word.text)
            .collect::<Vec<_>>();
        let what = format!("`{}` names more than one sign", said.join(" "));
        desk.problem(item, what, Some(format!("say {}", choices(&titles))));
        return None;
    }
    if let Some(one) = found.pop() {
        return Some(one);
    }
    let place = desk
        .case
        .places
        .get(at)
        .map(|place| place.label.clone())
        .unwrap_or_default();
    if let [elsewhere] = named(pack, &at_kind(pack, None), words).as_slice() {
        let clue = &pack[elsewhere.clue];
        let kind = &pack[clue.at];
        let such = places::of_kind(&desk.case, &kind.id);
        let help = if such.is_empty() {
            format!("add the place first, on a line before: `new {}: NAME`", kind.title)
        } else {
            format!("begin a line with {}", choices(&such))
        };
        let what = format!(
            "`{}` is looked for at a place of the kind \"{}\", which `{place}` is not",
            said(&clue.id),
            kind.title
        );
        desk.problem(item, what, Some(help));
        return None;
    }
    let help = near(pack, &here, words);
    desk.problem(
        item,
        format!("no sign looked for at `{place}` goes by these words"),
        Some(help),
    );
    None
}

/// The nearest name, or the nearest word, or all names.
fn near(pack: &Pack, here: &[ClueIx], words: &[Bit<'_>]) -> String {
    let ids: Vec<String> = here.iter().map(|clue| said(&pack[*clue].id)).collect();
    let titles: Vec<String> = here.iter().map(|clue| pack[*clue].title.clone()).collect();
    let others: Vec<&String> = here.iter().flat_map(|clue| &pack[*clue].also_called).collect();
    let all = || {
        ids.iter()
            .chain(&titles)
            .chain(others.iter().copied())
            .map(String::as_str)
    };
    for length in (1..=words.len()).rev() {
        let phrase: Vec<&str> = words.iter().take(length).map(|word| word.text).collect();
        if let Some(near) = nearest(&phrase.join(" "), all()) {
            return format!("did you mean `{near}`?");
        }
    }
    let known: Vec<&str> = all()
        .flat_map(str::split_whitespace)
        .filter(|word| word.len() > 2)
        .collect();
    let folded: Vec<String> = known.iter().flat_map(|word| fold(word)).collect();
    for word in words {
        let strange = fold(word.text).iter().any(|word| !folded.contains(word));
        if let Some(near) = nearest(word.text, known.iter().copied()).filter(|_| strange) {
            return format!("did you mean `{near}` by `{}`?", word.text);
        }
    }
    format!("signs looked for there: {}", ids.join(", "))
}
