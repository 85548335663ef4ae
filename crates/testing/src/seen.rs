//! What the sightings of a case say, plainly.

use wythe_case::{Case, Looked, Seen, Sure};
use wythe_pack::{Pack, PatternKind, SuppressedBy};

/// What is known of one clue at one place.
#[derive(Clone, Debug)]
pub struct News {
    /// Index of the clue in the pack.
    pub clue: usize,
    /// Index of the place in the case.
    pub at: usize,
    /// Likelihood per grade, of any scale.
    pub likelihood: Vec<f64>,
    /// Marks noted: index of the mark, and kinds.
    pub marks: Vec<(usize, Vec<usize>)>,
}

/// The news of a case: sightings that stand and are reached, less what is hidden or what a pattern stands for.
pub fn seen(pack: &Pack, case: &Case) -> Vec<News> {
    let mut all: Vec<News> = Vec::new();
    for standing in case.standing() {
        let index = pack.clues.iter().position(|clue| clue.id == standing.clue).unwrap();
        let clue = &pack.clues[index];
        let n = clue.grades.len();
        let mut likelihood = match &standing.sighting.seen {
            Seen::NotReached { .. } => continue,
            Seen::Grade(grade) => (0..n)
                .map(|g| f64::from(u8::from(clue.grades[g].id == *grade)))
                .collect(),
            Seen::Present => (0..n).map(|g| f64::from(u8::from(g > 0))).collect(),
            Seen::NoneThere { looked } => {
                let missed = match looked {
                    Looked::All => 0.0,
                    Looked::Part => 1.0 - pack.policy.part_looked,
                    Looked::Share(share) => 1.0 - share,
                };
                (0..n).map(|g| if g == 0 { 1.0 } else { missed }).collect()
            }
            Seen::Measured {
                reading, from_photo, ..
            } => {
                let by = clue.measured_by.as_ref().unwrap();
                let sd = reading.sd.unwrap_or(by.sd) * if *from_photo { pack.policy.photo_error } else { 1.0 };
                let below = |bound: f64| 0.5 * libm::erfc((reading.value - bound) / (sd * std::f64::consts::SQRT_2));
                let upper = |g: usize| {
                    if g + 1 == n {
                        1.0
                    } else {
                        below(clue.grades[g].up_to.unwrap())
                    }
                };
                (0..n)
                    .map(|g| upper(g) - if g == 0 { 0.0 } else { upper(g - 1) })
                    .collect::<Vec<f64>>()
            }
        };
        let neighbour = match standing.sighting.sure {
            Sure::Sure => 0.0,
            Sure::Fairly => pack.policy.unsure.fairly,
            Sure::Unsure => pack.policy.unsure.unsure,
        };
        let spread = |to: usize| -> f64 {
            (0..n)
                .map(|from| likelihood[from] * libm::pow(neighbour, from.abs_diff(to) as f64))
                .sum()
        };
        likelihood = (0..n).map(spread).collect();
        let mark = |(name, kinds): &(&str, &[String])| {
            let at = clue.marks.iter().position(|mark| mark.id == *name).unwrap();
            (
                at,
                kinds
                    .iter()
                    .map(|kind| clue.marks[at].kinds.iter().position(|known| known == kind).unwrap())
                    .collect(),
            )
        };
        all.push(News {
            clue: index,
            at: standing.at,
            likelihood,
            marks: standing.marks.iter().map(mark).collect(),
        });
    }
    let hidden = |news: &News| {
        top(&news.likelihood) == 0
            && pack.suppressions.iter().any(|rule| {
                rule.hides.iter().any(|clue| clue.0 == news.clue)
                    && match rule.by {
                        SuppressedBy::Context(context) => case
                            .contexts
                            .iter()
                            .any(|fact| fact.holds && fact.id == pack.contexts[context.0].id),
                        // Random packs have no tests to wait for; `engine/derive/tests.rs` holds the rule.
                        SuppressedBy::Test { .. } => false,
                        SuppressedBy::Clue { clue, from } => all.iter().any(|other| {
                            let near = other.at == news.at
                                || case.contains(other.at, news.at)
                                || case.contains(news.at, other.at);
                            other.clue == clue.0 && near && top(&other.likelihood) >= from
                        }),
                    }
            })
    };
    let mut left: Vec<News> = all.iter().filter(|news| !hidden(news)).cloned().collect();
    for (index, clue) in pack.clues.iter().enumerate() {
        let Some(pattern) = clue.pattern else { continue };
        let members: Vec<usize> = left
            .iter()
            .filter(|news| news.clue == pattern.of.0)
            .map(|news| top(&news.likelihood))
            .collect();
        let showing = members.iter().filter(|grade| **grade > 0).count();
        let holds = match pattern.kind {
            PatternKind::AllAlike => showing == members.len(),
            PatternKind::OneOnly => showing == 1,
            _ => unimplemented!("patterns by side are tested by example"),
        };
        if members.len() >= pattern.at_least && holds {
            let grade = members.iter().copied().max().unwrap().min(clue.grades.len() - 1);
            left.retain(|news| news.clue != pattern.of.0);
            let likelihood = (0..clue.grades.len())
                .map(|g| f64::from(u8::from(g == grade)))
                .collect();
            left.push(News {
                clue: index,
                at: 0,
                likelihood,
                marks: Vec::new(),
            });
        }
    }
    left
}

/// The likeliest grade, the first of equals.
fn top(likelihood: &[f64]) -> usize {
    (0..likelihood.len())
        .rev()
        .max_by(|a, b| likelihood[*a].total_cmp(&likelihood[*b]))
        .unwrap()
}
