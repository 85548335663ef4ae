//! `wythe client`.

use clap::Args;
use wythe::Error;

use crate::asked::{Asked, Written};
use crate::run::Stopped;

/// `wythe client`.
#[derive(Debug, Args)]
pub struct Client {
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    written: Written,
}

/// What is printed.
pub fn client(asked: &Client) -> Result<String, Stopped> {
    let (pack, case, outcome) = asked.asked.weighed()?;
    Ok(wythe::report::client(&pack, &case, &outcome, asked.written.form()).map_err(Error::from)?)
}
