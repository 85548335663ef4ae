//! The page: text that stands without a script, and the script that steps through it.

use std::fmt::Write;

use super::{KeyLine, Lesson, list, summary};
use crate::ReportError;
use crate::svg::escaped;

const STYLE: &str = include_str!("lesson.css");
const SCRIPT: &str = include_str!("lesson.js");
const BODY: &str = include_str!("lesson.html");

pub(super) fn page(lessons: &[Lesson]) -> Result<String, ReportError> {
    let data = serde_json::to_string(lessons).map_err(|error| ReportError::Json(error.to_string()))?;
    // No tag can end inside the data.
    let data = data
        .replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026");
    let title = match lessons {
        [one] => escaped(&one.title),
        many => format!("{} houses to step through", many.len()),
    };
    let (mut plans, mut ends, mut lists) = (String::new(), String::new(), String::new());
    for lesson in lessons {
        if !lesson.plan.is_empty() {
            let case = escaped(&lesson.case);
            let _ = write!(
                plans,
                "<div class=\"plan\" data-case=\"{case}\" hidden><div class=\"drawn\" tabindex=\"0\" role=\"region\" aria-label=\"The house in plan and elevation\">{}</div>{}</div>",
                without_ids(&lesson.plan),
                key(&lesson.key)
            );
        }
        ends.push_str(&summary::summary(lesson));
        lists.push_str(&list::steps(lesson));
    }
    let notes: String = lessons
        .first()
        .map(|lesson| {
            lesson
                .notes
                .iter()
                .map(|note| format!("<li>{}</li>", escaped(note)))
                .collect()
        })
        .unwrap_or_default();
    let pack = lessons.first().map(|lesson| escaped(&lesson.pack)).unwrap_or_default();
    Ok(filled(&[
        ("{{title}}", &title),
        ("{{style}}", STYLE),
        ("{{cases}}", &cases(lessons)),
        ("{{plans}}", &plans),
        ("{{ends}}", &ends),
        ("{{lists}}", &lists),
        ("{{notes}}", &notes),
        ("{{pack}}", &pack),
        ("{{script}}", SCRIPT),
        ("{{data}}", &data),
    ]))
}

/// What the marks of a drawing say. What was looked for and not there, and what is left,
/// is most of them, and is folded.
fn key(lines: &[KeyLine]) -> String {
    let mut out = String::from("<div class=\"key\"><h3>What each mark says</h3>");
    for group in lines.chunk_by(|one, next| one.state == next.state) {
        let head = group.first().map_or("", |line| line.state);
        let items: String = group.iter().map(key_line).collect();
        let _ = match head.starts_with(['N', 'L']) {
            true => write!(out, "<details><summary>{head}</summary><ul>{items}</ul></details>"),
            false => write!(out, "<section><h4>{head}</h4><ul>{items}</ul></section>"),
        };
    }
    out + "</div>"
}

fn key_line(line: &KeyLine) -> String {
    let data = |name: &str, id: &Option<String>| {
        let id = id.as_ref().map(|id| format!(" data-{name}=\"{}\"", escaped(id)));
        id.unwrap_or_default()
    };
    format!(
        "<li{}{}><strong>{}</strong> {}</li>",
        data("sighting", &line.sighting),
        data("until", &line.until),
        escaped(&line.mark),
        escaped(&line.says)
    )
}

/// A drawing without the ids of its parts: a page can hold several drawings.
fn without_ids(svg: &str) -> String {
    let mut parts = svg.split(" id=\"");
    let mut out = parts.next().unwrap_or_default().to_string();
    for part in parts {
        out.push_str(part.split_once('"').map_or("", |(_, rest)| rest));
    }
    out
}

/// The body with its blanks filled, each once, from the front: what fills one blank is never read for others.
fn filled(blanks: &[(&str, &str)]) -> String {
    let mut out = String::new();
    let mut rest = BODY;
    while let Some((at, blank, with)) = blanks
        .iter()
        .filter_map(|(blank, with)| Some((rest.find(blank)?, *blank, *with)))
        .min_by_key(|(at, ..)| *at)
    {
        let (before, after) = rest.split_at(at);
        out.push_str(before);
        out.push_str(with);
        rest = after.strip_prefix(blank).unwrap_or(after);
    }
    out.push_str(rest);
    out
}

/// The choice among several houses.
fn cases(lessons: &[Lesson]) -> String {
    if lessons.len() < 2 {
        return String::new();
    }
    let options: String = lessons
        .iter()
        .enumerate()
        .map(|(at, lesson)| format!("<option value=\"{at}\">{}</option>", escaped(&lesson.title)))
        .collect();
    format!("<p><label>House <select id=\"cases\">{options}</select></label></p>")
}
