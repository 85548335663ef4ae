//! A region other than the pack's own: other shares of contexts, other prevalences, by data alone.

use wythe_text::nearest;

use crate::{ContextIx, MechanismIx, Pack, Prevalence, SourceIx};

/// What differs in a region.
#[derive(Clone, Debug)]
pub struct Region {
    /// Name in rule files and commands.
    pub id: String,
    /// Where it is, for people.
    pub title: String,
    /// The houses that its numbers count.
    pub reference_population: String,
    /// Shares of contexts that differ, in 0–1.
    pub shares: Vec<(ContextIx, f64)>,
    /// Prevalences that differ.
    pub prevalences: Vec<(MechanismIx, Prevalence)>,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}

impl Pack {
    /// This pack with the numbers of one of its regions.
    ///
    /// # Errors
    /// What to write instead, where the pack has no region of that name; where it has the numbers of another already.
    pub fn in_region(&self, id: &str) -> Result<Pack, String> {
        match &self.stands_in {
            Some(here) if here == id => return Ok(self.clone()),
            Some(here) => return Err(format!("this pack has the numbers of `{here}`, and not of `{id}`")),
            None => {}
        }
        let Some(region) = self.regions.iter().find(|region| region.id == id) else {
            let names: Vec<&str> = self.regions.iter().map(|region| region.id.as_str()).collect();
            let help = match nearest(id, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None if names.is_empty() => "it has none but its own".into(),
                None => format!("beside its own it has {}", names.join(", ")),
            };
            return Err(format!("this pack has no region `{id}`: {help}"));
        };
        let mut pack = self.clone();
        pack.stands_in = Some(region.id.clone());
        pack.region.clone_from(&region.title);
        pack.reference_population.clone_from(&region.reference_population);
        for (at, share) in &region.shares {
            if let Some(context) = pack.contexts.get_mut(at.0) {
                context.share = *share;
                context.sources.clone_from(&region.sources);
            }
        }
        for (at, prevalence) in &region.prevalences {
            if let Some(mechanism) = pack.mechanisms.get_mut(at.0) {
                mechanism.prevalence = prevalence.clone();
            }
        }
        Ok(pack)
    }
}

/// A name that is no longer used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Retired {
    /// The old name.
    pub id: String,
    /// The name to use, if there is one.
    pub now: Option<String>,
    /// Since which version.
    pub since: String,
    /// Why.
    pub why: String,
}
