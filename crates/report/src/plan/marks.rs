//! The marks of a drawing: one per sighting, and one where nobody has looked yet. What became of it is told by shape
//! and by letter; colour plays no part.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::Outcome;
use wythe_pack::Pack;

use crate::build;
use crate::page::{Look, Sighting};
use crate::phrase::{capital, clean, listed};
use crate::svg::{Anchor, Svg};

/// Most kinds of sign that nobody has looked for, marked: as many as the text names.
const MOST_LOOKS: usize = 8;
/// Most of them named at one place.
const MOST_NAMED: usize = 4;

/// What became of a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum State {
    Seen,
    NoneThere,
    NotReached,
    NotLooked,
}

impl State {
    pub const ALL: [State; 4] = [State::Seen, State::NoneThere, State::NotReached, State::NotLooked];

    /// Its letter.
    pub fn letter(self) -> char {
        match self {
            State::Seen => 'S',
            State::NoneThere => 'N',
            State::NotReached => 'B',
            State::NotLooked => 'L',
        }
    }

    /// What its letter stands for.
    pub fn says(self) -> &'static str {
        match self {
            State::Seen => "S: seen",
            State::NoneThere => "N: looked for, none there",
            State::NotReached => "B: blocked, could not be seen",
            State::NotLooked => "L: left, nobody has looked yet",
        }
    }

    fn class(self) -> &'static str {
        match self {
            State::Seen => "mark seen",
            State::NoneThere => "mark none-there",
            State::NotReached => "mark not-reached",
            State::NotLooked => "mark not-looked",
        }
    }
}

/// One mark.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    /// Id of its element in the plan.
    pub id: String,
    /// Id of its sighting; none where nobody has looked.
    pub sighting: Option<String>,
    /// Id of its place.
    pub place: String,
    pub state: State,
    /// Its number in the key.
    pub number: usize,
    /// What it says in the key.
    pub says: String,
    /// Of one that was replaced: the id of the sighting that came after it.
    pub until: Option<String>,
    /// Those that this one replaced, drawn in its place.
    pub earlier: Vec<Mark>,
}

/// Every mark, by the index of its place. A sighting has its number in the case, those that a later one replaced
/// counted; then come derived ones and the looks that are left.
pub(super) fn marks(pack: &Pack, case: &Case, outcome: &Outcome) -> BTreeMap<usize, Vec<Mark>> {
    let mut marks: BTreeMap<usize, Vec<Mark>> = BTreeMap::new();
    let all = || case.passes.iter().flat_map(|pass| &pass.sightings);
    let own: BTreeMap<&str, (usize, &wythe_case::Sighting)> = all()
        .zip(1..)
        .map(|(one, turn)| (one.id.as_str(), (turn, one)))
        .collect();
    let mut number = own.len();
    let sightings = build::sightings::sightings(pack, case, &outcome.readings);
    for (sighting, reading) in sightings.iter().zip(&outcome.readings) {
        let of_case = own.get(sighting.id.as_str()).copied();
        number += usize::from(of_case.is_none());
        let mark = of_sighting(pack, case, sighting, of_case, number);
        marks.entry(reading.at).or_default().push(mark);
    }
    for (at, looks) in left(case, &build::not_looked(pack, case, outcome)) {
        let Some(place) = case.places.get(at) else { continue };
        number += 1;
        let mut titles: Vec<String> = looks.iter().take(MOST_NAMED).cloned().collect();
        let rest = looks.len().saturating_sub(MOST_NAMED);
        if rest > 0 {
            titles.push(format!("{rest} more"));
        }
        marks.entry(at).or_default().push(Mark {
            id: format!("not-looked-{}", place.id),
            sighting: None,
            place: place.id.clone(),
            state: State::NotLooked,
            number,
            says: format!("{}: {}", capital(&clean(&place.label)), listed(&titles)),
            until: None,
            earlier: Vec::new(),
        });
    }
    marks
}

/// The mark of a sighting; `of_case` is it as the case has it with its turn, where it is none that was derived.
pub(super) fn of_sighting(
    pack: &Pack,
    case: &Case,
    sighting: &Sighting,
    of_case: Option<(usize, &wythe_case::Sighting)>,
    number: usize,
) -> Mark {
    let unseen = of_case.and_then(|(_, one)| build::sightings::not_seen(pack, case, one));
    Mark {
        id: format!("sighting-{}", sighting.id),
        place: sighting.place.clone(),
        state: state(sighting),
        number: of_case.map_or(number, |(turn, _)| turn),
        says: unseen.map_or_else(
            || says(sighting),
            |unseen| format!("{} [{}]", capital(&unseen), sighting.id),
        ),
        sighting: Some(sighting.id.clone()),
        until: None,
        earlier: Vec::new(),
    }
}

fn state(sighting: &Sighting) -> State {
    match sighting.used {
        "not_reached" | "hidden" => State::NotReached,
        _ if sighting.shows => State::Seen,
        _ => State::NoneThere,
    }
}

fn says(sighting: &Sighting) -> String {
    let detail: Vec<&str> = [sighting.why.as_deref(), Some(sighting.detail.as_str())]
        .into_iter()
        .flatten()
        .filter(|part| !part.is_empty())
        .collect();
    let detail = if detail.is_empty() {
        String::new()
    } else {
        format!(": {}", detail.join(", "))
    };
    let head = capital(format!("{} {}", sighting.says, sighting.at_words).trim_end());
    format!("{head}{detail} [{}]", sighting.id)
}

/// The most telling kinds of sign not looked for, by place.
fn left(case: &Case, looks: &[Look]) -> BTreeMap<usize, Vec<String>> {
    let mut left: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for look in looks.iter().take(MOST_LOOKS) {
        for at in look.places.iter().filter_map(|id| case.place(id)) {
            left.entry(at).or_default().push(look.title.clone());
        }
    }
    left
}

/// Width of a mark.
pub(crate) const WIDE: f64 = 30.0;
/// Height of a mark.
pub(crate) const HIGH: f64 = 17.0;

impl Mark {
    /// Its letter and its number.
    pub fn name(&self) -> String {
        format!("{}{}", self.state.letter(), self.number)
    }

    /// Draws it with its upper left corner at a point; `view` is added to its id.
    pub fn draw(&self, svg: &mut Svg, x: f64, y: f64, view: &str) {
        for earlier in &self.earlier {
            earlier.draw(svg, x, y, view);
        }
        // One that was replaced is drawn for who steps through, and hidden for everyone else.
        let class = match self.until {
            Some(_) => format!("{} later", self.state.class()),
            None => self.state.class().to_string(),
        };
        let mut attributes = vec![
            ("class", class.as_str()),
            ("data-place", self.place.as_str()),
            ("role", "img"),
            ("aria-label", self.says.as_str()),
        ];
        let id = format!("{}{view}", self.id);
        attributes.insert(0, ("id", &id));
        attributes.extend(self.sighting.as_deref().map(|sighting| ("data-sighting", sighting)));
        attributes.extend(self.until.as_deref().map(|until| ("data-until", until)));
        svg.open(&attributes);
        svg.title(&self.says);
        shape(svg, self.state, x, y, &self.name());
        svg.close();
    }
}

/// The shape of a state with a text on it.
pub(crate) fn shape(svg: &mut Svg, state: State, x: f64, y: f64, text: &str) {
    const OPEN: &str = "fill=\"#fff\" stroke=\"#000\"";
    let (w, h) = (WIDE - 2.0, HIGH - 2.0);
    let mut ink = "#000";
    match state {
        State::Seen => {
            svg.rect(x, y, w, h, "rx=\"3\" fill=\"#000\"");
            ink = "#fff";
        }
        State::NoneThere => svg.shape(&format!(
            "ellipse cx=\"{:.1}\" cy=\"{:.1}\" rx=\"{:.1}\" ry=\"{:.1}\" {OPEN}",
            x + w / 2.0,
            y + h / 2.0,
            w / 2.0,
            h / 2.0
        )),
        State::NotReached => {
            svg.rect(x, y, w, h, OPEN);
            svg.rect(x, y, 4.0, h, "fill=\"#000\"");
            svg.rect(x + w - 4.0, y, 4.0, h, "fill=\"#000\"");
        }
        State::NotLooked => svg.rect(x, y, w, h, &format!("rx=\"7\" {OPEN} stroke-dasharray=\"2 2\"")),
    }
    let size = if text.len() > 3 { 8 } else { 10 };
    let style = format!("font-size=\"{size}\" font-weight=\"bold\" fill=\"{ink}\" aria-hidden=\"true\"");
    svg.text(x + w / 2.0, y + h / 2.0 + 3.6, Anchor::Middle, &style, text);
}
