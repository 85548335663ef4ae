//! `wythe compare`.

use std::path::{Path, PathBuf};

use clap::Args;
use wythe::{Case, Error};

use crate::asked::{Rules, Written};
use crate::run::{Stopped, as_of};

/// The end of its long help.
pub const COMPARE: &str = "\
Two case files of one house: two visits, or two inspectors. Their places must
go by the same ids. Or one case file and two of its passes:

  wythe compare may.yaml october.yaml
  wythe compare house.yaml --pass first --pass second
  wythe compare house.yaml --pass ann --pass ben --alone

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use;
3 too tangled to weigh exactly";

/// `wythe compare`.
#[derive(Debug, Args)]
pub struct Compare {
    /// The case file.
    first: PathBuf,
    /// Another case file of the same house.
    #[arg(required_unless_present = "pass", conflicts_with = "pass")]
    second: Option<PathBuf>,
    /// A pass of the case; give two. Each is taken with all before it.
    #[arg(long, value_name = "PASS")]
    pass: Vec<String>,
    /// Take each pass without those before it: two inspectors.
    #[arg(long, requires = "pass")]
    alone: bool,
    #[command(flatten)]
    rules: Rules,
    /// Print JSON, with every sign and every conclusion that moved.
    #[arg(long, conflicts_with = "markdown")]
    json: bool,
    #[command(flatten)]
    written: Written,
}

/// What is printed.
pub fn compare(asked: &Compare) -> Result<String, Stopped> {
    let case = wythe::read_case(&asked.first)?;
    let (names, first, second) = match (&asked.second, asked.pass.as_slice()) {
        (Some(path), _) => {
            let other = wythe::read_case(path)?;
            share_places(&case, &other)?;
            (names_of([&asked.first, path], [&case, &other]), case, other)
        }
        (None, [one, other]) => {
            let [first, second] = [one, other].map(|pass| of_pass(&case, pass, asked.alone));
            let (first, second) = (first?, second?);
            ([one, other].map(|pass| named(&case, pass)), first, second)
        }
        (None, passes) => {
            return Err(Stopped::use_of(format!(
                "give --pass twice, not {} times",
                passes.len()
            )));
        }
    };
    let pack = asked.rules.read_for(&first)?;
    let comparison = wythe::compare(&pack, names, &first, &second)?;
    if asked.json {
        let page = wythe::report::compare_page(&pack, &comparison).map_err(Error::from)?;
        return Ok(page.json().map_err(Error::from)?);
    }
    Ok(wythe::report::compared(&pack, &comparison, asked.written.form()).map_err(Error::from)?)
}

/// The case after a pass; or with that pass alone.
fn of_pass(case: &Case, pass: &str, alone: bool) -> Result<Case, Stopped> {
    let mut case = as_of(case.clone(), Some(pass))?;
    if alone {
        case.passes.retain(|made| made.id == pass);
        case.repairs.clear();
    }
    Ok(case)
}

/// A pass, and who made it.
fn named(case: &Case, pass: &str) -> String {
    let by = case
        .passes
        .iter()
        .find(|made| made.id == pass)
        .and_then(|made| made.by.as_ref());
    by.map_or_else(|| format!("pass \"{pass}\""), |by| format!("pass \"{pass}\" by {by}"))
}

/// Two cases by their ids; by their files where the ids are the same.
fn names_of(paths: [&Path; 2], cases: [&Case; 2]) -> [String; 2] {
    let [one, other] = cases.map(|case| case.id.clone());
    if one != other {
        return [one, other];
    }
    paths.map(|path| path.display().to_string())
}

/// Two cases of one house name its places alike.
fn share_places(one: &Case, other: &Case) -> Result<(), Stopped> {
    let mut shared = 0;
    for place in one.places.iter().skip(1) {
        if let Some(there) = other.place(&place.id).and_then(|at| other.places.get(at)) {
            if there.kind != place.kind {
                return Err(Stopped::use_of(format!(
                    "the place `{}` is of the kind `{}` in the one case and `{}` in the other; give one place one kind",
                    place.id, place.kind, there.kind
                )));
            }
            shared += 1;
        }
    }
    if shared == 0 {
        return Err(Stopped::use_of(
            "the two cases have no place in common; give the same places the same ids in both",
        ));
    }
    Ok(())
}
