//! `wythe look --ask`: names the best next look, takes the answer, saves it, weighs again, says what changed, and goes on
//! until no look is worth its effort. Each answer is saved before the next question, so that breaking off loses nothing.

use std::collections::BTreeSet;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::Path;

use wythe::report::{look_answered, look_anyway, look_question};
use wythe::{Case, ClueIx, Error, Look, More, Noted, Outcome, Pack, Pass, PassHead, Sighting, Weighed};

use crate::run::Stopped;

/// The longest answer, in bytes.
const LONGEST: u64 = 4_096;

/// Who asks, and of what.
pub struct Asking<'a> {
    pub pack: &'a Pack,
    pub path: &'a Path,
    pub head: &'a PassHead,
    /// Only at this place.
    pub only: Option<usize>,
}

/// What came of a question.
enum Answer {
    Found(Box<Sighting>),
    Skip,
    Back,
    Stop,
}

/// A clue at a place.
type Site = (ClueIx, usize);

/// Asks until there is nothing worth asking. What is printed at the end.
pub fn ask(asking: &Asking<'_>) -> Result<String, Stopped> {
    let Asking { pack, path, head, only } = *asking;
    let mut done: BTreeSet<Site> = BTreeSet::new();
    // Every answer given here: where, and the id that it was saved under.
    let mut given: Vec<(Site, String)> = Vec::new();
    let mut before: Option<Outcome> = None;
    check_pass(asking)?;
    loop {
        let case = wythe::read_case(path)?;
        let weighed = Weighed::new(pack, &case).map_err(Error::from)?;
        if let Some(before) = before.take() {
            let answered = look_answered(pack, &case, &before, weighed.outcome()).map_err(Error::from)?;
            say(&format!("\n{answered}"))?;
        }
        let looks = wythe::looks(&weighed).map_err(Error::from)?;
        let here = |look: &&Look| only.is_none_or(|at| at == look.at) && !done.contains(&(look.clue, look.at));
        let pays = |look: &&Look| look.worth > 0.0 && look.worth >= pack.policy.look_costs(look.effort);
        let Some(look) = looks.looks.iter().filter(here).find(pays) else {
            let tells = |look: &&Look| look.worth > 0.0 || look.bits > 0.005;
            let left = looks.looks.iter().filter(here).find(tells);
            let left = left.map(|look| look_anyway(pack, &case, look)).transpose();
            return Ok(ended(left.map_err(Error::from)?, given.len(), asking));
        };
        let question = look_question(pack, &case, weighed.outcome(), look).map_err(Error::from)?;
        say(&format!("\n{question}"))?;
        let mut site = (look.clue, look.at);
        let mut corrects = None;
        let answer = loop {
            match answer(asking, &case, site, corrects.as_deref())? {
                Answer::Back => match given.pop() {
                    Some((last, id)) => {
                        say(&again(pack, &case, last, &id))?;
                        (site, corrects) = (last, Some(id));
                    }
                    None => say("There is no answer to put right yet.\n")?,
                },
                other => break other,
            }
        };
        match answer {
            Answer::Stop => return Ok(told(given.len(), path)),
            Answer::Found(one) => {
                let noted = Noted {
                    sightings: vec![*one],
                    ..Noted::default()
                };
                let added = wythe::add::<Stopped>(pack, path, head, |_, _| Ok(noted))?;
                let id = added.sightings().last().map(|one| one.id.clone()).unwrap_or_default();
                say(&format!("Saved as {id}.\n"))?;
                given.push((site, id));
                done.insert(site);
                before = Some(weighed.outcome().clone());
            }
            // A skipped correction leaves the answer as it was.
            Answer::Skip | Answer::Back => given.extend(corrects.map(|id| (site, id))),
        }
        done.insert(site);
    }
}

/// Whether the file takes a pass as it is asked for: better known before the first answer than after it.
fn check_pass(asking: &Asking<'_>) -> Result<(), Stopped> {
    let case = wythe::read_case(asking.path)?;
    let empty = More {
        places: Vec::new(),
        contexts: Vec::new(),
        repairs: Vec::new(),
        pass: Pass {
            id: asking.head.id_in(&case),
            title: None,
            date: asking.head.date,
            by: asking.head.by.clone(),
            sightings: Vec::new(),
            locus: Default::default(),
        },
    };
    case.with_more(&empty).map_err(Error::from)?;
    Ok(())
}

/// What is said where no look pays; and of the best of those that are left, what it would be.
fn ended(left: Option<String>, saved: usize, asking: &Asking<'_>) -> String {
    let path = asking.path.display();
    let hour = asking.pack.policy.look_hour;
    let why = match left {
        Some(next) => format!(
            "No look that is left would pay for its time. By this pack an hour of looking\n\
             costs {hour} of a needless engineer's visit.\n{next}Those that still tell something:\n\
             wythe look {path}\n"
        ),
        None => "Nothing is left to look at that would tell more.\n".into(),
    };
    format!("\n{why}{}", told(saved, asking.path))
}

fn told(saved: usize, path: &Path) -> String {
    match saved {
        0 => "No answer was saved.\n".into(),
        1 => format!("1 answer was saved in {}.\n", path.display()),
        _ => format!("{saved} answers were saved in {}.\n", path.display()),
    }
}

fn again(pack: &Pack, case: &Case, (clue, at): Site, id: &str) -> String {
    let place = case.places.get(at).map_or("", |place| place.label.as_str());
    let grades: Vec<String> = pack[clue]
        .grades
        .iter()
        .map(|grade| grade.id.replace('_', " "))
        .collect();
    format!(
        "Again, at {place}: {}.\nThe new answer puts {id} right: {}; or skip, to leave it.\n",
        pack[clue].title,
        grades.join(", ")
    )
}

/// The answer to a question: asked again until it is understood.
fn answer(asking: &Asking<'_>, case: &Case, (clue, at): Site, corrects: Option<&str>) -> Result<Answer, Stopped> {
    let pack = asking.pack;
    let place = case.places.get(at).map_or("", |place| place.id.as_str());
    let pass = asking.head.id_in(case);
    // A slip may be put right by a sighting of the same sign in the same pass.
    let pass = if corrects.is_some() { "" } else { pass.as_str() };
    loop {
        let Some(line) = line()? else { return Ok(Answer::Stop) };
        match line.trim().to_lowercase().as_str() {
            "" => {}
            "stop" => return Ok(Answer::Stop),
            "skip" => return Ok(Answer::Skip),
            "back" => return Ok(Answer::Back),
            _ => {
                let given = line.trim();
                let notes = format!("{place}: {} {given}", pack[clue].id.replace('_', " "));
                match wythe::read_notes(pack, case, pass, "answer", &notes) {
                    Ok(noted) => match <[Sighting; 1]>::try_from(noted.sightings) {
                        Ok([one]) if noted.places.is_empty() => {
                            let note = (one.note.is_some() && given.contains(['(', ','])).then(|| given.to_owned());
                            return Ok(Answer::Found(Box::new(Sighting {
                                note,
                                corrects: corrects.map(str::to_owned),
                                ..one
                            })));
                        }
                        _ => say("One answer at a time, please: what was found of this sign.\n")?,
                    },
                    Err(problems) => {
                        for one in problems.iter() {
                            let help = one.help.iter().map(|help| format!("; {help}")).collect::<String>();
                            say(&format!("{}{help}\n", one.what))?;
                        }
                    }
                }
            }
        }
    }
}

/// A line of input; none at its end. Where nobody types, the line is shown, so that what is printed reads as a talk.
fn line() -> Result<Option<String>, Stopped> {
    say("> ")?;
    let mut line = String::new();
    let mut input = io::Read::take(io::stdin().lock(), LONGEST);
    let read = input.read_line(&mut line).map_err(|error| Stopped {
        code: 1,
        says: format!("no answer could be read: {error}"),
    })?;
    if !io::stdin().is_terminal() {
        say(&format!("{}\n", line.trim_end()))?;
    }
    Ok((read > 0).then_some(line))
}

/// Says something now.
fn say(text: &str) -> Result<(), Stopped> {
    let mut out = io::stdout().lock();
    write!(out, "{text}")
        .and_then(|()| out.flush())
        .map_err(|error| Stopped {
            code: 1,
            says: format!("nothing could be asked: {error}"),
        })
}
