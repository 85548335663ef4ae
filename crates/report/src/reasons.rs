//! The reasons for one conclusion, as text.

use wythe_case::Case;
use wythe_engine::{About, Flag, Outcome, Reasons};
use wythe_pack::{Node, Pack};

use crate::ReportError;

/// todo
pub fn reasons_text(pack: &Pack, case: &Case, outcome: &Outcome, reasons: &Reasons) -> Result<String, ReportError> {
    Ok(String::new())
}
