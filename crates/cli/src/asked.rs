//! What most commands ask for: a case, a pass, a pack, a form.

use std::borrow::Cow;
use std::path::PathBuf;

use clap::Args;
use wythe::report::Form;
use wythe::{Case, Error, Outcome, Pack};

use crate::run::{Stopped, as_of, pack};

/// A case, and what to weigh it by.
#[derive(Debug, Args)]
pub struct Asked {
    /// The case file.
    pub case: PathBuf,
    /// Weigh the case as it stood after this pass.
    #[arg(long, value_name = "PASS")]
    pub as_of: Option<String>,
    /// The folder of another rule pack than the built-in one.
    #[arg(long, value_name = "DIR")]
    pub pack: Option<PathBuf>,
}

impl Asked {
    /// The pack and the case.
    pub fn read(&self) -> Result<(Cow<'static, Pack>, Case), Stopped> {
        let pack = pack(self.pack.as_ref())?;
        let case = as_of(wythe::read_case(&self.case)?, self.as_of.as_deref())?;
        Ok((pack, case))
    }

    /// The pack, the case and its outcome.
    pub fn weighed(&self) -> Result<(Cow<'static, Pack>, Case, Outcome), Stopped> {
        let (pack, case) = self.read()?;
        let outcome = wythe::weigh(&pack, &case).map_err(Error::from)?;
        Ok((pack, case, outcome))
    }
}

/// How to write text.
#[derive(Clone, Copy, Debug, Args)]
pub struct Written {
    /// Print Markdown.
    #[arg(long)]
    pub markdown: bool,
}

impl Written {
    /// The form asked for.
    pub fn form(self) -> Form {
        if self.markdown { Form::Markdown } else { Form::Text }
    }
}
