//! The program `wythe`: weighs the clues of a house, gives reasons, checks a rule pack.

mod add;
mod args;
mod ask;
mod asked;
mod check;
mod client;
mod compare;
mod cracks;
mod draw;
mod engineer;
mod help_files;
mod lesson;
mod lintel;
mod look;
mod many;
mod question;
mod run;
mod site;
mod start;
mod steps;
mod study;
mod survey;
mod trend;

use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;

/// Many small lists are made and dropped on two threads at once.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let args = args::Args::parse();
    match run::run(&args) {
        Ok(text) => match io::stdout().lock().write_all(text.as_bytes()) {
            // Whoever reads has seen enough.
            Err(error) if error.kind() == ErrorKind::BrokenPipe => ExitCode::SUCCESS,
            Err(error) => stop(1, &format!("the output could not be written: {error}")),
            Ok(()) => ExitCode::SUCCESS,
        },
        Err(stopped) => stop(stopped.code, &stopped.says),
    }
}

/// Says why on the error output. Nothing more can be done when that is closed too.
fn stop(code: u8, says: &str) -> ExitCode {
    // An argument may hold what a terminal would obey.
    let harmless = |c: char| {
        if wythe::misleading(c.encode_utf8(&mut [0; 4])).is_some() {
            '\u{fffd}'
        } else {
            c
        }
    };
    let says: String = says.trim_end().chars().map(harmless).collect();
    let _ = writeln!(io::stderr().lock(), "{says}");
    ExitCode::from(code)
}
