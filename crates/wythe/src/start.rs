//! A new case file, with remarks that say what goes where. Kinds of place, their usual names and the facts that matter
//! are the pack's.

use wythe_case::{Case, Date, Place};
use wythe_notes::read_place;
use wythe_pack::guard::refused;
use wythe_pack::{KindIx, Pack, PlaceKind};
use wythe_text::{Problem, Problems, nearest};

/// What is known of a house before anyone looks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Start {
    /// Name of the case: letters, digits, `-`, `_`.
    pub id: String,
    /// Title for people.
    pub title: Option<String>,
    /// Day of the visit.
    pub visited: Option<Date>,
    /// Where the house stands: a region of the pack; none where its own numbers hold.
    pub region: Option<String>,
    /// Who looks.
    pub by: Option<String>,
    /// Names of the places that go round the house, in order; the pack's names when empty.
    pub round: Vec<String>,
    /// More places, each as field notes name a new one: `opening: kitchen window, in south`.
    pub places: Vec<String>,
    /// Facts that are known: the pack's name, and whether it holds.
    pub facts: Vec<(String, bool)>,
}

/// The text of a new case file.
///
/// # Errors
/// A place, a fact or a name that can't be read.
///
/// ```
/// use wythe::{Case, Start, built_in_pack, start};
/// let asked = Start { id: "elm-4".into(), places: vec!["opening: kitchen window, in south".into()], ..Start::default() };
/// let text = start(built_in_pack(), &asked)?;
/// let case = Case::read("elm-4.yaml", &text)?;
/// assert!(case.place("south").is_some() && case.place("kitchen-window").is_some());
/// # Ok::<(), wythe::Problems>(())
/// ```
pub fn start(pack: &Pack, asked: &Start) -> Result<String, Problems> {
    let mut case = Case::new(&asked.id, asked.title.as_deref().unwrap_or(&asked.id));
    ring(pack, &asked.round, &mut case)?;
    for text in &asked.places {
        let place = read_place(pack, &case, "place", text)?;
        case.places.push(place);
    }
    check_words(asked, &case)?;
    let text = text(pack, asked, &case)?;
    Case::read(&format!("{}.yaml", asked.id), &text)?;
    Ok(text)
}

/// The kind that goes round the house: the first that has names and is joined, two by two, by another kind.
fn round_kind(pack: &Pack) -> Option<KindIx> {
    let joins = |at: KindIx| pack.kinds.iter().any(|kind| between(kind, at));
    let named = pack
        .kinds
        .iter()
        .zip((0..).map(KindIx))
        .filter(|(kind, _)| !kind.names.is_empty());
    named.map(|(_, at)| at).find(|at| joins(*at))
}

/// True for a kind that lies between one place of another kind and the next.
fn between(kind: &PlaceKind, other: KindIx) -> bool {
    kind.touches.iter().any(|(to, count)| *to == other && *count >= 2.0)
}

/// Adds the places that have names of their own.
fn ring(pack: &Pack, round: &[String], case: &mut Case) -> Result<(), Problems> {
    let ring = round_kind(pack);
    let mut walls: Vec<usize> = Vec::new();
    for (kind, at) in pack.kinds.iter().zip((0..).map(KindIx)) {
        let own = ring == Some(at) && !round.is_empty();
        let joins = ring.is_some_and(|ring| between(kind, ring));
        let names: Vec<String> = if own {
            round.to_vec()
        } else if joins && !round.is_empty() && !kind.names.is_empty() {
            pairs(round)
        } else {
            kind.names.clone()
        };
        for (number, name) in names.iter().enumerate() {
            let mut place = Place::new(&name.trim().to_lowercase().replace(' ', "-"), &kind.id);
            place.label = label(name, kind, names.len());
            if case.place(&place.id).is_some() {
                let what = format!("two places are named `{}`", place.id);
                return Err(Problem::new("round", what, Some("name each once, going round".into())).into());
            }
            if joins {
                let next = walls.get((number + 1) % walls.len().max(1));
                place.touches.extend(walls.get(number).into_iter().chain(next));
                place.touches.sort_unstable();
                place.touches.dedup();
            }
            if ring == Some(at) {
                walls.push(case.places.len());
            }
            case.places.push(place);
        }
    }
    Ok(())
}

/// What stands between one name and the next, round to the first; nothing for fewer than three.
fn pairs(round: &[String]) -> Vec<String> {
    let next = round.iter().cycle().skip(1);
    let pairs = round.iter().zip(next).map(|(one, next)| format!("{one}-{next}"));
    if round.len() < 3 { Vec::new() } else { pairs.collect() }
}

/// `north wall`: the name, and the word for its kind where there are several.
fn label(name: &str, kind: &PlaceKind, of: usize) -> String {
    let last = kind.title.rsplit(' ').next().unwrap_or_default();
    let name = name.trim();
    if of < 2 || name.ends_with(last) {
        name.replace('-', " ")
    } else {
        format!("{name} {last}")
    }
}

fn check_words(asked: &Start, case: &Case) -> Result<(), Problems> {
    let texts = asked
        .title
        .iter()
        .chain(&asked.by)
        .chain(case.places.iter().map(|place| &place.label));
    let mut out = Problems::new();
    for text in texts {
        if let Some(word) = refused(text) {
            let what = format!("\"{text}\" makes a determination (\"{word}\"), and no report would print it");
            out.push(Problem::new(&asked.id, what, Some("name it in other words".into())));
        }
    }
    out.into_result(())
}

/// A text in quotes, as YAML and JSON both read it.
fn quoted(text: &str) -> String {
    serde_json::to_string(text).unwrap_or_default()
}

fn text(pack: &Pack, asked: &Start, case: &Case) -> Result<String, Problems> {
    let mut text = format!(
        "# A case for wythe: one house, and what was seen on it. What follows a # is for people.\n\
         # Add what you see with `wythe add`, or write it here by hand; weigh it with `wythe weigh`.\n\
         format: 1\nid: {}\n",
        asked.id
    );
    if let Some(title) = &asked.title {
        text.push_str(&format!("title: {}\n", quoted(title)));
    }
    if let Some(day) = asked.visited {
        text.push_str(&format!("visited: {day}\n"));
    }
    if let Some(region) = &asked.region {
        text.push_str(&format!(
            "region: {region}  # the numbers of the pack that hold there\n"
        ));
    }
    text.push_str(
        "\n# Where things are. `in` is the place that one lies in, `touches` the places beside it.\nplaces:\n",
    );
    for kind in pack.kinds.iter().skip(1) {
        text.push_str(&of_kind(pack, case, kind));
    }
    text.push_str(
        "\n# What is known of the house and the weather: yes, no or unknown. Unknown ones count as on the usual house.\ncontexts:\n",
    );
    for (name, _) in &asked.facts {
        if pack.context(name).is_none() {
            let near = nearest(name, pack.contexts.iter().map(|context| context.id.as_str()));
            let help = near.map(|near| format!("did you mean `{near}`?"));
            return Err(Problem::new("fact", format!("this pack has no fact `{name}`"), help).into());
        }
    }
    for context in &pack.contexts {
        let known = asked.facts.iter().rev().find(|(name, _)| *name == context.id);
        let holds = known.map_or("unknown", |(_, holds)| if *holds { "yes" } else { "no" });
        let told = format!("{}: {}", context.title, context.ask).replace('\n', " ");
        text.push_str(&format!("  {}: {holds}  # {told}\n", context.id));
    }
    text.push_str("\n# Each walk over the house, with its sightings. A later look is a pass of its own.\npasses:\n  - pass: first\n");
    if let Some(day) = asked.visited {
        text.push_str(&format!("    date: {day}\n"));
    }
    if let Some(by) = &asked.by {
        text.push_str(&format!("    by: {}\n", quoted(by)));
    }
    Ok(text)
}

/// The places of a kind; where there are none, a remark that shows how one is written.
fn of_kind(pack: &Pack, case: &Case, kind: &PlaceKind) -> String {
    let name = |at: usize| case.places.get(at).map_or("", |place| place.id.as_str());
    let mut text = String::new();
    for place in case.places.iter().filter(|place| place.kind == kind.id) {
        text.push_str(&format!(
            "  - {{id: {}, kind: {}, label: {}",
            place.id,
            kind.id,
            quoted(&place.label)
        ));
        if let Some(within) = place.within.filter(|at| *at > 0) {
            text.push_str(&format!(", in: {}", name(within)));
        }
        if !place.touches.is_empty() {
            let touches: Vec<&str> = place.touches.iter().map(|at| name(*at)).collect();
            text.push_str(&format!(", touches: [{}]", touches.join(", ")));
        }
        text.push_str("}\n");
    }
    if text.is_empty() {
        let outer = kind.within.map(|at| &pack[at].id).filter(|outer| *outer != "house");
        let first = outer.map(|outer| {
            let such = case.places.iter().find(|place| place.kind == *outer);
            format!(", in: {}", such.map_or("NAME", |place| place.id.as_str()))
        });
        text = format!(
            "  # {}: - {{id: NAME, kind: {}{}}}\n",
            kind.title,
            kind.id,
            first.unwrap_or_default()
        );
    }
    text
}
