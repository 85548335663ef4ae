//! Tests of the whole crate.

mod append;
mod bounds;
mod round_trip;
mod spots;
mod values;

use crate::*;

fn doc(text: &str) -> Doc {
    Doc::parse("a.yaml", text).expect("parses")
}

fn refused(name: &str, text: &str) -> String {
    Doc::parse(name, text).expect_err("should be refused").to_string()
}

fn first_line(name: &str, text: &str) -> String {
    refused(name, text).lines().next().unwrap_or_default().to_owned()
}
