//! How far outcomes rest on the pack's numbers: all of them scaled at random, many times, over the houses of the repository.
//!
//! A chance has its odds scaled, an effect itself; shares of one whole are scaled and made to add up again. Bounds, costs and
//! tables of action are policy and stay as they are.

mod numbers;
mod table;

use std::fs;
use std::path::PathBuf;

use wythe::{Action, Case, Conclusion, Outcome, Pack, weigh};

use crate::files::{between, root, told, yaml_in};
use numbers::{Number, numbers, scaled};

/// The most that a number is scaled by, either way, in decibels of odds: a factor of 2.
const DECIBELS: f64 = 3.0;
/// What came of it.
#[derive(Debug)]
pub struct Robust {
    /// Runs, and the seed they came from.
    pub runs: usize,
    /// See `runs`.
    pub seed: u64,
    /// How many numbers the pack has.
    pub numbers: usize,
    houses: Vec<House>,
    top: Vec<Top>,
}

/// One house.
#[derive(Debug)]
struct House {
    name: String,
    action: Action,
    /// Runs with a lesser and with a greater action.
    lower: usize,
    higher: usize,
}

/// One number that outcomes rest on.
#[derive(Debug)]
struct Top {
    name: String,
    /// How far the deciding conclusions move for a change of 3 dB, root of the mean square over the houses, in decibans.
    moves: f64,
    /// Houses whose action it changes by itself, scaled by 3 dB either way.
    changes: Vec<String>,
}

impl Robust {
    /// Share of all runs over all houses in which the action changed, 0–1.
    pub fn changed(&self) -> f64 {
        let changed: usize = self.houses.iter().map(|house| house.lower + house.higher).sum();
        changed as f64 / (self.runs * self.houses.len()).max(1) as f64
    }

    /// Houses that were weighed.
    pub fn houses(&self) -> usize {
        self.houses.len()
    }
}

/// Weighs every example and published house under `runs` scaled packs, and then under packs with one number scaled: the
/// `most` that outcomes rest on most.
///
/// # Errors
/// A pack or case that cannot be read or weighed, in words.
pub fn robust(runs: usize, seed: u64, most: usize) -> Result<Robust, String> {
    let root = root()?;
    let pack = wythe::built_in_pack();
    let mut cases = Vec::new();
    for folder in ["examples/cases", "tests/published/cases"] {
        for path in yaml_in(&root.join(folder))? {
            cases.push(wythe::read_case(&path).map_err(|error| error.to_string())?);
        }
    }
    let plain: Vec<Outcome> = weighed(pack, &cases)?;
    let deciding: Vec<Option<usize>> = plain.iter().map(deciding).collect();
    let numbers = numbers(pack);
    let workers = std::thread::available_parallelism()
        .map_or(1, |count| count.get())
        .min(runs.max(1));
    let each = |worker: usize| {
        (worker..runs)
            .step_by(workers)
            .map(|run| one_run(pack, &cases, &deciding, numbers.len(), seed, run))
            .collect::<Result<Vec<Run>, String>>()
    };
    let parts: Vec<Result<Vec<Run>, String>> = std::thread::scope(|scope| {
        let handles: Vec<_> = (0..workers).map(|worker| scope.spawn(move || each(worker))).collect();
        let stopped = |_| Err("a run stopped".into());
        handles
            .into_iter()
            .map(|handle| handle.join().unwrap_or_else(stopped))
            .collect()
    });
    let mut all: Vec<Run> = Vec::with_capacity(runs);
    for part in parts {
        all.extend(part?);
    }
    all.sort_by_key(|run| run.run);
    let houses = cases.iter().zip(&plain).enumerate().map(|(at, (case, plain))| {
        let count = |test: &dyn Fn(Action) -> bool| {
            all.iter()
                .filter(|run| run.actions.get(at).is_some_and(|one| test(*one)))
                .count()
        };
        House {
            name: case.id.clone(),
            action: plain.action,
            lower: count(&|one| one < plain.action),
            higher: count(&|one| one > plain.action),
        }
    });
    let houses: Vec<House> = houses.collect();
    let top = top(pack, &cases, &plain, &numbers, (seed, most), &all)?;
    Ok(Robust {
        runs,
        seed,
        numbers: numbers.len(),
        houses,
        top,
    })
}

/// Puts the tables into the pack's README.
///
/// # Errors
/// A file that cannot be read or written, in words.
pub fn write(robust: &Robust) -> Result<(), String> {
    let path: PathBuf = root()?.join("rules/structural/README.md");
    let text = fs::read_to_string(&path).map_err(|error| told(&path, &error))?;
    fs::write(&path, between(&text, "robust", &robust.markdown())?).map_err(|error| told(&path, &error))
}

/// What one scaled pack led to.
struct Run {
    run: usize,
    actions: Vec<Action>,
    /// Log-odds of the deciding conclusion of each house, in decibans.
    odds: Vec<f64>,
}

fn one_run(
    pack: &Pack,
    cases: &[Case],
    deciding: &[Option<usize>],
    numbers: usize,
    seed: u64,
    run: usize,
) -> Result<Run, String> {
    let outcomes = weighed(&scaled(pack, &draws(seed, run, numbers)), cases)?;
    let odds = outcomes.iter().zip(deciding).map(|(outcome, at)| {
        let one = at.and_then(|at| outcome.conclusions.get(at));
        one.map_or(0.0, decibans)
    });
    Ok(Run {
        run,
        actions: outcomes.iter().map(|one| one.action).collect(),
        odds: odds.collect(),
    })
}

fn weighed(pack: &Pack, cases: &[Case]) -> Result<Vec<Outcome>, String> {
    let each = |case: &Case| weigh(pack, case).map_err(|error| format!("{}: {error}", case.id));
    cases.iter().map(each).collect()
}

fn decibans(one: &Conclusion) -> f64 {
    10.0 * (one.chance / (1.0 - one.chance)).log10()
}

/// The conclusion that asks for the house's action, the likeliest of several; none where a limit or a hazard asked, and none
/// where nothing asks for more than a record.
fn deciding(outcome: &Outcome) -> Option<usize> {
    if outcome.action == Action::Record {
        return None;
    }
    let asks = outcome
        .conclusions
        .iter()
        .enumerate()
        .filter(|(_, one)| one.action == outcome.action && one.weight > 0.0);
    asks.max_by(|a, b| a.1.chance.total_cmp(&b.1.chance)).map(|(at, _)| at)
}

/// How much each number is scaled in a run, in decibels: uniform, by SplitMix64 (Steele, Lea and Flood, 2014).
fn draws(seed: u64, run: usize, numbers: usize) -> Vec<f64> {
    let mut state = seed ^ (run as u64).wrapping_mul(0xd134_2543_de82_ef95);
    let mut next = || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    };
    let unit = |bits: u64| (bits >> 11) as f64 / (1_u64 << 53) as f64;
    (0..numbers).map(|_| DECIBELS * (2.0 * unit(next()) - 1.0)).collect()
}

/// The numbers that the deciding conclusions rest on most: slope of the log-odds on each number over the runs, which are
/// drawn independently, and then each of the first `most` by itself.
fn top(
    pack: &Pack,
    cases: &[Case],
    plain: &[Outcome],
    numbers: &[Number],
    (seed, most): (u64, usize),
    all: &[Run],
) -> Result<Vec<Top>, String> {
    let count = all.len().max(1) as f64;
    let mut sums = vec![vec![0.0; numbers.len()]; cases.len()];
    let means: Vec<f64> = (0..cases.len())
        .map(|at| all.iter().filter_map(|run| run.odds.get(at)).sum::<f64>() / count)
        .collect();
    for run in all {
        let draws = draws(seed, run.run, numbers.len());
        for ((sums, odds), mean) in sums.iter_mut().zip(&run.odds).zip(&means) {
            for (sum, draw) in sums.iter_mut().zip(&draws) {
                *sum += draw * (odds - mean);
            }
        }
    }
    // The variance of a uniform draw over ±d is d²/3.
    let scale = DECIBELS / (count * DECIBELS * DECIBELS / 3.0);
    let mut moves: Vec<(usize, f64)> = (0..numbers.len())
        .map(|at| {
            let squares: f64 = sums
                .iter()
                .filter_map(|sums| sums.get(at))
                .map(|sum| (sum * scale).powi(2))
                .sum();
            (at, (squares / cases.len().max(1) as f64).sqrt())
        })
        .collect();
    moves.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut out = Vec::with_capacity(most);
    for (at, moves) in moves.into_iter().take(most) {
        let mut changes: Vec<String> = Vec::new();
        for way in [-DECIBELS, DECIBELS] {
            let mut draws = vec![0.0; numbers.len()];
            if let Some(slot) = draws.get_mut(at) {
                *slot = way;
            }
            for ((case, now), plain) in cases.iter().zip(weighed(&scaled(pack, &draws), cases)?).zip(plain) {
                if now.action != plain.action && !changes.contains(&case.id) {
                    changes.push(case.id.clone());
                }
            }
        }
        let name = numbers.get(at).map(|number| number.name.clone()).unwrap_or_default();
        out.push(Top { name, moves, changes });
    }
    Ok(out)
}

#[cfg(test)]
mod tests;
