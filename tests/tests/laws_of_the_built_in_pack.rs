//! The laws on the built-in pack and the example houses, where these say more than random draws do.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use std::fs;

use wythe::built_in_pack;
use wythe_case::{Case, Looked, Seen, Sighting, Sure};
use wythe_engine::{About, NoticeKind, Options, reasons, weigh, weigh_with};
use wythe_measure::Measured;
use wythe_pack::guard::refused;
use wythe_pack::{Action, Bound, ClueIx, Node};
use wythe_tests::same::{
    SAME, assert_same_ledgers, assert_same_numbers, assert_steps_sum, assert_unrelated, assert_written_and_read,
    forgeries, keeps_to_itself,
};
use wythe_tests::{HOUSES, causes, house, none_there, root, sighting, sites, with_pass};

/// The places and contexts of an example house, and nothing seen.
fn bare(name: &str) -> Case {
    let mut case = house(name);
    case.passes.clear();
    case.repairs.clear();
    case
}

/// Each clue at the first place of its kind.
fn first_sites(case: &Case) -> Vec<(usize, usize)> {
    let mut all = sites(built_in_pack(), case);
    all.dedup_by_key(|(clue, _)| *clue);
    all
}

/// A reading of a measured clue, with the error that its instrument has.
fn measured(clue: usize, value: f64) -> Seen {
    let by = built_in_pack().clues[clue].measured_by.as_ref().unwrap();
    let reading = Measured {
        value,
        sd: None,
        quantity: by.quantity,
        text: value.to_string(),
    };
    Seen::Measured {
        reading,
        with: None,
        from_photo: false,
    }
}

/// Here it holds for every clue, opposed responses too.
#[test]
fn looked_and_none_never_raises_its_cause() {
    let pack = built_in_pack();
    let mut case = bare("quiet-corner");
    for (clue, at) in sites(pack, &case) {
        let before = weigh(pack, &case).unwrap();
        case = with_pass(&case, vec![sighting(pack, (clue, at), none_there())]);
        case.passes.last_mut().unwrap().id = format!("pass {}", case.passes.len());
        let after = weigh(pack, &case).unwrap();
        let causes = causes(pack, &case, (Node::Clue(ClueIx(clue)), at), None);
        for (one, other) in before.conclusions.iter().zip(&after.conclusions) {
            if let About::Mechanism { mechanism, at: place } = one.about
                && causes.contains(&(mechanism.0, place))
            {
                let names = (&pack.clues[clue].id, &pack[mechanism].id);
                assert!(
                    other.chance <= one.chance + 1e-12,
                    "{names:?}: {} then {}",
                    one.chance,
                    other.chance
                );
            }
        }
    }
}

#[test]
fn not_reached_changes_nothing() {
    let pack = built_in_pack();
    for name in HOUSES {
        let case = house(name);
        let why = || Seen::NotReached {
            why: "a fence".into(),
            ask_access: false,
        };
        let extra = sites(pack, &case)
            .into_iter()
            .map(|site| sighting(pack, site, why()))
            .collect();
        let (before, after) = (
            weigh(pack, &case).unwrap(),
            weigh(pack, &with_pass(&case, extra)).unwrap(),
        );
        assert_same_numbers(&before, &after);
        assert_same_ledgers(&before, &after);
    }
}

#[test]
fn steps_sum_to_the_weight() {
    let pack = built_in_pack();
    for name in HOUSES {
        assert_steps_sum(&weigh(pack, &house(name)).unwrap());
    }
}

#[test]
fn every_weight_is_a_number_however_much_was_seen() {
    let pack = built_in_pack();
    for grade in [1, 9] {
        let case = bare("quiet-corner");
        let worst = |clue: usize| {
            pack.clues[clue].grades[grade.min(pack.clues[clue].grades.len() - 1)]
                .id
                .clone()
        };
        let all = first_sites(&case)
            .into_iter()
            .map(|site| sighting(pack, site, Seen::Grade(worst(site.0))))
            .collect();
        let outcome = weigh(pack, &with_pass(&case, all)).unwrap();
        for one in &outcome.conclusions {
            assert!(
                one.weight.is_finite() && one.steps.iter().all(|step| step.weight.is_finite()),
                "{one:?}"
            );
        }
        assert_steps_sum(&outcome);
    }
}

#[test]
fn every_chain_checks() {
    let pack = built_in_pack();
    for name in HOUSES {
        let case = house(name);
        let outcome = weigh(pack, &case).unwrap();
        let mut leading: Vec<_> = outcome.conclusions.iter().collect();
        leading.sort_by(|one, other| other.weight.total_cmp(&one.weight));
        for one in leading.into_iter().take(4) {
            let chains = reasons(pack, &case, one.about).unwrap().chains;
            assert!(!chains.is_empty(), "{name}: nothing leads to {:?}", one.about);
            for chain in chains {
                assert_eq!(chain.check(pack, &case, &outcome), Ok(()));
                assert!(
                    forgeries(&chain)
                        .iter()
                        .all(|forged| forged.check(pack, &case, &outcome).is_err())
                );
            }
        }
    }
}

#[test]
fn pruning_changes_nothing() {
    let pack = built_in_pack();
    let mut options = Options::default();
    options.prune = false;
    for name in HOUSES {
        let case = house(name);
        let (pruned, whole) = (weigh(pack, &case).unwrap(), weigh_with(pack, &case, options).unwrap());
        assert_same_numbers(&pruned, &whole);
        assert_same_ledgers(&pruned, &whole);
    }
}

#[test]
fn an_unrelated_place_changes_nothing() {
    let pack = built_in_pack();
    let kinds: Vec<usize> = (1..pack.kinds.len())
        .filter(|kind| keeps_to_itself(pack, *kind))
        .collect();
    assert!(!kinds.is_empty());
    for name in HOUSES {
        let case = house(name);
        let before = weigh(pack, &case).unwrap();
        for kind in &kinds {
            assert_unrelated(pack, &case, *kind, &before);
        }
    }
}

/// A hair over each limit, its notice stands and asks for its action; a hair under, it does not.
#[test]
fn a_passed_limit_never_lowers_an_action() {
    let pack = built_in_pack();
    let case = bare("quiet-corner");
    let asked = |sites: &[(usize, usize)], seen: Seen, limit: usize| {
        let marks = &pack.limits[limit].marks;
        let noted = |site: &(usize, usize)| Sighting {
            marks: marks
                .iter()
                .map(|(mark, kind)| (mark.clone(), vec![kind.clone()]))
                .collect(),
            ..sighting(pack, *site, seen.clone())
        };
        let seen = sites.iter().map(noted).collect();
        let outcome = weigh(pack, &with_pass(&case, seen)).unwrap();
        let stands = outcome
            .notices
            .iter()
            .any(|notice| notice.kind == NoticeKind::Limit(limit));
        (stands, outcome.action)
    };
    let mut tried = 0;
    for (index, limit) in pack.limits.iter().enumerate() {
        let of_clue = sites(pack, &case).into_iter().filter(|(clue, _)| *clue == limit.clue.0);
        let at: Vec<(usize, usize)> = of_clue.take(limit.number).collect();
        if at.len() < limit.number {
            continue;
        }
        let clue = limit.clue.0;
        let grade = |at: usize| Seen::Grade(pack[limit.clue].grades[at].id.clone());
        let (over, under) = match &limit.bound {
            Bound::Over { value, .. } => (measured(clue, value * 1.000_001), measured(clue, *value)),
            Bound::Under { value, .. } => (measured(clue, value * 0.999_999), measured(clue, *value)),
            Bound::From(1) => (grade(1), none_there()),
            Bound::From(from) => (grade(*from), grade(from - 1)),
        };
        let (stands, action) = asked(&at, over.clone(), index);
        assert!(stands && action >= limit.at_least, "{}: {action:?}", limit.id);
        assert!(!asked(&at, under, index).0, "{}", limit.id);
        assert!(!asked(&at[1..], over, index).0, "{}: one fewer", limit.id);
        tried += 1;
    }
    assert!(tried >= 8, "only {tried} limits have a place on this house");
}

/// On a class edge the two classes share a reading evenly, and a thousandth of the error either way moves no chance by
/// more than a thousandth.
#[test]
fn a_reading_on_a_class_edge_moves_smoothly() {
    let pack = built_in_pack();
    let case = bare("quiet-corner");
    let mut tried = 0;
    for (clue, at) in first_sites(&case) {
        let Some(by) = &pack.clues[clue].measured_by else {
            continue;
        };
        for (grade, edge) in pack.clues[clue].bounds().into_iter().enumerate() {
            let at_value = |value: f64| {
                weigh(
                    pack,
                    &with_pass(
                        &case,
                        vec![sighting(pack, (clue, at), measured(clue, by.scaled(value)))],
                    ),
                )
                .unwrap()
            };
            let on = at_value(edge);
            let likelihood = &on.readings[0].likelihood;
            assert!(
                (likelihood[grade] - likelihood[grade + 1]).abs() < 0.05,
                "{} at {edge}: {likelihood:?}",
                pack.clues[clue].id
            );
            let (below, above) = (at_value(edge - by.sd / 1000.0), at_value(edge + by.sd / 1000.0));
            for ((a, b), c) in below.conclusions.iter().zip(&on.conclusions).zip(&above.conclusions) {
                assert!(
                    (a.chance - c.chance).abs() < 2e-3,
                    "{}: {} then {}",
                    pack.clues[clue].id,
                    a.chance,
                    c.chance
                );
                let between = a.chance.min(c.chance) - SAME <= b.chance && b.chance <= a.chance.max(c.chance) + SAME;
                assert!(
                    between,
                    "{}: {} is not between {} and {}",
                    pack.clues[clue].id, b.chance, a.chance, c.chance
                );
            }
            tried += 1;
        }
    }
    assert!(tried > 20, "only {tried} class edges");
}

#[test]
fn same_input_same_bytes() {
    let pack = built_in_pack();
    for name in HOUSES {
        let case = house(name);
        let once = || wythe::page_of(pack, &case).unwrap();
        assert_eq!(once().plain().unwrap(), once().plain().unwrap());
        assert_eq!(once().json().unwrap(), once().json().unwrap());
    }
}

#[test]
fn write_then_read_is_the_same_case() {
    for name in HOUSES {
        assert_written_and_read(built_in_pack(), &house(name));
    }
}

/// No rule string and no output says that something is or is not so: as written, as kept, and as it comes out now.
#[test]
fn no_output_makes_a_determination() {
    let pack = built_in_pack();
    // Trials are no part of the pack: they say what to expect of it, and nothing of them is printed. Retired names are
    // retired for what they say.
    for (path, text) in wythe_rules::structural()
        .into_iter()
        .filter(|(path, _)| !path.starts_with("trials/") && *path != "retired.yaml")
    {
        for line in text
            .lines()
            .filter(|line| !line.contains("address:") && !line.trim_start().starts_with('#'))
        {
            assert_eq!(refused(line), None, "{path}: {line}");
        }
    }
    let mut kept = 0;
    let mut folders = vec![root().join("tests/golden")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                assert_eq!(refused(&fs::read_to_string(&path).unwrap()), None, "{}", path.display());
                kept += 1;
            }
        }
    }
    assert!(kept > 0 || !root().join("tests/golden").exists());
    for name in HOUSES {
        let case = house(name);
        let page = wythe::page_of(pack, &case).unwrap();
        assert_eq!(refused(&page.plain().unwrap()), None, "{name}");
        assert_eq!(refused(&page.json().unwrap()), None, "{name}");
    }
}

/// Each clue at its worst, alone: the page of it is let through, so no sentence of the pack is refused in company.
#[test]
fn no_single_clue_makes_a_determination() {
    let pack = built_in_pack();
    let case = bare("short-seat");
    for (clue, at) in first_sites(&case) {
        let worst = pack.clues[clue].grades.last().unwrap().id.clone();
        let case = with_pass(
            &case,
            vec![Sighting {
                sure: Sure::Fairly,
                ..sighting(pack, (clue, at), Seen::Grade(worst))
            }],
        );
        let outcome = weigh(pack, &case).unwrap();
        let text = wythe::report::text(pack, &case, &outcome).unwrap();
        assert!(
            outcome.action >= Action::Record && refused(&text).is_none(),
            "{}",
            pack.clues[clue].id
        );
    }
    let part = Seen::NoneThere { looked: Looked::Part };
    let all = first_sites(&case)
        .into_iter()
        .map(|site| sighting(pack, site, part.clone()))
        .collect();
    let case = with_pass(&case, all);
    assert!(wythe::report::text(pack, &case, &weigh(pack, &case).unwrap()).is_ok());
}
