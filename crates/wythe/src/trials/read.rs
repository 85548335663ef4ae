//! Reading a trial.

use wythe_case::Case;
use wythe_engine::NoticeKind;
use wythe_pack::{Action, ClueIx, Pack, Support};
use wythe_text::{Doc, Fields, Item, Problems, Tree, nearest, shown};

use super::{Expected, Of, Place, Trial, What};

/// What a trial has beside a case.
const OWN: [&str; 3] = ["shows", "source", "expect"];
/// And what it may have.
const EXPECT: [&str; 6] = [
    "conclusions",
    "order",
    "action",
    "notices",
    "no_notices",
    "known_disagreement",
];
const CONCLUSION: [&str; 10] = [
    "of",
    "at",
    "support",
    "chance",
    "weight",
    "action",
    "because",
    "despite",
    "held_back",
    "known_disagreement",
];

pub(super) fn trial(pack: &Pack, file: &str, text: &str) -> Result<Trial, Problems> {
    let doc = Doc::parse(file, text)?;
    let case = Case::read(file, &case_part(text))?;
    let mut reader = Reader {
        pack,
        case: &case,
        out: Problems::new(),
        expected: Vec::new(),
    };
    let entries = doc.root().entries(&mut reader.out);
    let own = |key: &str| entries.iter().find(|(name, _)| *name == key).map(|(_, item)| *item);
    for key in OWN {
        match own(key) {
            None => doc.root().problem(
                &mut reader.out,
                format!("`{key}` is missing here"),
                Some(format!("add `{key}:`")),
            ),
            Some(item) if key == "expect" => reader.expect(&item),
            Some(item) => reader.words(&item),
        }
    }
    if reader.expected.is_empty() && reader.out.is_empty() {
        doc.root().problem(
            &mut reader.out,
            "the trial expects nothing",
            Some("name what must come out under `expect`".into()),
        );
    }
    let Reader { out, expected, .. } = reader;
    out.into_result(Trial { case, expected })
}

/// The file with the lines of a trial's own entries left blank, so that what is wrong with the case keeps its line.
fn case_part(text: &str) -> String {
    let mut own = false;
    let mut part = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        if line.starts_with(|c: char| !c.is_whitespace() && c != '#' && c != '}' && c != ']') {
            own = OWN
                .iter()
                .any(|key| line.strip_prefix(key).is_some_and(|rest| rest.starts_with(':')));
        }
        part.push_str(if own { "\n" } else { line });
    }
    part
}

struct Reader<'a> {
    pack: &'a Pack,
    case: &'a Case,
    out: Problems,
    expected: Vec<Expected>,
}

impl Reader<'_> {
    fn words(&mut self, item: &Item<'_>) {
        if item.text(&mut self.out).is_some_and(|text| text.trim().is_empty()) {
            item.problem(&mut self.out, "the text is empty", Some("fill it in".into()));
        }
    }

    fn push(&mut self, item: &Item<'_>, what: What, disagrees: Option<&String>) {
        let place = Place {
            doc: item.doc().clone(),
            locus: item.locus(),
        };
        self.expected.push(Expected {
            what,
            disagrees: disagrees.cloned(),
            place,
        });
    }

    fn expect(&mut self, item: &Item<'_>) {
        let fields = item.fields(&mut self.out, &EXPECT);
        let disagrees = fields
            .optional("known_disagreement")
            .map(|item| item.fields(&mut self.out, &["action", "order", "notices", "no_notices"]));
        let why = |reader: &mut Self, key| {
            disagrees
                .as_ref()
                .and_then(|fields| fields.optional(key))
                .and_then(|item| item.text(&mut reader.out))
                .map(str::to_owned)
        };
        if let Some(item) = fields.optional("conclusions") {
            for item in item.list(&mut self.out) {
                self.conclusion(&item);
            }
        }
        if let Some(item) = fields.optional("order") {
            let why = why(self, "order");
            let names: Vec<_> = item
                .list(&mut self.out)
                .iter()
                .filter_map(|item| Some((*item, self.ordered(item)?)))
                .collect();
            for pair in names.windows(2) {
                if let [(_, more), (item, less)] = pair {
                    self.push(item, What::Likelier(*more, *less), why.as_ref());
                }
            }
        }
        if let Some(item) = fields.optional("action") {
            let why = why(self, "action");
            if let Some((from, to)) = self.actions(&item) {
                self.push(&item, What::Action(from, to), why.as_ref());
            }
        }
        for (key, wanted) in [("notices", true), ("no_notices", false)] {
            let Some(item) = fields.optional(key) else { continue };
            let why = why(self, key);
            for item in item.list_or_one(&mut self.out) {
                if let Some(kind) = self.notice(&item) {
                    self.push(
                        &item,
                        if wanted {
                            What::Notice(kind)
                        } else {
                            What::NoNotice(kind)
                        },
                        why.as_ref(),
                    );
                }
            }
        }
    }

    /// A name, or a mechanism at a place.
    fn ordered(&mut self, item: &Item<'_>) -> Option<Of> {
        if !matches!(item.tree(), Tree::Map(_)) {
            return self.of(item, None);
        }
        let fields = item.fields(&mut self.out, &["of", "at"]);
        fields
            .required(&mut self.out, "of")
            .and_then(|item| self.of(&item, fields.optional("at")))
    }

    fn conclusion(&mut self, item: &Item<'_>) {
        let fields = item.fields(&mut self.out, &CONCLUSION);
        let Some(of) = fields
            .required(&mut self.out, "of")
            .and_then(|item| self.of(&item, fields.optional("at")))
        else {
            return;
        };
        let why = fields
            .optional("known_disagreement")
            .and_then(|item| item.text(&mut self.out))
            .map(str::to_owned);
        let why = why.as_ref();
        let before = self.expected.len();
        if let Some(item) = fields.optional("support")
            && let Some((from, to)) = self.span(&item, &Support::ALL.map(Support::name))
            && let (Some(from), Some(to)) = (Support::ALL.get(from), Support::ALL.get(to))
        {
            self.push(&item, What::Support(of, *from, *to), why);
        }
        if let Some((item, (from, to))) = self.numbers(&fields, "chance", 0.0, 1.0) {
            self.push(&item, What::Chance(of, from, to), why);
        }
        if let Some((item, (from, to))) = self.numbers(&fields, "weight", f64::NEG_INFINITY, f64::INFINITY) {
            self.push(&item, What::Weight(of, from, to), why);
        }
        if let Some(item) = fields.optional("action")
            && let Some((from, to)) = self.actions(&item)
        {
            self.push(&item, What::ConclusionAction(of, from, to), why);
        }
        for (key, is_for) in [("because", true), ("despite", false)] {
            for item in fields
                .optional(key)
                .map(|item| item.list_or_one(&mut self.out))
                .unwrap_or_default()
            {
                if let Some(clue) = self.clue(&item) {
                    self.push(
                        &item,
                        if is_for {
                            What::Because(of, clue)
                        } else {
                            What::Despite(of, clue)
                        },
                        why,
                    );
                }
            }
        }
        if let Some(item) = fields.optional("held_back")
            && let Some(held) = item.flag(&mut self.out)
        {
            self.push(&item, What::HeldBack(of, held), why);
        }
        if self.expected.len() == before && self.out.is_empty() {
            item.problem(
                &mut self.out,
                "nothing is expected of this conclusion",
                Some("add `support`, `chance`, `weight`, `action`, `because` or `despite`".into()),
            );
        }
    }

    /// One of the names, or the least and the most.
    fn span(&mut self, item: &Item<'_>, names: &[&str]) -> Option<(usize, usize)> {
        if !matches!(item.tree(), Tree::List(_)) {
            let only = item.one_of(&mut self.out, names)?;
            return Some((only, only));
        }
        let list = item.list(&mut self.out);
        let [from, to] = list.as_slice() else {
            item.problem(
                &mut self.out,
                "one is wanted here, or two: the least and the most",
                None,
            );
            return None;
        };
        let (from, to) = (from.one_of(&mut self.out, names)?, to.one_of(&mut self.out, names)?);
        if from > to {
            item.problem(
                &mut self.out,
                "the least stands after the most",
                Some("turn them round".into()),
            );
            return None;
        }
        Some((from, to))
    }

    fn actions(&mut self, item: &Item<'_>) -> Option<(Action, Action)> {
        let (from, to) = self.span(item, &Action::ALL.map(Action::name))?;
        Some((*Action::ALL.get(from)?, *Action::ALL.get(to)?))
    }

    fn numbers<'d>(&mut self, fields: &Fields<'d>, key: &str, least: f64, most: f64) -> Option<(Item<'d>, (f64, f64))> {
        let item = fields.optional(key)?;
        let bounds = item.fields(&mut self.out, &["from", "to"]);
        let from = bounds
            .optional("from")
            .map_or(Some(least), |item| item.number(&mut self.out))?;
        let to = bounds
            .optional("to")
            .map_or(Some(most), |item| item.number(&mut self.out))?;
        if from > to || from < least || to > most {
            item.problem(&mut self.out, "these bounds are out of order or out of range", None);
            return None;
        }
        Some((item, (from, to)))
    }

    fn of(&mut self, item: &Item<'_>, at: Option<Item<'_>>) -> Option<Of> {
        let name = item.text(&mut self.out)?;
        if let Some(family) = self.pack.family(name) {
            if let Some(at) = at {
                at.problem(
                    &mut self.out,
                    "a family speaks of the whole house",
                    Some("leave `at` out".into()),
                );
            }
            return Some(Of::Family(family));
        }
        let Some(mechanism) = self.pack.mechanism(name) else {
            let (mechanisms, families) = (&self.pack.mechanisms, &self.pack.families);
            let names = mechanisms
                .iter()
                .map(|one| one.id.as_str())
                .chain(families.iter().map(|one| one.id.as_str()));
            unknown(&mut self.out, item, "mechanism or family", name, names);
            return None;
        };
        let Some(at) = at else {
            return Some(Of::Mechanism(mechanism, None));
        };
        let place = at.text_or_number(&mut self.out)?;
        let Some(index) = self.case.place(&place) else {
            unknown(
                &mut self.out,
                &at,
                "place",
                &place,
                self.case.places.iter().map(|place| place.id.as_str()),
            );
            return None;
        };
        Some(Of::Mechanism(mechanism, Some(index)))
    }

    fn clue(&mut self, item: &Item<'_>) -> Option<ClueIx> {
        let name = item.text(&mut self.out)?;
        let found = self.pack.clue(name);
        if found.is_none() {
            unknown(
                &mut self.out,
                item,
                "clue",
                name,
                self.pack.clues.iter().map(|clue| clue.id.as_str()),
            );
        }
        found
    }

    fn notice(&mut self, item: &Item<'_>) -> Option<NoticeKind> {
        let name = item.text(&mut self.out)?;
        let hazard = self
            .pack
            .hazards
            .iter()
            .position(|one| one.id == name)
            .map(NoticeKind::Hazard);
        let limit = self
            .pack
            .limits
            .iter()
            .position(|one| one.id == name)
            .map(NoticeKind::Limit);
        let found = hazard.or(limit).or((name == "misfit").then_some(NoticeKind::Misfit));
        if found.is_none() {
            let (hazards, limits) = (&self.pack.hazards, &self.pack.limits);
            let names = hazards
                .iter()
                .map(|one| one.id.as_str())
                .chain(limits.iter().map(|one| one.id.as_str()))
                .chain(["misfit"]);
            unknown(&mut self.out, item, "hazard or limit", name, names);
        }
        found
    }
}

fn unknown<'n>(out: &mut Problems, item: &Item<'_>, what: &str, name: &str, names: impl Iterator<Item = &'n str>) {
    let help = nearest(name, names).map(|near| format!("did you mean `{near}`?"));
    item.problem(out, format!("there is no {what} {}", shown(name)), help);
}
