//! What the program is asked.

use std::path::PathBuf;

use clap::{Args as Group, Parser, Subcommand};

use crate::asked::{Asked, Rules, Written};

/// Weighs the structural clues seen on a house inspection, and explains its reasoning.
///
/// It says what the signs are consistent with, how firmly, and what to do next. It is not engineering and makes no
/// determination: that is for a licensed professional engineer.
#[derive(Debug, Parser)]
#[command(name = "wythe", version, after_help = EXIT, after_long_help = EXAMPLE)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

const EXIT: &str = "Exit codes: 0 done; 1 a file has problems or cannot be read, which are printed; \
2 wrong use; 3 too tangled to weigh exactly.";

const EXAMPLE: &str = "\
Example, from a case file:
  wythe weigh examples/cases/quiet-corner.yaml

Example, a quick question:
  wythe weigh --seen 'step_crack_veneer at south = 1/16 in, path joints' \\
      --none 'frieze_gap at south' --fact soil_plasticity_high

Exit codes:
  0  done
  1  a file has problems or cannot be read (printed)
  2  wrong use
  3  too tangled to weigh exactly";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Weigh what was seen: from a case file, or from a few sightings given here.
    #[command(after_help = EXIT, after_long_help = WEIGH)]
    Weigh(Weigh),
    /// Start a case file for a house. It is never written over another.
    #[command(after_help = EXIT, after_long_help = crate::start::START)]
    Start(crate::start::Start),
    /// Add to a case file what was seen: here, or as field notes.
    #[command(after_help = EXIT, after_long_help = crate::add::ADD)]
    Add(crate::add::Add),
    /// Say why one conclusion came out as it did.
    #[command(after_help = EXIT)]
    Reasons(Reasons),
    /// Say what to look at next: a walking list, place by place.
    #[command(after_help = EXIT, after_long_help = crate::look::LOOK)]
    Look(crate::look::Look),
    /// Read a level survey: tilt, bend and shape, with their errors.
    #[command(after_help = EXIT, after_long_help = crate::survey::SURVEY)]
    Survey(crate::survey::Survey),
    /// Read cracks over time: still, one way or with the seasons.
    #[command(after_help = EXIT, after_long_help = crate::trend::TREND)]
    Trend(crate::trend::Trend),
    /// Reckon the dip of a loose lintel, against the dip seen.
    #[command(after_help = EXIT, after_long_help = crate::lintel::LINTEL)]
    Lintel(crate::lintel::Lintel),
    /// Read the cracks of one wall as one movement, and hold it against the floor.
    #[command(after_help = EXIT, after_long_help = crate::cracks::CRACKS)]
    Cracks(crate::cracks::Cracks),
    /// Read soil, falls of the ground and trees against published classes.
    #[command(after_help = EXIT, after_long_help = crate::site::SITE)]
    Site(crate::site::Site),
    /// Draw the reasoning for a conclusion, or the house with what was seen and what was not.
    #[command(after_help = EXIT)]
    Draw(crate::draw::Draw),
    /// Write a page of HTML that steps through a case, one sighting at a time.
    #[command(after_help = EXIT, after_long_help = crate::lesson::LESSON)]
    Lesson(crate::lesson::Lesson),
    /// Go through a case one sighting at a time: what each moved, by how much and why.
    #[command(after_help = EXIT)]
    Steps(crate::steps::Steps),
    /// Compare two visits, passes or inspectors on one house: what differs, and what it did.
    #[command(after_help = EXIT, after_long_help = crate::compare::COMPARE)]
    Compare(crate::compare::Compare),
    /// Tell the client in plain words: what was seen, what it may mean, what to do, by when.
    #[command(after_help = EXIT)]
    Client(crate::client::Client),
    /// Gather what was seen for a licensed professional engineer: no cause, no chance.
    #[command(after_help = EXIT)]
    Engineer(crate::engineer::Engineer),
    /// Read up on a clue or a mechanism: what to look for, what can make it, what to look at next.
    #[command(after_help = EXIT)]
    Study(crate::study::Study),
    /// Write man pages and shell completions to a folder: for packagers.
    #[command(hide = true)]
    HelpFiles(crate::help_files::HelpFiles),
    /// Check a rule pack and run its trials: print every problem, or a few counts.
    #[command(after_help = EXIT)]
    Check(crate::check::Check),
}

const WEIGH: &str = "\
A quick question needs no file. Each sighting names a clue of the pack and, where it matters, a place; \
a place is made on the fly, of the kind that the clue is looked for at. Give one place the same name each time.

  --seen 'CLUE at PLACE = FOUND, MARK KIND'    FOUND is a grade or a measurement
  --seen 'corner_pop_wedge = cracked'          at one place without a name
  --seen 'door_binds at study-door in study = rubs'
  --seen 'trim_corner_open at front-left touching front, left = slight'
  --none 'frieze_gap at south'                 looked, and there was none
  --not-reached 'frieze_gap at east = locked gate'
  --fact soil_plasticity_high                  or: --fact fill_lot=no

A clue that is not named was not looked for: that moves nothing. The answer rests on the few signs given, so a case \
file says more.

Many cases: give a folder (its .yaml and .json files, in the order of their names), or `-` for one case in JSON on each \
line of the input. Each takes a line of the output, in order: its name, the most that it asks for, and its first matters; \
with --json the whole answer. A bad one is told of and the others are weighed; the exit code is then 1.

  wythe weigh visits/
  wythe weigh --json - < cases.jsonl > answers.jsonl

Exit codes:
  0  done
  1  a file has problems or cannot be read (printed)
  2  wrong use
  3  too tangled to weigh exactly";

/// `wythe weigh`.
#[derive(Debug, Group)]
pub struct Weigh {
    /// The case file: YAML, or JSON when its name ends in .json. A folder of them, or `-` for JSON lines.
    #[arg(required_unless_present_any = ["seen", "none", "not_reached", "fact"])]
    pub case: Option<PathBuf>,
    /// Something seen: 'CLUE at PLACE = FOUND, MARK KIND'.
    #[arg(long, value_name = "SIGHTING", conflicts_with = "case")]
    pub seen: Vec<String>,
    /// Looked for, and not there: 'CLUE at PLACE'.
    #[arg(long, value_name = "SIGHTING", conflicts_with = "case")]
    pub none: Vec<String>,
    /// Could not be looked at: 'CLUE at PLACE = WHY'.
    #[arg(long, value_name = "SIGHTING", conflicts_with = "case")]
    pub not_reached: Vec<String>,
    /// A fact of the house: CONTEXT, or CONTEXT=no.
    #[arg(long, value_name = "CONTEXT", conflicts_with = "case")]
    pub fact: Vec<String>,
    /// Weigh the case as it stood after this pass, or at the end of this day (2026-03-14).
    #[arg(long, value_name = "PASS", requires = "case")]
    pub as_of: Option<String>,
    /// Print JSON, with the ids of every sighting, rule and source.
    #[arg(long, conflicts_with = "markdown")]
    pub json: bool,
    #[command(flatten)]
    pub written: Written,
    #[command(flatten)]
    pub rules: Rules,
}

/// `wythe reasons`.
#[derive(Debug, Group)]
pub struct Reasons {
    #[command(flatten)]
    pub asked: Asked,
    /// What to give the reasons for: a mechanism or a family, by its id in the pack.
    pub conclusion: String,
    /// The place of the mechanism; without it, the place where it is likeliest.
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Print JSON: rivals, what kept it down, what would change it, and the story.
    #[arg(long, conflicts_with = "markdown")]
    pub json: bool,
    #[command(flatten)]
    pub written: Written,
}
