//! Outcome to sentences, and sentences to a page.
//!
//! [`page`] turns an outcome into a [`Page`]: a small value in which every number stands beside the ids of its
//! sightings, rules and sources. [`text`] and [`json`] write it. [`reasons_text`] says why one conclusion came out as it
//! did. Nothing leaves this crate before [`wythe_pack::guard`] has read it: a determination is a [`ReportError`], and is
//! never printed.
//!
//! This crate must not know how weights are computed.
#![warn(clippy::indexing_slicing)]

mod asked;
mod build;
mod changes;
mod client;
mod compare;
mod engineer;
mod graph;
mod jsontext;
pub mod lesson;
mod number;
mod page;
mod phrase;
mod plain;
mod plan;
mod reasons;
mod reckoning;
mod sized;
mod steps;
mod svg;
mod units;
mod wrap;

pub use asked::*;
pub use client::client;
pub use compare::{
    ComparePage, Comparison, Difference, FoundSays, Leg, PairSays, PartSays, SignSays, compare_page, compared,
};
pub use engineer::{Attachment, engineer};
pub use graph::reasoning_svg;
pub use number::{odds_in_words, short_chance, whole_parts};
pub use page::*;
pub use plan::{Key, plan_svg};
pub use reasons::reasons_text;
pub use steps::{MovedSays, StandSays, StepSays, WalkPage, steps, walk_page};
pub use wrap::Form;

use wythe_case::Case;
use wythe_engine::Outcome;
use wythe_pack::Pack;
use wythe_pack::guard::refused;

/// A report could not be given.
#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// A sentence makes a determination: that is licensed practice, and no part of a report.
    #[error(
        "nothing is printed: \"{phrase}\" makes a determination, in: {sentence}\nsay what was seen instead, and leave the rest to a licensed professional engineer"
    )]
    Determination {
        /// The phrase.
        phrase: &'static str,
        /// The sentence that it stands in: often an observer's note.
        sentence: String,
    },
    /// A value could not be written as JSON.
    #[error("the page could not be written as JSON: {0}")]
    Json(String),
}

/// The page of an outcome.
///
/// # Errors
/// A sentence that makes a determination.
pub fn page(pack: &Pack, case: &Case, outcome: &Outcome) -> Result<Page, ReportError> {
    let case = wythe_engine::with_computed(pack, case);
    guarded(build::page(pack, &case, outcome))
}

/// The page of an outcome, with what changed since an earlier outcome of the same case.
///
/// # Errors
/// A sentence that makes a determination.
pub fn page_since(pack: &Pack, case: &Case, before: &Outcome, outcome: &Outcome) -> Result<Page, ReportError> {
    let case = wythe_engine::with_computed(pack, case);
    let mut page = build::page(pack, &case, outcome);
    page.changes = Some(changes::changes(pack, &case, before, outcome));
    guarded(page)
}

/// An outcome as plain text of at most 80 columns.
///
/// # Errors
/// A sentence that makes a determination.
pub fn text(pack: &Pack, case: &Case, outcome: &Outcome) -> Result<String, ReportError> {
    page(pack, case, outcome)?.plain()
}

/// An outcome as JSON: a [`Page`], keys in the order of its fields.
///
/// # Errors
/// A sentence that makes a determination.
pub fn json(pack: &Pack, case: &Case, outcome: &Outcome) -> Result<String, ReportError> {
    page(pack, case, outcome)?.json()
}

/// What differs between two outcomes of one case, and which sightings did it, as plain text.
///
/// # Errors
/// A sentence that makes a determination.
pub fn changes(pack: &Pack, case: &Case, before: &Outcome, after: &Outcome) -> Result<String, ReportError> {
    Ok(plain::changes_alone(&page_since(pack, case, before, after)?, None))
}

/// An action as a page names it, in words.
pub fn action_words(action: &str) -> &'static str {
    plain::action_name(action)
}

impl Page {
    /// As plain text of at most 80 columns.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn plain(&self) -> Result<String, ReportError> {
        self.written(Form::Text)
    }

    /// As text in a form.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn written(&self, form: Form) -> Result<String, ReportError> {
        plain::page(self).written(form)
    }

    /// As JSON.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, ReportError> {
        let value = serde_json::to_value(self).map_err(|error| ReportError::Json(error.to_string()))?;
        checked(jsontext::written(&value))
    }
}

/// The page, when no string in it makes a determination.
fn guarded(page: Page) -> Result<Page, ReportError> {
    let tree = serde_json::to_value(&page).map_err(|error| ReportError::Json(error.to_string()))?;
    strings(&tree)?;
    Ok(page)
}

pub(crate) fn strings(value: &serde_json::Value) -> Result<(), ReportError> {
    match value {
        serde_json::Value::String(text) => sentence(text),
        serde_json::Value::Array(items) => items.iter().try_for_each(strings),
        serde_json::Value::Object(members) => members.values().try_for_each(strings),
        _ => Ok(()),
    }
}

fn sentence(text: &str) -> Result<(), ReportError> {
    match refused(text) {
        Some(phrase) => Err(ReportError::Determination {
            phrase,
            sentence: text.to_owned(),
        }),
        None => Ok(()),
    }
}

/// Finished output, when it makes no determination as a whole: two harmless lines can make one together.
pub(crate) fn checked(text: String) -> Result<String, ReportError> {
    match refused(&text) {
        Some(phrase) => Err(ReportError::Determination {
            phrase,
            sentence: around(&text, phrase),
        }),
        None => Ok(text),
    }
}

/// The first paragraph in which a phrase stands, or the first lines.
fn around(text: &str, phrase: &str) -> String {
    let paragraph = text
        .split("\n\n")
        .find(|part| refused(part) == Some(phrase))
        .unwrap_or(text);
    paragraph.split_whitespace().take(60).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
