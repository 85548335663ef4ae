//! `cargo dev`: makes the files of this repository that are made, and checks that they are up to date.

use std::process::ExitCode;

use clap::{Parser, Subcommand};
use wythe_dev::{generate, golden, robust};

/// Makes the files of this repository that are made by a program.
#[derive(Debug, Parser)]
#[command(name = "cargo dev")]
struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// The outputs of the example houses, in tests/golden. Read them by eye before you commit them.
    Golden {
        /// Change nothing; exit with 1 when a file differs.
        #[arg(long)]
        check: bool,
    },
    /// What is made from the rule files: the catalogue in rules/pages, the schemas in rules/schema, the shares in the pack's README.
    Generate {
        /// Change nothing; exit with 1 when a file differs.
        #[arg(long)]
        check: bool,
    },
    /// How far outcomes rest on the pack's numbers: puts the tables into the pack's README. `cargo robust` runs it optimized.
    Robust {
        /// How many scaled packs.
        #[arg(long, default_value_t = 1000)]
        runs: usize,
        /// What the random numbers come from.
        #[arg(long, default_value_t = 2026)]
        seed: u64,
    },
}

fn main() -> ExitCode {
    let done = match Args::parse().what {
        What::Golden { check } => made(golden(check), check, "cargo dev golden"),
        What::Generate { check } => made(generate(check), check, "cargo dev generate"),
        What::Robust { runs, seed } => robust::robust(runs, seed, 10).and_then(|found| {
            robust::write(&found)?;
            Ok(found.markdown())
        }),
    };
    match done {
        Ok(says) => {
            println!("{}", says.trim_end());
            ExitCode::SUCCESS
        }
        Err(says) => {
            eprintln!("{}", says.trim_end());
            ExitCode::FAILURE
        }
    }
}

/// What to say of the files that changed; with `check` a change is an error.
fn made(changed: Result<Vec<String>, String>, check: bool, cure: &str) -> Result<String, String> {
    let changed = changed?;
    if check && !changed.is_empty() {
        let names = changed.join(", ");
        return Err(format!(
            "not up to date: {names}\nrun `{cure}`, and read what changed by eye"
        ));
    }
    Ok(format!("{} files changed {}", changed.len(), changed.join(", ")))
}
