//! pack.yaml: who the pack is, and its policy.

use wythe_text::{Doc, Item};

use super::desk::Desk;
use crate::policy::{LOOK_HOUR, LOOK_MINUTES};
use crate::{Action, Bounds, Consequence, Corroboration, Effort, FORMAT, Policy, Referral, Unsure};

const KEYS: [&str; 18] = [
    "format",
    "id",
    "title",
    "version",
    "region",
    "reference_population",
    "support",
    "referral",
    "context_cap",
    "part_looked",
    "unsure",
    "photo_error",
    "misfit",
    "monitor",
    "look_minutes",
    "look_hour",
    "consequences",
    "note",
];

pub(super) fn identity(desk: &mut Desk, doc: &Doc) -> (String, String, String, String, String) {
    let fields = doc.root().fields(&mut Default::default(), &KEYS);
    if let Some(format) = fields.required(&mut desk.problems, "format")
        && let Some(number) = format.integer(&mut desk.problems)
        && number != FORMAT
    {
        format.problem(
            &mut desk.problems,
            format!("this is a pack of format {number}"),
            Some(format!("this version reads format {FORMAT}")),
        );
    }
    let mut text = |key: &str| {
        let item = fields.required(&mut desk.problems, key);
        desk.words_of(item)
    };
    (
        text("id"),
        text("title"),
        text("version"),
        text("region"),
        text("reference_population"),
    )
}

pub(super) fn policy(desk: &mut Desk, doc: &Doc) -> Policy {
    let fields = doc.root().fields(&mut desk.problems, &KEYS);
    let need = |desk: &mut Desk, key| fields.required(&mut desk.problems, key);
    let support = need(desk, "support");
    let referral = need(desk, "referral");
    let unsure = need(desk, "unsure");
    let monitor = need(desk, "monitor");
    let consequences = need(desk, "consequences");
    let [cap, part, photo, misfit] = ["context_cap", "part_looked", "photo_error", "misfit"].map(|key| need(desk, key));
    let unsure = group(desk, unsure, &["fairly", "unsure"], &[0.0, 0.0], &[1.0, 1.0]);
    let months = group(desk, monitor, &["months"], &[1.0], &[120.0]);
    let minutes = fields.optional("look_minutes").map(|item| {
        let low = [0.1; 4];
        let high = [100_000.0; 4];
        group(desk, Some(item), &Effort::NAMES, &low, &high)
    });
    let hour = fields
        .optional("look_hour")
        .map(|item| group(desk, Some(item), &["costs"], &[0.0], &[1000.0]));
    Policy {
        bounds: bounds(desk, support),
        referral: referral_of(desk, referral),
        context_cap: desk.number_in(cap, 1.0, 1e6),
        part_looked: desk.number_in(part, 0.01, 0.99),
        unsure: Unsure {
            fairly: unsure.first().copied().unwrap_or(0.0),
            unsure: unsure.get(1).copied().unwrap_or(0.0),
        },
        photo_error: desk.number_in(photo, 1.0, 100.0),
        misfit: desk.number_in(misfit, 0.0, 1000.0),
        monitor_months: months.first().copied().unwrap_or(12.0),
        look_minutes: minutes
            .and_then(|minutes| minutes.as_slice().try_into().ok())
            .unwrap_or(LOOK_MINUTES),
        look_hour: hour.and_then(|hour| hour.first().copied()).unwrap_or(LOOK_HOUR),
        consequences: rows(desk, consequences),
    }
}

/// Required numbers of a mapping, each within bounds; a `reason` may stand beside them.
fn group(desk: &mut Desk, item: Option<Item<'_>>, keys: &[&str], low: &[f64], high: &[f64]) -> Vec<f64> {
    let Some(item) = item else { return low.to_vec() };
    let mut known = keys.to_vec();
    known.push("reason");
    let fields = item.fields(&mut desk.problems, &known);
    keys.iter()
        .zip(low.iter().zip(high))
        .map(|(key, (low, high))| {
            let value = fields.required(&mut desk.problems, key);
            desk.number_in(value, *low, *high)
        })
        .collect()
}

fn bounds(desk: &mut Desk, item: Option<Item<'_>>) -> Bounds {
    let keys = [
        "spoken_against",
        "weakly",
        "share_of_prior",
        "halved",
        "not_moved",
        "some",
        "fair",
        "strong",
        "cannot_tell",
    ];
    let low = [0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0];
    let high = [1.0, 1.0, 1.0, 1.0, 100.0, 1.0, 1.0, 1.0, 1.0];
    let values = group(desk, item, &keys, &low, &high);
    let [
        spoken_against,
        weakly,
        share_of_prior,
        halved,
        not_moved,
        some,
        fair,
        strong,
        cannot_tell,
    ] = values
        .as_slice()
        .try_into()
        .unwrap_or([0.05, 0.2, 0.333, 0.5, 2.0, 0.2, 0.5, 0.85, 0.25]);
    if !(spoken_against <= weakly && some < fair && fair < strong)
        && let Some(item) = item
    {
        item.problem(
            &mut desk.problems,
            "these bounds are out of order",
            Some("they rise: spoken_against, weakly; and some, fair, strong".into()),
        );
    }
    Bounds {
        spoken_against,
        weakly,
        share_of_prior,
        halved,
        not_moved,
        some,
        fair,
        strong,
        cannot_tell,
    }
}

fn referral_of(desk: &mut Desk, item: Option<Item<'_>>) -> Referral {
    let mut referral = Referral {
        miss_costs: 1.0,
        reason: String::new(),
        corroborate: Corroboration {
            groups: 2,
            zones: 2,
            at_least: 1.0,
        },
    };
    let Some(item) = item else { return referral };
    let fields = item.fields(&mut desk.problems, &["miss_costs", "reason", "corroborate"]);
    let [miss, reason, corroborate] =
        ["miss_costs", "reason", "corroborate"].map(|key| fields.required(&mut desk.problems, key));
    referral.miss_costs = desk.number_in(miss, 0.1, 1000.0);
    referral.reason = desk.words_of(reason);
    let numbers = group(
        desk,
        corroborate,
        &["groups", "zones", "at_least"],
        &[1.0, 1.0, 0.0],
        &[10.0, 5.0, 100.0],
    );
    if let [groups, zones, at_least] = numbers.as_slice() {
        referral.corroborate = Corroboration {
            groups: *groups as usize,
            zones: *zones as usize,
            at_least: *at_least,
        };
    }
    referral
}

fn rows(desk: &mut Desk, item: Option<Item<'_>>) -> Vec<Consequence> {
    let mut rows = Vec::new();
    for (id, row) in item.map(|item| item.entries(&mut desk.problems)).unwrap_or_default() {
        let mut actions = [Action::Record; 7];
        for (support, value) in desk.supports(row) {
            let action = desk.action(Some(value));
            if let Some(slot) = actions.get_mut(support as usize) {
                *slot = action;
            }
        }
        rows.push(Consequence {
            id: id.to_owned(),
            actions,
        });
    }
    rows
}
