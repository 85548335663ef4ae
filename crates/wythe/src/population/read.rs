//! Reading the folder `population`.

use wythe_case::Case;
use wythe_pack::Pack;
use wythe_text::{Doc, Item, Problem, Problems, Tree, nearest, shown};

use super::{Figure, Most, Of, Population};

const FIGURES: &str = "figures.yaml";
const GRADES: [&str; 4] = ["A", "B", "C", "D"];

pub(super) fn population(pack: &Pack, files: &[(&str, &str)]) -> Result<Population, Problems> {
    let mut reader = Reader {
        pack,
        out: Problems::new(),
    };
    let mut all = Population {
        houses: Vec::new(),
        figures: Vec::new(),
        most: Vec::new(),
    };
    for (file, text) in files {
        if file.ends_with(FIGURES) {
            match Doc::parse(file, text) {
                Ok(doc) => reader.figures(&doc, &mut all),
                Err(problems) => reader.out.extend(problems),
            }
            continue;
        }
        match Case::read(file, text) {
            Ok(case) => all.houses.push(case),
            Err(problems) => reader.out.extend(problems),
        }
    }
    if all.houses.is_empty() && reader.out.is_empty() {
        reader.out.push(Problem::new(
            "population",
            "the pack has no typical house to reckon shares for",
            Some("add a case file without sightings to the pack's folder `population`".into()),
        ));
    }
    reader.out.into_result(all)
}

struct Reader<'a> {
    pack: &'a Pack,
    out: Problems,
}

impl Reader<'_> {
    fn figures(&mut self, doc: &Doc, all: &mut Population) {
        let fields = doc.root().fields(&mut self.out, &["published", "at_most"]);
        let rows = |reader: &mut Self, key| {
            let item = fields.optional(key);
            item.map(|item| item.list(&mut reader.out)).unwrap_or_default()
        };
        for row in rows(self, "published") {
            let fields = row.fields(&mut self.out, &["of", "from", "percent", "among", "source", "grade"]);
            let [of, percent, among, source, grade] =
                ["of", "percent", "among", "source", "grade"].map(|key| fields.required(&mut self.out, key));
            let of = of.and_then(|of| self.of(of, fields.optional("from")));
            let percent = percent.and_then(|item| self.percent(item));
            let mut words = |item: Option<Item<'_>>| item.and_then(|item| item.text(&mut self.out)).map(str::to_owned);
            let (among, source) = (words(among), words(source));
            let grade = grade.and_then(|item| item.one_of(&mut self.out, &GRADES));
            if let (Some(of), Some(percent), Some(among), Some(source), Some(grade)) =
                (of, percent, among, source, grade)
            {
                let grade = GRADES.get(grade).copied().unwrap_or_default();
                all.figures.push(Figure {
                    of,
                    percent,
                    among,
                    source,
                    grade,
                });
            }
        }
        for row in rows(self, "at_most") {
            let fields = row.fields(&mut self.out, &["of", "from", "percent", "because"]);
            let [of, percent, because] = ["of", "percent", "because"].map(|key| fields.required(&mut self.out, key));
            let of = of.and_then(|of| self.of(of, fields.optional("from")));
            let percent = percent.and_then(|item| self.share(item));
            let because = because.and_then(|item| item.text(&mut self.out)).map(str::to_owned);
            if let (Some(of), Some(percent), Some(because)) = (of, percent, because) {
                all.most.push(Most { of, percent, because });
            }
        }
    }

    fn percent(&mut self, item: Item<'_>) -> Option<(f64, f64)> {
        if !matches!(item.tree(), Tree::Map(_)) {
            return self.share(item).map(|one| (one, one));
        }
        let fields = item.fields(&mut self.out, &["from", "to"]);
        let [from, to] = ["from", "to"].map(|key| fields.required(&mut self.out, key));
        let (from, to) = (self.share(from?)?, self.share(to?)?);
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

    fn share(&mut self, item: Item<'_>) -> Option<f64> {
        let value = item.number(&mut self.out)?;
        if (0.0..=100.0).contains(&value) {
            return Some(value);
        }
        let help = Some("give percent of houses, from 0 to 100".into());
        item.problem(&mut self.out, format!("{value} is out of range"), help);
        None
    }

    fn of(&mut self, item: Item<'_>, from: Option<Item<'_>>) -> Option<Of> {
        let name = item.text(&mut self.out)?;
        if let Some(clue) = self.pack.clue(name) {
            let Some(from) = from else {
                return Some(Of::Clue(clue, 1));
            };
            let above = self.pack[clue].grades.iter().skip(1);
            let grades: Vec<&str> = above.map(|grade| grade.id.as_str()).collect();
            return from.one_of(&mut self.out, &grades).map(|at| Of::Clue(clue, at + 1));
        }
        if let Some(from) = from {
            from.problem(&mut self.out, "only clues have grades", Some("leave `from` out".into()));
        }
        let mechanism = self.pack.mechanism(name).map(Of::Mechanism);
        let found = mechanism.or_else(|| self.pack.family(name).map(Of::Family));
        if found.is_none() {
            let pack = self.pack;
            let clues = pack.clues.iter().map(|one| one.id.as_str());
            let mechanisms = pack.mechanisms.iter().map(|one| one.id.as_str());
            let names = clues
                .chain(mechanisms)
                .chain(pack.families.iter().map(|one| one.id.as_str()));
            let help = nearest(name, names).map(|near| format!("did you mean `{near}`?"));
            let what = format!("this pack has no clue, mechanism or family {}", shown(name));
            item.problem(
                &mut self.out,
                what,
                help.or(Some("name one of the pack, or take this out".into())),
            );
        }
        found
    }
}
