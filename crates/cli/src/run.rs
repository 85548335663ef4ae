//! From arguments to what is printed.

use wythe::report::Page;
use wythe::{About, Case, Conclusion, Date, Error, Outcome, Pack, WeighError, Weighed, nearest};

use crate::args::{Args, Command, Reasons, Weigh};
use crate::question::question;

/// Why nothing was printed.
#[derive(Debug)]
pub struct Stopped {
    /// The exit code.
    pub code: u8,
    /// Why.
    pub says: String,
}

impl Stopped {
    /// Wrong use.
    pub fn use_of(says: impl Into<String>) -> Self {
        Stopped {
            code: 2,
            says: says.into(),
        }
    }
}

impl From<Error> for Stopped {
    fn from(error: Error) -> Self {
        let code = match &error {
            Error::Weigh(WeighError::TooTangled { .. } | WeighError::TooLarge { .. } | WeighError::TooMuch { .. }) => 3,
            Error::Weigh(WeighError::NoConclusion(_)) => 2,
            _ => 1,
        };
        Stopped {
            code,
            says: error.to_string(),
        }
    }
}

/// What the program prints.
pub fn run(args: &Args) -> Result<String, Stopped> {
    match &args.command {
        Command::Weigh(asked) => weigh(asked),
        Command::Start(asked) => crate::start::start(asked),
        Command::Add(asked) => crate::add::add(asked),
        Command::Reasons(asked) => reasons(asked),
        Command::Look(asked) => crate::look::look(asked),
        Command::Survey(asked) => crate::survey::survey(asked),
        Command::Trend(asked) => crate::trend::trend(asked),
        Command::Lintel(asked) => crate::lintel::lintel(asked),
        Command::Cracks(asked) => crate::cracks::cracks(asked),
        Command::Site(asked) => crate::site::site(asked),
        Command::Steps(asked) => crate::steps::steps(asked),
        Command::Compare(asked) => crate::compare::compare(asked),
        Command::Client(asked) => crate::client::client(asked),
        Command::Engineer(asked) => crate::engineer::engineer(asked),
        Command::Draw(asked) => crate::draw::draw(asked),
        Command::Lesson(asked) => crate::lesson::lesson(asked),
        Command::Study(asked) => crate::study::study(asked),
        Command::HelpFiles(asked) => crate::help_files::help_files(asked),
        Command::Check(asked) => crate::check::check(asked),
    }
}

fn weigh(asked: &Weigh) -> Result<String, Stopped> {
    let page = match &asked.case {
        None => {
            let pack = asked.rules.read()?;
            page_alone(&pack, &question(&pack, asked)?)?
        }
        Some(path) if crate::many::is_many(path) => {
            return crate::many::many(&*asked.rules.read()?, path, asked);
        }
        Some(path) => {
            let case = as_of(wythe::read_case(path)?, asked.as_of.as_deref())?;
            let pack = asked.rules.read_for(&case)?;
            match asked.as_of {
                Some(_) => page_alone(&pack, &case)?,
                None => wythe::page_of(&pack, &case)?,
            }
        }
    };
    let written = if asked.json {
        page.json()
    } else {
        page.written(asked.written.form())
    };
    Ok(written.map_err(Error::from)?)
}

/// The page of a case, without what changed since its pass before.
fn page_alone(pack: &Pack, case: &Case) -> Result<Page, Stopped> {
    let outcome = wythe::weigh(pack, case).map_err(Error::from)?;
    Ok(wythe::report::page(pack, case, &outcome).map_err(Error::from)?)
}

fn reasons(asked: &Reasons) -> Result<String, Stopped> {
    let (pack, case) = asked.asked.read()?;
    let weighed = Weighed::new(&pack, &case).map_err(Error::from)?;
    let outcome = weighed.outcome();
    let about = about(&pack, &case, outcome, &asked.conclusion, asked.at.as_deref())?;
    let further = match wythe::ask(&weighed, about) {
        // The steps and the chains are had all the same.
        Err(too_much @ WeighError::TooMuch { .. }) if !asked.json => {
            let reasons = wythe::reasons(&pack, &case, about).map_err(Error::from)?;
            let text = wythe::report::reasons_text(&pack, &case, outcome, &reasons).map_err(Error::from)?;
            return Ok(format!(
                "{text}\nNot worked out, its rivals and what would change it: {too_much}.\n"
            ));
        }
        further => further.map_err(Error::from)?,
    };
    if asked.json {
        let page = wythe::report::asked_page(&pack, &case, outcome, &further).map_err(Error::from)?;
        return Ok(page.json().map_err(Error::from)?);
    }
    let reasons = wythe::reasons(&pack, &case, about).map_err(Error::from)?;
    let text = wythe::report::reasons_and_asked_text(&pack, &case, outcome, &reasons, &further, asked.written.form());
    Ok(text.map_err(Error::from)?)
}

/// The case as it stood after a pass, or at the end of a day.
pub fn as_of(case: Case, pass: Option<&str>) -> Result<Case, Stopped> {
    let Some(pass) = pass else { return Ok(case) };
    if let Some(then) = case.as_of(pass) {
        return Ok(then);
    }
    if let Ok(day) = Date::parse(pass) {
        let none = || {
            Stopped::use_of(format!(
                "no pass is known to have been made by {day}: see the dates in the case"
            ))
        };
        return case.as_of_day(day).ok_or_else(none);
    }
    let names = case.passes.iter().map(|pass| pass.id.as_str());
    let all = names.clone().collect::<Vec<_>>().join(", ");
    Err(miss(
        "pass",
        pass,
        names,
        &format!("{all}; a day is written as in 2026-03-14"),
    ))
}

/// What a conclusion's name and place mean in this case.
pub fn about(pack: &Pack, case: &Case, outcome: &Outcome, name: &str, at: Option<&str>) -> Result<About, Stopped> {
    if let Some(family) = pack.family(name) {
        return match at {
            None => Ok(About::Family(family)),
            Some(_) => Err(Stopped::use_of(format!(
                "`{name}` is a family: it speaks of the whole house, so leave out --at"
            ))),
        };
    }
    let Some(mechanism) = pack.mechanism(name) else {
        let names = || {
            pack.mechanisms
                .iter()
                .map(|one| one.id.as_str())
                .chain(pack.families.iter().map(|one| one.id.as_str()))
        };
        return Err(miss(
            "conclusion",
            name,
            names(),
            &names().collect::<Vec<_>>().join(", "),
        ));
    };
    let at = at.map(|place| place_of(case, place)).transpose()?;
    let here = |one: &&Conclusion| matches!(one.about, About::Mechanism { mechanism: this, at: there } if this == mechanism && at.is_none_or(|at| at == there));
    let likeliest = outcome
        .conclusions
        .iter()
        .filter(here)
        .fold(None, |best: Option<&Conclusion>, one| match best {
            Some(best) if best.chance >= one.chance => Some(best),
            _ => Some(one),
        });
    likeliest.map(|one| one.about).ok_or_else(|| {
        let kind = &pack[pack[mechanism].at].title;
        Stopped::use_of(format!(
            "`{name}` was not weighed there: it belongs to a place of the kind \"{kind}\", and a fact of the house can rule it out"
        ))
    })
}

pub fn place_of(case: &Case, place: &str) -> Result<usize, Stopped> {
    case.place(place).ok_or_else(|| {
        let names = case.places.iter().map(|place| place.id.as_str());
        miss("place", place, names.clone(), &names.collect::<Vec<_>>().join(", "))
    })
}

/// A name that is not known, with the nearest, or all of them.
pub fn miss<'a>(what: &str, name: &str, names: impl Iterator<Item = &'a str>, all: &str) -> Stopped {
    Stopped::use_of(match nearest(name, names) {
        Some(near) => format!("there is no {what} `{name}`; did you mean `{near}`?"),
        None => format!("there is no {what} `{name}`; known here: {all}"),
    })
}
