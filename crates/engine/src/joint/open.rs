//! Questions put together and not yet answered, in parts that may be worked out in any order, and side by side.

use std::sync::OnceLock;

use wythe_infer::{Across, AcrossPart, SolveError, Solved, Supposition, Var};

use crate::WeighError;
use crate::kept::tangled;

/// The questions asked of one solution.
#[derive(Default)]
pub(crate) struct Open<'w> {
    ways: Vec<Way<'w>>,
    /// Of each part its group, and its number there.
    parts: Vec<(usize, usize)>,
    found: Vec<OnceLock<Result<Found, WeighError>>>,
}

/// How a group of questions is answered.
pub(super) enum Way<'w> {
    /// From the solution.
    Across(Across<'w>),
    /// From one in which more is known for certain.
    Known(Known<'w>),
}

/// Pairs asked for where these variables are at rest.
pub(super) struct Known<'w> {
    pub solved: &'w Solved,
    pub away: Vec<(Var, usize)>,
    pub rows: Vec<Vec<(Var, usize)>>,
    pub beside: Vec<Supposition>,
    pub asked: Vec<Vec<usize>>,
}

/// What came of a part.
enum Found {
    Part(AcrossPart),
    Whole(Vec<Vec<f64>>),
}

impl<'w> Open<'w> {
    pub(super) fn new(ways: Vec<Way<'w>>) -> Self {
        let parts_of = |(index, way): (usize, &Way<'_>)| {
            let parts = match way {
                Way::Across(across) => across.parts(),
                Way::Known(_) => 1,
            };
            (0..parts).map(move |part| (index, part))
        };
        let parts: Vec<(usize, usize)> = ways.iter().enumerate().flat_map(parts_of).collect();
        let found = parts.iter().map(|_| OnceLock::new()).collect();
        Open { ways, parts, found }
    }

    /// How many parts there are.
    pub fn parts(&self) -> usize {
        self.parts.len()
    }

    /// Works one part out, and keeps what came of it.
    pub fn answer(&self, part: usize) {
        let (Some((group, own)), Some(found)) = (self.parts.get(part), self.found.get(part)) else {
            return;
        };
        let Some(way) = self.ways.get(*group) else { return };
        found.get_or_init(|| match way {
            Way::Across(across) => across.part(*own).map(Found::Part).map_err(tangled),
            Way::Known(known) => known.answer().map(Found::Whole),
        });
    }

    /// The answers of each group, by its rows and columns. What was not worked out is now.
    pub(super) fn close(self) -> Result<Vec<Vec<Vec<f64>>>, WeighError> {
        (0..self.parts()).for_each(|part| self.answer(part));
        let found = self.found.into_iter().filter_map(OnceLock::into_inner);
        let mut found = found.collect::<Result<Vec<Found>, WeighError>>()?.into_iter();
        let mut out = Vec::with_capacity(self.ways.len());
        for way in self.ways {
            let own = found.by_ref();
            out.push(match way {
                Way::Across(across) => {
                    let parts = own.take(across.parts()).filter_map(Found::part);
                    across.whole(parts.collect())
                }
                Way::Known(_) => own.next().and_then(Found::whole).unwrap_or_default(),
            });
        }
        Ok(out)
    }
}

impl Found {
    fn part(self) -> Option<AcrossPart> {
        match self {
            Found::Part(part) => Some(part),
            Found::Whole(_) => None,
        }
    }

    fn whole(self) -> Option<Vec<Vec<f64>>> {
        match self {
            Found::Part(_) => None,
            Found::Whole(whole) => Some(whole),
        }
    }
}

impl Known<'_> {
    fn answer(&self) -> Result<Vec<Vec<f64>>, WeighError> {
        let known = match self.solved.given(&self.away) {
            Err(SolveError::Impossible) => return Ok(vec![vec![0.0; self.beside.len()]; self.rows.len()]),
            known => known.map_err(tangled)?,
        };
        let mut found = known.across(&self.rows, &self.beside, &self.asked).map_err(tangled)?;
        let share = libm::exp(known.ln_evidence() - self.solved.ln_evidence());
        found.iter_mut().flatten().for_each(|value| *value *= share);
        Ok(found)
    }
}
