//! A quick question: a case made of the sightings given on the command line.

use wythe::{Case, ContextFact, Looked, Pack, Pass, Place, Seen, Sighting, Sure, parse_measured};

use crate::args::Weigh;
use crate::run::{Stopped, miss};

/// The case that the arguments describe.
pub fn question(pack: &Pack, asked: &Weigh) -> Result<Case, Stopped> {
    let mut case = Case::new("question", "A quick question");
    let mut pass = Pass {
        id: "question".into(),
        title: None,
        date: None,
        by: None,
        sightings: Vec::new(),
        locus: Default::default(),
    };
    for text in &asked.seen {
        pass.sightings
            .push(sighting(pack, &mut case, text, Way::Seen, Places::Made)?);
    }
    for text in &asked.none {
        pass.sightings
            .push(sighting(pack, &mut case, text, Way::NoneThere, Places::Made)?);
    }
    for text in &asked.not_reached {
        pass.sightings
            .push(sighting(pack, &mut case, text, Way::NotReached, Places::Made)?);
    }
    for (number, sighting) in (1..).zip(&mut pass.sightings) {
        sighting.id = format!("question.{number}");
    }
    for (at, one) in pass.sightings.iter().enumerate() {
        if pass
            .sightings
            .iter()
            .take(at)
            .any(|other| other.clue == one.clue && other.at == one.at)
        {
            let place = case.places.get(one.at).map_or("", |place| &place.label);
            return Err(Stopped::use_of(format!(
                "`{}` is given twice for one place ({place}); name the places apart",
                one.clue
            )));
        }
    }
    case.contexts = asked
        .fact
        .iter()
        .map(|text| fact(pack, text))
        .collect::<Result<_, _>>()?;
    case.passes.push(pass);
    Ok(case)
}

/// Which option a sighting came from.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// `--seen`.
    Seen,
    /// `--none`.
    NoneThere,
    /// `--not-reached`.
    NotReached,
}

/// Where the places of sightings come from.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Places {
    /// Made when they are new.
    Made,
    /// The case's.
    Known,
}

/// `CLUE at PLACE = FOUND, MARK KIND`.
pub fn sighting(pack: &Pack, case: &mut Case, text: &str, way: Way, places: Places) -> Result<Sighting, Stopped> {
    let (head, found) = match text.split_once('=') {
        Some((head, found)) => (head.trim(), Some(found.trim())),
        None => (text.trim(), None),
    };
    let (name, place) = match head.split_once(" at ") {
        Some((name, place)) => (name.trim(), Some(place.trim())),
        None => (head, None),
    };
    let Some(clue) = pack.clue(name).or_else(|| pack.clue_called(name)) else {
        let names = || pack.clues.iter().map(|clue| clue.id.as_str());
        return Err(miss("clue", name, names(), "see the pack's folder of clues"));
    };
    let kind = &pack[pack[clue].at].id;
    let at = match places {
        Places::Made => place_at(pack, case, kind, place)?,
        Places::Known => known_place(pack, case, kind, place)?,
    };
    let mut parts = found.unwrap_or_default().split(',').map(str::trim);
    let found = parts.next().filter(|found| !found.is_empty());
    let (seen, marks) = match (way, found) {
        (Way::NoneThere, None) => (Seen::NoneThere { looked: Looked::All }, Vec::new()),
        (Way::NoneThere, Some(_)) => {
            return Err(Stopped::use_of(format!(
                "in `{text}`: --none says that there was none; what was found goes with --seen"
            )));
        }
        (Way::NotReached, why) => {
            let why = std::iter::once(why.unwrap_or("no reason given"))
                .chain(parts)
                .collect::<Vec<_>>()
                .join(", ");
            (Seen::NotReached { why, ask_access: false }, Vec::new())
        }
        (Way::Seen, None) => {
            let grades: Vec<&str> = pack[clue]
                .grades
                .iter()
                .skip(1)
                .map(|grade| grade.id.as_str())
                .collect();
            return Err(Stopped::use_of(format!(
                "in `{text}`: say what was found: one of {}, or a measurement",
                grades.join(", ")
            )));
        }
        (Way::Seen, Some("present")) => (
            Seen::Present,
            parts.map(|part| mark(text, part)).collect::<Result<_, _>>()?,
        ),
        (Way::Seen, Some("none")) => (Seen::NoneThere { looked: Looked::All }, Vec::new()),
        (Way::Seen, Some(found)) => {
            let seen = match pack[clue].grade(found) {
                Some(_) => Seen::Grade(found.into()),
                None => measured(pack, clue, text, found)?,
            };
            (seen, parts.map(|part| mark(text, part)).collect::<Result<_, _>>()?)
        }
    };
    Ok(Sighting {
        id: String::new(),
        clue: pack[clue].id.clone(),
        at,
        seen,
        marks,
        sure: Sure::Sure,
        corrects: None,
        note: None,
        photos: Vec::new(),
        computed: None,
        locus: Default::default(),
    })
}

fn measured(pack: &Pack, clue: wythe::ClueIx, text: &str, found: &str) -> Result<Seen, Stopped> {
    let grades: Vec<&str> = pack[clue].grades.iter().map(|grade| grade.id.as_str()).collect();
    match parse_measured(found) {
        Ok(reading) => Ok(Seen::Measured {
            reading,
            with: None,
            from_photo: false,
        }),
        Err(_) if !found.chars().any(|c| c.is_ascii_digit()) => {
            Err(miss("grade", found, grades.iter().copied(), &grades.join(", ")))
        }
        Err(error) => Err(Stopped::use_of(format!("in `{text}`: {error}"))),
    }
}

/// `path joints`, `taper wide_at_top`, `path joints or mixed`.
fn mark(text: &str, part: &str) -> Result<(String, Vec<String>), Stopped> {
    let Some((mark, kinds)) = part.split_once(' ') else {
        return Err(Stopped::use_of(format!(
            "in `{text}`: `{part}` should be a mark and its kind, as in `path joints`"
        )));
    };
    Ok((
        mark.into(),
        kinds
            .split(" or ")
            .map(|kind| kind.trim().replace([' ', '-'], "_"))
            .collect(),
    ))
}

/// The place of the case that `text` names; without a name, the only one of its kind.
fn known_place(pack: &Pack, case: &Case, kind: &str, text: Option<&str>) -> Result<usize, Stopped> {
    if let Some(text) = text {
        return wythe::find_place(pack, case, "option", text).map_err(|problems| Stopped::use_of(problems.to_string()));
    }
    let such = || case.places.iter().enumerate().filter(|(_, place)| place.kind == kind);
    match (such().next(), such().count()) {
        (Some((at, _)), 1) => Ok(at),
        (None, _) => Err(Stopped::use_of(format!(
            "the case has no place of the kind `{kind}`; add one with --place"
        ))),
        _ => {
            let labels: Vec<&str> = such().map(|(_, place)| place.label.as_str()).take(12).collect();
            Err(Stopped::use_of(format!(
                "say at which place, as in `CLUE at PLACE`: {}",
                labels.join(", ")
            )))
        }
    }
}

/// The place that `text` names, made when it is new: `PLACE`, `PLACE in PLACE`, `PLACE touching PLACE, PLACE`.
fn place_at(pack: &Pack, case: &mut Case, kind: &str, text: Option<&str>) -> Result<usize, Stopped> {
    let Some(text) = text else {
        return if kind == "house" {
            Ok(0)
        } else {
            place(pack, case, kind, kind)
        };
    };
    let (rest, touching) = match text.split_once(" touching ") {
        Some((rest, touching)) => (rest, Some(touching)),
        None => (text, None),
    };
    let (name, within) = match rest.split_once(" in ") {
        Some((name, within)) => (name, Some(within)),
        None => (rest, None),
    };
    let at = place(pack, case, kind, name.trim())?;
    if let Some(within) = within {
        let outer = pack
            .kind(kind)
            .and_then(|kind| pack[kind].within)
            .map(|kind| pack[kind].id.clone());
        let outer = place(pack, case, outer.as_deref().unwrap_or("house"), within.trim())?;
        if let Some(place) = case.places.get_mut(at).filter(|_| outer != at) {
            place.within = Some(outer);
        }
    }
    for other in touching.into_iter().flat_map(|names| names.split(',')) {
        let touched = pack
            .kind(kind)
            .and_then(|kind| pack[kind].touches.first().map(|(kind, _)| pack[*kind].id.clone()));
        let Some(touched) = touched else {
            return Err(Stopped::use_of(format!(
                "in `{text}`: a place of the kind `{kind}` touches nothing that is told apart"
            )));
        };
        let other = match case.place(other.trim()) {
            Some(known) => known,
            None => place(pack, case, &touched, other.trim())?,
        };
        for (one, two) in [(at, other), (other, at)] {
            if let Some(place) = case.places.get_mut(one)
                && one != two
                && !place.touches.contains(&two)
            {
                place.touches.push(two);
                place.touches.sort_unstable();
            }
        }
    }
    Ok(at)
}

/// The place of that name and kind, made when it is new.
fn place(pack: &Pack, case: &mut Case, kind: &str, name: &str) -> Result<usize, Stopped> {
    if let Some(at) = case.place(name) {
        return match case.places.get(at) {
            Some(known) if known.kind == kind => Ok(at),
            Some(known) => Err(Stopped::use_of(format!(
                "`{name}` is named as a place of the kind `{}` and of the kind `{kind}`; give one another name",
                known.kind
            ))),
            None => Ok(at),
        };
    }
    if name.is_empty()
        || name.chars().count() > 60
        || !name
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.'))
    {
        return Err(Stopped::use_of(format!(
            "`{name}` can't name a place: it has 1 to 60 letters, digits, `-` or `_`; give each place its own option"
        )));
    }
    let title = pack.kind(kind).map_or(kind, |kind| pack[kind].title.as_str());
    let mut made = Place::new(name, kind);
    made.label = if name == kind {
        title.into()
    } else {
        let words = name.replace(['-', '_'], " ");
        let last = title.rsplit(' ').next().unwrap_or(title);
        if words.ends_with(last) || matches!(kind, "room" | "opening") {
            words
        } else {
            format!("{words} {last}")
        }
    };
    case.places.push(made);
    Ok(case.places.len().saturating_sub(1))
}

/// `CONTEXT`, `CONTEXT=yes` or `CONTEXT=no`.
pub fn fact(pack: &Pack, text: &str) -> Result<ContextFact, Stopped> {
    let (name, holds) = match text.split_once('=').map(|(name, holds)| (name.trim(), holds.trim())) {
        None => (text.trim(), true),
        Some((name, "yes")) => (name, true),
        Some((name, "no")) => (name, false),
        Some(_) => return Err(Stopped::use_of(format!("in `{text}`: a fact is `yes` or `no`"))),
    };
    if pack.context(name).is_none() {
        let names = || pack.contexts.iter().map(|context| context.id.as_str());
        return Err(miss("fact", name, names(), &names().collect::<Vec<_>>().join(", ")));
    }
    Ok(ContextFact {
        computed: None,
        id: name.into(),
        holds,
        note: None,
        locus: Default::default(),
    })
}
