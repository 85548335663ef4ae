//! Sightings as the page has them: what was found, in words and in numbers.

use std::collections::BTreeMap;

use wythe_case::{Case, Looked, Seen, Standing, Sure};
use wythe_engine::{Reading, Used};
use wythe_measure::COVER_95;
use wythe_pack::{Clue, Pack};

use super::sources;
use crate::number::rounded;
use crate::page::{Mark, Measurement, Sighting};
use crate::phrase::{at_places, clean, listed, the_place, with_place, words};
use crate::units::{both_units, units};

/// Every reading of an outcome, in its order.
pub(crate) fn sightings(pack: &Pack, case: &Case, readings: &[Reading]) -> Vec<Sighting> {
    let standing = case.standing();
    let by_id: BTreeMap<&str, &Standing<'_>> = standing.iter().map(|one| (one.sighting.id.as_str(), one)).collect();
    readings
        .iter()
        .map(|reading| sighting(pack, case, reading, by_id.get(reading.sighting.as_str()).copied()))
        .collect()
}

fn sighting(pack: &Pack, case: &Case, reading: &Reading, stands: Option<&Standing<'_>>) -> Sighting {
    let clue = &pack[reading.clue];
    let seen = stands.map(|one| &one.sighting.seen);
    let (used, used_by) = match &reading.used {
        Used::Weighed => ("weighed", None),
        Used::SetAside { by } => ("set_aside", Some(pack[*by].id.clone())),
        Used::Hidden { by } => ("hidden", pack.suppressions.get(*by).map(|rule| rule.id.clone())),
        Used::NotReached => ("not_reached", None),
    };
    let reached = reading.used != Used::NotReached;
    let size_open = matches!(seen, Some(Seen::Present)) && clue.grades.len() > 2;
    let (why, ask_access) = match seen {
        Some(Seen::NotReached { why, ask_access }) => (Some(clean(why)), *ask_access),
        _ => (None, false),
    };
    let mut sighting = Sighting {
        id: reading.sighting.clone(),
        pass: stands.map(|one| one.pass.id.clone()),
        clue: clue.id.clone(),
        title: clue.title.clone(),
        place: case
            .places
            .get(reading.at)
            .map(|place| place.id.clone())
            .unwrap_or_default(),
        grade: clue
            .grades
            .get(reading.grade)
            .filter(|_| reached && !size_open)
            .map(|grade| grade.id.clone()),
        size: None,
        shows: reached && reading.shows(),
        used,
        used_by,
        measured: seen.and_then(measurement),
        marks: marks(clue, reading),
        looked: seen.and_then(looked),
        sure: stands
            .map(|one| one.sighting.sure)
            .filter(|sure| reached && *sure != Sure::Sure)
            .map(Sure::name),
        why,
        ask_access,
        note: stands.and_then(|one| one.sighting.note.as_deref()).map(clean),
        photos: stands
            .map(|one| one.sighting.photos.iter().map(|photo| clean(photo)).collect())
            .unwrap_or_default(),
        computed: super::readings::computed_from(case, stands.and_then(|one| one.sighting.computed)),
        made_from: reading.made_from.clone(),
        history: stands
            .map(|one| one.history.iter().map(|old| old.id.clone()).collect())
            .unwrap_or_default(),
        says: head(clue, reading),
        detail: String::new(),
        at_words: at_places(case, &[reading.at]),
        sources: sources(pack, &clue.sources),
    };
    sighting.size = sighting
        .grade
        .as_deref()
        .filter(|grade| sighting.shows && !matches!(*grade, "seen" | "yes" | "yes_told"))
        .and_then(|grade| grade_words(clue, grade));
    sighting.detail = detail(pack, clue, reading, &sighting, size_open);
    sighting
}

/// What was found, in words.
fn head(clue: &Clue, reading: &Reading) -> String {
    match (&reading.used, reading.shows()) {
        (Used::NotReached, _) => clue.title.clone(),
        (_, true) => clue.says.clone(),
        (_, false) => absence(clue),
    }
}

/// Its particulars: `slight, 1/8 in (3.2 mm), path joints`.
fn detail(pack: &Pack, clue: &Clue, reading: &Reading, sighting: &Sighting, size_open: bool) -> String {
    let mut detail: Vec<String> = size_open.then(|| "size not noted".to_string()).into_iter().collect();
    detail.extend(sighting.size.clone());
    let absent = sighting.computed.is_some() && !sighting.shows;
    if let Some(measured) = sighting.measured.as_ref().filter(|_| !absent) {
        detail.extend(super::readings::size(sighting));
        detail.extend(measured.with.as_ref().map(|with| format!("by {with}")));
        detail.extend(measured.from_photo.then(|| "scaled off a photo".to_string()));
    }
    detail.extend(sighting.computed.as_ref().map(|from| match absent {
        true => format!("by the {} {}", sheet(from.kind), from.sheet),
        false => format!("computed from the {} {}: {}", sheet(from.kind), from.sheet, from.taken),
    }));
    for mark in &sighting.marks {
        let title = clue
            .marks
            .iter()
            .find(|known| known.id == mark.mark)
            .map_or(mark.mark.as_str(), |known| &known.title);
        let kinds: Vec<String> = mark.kinds.iter().map(|kind| words(kind)).collect();
        detail.push(format!("{title} {}", kinds.join(" or ")));
    }
    detail.extend(sighting.looked.clone());
    detail.extend(sighting.sure.map(|sure| {
        if sure == "fairly" {
            "fairly sure".into()
        } else {
            "not sure".to_string()
        }
    }));
    match &reading.used {
        Used::Hidden { by } => detail.extend(
            pack.suppressions
                .get(*by)
                .map(|rule| format!("counts as not looked: {}", rule.reason.trim_end_matches('.'))),
        ),
        Used::SetAside { by } if reading.shows() => detail.push(format!("taken together as {}", pack[*by].says)),
        Used::SetAside { by } => detail.push(format!("taken together with {}", absence(&pack[*by]))),
        Used::Weighed | Used::NotReached => {}
    }
    detail.join(", ")
}

/// A sheet of readings by its kind: a survey, or the readings of a lintel.
fn sheet(kind: &str) -> String {
    match kind {
        "survey" => kind.into(),
        _ => format!("{kind} readings"),
    }
}

/// The name of a grade beside what its clue says: in full where its title goes on from it; none where it says nothing
/// more, as where it is the only one.
pub(crate) fn grade_words(clue: &Clue, id: &str) -> Option<String> {
    let grade = clue.grades.iter().find(|grade| grade.id == id)?;
    let name = words(id);
    let said = clue.says.split(' ').any(|word| word.trim_end_matches(',') == name);
    match &grade.title {
        Some(title) if said || title.starts_with(&format!("{name} ")) => Some(title.clone()),
        _ if said || clue.grades.len() == 2 => None,
        _ => Some(name),
    }
}

/// What could not be looked at, and why: `could not be seen: whether the front wall shows a gap below the frieze (locked
/// gate; ask for access)`. None for a sighting that was made.
pub(crate) fn not_seen(pack: &Pack, case: &Case, sighting: &wythe_case::Sighting) -> Option<String> {
    let Seen::NotReached { why, ask_access } = &sighting.seen else {
        return None;
    };
    let clue = &pack[pack.clue(&sighting.clue)?];
    let place = case.places.get(sighting.at).map(the_place)?;
    let ask = if *ask_access { "; ask for access" } else { "" };
    Some(format!(
        "could not be seen: whether {place} shows {} ({}{ask})",
        clue.says,
        clean(why)
    ))
}

/// How a sentence names the absence of a clue: its own words, or `no …`.
pub(crate) fn absence(clue: &Clue) -> String {
    clue.none_says.clone().unwrap_or_else(|| {
        let bare = ["a ", "an ", "the "]
            .iter()
            .find_map(|article| clue.says.strip_prefix(article));
        format!("no {}", bare.unwrap_or(&clue.says))
    })
}

fn measurement(seen: &Seen) -> Option<Measurement> {
    let Seen::Measured {
        reading,
        with,
        from_photo,
    } = seen
    else {
        return None;
    };
    let (us, metric) = units(reading);
    Some(Measurement {
        written: clean(&reading.text),
        value: rounded(reading.value),
        error: reading.sd.and_then(|sd| rounded(sd * COVER_95)),
        us,
        metric,
        both: both_units(reading),
        with: with.as_deref().map(clean),
        from_photo: *from_photo,
    })
}

fn marks(clue: &Clue, reading: &Reading) -> Vec<Mark> {
    let named = |(at, kinds): &(usize, Vec<usize>)| {
        let mark = clue.marks.get(*at)?;
        let kinds = kinds.iter().filter_map(|kind| mark.kinds.get(*kind).cloned()).collect();
        Some(Mark {
            mark: mark.id.clone(),
            kinds,
        })
    };
    reading.marks.iter().filter_map(named).collect()
}

fn looked(seen: &Seen) -> Option<String> {
    match seen {
        Seen::NoneThere { looked: Looked::Part } => Some("part was looked at".into()),
        Seen::NoneThere {
            looked: Looked::Share(share),
        } => Some(format!("{:.0} % was looked at", share * 100.0)),
        _ => None,
    }
}

/// What is seen at which places, one item per clue: `a stepped crack in the brick at the left wall and the back wall`.
pub(crate) fn by_clue(pack: &Pack, case: &Case, readings: &[&Reading]) -> Vec<String> {
    let mut groups: Vec<(String, Vec<usize>)> = Vec::new();
    for reading in readings {
        let clue = &pack[reading.clue];
        let name = if reading.shows() {
            clue.says.clone()
        } else {
            absence(clue)
        };
        match groups.iter_mut().find(|(known, _)| *known == name) {
            Some((_, places)) => places.push(reading.at),
            None => groups.push((name, vec![reading.at])),
        }
    }
    groups
        .into_iter()
        .map(|(name, places)| with_place(&name, case, &places))
        .collect()
}

/// The same in one phrase.
pub(crate) fn in_one_phrase(pack: &Pack, case: &Case, readings: &[&Reading]) -> String {
    listed(&by_clue(pack, case, readings))
}
