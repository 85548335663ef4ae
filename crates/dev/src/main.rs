//! `cargo dev`: makes the files of this repository that are made, and checks that they are up to date.

mod golden;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

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
}

fn main() -> ExitCode {
    let What::Golden { check } = Args::parse().what;
    match golden::golden(check) {
        Ok(changed) if check && !changed.is_empty() => {
            eprintln!(
                "not up to date: {}\nrun `cargo dev golden`, and read what changed by eye",
                changed.join(", ")
            );
            ExitCode::FAILURE
        }
        Ok(changed) => {
            println!("{} files changed {}", changed.len(), changed.join(", "));
            ExitCode::SUCCESS
        }
        Err(says) => {
            eprintln!("{says}");
            ExitCode::FAILURE
        }
    }
}
