//! What a pack says of ordinary houses, beside what is in print: a check of its numbers that needs no case.
//!
//! The folder `population` of a pack holds the typical houses (case files without sightings, the reference population
//! first) and `figures.yaml`:
//!
//! ```yaml
//! published:
//!   - of: step_crack_veneer        # a clue, a mechanism or a family
//!     from: slight                 # a clue's grade, this or more; without it the lowest that shows
//!     percent: {from: 20, to: 40}  # or one number
//!     among: houses of this kind
//!     source: who published it
//!     grade: C                     # A measured on such houses, B on others, C told at second hand, D opinion
//! at_most:
//!   - {of: step_crack_veneer, percent: 50, because: more than an inspector meets}
//! ```

mod read;
mod table;

use wythe_case::Case;
use wythe_engine::{ClueShare, shares};
use wythe_pack::{ClueIx, FamilyIx, MechanismIx, Pack};

use crate::Error;

/// What a share is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Of {
    /// A clue, at this grade or more.
    Clue(ClueIx, usize),
    Mechanism(MechanismIx),
    Family(FamilyIx),
}

/// A published figure.
#[derive(Debug)]
struct Figure {
    of: Of,
    percent: (f64, f64),
    among: String,
    source: String,
    grade: &'static str,
}

/// The most that an inspector would take for true.
#[derive(Debug)]
struct Most {
    of: Of,
    percent: f64,
    because: String,
}

/// What is read from the folder `population` of a pack.
#[derive(Debug)]
struct Population {
    houses: Vec<Case>,
    figures: Vec<Figure>,
    most: Vec<Most>,
}

/// The shares of ordinary houses, with what is in print beside them.
///
/// ```
/// let pack = wythe::built_in_pack();
/// let shares = wythe::house_shares(pack, &wythe::built_in_population())?;
/// assert!(shares.text().contains("corner_pop_wedge"));
/// # Ok::<(), wythe::Error>(())
/// ```
#[derive(Debug)]
pub struct HouseShares<'p> {
    pack: &'p Pack,
    population: Population,
    /// Mechanisms: percent, and which house.
    mechanisms: Vec<(MechanismIx, f64, usize)>,
    families: Vec<(FamilyIx, f64, usize)>,
    clues: Vec<(ClueShare, usize)>,
}

impl HouseShares<'_> {
    /// What an inspector would laugh at: each share over the most that `figures.yaml` allows.
    pub fn notes(&self) -> Vec<String> {
        let over = |most: &&Most| self.percent(most.of).is_some_and(|percent| percent > most.percent);
        self.population
            .most
            .iter()
            .filter(over)
            .map(|most| {
                format!(
                    "{}: {} percent of houses is over {}: {}",
                    self.name(most.of),
                    table::percent(self.percent(most.of).unwrap_or_default()),
                    most.percent,
                    most.because
                )
            })
            .collect()
    }

    /// The share of a mechanism, 0–1, and the title of the house; none where no typical house has a place for it.
    pub(crate) fn of_mechanism(&self, at: MechanismIx) -> Option<(f64, &str)> {
        let (_, percent, house) = self.mechanisms.iter().find(|(one, ..)| *one == at)?;
        Some((percent / 100.0, self.population.houses.get(*house)?.title.as_str()))
    }

    /// The shares of a clue by grade, 0–1, and the title of the house; none where no typical house has a place for it.
    pub(crate) fn of_clue(&self, at: ClueIx) -> Option<(&[f64], &str)> {
        let (share, house) = self.clues.iter().find(|(one, _)| one.clue == at)?;
        Some((&share.at_least, self.population.houses.get(*house)?.title.as_str()))
    }

    /// The typical house that a clue's share is of.
    pub(crate) fn house_for(&self, at: ClueIx) -> Option<&Case> {
        let (_, house) = self.clues.iter().find(|(one, _)| one.clue == at)?;
        self.population.houses.get(*house)
    }

    /// The share in percent; none where no typical house has a place for it.
    fn percent(&self, of: Of) -> Option<f64> {
        match of {
            Of::Mechanism(at) => self.mechanisms.iter().find(|(one, ..)| *one == at).map(|one| one.1),
            Of::Family(at) => self.families.iter().find(|(one, ..)| *one == at).map(|one| one.1),
            Of::Clue(at, grade) => {
                let (share, _) = self.clues.iter().find(|(one, _)| one.clue == at)?;
                Some(100.0 * share.at_least.get(grade.checked_sub(1)?)?)
            }
        }
    }

    fn name(&self, of: Of) -> String {
        match of {
            Of::Mechanism(at) => self.pack[at].id.clone(),
            Of::Family(at) => self.pack[at].id.clone(),
            Of::Clue(at, grade) => {
                let clue = &self.pack[at];
                let grade = clue.grades.get(grade).map_or("", |grade| grade.id.as_str());
                format!("{} {grade}", clue.id)
            }
        }
    }
}

/// Reckons the shares of a pack's typical houses, exactly, from the name and text of each file of its folder `population`.
///
/// # Errors
/// Every problem in the files; a house that cannot be weighed.
pub fn house_shares<'p>(pack: &'p Pack, files: &[(&str, &str)]) -> Result<HouseShares<'p>, Error> {
    let population = read::population(pack, files)?;
    let mut mechanisms: Vec<(MechanismIx, f64, usize)> = Vec::new();
    let mut families: Vec<(FamilyIx, f64, usize)> = Vec::new();
    let mut clues: Vec<(ClueShare, usize)> = Vec::new();
    for (house, case) in population.houses.iter().enumerate() {
        let found = shares(pack, case)?;
        // The first house that has a place for it, and where nothing rules it out.
        for (at, share) in found.mechanisms {
            if share > 0.0 && !mechanisms.iter().any(|(one, ..)| *one == at) {
                mechanisms.push((at, 100.0 * share, house));
            }
        }
        for (at, share) in found.families {
            if share > 0.0 && !families.iter().any(|(one, ..)| *one == at) {
                families.push((at, 100.0 * share, house));
            }
        }
        for share in found.clues {
            if !clues.iter().any(|(one, _)| one.clue == share.clue) {
                clues.push((share, house));
            }
        }
    }
    mechanisms.sort_by_key(|(at, ..)| *at);
    families.sort_by_key(|(at, ..)| *at);
    clues.sort_by_key(|(share, _)| share.clue);
    Ok(HouseShares {
        pack,
        population,
        mechanisms,
        families,
        clues,
    })
}

/// The typical houses and published figures of the pack that comes with the library: name and text of each file.
pub fn built_in_population() -> Vec<(&'static str, &'static str)> {
    wythe_rules::structural()
        .into_iter()
        .filter(|(path, _)| path.starts_with("population/"))
        .collect()
}
