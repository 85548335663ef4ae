//! What was asked of a weighed case, as pages: values with words beside them, for text and JSON.

mod look;
mod look_text;
mod one_look;
mod reasons;
mod reasons_text;
pub(crate) mod says;
mod values;

use wythe_case::Case;
use wythe_engine::{Asked, Looks, Outcome, Reasons};
use wythe_pack::Pack;

pub use look::{LookPage, LookPlace, LookSays, LookTells, LookWait};
pub use one_look::{look_answered, look_anyway, look_question};
pub use values::{
    ApartSays, AskedPage, GradeSays, KeptDown, MarginSays, MissingSays, ReadingSays, RivalSays, SeparatesSays,
    StorySays,
};

use crate::wrap::Form;
use crate::{ReportError, checked, jsontext, strings};

/// The page of what to look at next; of one place only, when `at` is its index in the case.
///
/// # Errors
/// A sentence that makes a determination.
pub fn look_page(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    looks: &Looks,
    at: Option<usize>,
) -> Result<LookPage, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    let page = look::page(pack, case, outcome, looks, at);
    guarded(&page)?;
    Ok(page)
}

/// The page of what was asked of one conclusion.
///
/// # Errors
/// A sentence that makes a determination.
pub fn asked_page(pack: &Pack, case: &Case, outcome: &Outcome, asked: &Asked) -> Result<AskedPage, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    let page = reasons::page(pack, case, outcome, asked);
    guarded(&page)?;
    Ok(page)
}

/// What was asked of one conclusion of a case with what was computed in it, and what kept it down whatever its support.
pub(crate) fn asked_of(pack: &Pack, case: &Case, outcome: &Outcome, asked: &Asked) -> (AskedPage, KeptDown) {
    (
        reasons::page(pack, case, outcome, asked),
        reasons::kept_down(pack, case, outcome, asked),
    )
}

/// The reasons for one conclusion, with rivals, what would change it, and the story, as text in a form.
///
/// # Errors
/// A sentence that makes a determination.
pub fn reasons_and_asked_text(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    reasons: &Reasons,
    asked: &Asked,
    form: Form,
) -> Result<String, ReportError> {
    let page = asked_page(pack, case, outcome, asked)?;
    crate::reasons::with(pack, case, outcome, reasons, form, |lines| {
        reasons_text::put(&page, lines)
    })
}

impl LookPage {
    /// A walking list as plain text of at most 80 columns.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn plain(&self) -> Result<String, ReportError> {
        self.written(Form::Text)
    }

    /// A walking list in a form.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn written(&self, form: Form) -> Result<String, ReportError> {
        look_text::text(self).written(form)
    }

    /// As JSON.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, ReportError> {
        json(self)
    }
}

impl AskedPage {
    /// As JSON.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, ReportError> {
        json(self)
    }
}

pub(crate) fn json(page: &impl serde::Serialize) -> Result<String, ReportError> {
    let value = serde_json::to_value(page).map_err(|error| ReportError::Json(error.to_string()))?;
    checked(jsontext::written(&value))
}

pub(crate) fn guarded(page: &impl serde::Serialize) -> Result<(), ReportError> {
    let value = serde_json::to_value(page).map_err(|error| ReportError::Json(error.to_string()))?;
    strings(&value)
}
