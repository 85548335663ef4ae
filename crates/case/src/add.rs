//! More in a case file, with every character that was there kept: the file is the record.

use wythe_text::{Problem, Problems, Tree, nearest, shown};

use crate::{Case, ContextFact, Pass, Place, Repair, Sighting};

/// What is to be added to a case.
#[derive(Clone, Debug, PartialEq)]
pub struct More {
    /// Places, to come after those of the case.
    pub places: Vec<Place>,
    /// Facts of the house. One that the file gives otherwise is put right, and what it said stays in its note.
    pub contexts: Vec<ContextFact>,
    /// Repairs, to come after those of the case. Their places are counted over those of the case, then the new ones.
    pub repairs: Vec<Repair>,
    /// A pass: of a name that the case has, and its sightings are added to that one; else it is a new one, the last.
    /// Nothing is made of a new one that has neither sightings nor a day, a title or a name.
    /// Places of sightings are counted over those of the case, then the new ones. Ids are given anew where they are
    /// empty.
    pub pass: Pass,
}

impl Case {
    /// The text of the case file with more in it, and the case that it reads as.
    ///
    /// Nothing that was there is changed. A slip is put right by a sighting that [`Sighting::corrects`] it.
    ///
    /// # Errors
    /// Every problem of the file as it would be; a case that was not read from a file; a file written in a way that
    /// can't be added to.
    ///
    /// ```
    /// use wythe_case::{Case, More};
    /// let case = Case::read("a.yaml", "format: 1\nid: a  # ours\npasses: [{pass: first}]\n")?;
    /// let mut pass = Case::read("b", "format: 1\nid: b\npasses: [{pass: first, sightings: [{clue: x, at: house, seen: y}]}]")?.passes.remove(0);
    /// let (text, more) = case.with_more(&More { places: Vec::new(), contexts: Vec::new(), repairs: Vec::new(), pass })?;
    /// assert!(text.starts_with("format: 1\nid: a  # ours\npasses: [{pass: first, sightings: [{clue: x,"));
    /// assert_eq!(more.passes[0].sightings[0].id, "first.1");
    /// # Ok::<(), wythe_text::Problems>(())
    /// ```
    pub fn with_more(&self, more: &More) -> Result<(String, Case), Problems> {
        let Some(doc) = &self.doc else {
            return Err(Problem::new(&self.id, "this case was not read from a file", None).into());
        };
        let mut whole = self.clone();
        whole.places.extend(more.places.iter().cloned());
        let new = whole.places.iter().enumerate().skip(self.places.len());
        let places: Vec<Tree> = new.map(|(at, place)| whole.new_place_tree(at, place)).collect();
        let text = doc.appended(&["places"], &places)?;
        let doc = wythe_text::Doc::parse(doc.name(), &text)?;
        let text = match self.passes.iter().position(|pass| pass.id == more.pass.id) {
            Some(at) => {
                self.check_head(at, &more.pass)?;
                let before = self.passes.get(at).map_or(0, |pass| pass.sightings.len());
                let sightings = whole.sighting_trees(&more.pass, before);
                doc.appended(&["passes", &at.to_string(), "sightings"], &sightings)?
            }
            None if more.pass.says_nothing() => text,
            None => doc.appended(&["passes"], &[whole.pass_tree(&more.pass)])?,
        };
        let mut text = text;
        for fact in &more.contexts {
            if let Some(tree) = self.fact_tree(fact) {
                text = wythe_text::Doc::parse(doc.name(), &text)?.with_entry(&["contexts"], &fact.id, &tree)?;
            }
        }
        let repairs: Vec<Tree> = more.repairs.iter().map(|repair| whole.repair_tree(repair)).collect();
        let text = wythe_text::Doc::parse(doc.name(), &text)?.appended(&["repairs"], &repairs)?;
        let case = Case::read(doc.name(), &text)?;
        Ok((text, case))
    }

    /// The id of the sighting of a clue at a place in a pass, when there is one that reached it and that none corrects.
    pub fn sighted(&self, pass: &str, clue: &str, at: usize) -> Option<&Sighting> {
        let pass = self.passes.iter().find(|one| one.id == pass)?;
        let reached = |one: &&Sighting| !matches!(one.seen, crate::Seen::NotReached { .. });
        let corrected = |id: &str| {
            let mut all = self.passes.iter().flat_map(|pass| &pass.sightings);
            all.any(|one| one.corrects.as_deref() == Some(id))
        };
        let here = |one: &&Sighting| one.clue == clue && one.at == at;
        pass.sightings
            .iter()
            .filter(here)
            .filter(reached)
            .find(|one| !corrected(&one.id))
    }

    /// The sighting of that id.
    ///
    /// # Errors
    /// There is none: a problem with the nearest.
    pub fn sighting(&self, id: &str) -> Result<&Sighting, Problems> {
        let mut all = self.passes.iter().flat_map(|pass| &pass.sightings);
        all.find(|one| one.id == id).ok_or_else(|| {
            let ids = self
                .passes
                .iter()
                .flat_map(|pass| &pass.sightings)
                .map(|one| one.id.as_str());
            let help = match nearest(id, ids) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "a sighting without an id of its own is `<pass>.<n>`, counting from 1".into(),
            };
            Problem::new(&self.id, format!("there is no sighting {}", shown(id)), Some(help)).into()
        })
    }

    /// What the file is to say of a fact; none when it says so already.
    fn fact_tree(&self, fact: &ContextFact) -> Option<Tree> {
        let old = self.contexts.iter().find(|one| one.id == fact.id);
        let word = |holds: bool| if holds { "yes" } else { "no" };
        let text = |text: &str| Tree::Text(text.to_owned());
        let before = match old {
            Some(old) if old.holds == fact.holds && fact.note.is_none() => return None,
            Some(old) if old.holds != fact.holds => Some(format!("before: {}", word(old.holds))),
            _ => None,
        };
        let notes = [fact.note.clone(), before, old.and_then(|old| old.note.clone())];
        let notes: Vec<String> = notes.into_iter().flatten().collect();
        let holds = text(word(fact.holds));
        Some(if notes.is_empty() {
            holds
        } else {
            Tree::Map(vec![
                ("holds".to_owned(), holds),
                ("note".to_owned(), text(&notes.join("; "))),
            ])
        })
    }

    /// A pass that is there already keeps its title, its date and who made it.
    fn check_head(&self, at: usize, new: &Pass) -> Result<(), Problems> {
        let Some(old) = self.passes.get(at) else { return Ok(()) };
        let differs = (new.date.is_some() && new.date != old.date)
            || (new.by.is_some() && new.by != old.by)
            || (new.title.is_some() && new.title != old.title);
        if !differs {
            return Ok(());
        }
        let what = format!(
            "the pass {} is there already, with another date, title or name",
            shown(&old.id)
        );
        let help = "give a new pass a name of its own";
        Err(self.problem_at(&old.locus, what, Some(help.into())).into())
    }
}

impl Pass {
    /// Neither sightings nor a head of its own.
    fn says_nothing(&self) -> bool {
        self.sightings.is_empty() && self.title.is_none() && self.date.is_none() && self.by.is_none()
    }
}
