//! Shares as text and as Markdown.

use std::fmt::Write;

use super::{HouseShares, Of};

/// Percent for people: whole from 1 up, one place below it.
pub(super) fn percent(percent: f64) -> String {
    if percent >= 0.95 {
        format!("{percent:.0}")
    } else if percent >= 0.05 {
        format!("{percent:.1}")
    } else {
        "under 0.1".into()
    }
}

/// Lines of at most 80 columns.
fn filled(first: &str, rest: &str, text: &str) -> String {
    let options = textwrap::Options::new(80)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(text, options)
}

/// One row: what, percent in words, which house, what is in print.
struct Row {
    of: String,
    percent: String,
    house: usize,
    published: Vec<String>,
}

impl HouseShares<'_> {
    fn rows(&self) -> [(&'static str, Vec<Row>); 3] {
        let row = |of: String, percent: String, house: usize, is: &dyn Fn(Of) -> bool| Row {
            of,
            percent,
            house: house + 1,
            published: self.published(is),
        };
        let mechanisms = self.mechanisms.iter().map(|(at, share, house)| {
            row(self.pack[*at].id.clone(), percent(*share), *house, &|of| {
                of == Of::Mechanism(*at)
            })
        });
        let families = self.families.iter().map(|(at, share, house)| {
            row(self.pack[*at].id.clone(), percent(*share), *house, &|of| {
                of == Of::Family(*at)
            })
        });
        let clues = self.clues.iter().map(|(share, house)| {
            let clue = &self.pack[share.clue];
            let grades = clue.grades.iter().skip(1).zip(&share.at_least);
            let words: Vec<String> = grades
                .map(|(grade, share)| format!("{} {}", grade.id, percent(100.0 * share)))
                .collect();
            row(
                clue.id.clone(),
                words.join(", "),
                *house,
                &|of| matches!(of, Of::Clue(at, _) if at == share.clue),
            )
        });
        [
            ("Mechanism: percent of houses with at least one", mechanisms.collect()),
            ("Family: percent of houses with at least one member", families.collect()),
            (
                "Clue: percent of houses that would show it somewhere, at this grade or more",
                clues.collect(),
            ),
        ]
    }

    fn published(&self, is: &dyn Fn(Of) -> bool) -> Vec<String> {
        let figures = self.population.figures.iter().filter(|figure| is(figure.of));
        figures
            .map(|figure| {
                let (from, to) = figure.percent;
                let span = if from == to {
                    from.to_string()
                } else {
                    format!("{from} to {to}")
                };
                let grade = match figure.of {
                    Of::Clue(at, grade) if grade > 1 => {
                        let id = self.pack[at].grades.get(grade).map_or("", |grade| grade.id.as_str());
                        format!("{id} or more, ")
                    }
                    _ => String::new(),
                };
                format!(
                    "{span} percent, {grade}{} ({}; {})",
                    figure.among, figure.source, figure.grade
                )
            })
            .collect()
    }

    /// The tables as text for a terminal.
    pub fn text(&self) -> String {
        let mut text = format!(
            "Share of ordinary houses by {} {}, before anything is seen.\n\n",
            self.pack.id, self.pack.version
        );
        for (at, house) in self.population.houses.iter().enumerate() {
            let _ = writeln!(text, "House {}: {}", at + 1, house.title);
        }
        for (title, rows) in self.rows() {
            let _ = writeln!(text, "\n{title}");
            for row in rows {
                let of = if row.house == 1 {
                    row.of
                } else {
                    format!("{} (house {})", row.of, row.house)
                };
                let _ = writeln!(text, "  {of:<36} {}", row.percent);
                for figure in row.published {
                    let _ = writeln!(text, "{}", filled("      in print: ", "          ", &figure));
                }
            }
        }
        let notes = self.notes();
        text.push_str(
            "\nGrade of what is in print: A measured on such houses, B on others, C told at second hand, D opinion.\n",
        );
        if notes.is_empty() {
            text.push_str("No share is over what an inspector would take for true.\n");
        }
        for note in notes {
            let _ = writeln!(text, "{}", filled("Note: ", "  ", &note));
        }
        text
    }

    /// The tables as Markdown.
    pub fn markdown(&self) -> String {
        let mut text = String::new();
        for (at, house) in self.population.houses.iter().enumerate() {
            let _ = writeln!(text, "{}. {}", at + 1, house.title);
        }
        for (title, rows) in self.rows() {
            let (what, of) = title.split_once(": ").unwrap_or((title, ""));
            let _ = write!(text, "\n| {what} | {of} | house |\n| --- | --- | --- |\n");
            for row in rows {
                let _ = writeln!(text, "| {} | {} | {} |", row.of, row.percent, row.house);
            }
        }
        let figures = self.population.figures.iter().map(|figure| figure.of);
        let mut named: Vec<Of> = Vec::new();
        for of in figures {
            if !named.contains(&of) {
                named.push(of);
            }
        }
        text.push_str("\nIn print (A measured on such houses, B on others, C told at second hand, D opinion), beside the share here:\n\n");
        for of in named {
            let here = self.percent(of).map_or_else(|| "none".into(), percent);
            for figure in self.published(&|one| one == of) {
                let _ = writeln!(text, "* `{}`, here {here}: {figure}", self.name(of).trim_end());
            }
        }
        let notes = self.notes();
        if !notes.is_empty() {
            text.push_str("\nOver what an inspector would take for true:\n\n");
            for note in notes {
                let _ = writeln!(text, "* {note}");
            }
        }
        text
    }
}
