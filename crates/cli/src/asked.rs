//! What most commands ask for: a case, a pass, a pack, a form.

use std::borrow::Cow;
use std::path::PathBuf;

use clap::Args;
use wythe::report::Form;
use wythe::{Case, Error, Outcome, Pack};

use crate::run::{Stopped, as_of};

/// The rules to weigh by.
#[derive(Clone, Debug, Default, Args)]
pub struct Rules {
    /// The folder of another rule pack than the built-in one.
    #[arg(long, value_name = "DIR")]
    pub pack: Option<PathBuf>,
    /// Where the house stands, when the case does not say: the numbers of another region than the pack's own, such as frost.
    #[arg(long, value_name = "REGION")]
    pub region: Option<String>,
}

impl Rules {
    /// The pack, with the numbers of the region asked for.
    pub fn read(&self) -> Result<Cow<'static, Pack>, Stopped> {
        let pack = match &self.pack {
            Some(dir) => Cow::Owned(wythe::read_pack(dir)?),
            None => Cow::Borrowed(wythe::built_in_pack()),
        };
        match &self.region {
            Some(region) => Ok(Cow::Owned(pack.in_region(region).map_err(Stopped::use_of)?)),
            None => Ok(pack),
        }
    }

    /// The pack, with the numbers that hold where a case stands.
    pub fn read_for(&self, case: &Case) -> Result<Cow<'static, Pack>, Stopped> {
        let pack = self.read()?;
        Ok(match wythe::pack_of(&pack, case) {
            Cow::Owned(there) => Cow::Owned(there),
            Cow::Borrowed(_) => pack,
        })
    }
}

/// A case, and what to weigh it by.
#[derive(Debug, Args)]
pub struct Asked {
    /// The case file.
    pub case: PathBuf,
    /// Weigh the case as it stood after this pass, or at the end of this day (2026-03-14).
    #[arg(long, value_name = "PASS")]
    pub as_of: Option<String>,
    #[command(flatten)]
    pub rules: Rules,
}

impl Asked {
    /// The pack and the case.
    pub fn read(&self) -> Result<(Cow<'static, Pack>, Case), Stopped> {
        let case = as_of(wythe::read_case(&self.case)?, self.as_of.as_deref())?;
        Ok((self.rules.read_for(&case)?, case))
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
