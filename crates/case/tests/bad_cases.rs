//! Every file of bad input is refused with exactly the message kept beside it.
//!
//! Run with `BLESS=1` to write the messages anew, then read each of them.

use std::path::{Path, PathBuf};
use std::{fs, io};

use wythe_case::Case;

fn files() -> io::Result<Vec<PathBuf>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/bad/cases");
    let entries = fs::read_dir(folder)?.map(|entry| Ok(entry?.path()));
    let mut files: Vec<PathBuf> = entries.collect::<io::Result<_>>()?;
    files.sort();
    Ok(files)
}

#[test]
fn bad_cases_are_refused_with_these_messages() {
    let files = files().expect("the folder is there");
    let cases: Vec<_> = files
        .iter()
        .filter(|file| file.extension().is_some_and(|end| end != "txt"))
        .collect();
    assert!(cases.len() >= 30, "only {} bad cases", cases.len());
    let bless = std::env::var_os("BLESS").is_some();
    let mut differing = Vec::new();
    for file in cases {
        let name = file.file_name().and_then(|name| name.to_str()).expect("a plain name");
        let text = fs::read_to_string(file).expect("readable");
        let said = match Case::read(name, &text) {
            Ok(_) => panic!("{name} was read without a problem"),
            Err(problems) => problems.to_string(),
        };
        let kept = file.with_extension("txt");
        if bless {
            fs::write(&kept, &said).expect("writable");
        } else if fs::read_to_string(&kept).unwrap_or_default() != said {
            differing.push(format!("{name} says now:\n{said}"));
        }
    }
    assert!(
        differing.is_empty(),
        "{}\nif these are right: BLESS=1 cargo test -p wythe-case",
        differing.join("\n")
    );
}

#[test]
fn messages_are_in_lower_case_and_have_no_type_names() {
    for file in files()
        .expect("the folder is there")
        .iter()
        .filter(|file| file.extension().is_some_and(|end| end == "txt"))
    {
        let text = fs::read_to_string(file).expect("readable");
        for line in text.lines() {
            let after = |end| line.split_once(end).map(|(_, rest)| rest);
            let said = line
                .strip_prefix("help: ")
                .or_else(|| after(".yaml:"))
                .or_else(|| after(".json:"));
            let Some(said) = said else { continue };
            let said = said.trim_start_matches(|c: char| c == ':' || c == ' ' || c.is_ascii_digit());
            assert!(!said.starts_with(char::is_uppercase), "{line}");
            assert!(!said.ends_with('.'), "{line}");
            for word in ["f64", "i64", "String", "Option", "Vec<", "enum", "struct"] {
                assert!(!said.contains(word), "{line}");
            }
        }
    }
}
