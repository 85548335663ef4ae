//! The end of a lesson as it stands in the page: as text, for every reader.

use super::{EndChange, EndMatter, Lesson, Reckoned};
use crate::asked::says;
use crate::phrase::{headed, small};
use crate::svg::escaped;

/// What a lesson came to.
pub(super) fn summary(lesson: &Lesson) -> String {
    let end = &lesson.end;
    let mut out = format!("<div class=\"ending\" data-case=\"{}\">", escaped(&lesson.case));
    out.push_str(&format!("<p class=\"asks\">{}</p>", escaped(&end.asks.join(" "))));
    for (number, matter) in (1..).zip(&end.matters) {
        out.push_str(&self::matter(number, matter));
    }
    if end.matters.is_empty() {
        let most = if end.recorded.is_empty() {
            ""
        } else {
            " Of those that something seen speaks for, these stand highest:"
        };
        out.push_str(&format!(
            "<p>No cause asks for more than to be kept on record.{most}</p>"
        ));
        for (number, matter) in (1..).zip(&end.recorded) {
            out.push_str(&self::matter(number, matter));
        }
    }
    let sections = [
        (
            "Why no engineer is asked for: where what would ask for one stands",
            &end.engineer,
        ),
        ("Noticed besides", &end.notices),
        ("Also seen, and recorded", &end.also),
        ("Could not be seen", &end.not_seen),
    ];
    for (head, items) in sections.iter().filter(|(_, items)| !items.is_empty()) {
        out.push_str(&format!("<h3>{head}</h3>{}", list(items)));
    }
    if let Some((since, moved)) = &end.changes {
        let none = ["Nothing moved to another support, and nothing asks for something else.".to_string()];
        let moved = list(if moved.is_empty() { &none } else { moved });
        let inner = format!("<p>Since the pass “{}”:</p>{moved}", escaped(since));
        out.push_str(&folded("h3", "What the last pass changed", &inner));
    }
    let rest = [
        (
            "Computed and not weighed, and what the readings cannot tell",
            &end.readings,
        ),
        ("Words used", &end.words),
        ("What this rests on", &end.rests_on),
    ];
    for (head, items) in rest.iter().filter(|(_, items)| !items.is_empty()) {
        out.push_str(&folded("h3", head, &list(items)));
    }
    out.push_str("</div>");
    out
}

/// What comes second: under its head, which a narrow screen shows shut.
fn folded(level: &str, head: &str, inner: &str) -> String {
    format!("<details class=\"fold\" open><summary><{level}>{head}</{level}></summary>{inner}</details>")
}

/// Said once.
const ORDER: &str = "<p class=\"note\">These lines stand by size, most first, and not in the order in which they were reckoned: so the chances of one line do not follow on from those of the line above.</p>";

fn matter(number: usize, matter: &EndMatter) -> String {
    let title = match matter.raised {
        true => headed(&matter.title),
        false => format!("Not ruled out: {}", small(&matter.title)),
    };
    let mut out = format!(
        "<section class=\"matter\"><h3>{number}. {}</h3><p>Stands at: {}. Asks for: {}.</p><p>{}</p>",
        escaped(&title),
        escaped(&matter.stands),
        escaped(matter.asks),
        escaped(&matter.says)
    );
    out.push_str(&reckoned(&matter.reckoned, "h4"));
    if number == 1 {
        out.push_str(ORDER);
    }
    if let Some((title, of)) = &matter.member {
        out.push_str(&format!(
            "<section class=\"member\"><h4>Within it, {}</h4>{}{}</section>",
            escaped(title),
            reckoned(&of.reckoned, "h5"),
            behind(of, "h5", false, " (this cause)")
        ));
    }
    if !matter.within.is_empty() {
        let also = if matter.member.is_some() {
            "Also within it"
        } else {
            "Within it"
        };
        out.push_str(&format!("<h4>{also}</h4>{}", list(&matter.within)));
    }
    let whose = if matter.member.is_some() {
        " (the whole group)"
    } else {
        ""
    };
    out.push_str(&behind(matter, "h4", number == 1, whose));
    if !matter.todo.is_empty() {
        out.push_str(&format!("<h4>What to do</h4>{}", list(&matter.todo)));
    }
    out.push_str("</section>");
    out
}

/// What else could be behind it, and what would change it; what the lines count is explained once.
fn behind(matter: &EndMatter, level: &str, explained: bool, whose: &str) -> String {
    let mut out = String::new();
    let rest = [
        ("Speaks against it beside all others", &matter.kept_down),
        ("Signs of it that something else would account for", &matter.taken),
    ];
    for (head, lines) in rest.iter().filter(|(_, lines)| !lines.is_empty()) {
        out.push_str(&format!("<{level}>{head}</{level}>{}", list(lines)));
    }
    out.push_str(&folded(
        level,
        &format!("What else could be behind these signs{whose}"),
        &rivals(matter, explained),
    ));
    out.push_str(&change(&matter.change, level, whose));
    out
}

fn rivals(matter: &EndMatter, explained: bool) -> String {
    match &matter.rivals {
        None => {
            "<p>Not worked out in this page: it is for the first matters, and for a house that is not too large.</p>"
                .into()
        }
        Some(rivals) if rivals.is_empty() => "<p>Nothing that was seen is a sign of it.</p>".into(),
        Some(rivals) => {
            // What the lines count is said once.
            let note = match explained {
                true => format!("<p class=\"note\">{}</p>", says::RIVALS),
                false => String::new(),
            };
            let one = |(head, lines): &(String, Vec<String>)| format!("<li>{}{}</li>", escaped(head), list(lines));
            format!("{note}<ul>{}</ul>", rivals.iter().map(one).collect::<String>())
        }
    }
}

/// How it is reckoned.
fn reckoned(of: &Reckoned, head: &str) -> String {
    let mut out = format!("<p class=\"note\">{}</p>", escaped(&of.begins));
    let none = |what: &str| vec![format!("Nothing {what} it by as much as a deciban.")];
    let or = |lines: &Vec<String>, what: &str| if lines.is_empty() { none(what) } else { lines.clone() };
    let parts = [
        ("What carried it", or(&of.carried, "raised")),
        ("What spoke against it", or(&of.against, "lowered")),
    ];
    for (title, lines) in parts.iter().filter(|(_, lines)| !lines.is_empty()) {
        out.push_str(&format!("<{head}>{title}</{head}>{}", list(lines)));
    }
    if !of.little.is_empty() {
        out.push_str(&folded(head, "Added little to the rest", &list(&of.little)));
    }
    out
}

fn change(change: &EndChange, level: &str, whose: &str) -> String {
    let mut out = format!("<{level}>What would change this{whose}</{level}>");
    for (title, lines) in [
        ("It would be less likely:", &change.less),
        ("It would be more likely:", &change.more),
    ] {
        if !lines.is_empty() {
            out.push_str(&format!("<p>{title}</p>{}", list(lines)));
        }
    }
    if let Some(sightings) = &change.sightings {
        out.push_str(&format!("<p>{}</p>", escaped(sightings)));
    }
    let rest: Vec<String> = change.numbers.iter().chain(&change.ends).cloned().collect();
    if !change.head.is_empty() || !rest.is_empty() {
        let inner = format!("<p>{}</p>{}", escaped(&change.head), list(&rest));
        let level = if level == "h4" { "h5" } else { "h6" };
        out.push_str(&folded(level, "How close it is: the numbers of the rules", &inner));
    }
    out
}

fn list(items: &[String]) -> String {
    let items: String = items.iter().map(|item| format!("<li>{}</li>", escaped(item))).collect();
    format!("<ul>{items}</ul>")
}
