use super::*;

/// The first problem that reading `text` with `read` gives.
fn problem(text: &str, read: impl Fn(Item<'_>, &mut Problems)) -> String {
    let doc = doc(text);
    let mut problems = Problems::new();
    read(doc.root(), &mut problems);
    problems
        .iter()
        .next()
        .map(|problem| problem.what.clone())
        .unwrap_or_default()
}

#[test]
fn values_are_read() {
    let doc = doc("[south, 12, 1.5, yes, no, true, false, 2026-03-14, 1/16 in, 0x10, ~, '12']");
    let mut out = Problems::new();
    let items = doc.root().list(&mut out);
    assert_eq!(items[0].text(&mut out), Some("south"));
    assert_eq!(items[1].text_or_number(&mut out).as_deref(), Some("12"));
    assert_eq!(items[1].number(&mut out), Some(12.0));
    assert_eq!(items[1].integer(&mut out), Some(12));
    assert_eq!(items[2].number(&mut out), Some(1.5));
    let flags: Vec<_> = items[3..7].iter().map(|item| item.flag(&mut out)).collect();
    assert_eq!(flags, [Some(true), Some(false), Some(true), Some(false)]);
    assert_eq!(items[7].text(&mut out), Some("2026-03-14"));
    assert_eq!(items[8].text(&mut out), Some("1/16 in"));
    assert_eq!(items[9].integer(&mut out), Some(16));
    assert!(items[10].is_null());
    assert_eq!(items[11].text(&mut out), Some("12"));
    assert_eq!(items[0].one_of(&mut out, &["north", "south"]), Some(1));
    assert_eq!(items[0].list_or_one(&mut out).len(), 1);
    assert_eq!(doc.root().list_or_one(&mut out).len(), 12);
    assert!(out.is_empty(), "{out}");
}

#[test]
fn wrong_kinds_are_named() {
    let text = |item: Item<'_>, out: &mut Problems| assert_eq!(item.text(out), None);
    assert_eq!(problem("12", text), "text is wanted here, and this reads as a number");
    assert_eq!(problem("true", text), "text is wanted here, and this reads as a flag");
    assert_eq!(problem("[a]", text), "text is wanted here, found a list");
    let number = |item: Item<'_>, out: &mut Problems| assert_eq!(item.number(out), None);
    assert_eq!(problem("six", number), "a number is wanted here, found `six`");
    let integer = |item: Item<'_>, out: &mut Problems| assert_eq!(item.integer(out), None);
    assert_eq!(problem("1.5", integer), "a whole number is wanted here, found a number");
    let flag = |item: Item<'_>, out: &mut Problems| assert_eq!(item.flag(out), None);
    assert_eq!(problem("maybe", flag), "`yes` or `no` is wanted here, found `maybe`");
    let list = |item: Item<'_>, out: &mut Problems| assert!(item.list(out).is_empty());
    assert_eq!(
        problem("a: 1", list),
        "a list (`- item`, or `[item, item]`) is wanted here, found a mapping"
    );
    let entries = |item: Item<'_>, out: &mut Problems| assert!(item.entries(out).is_empty());
    assert_eq!(
        problem("[a]", entries),
        "a mapping (`name: value`) is wanted here, found a list"
    );
    let choice = |item: Item<'_>, out: &mut Problems| assert_eq!(item.one_of(out, &["sure", "fairly"]), None);
    assert_eq!(problem("shure", choice), "`shure` is not a choice here");
}

#[test]
fn a_miss_names_the_nearest_and_all() {
    let doc = doc("{clue: x, att: y}");
    let mut out = Problems::new();
    let fields = doc.root().fields(&mut out, &["clue", "at"]);
    assert!(fields.required(&mut out, "clue").is_some());
    assert!(fields.required(&mut out, "at").is_none());
    let rows: Vec<_> = out.iter().map(|p| (p.what.as_str(), p.help.as_deref())).collect();
    let help = "did you mean `at`? names known here: `clue`, `at`";
    assert_eq!(
        rows,
        [
            ("`att` is not a name known here", Some(help)),
            ("`at` is missing here", Some("add `at:`"))
        ]
    );
}

#[test]
fn nearest_is_near_and_the_first_of_equals() {
    assert_eq!(nearest("cat", ["bat", "car", "rat"]), Some("bat"));
    assert_eq!(nearest("South-Wall", ["north_wall", "south_wall"]), Some("south_wall"));
    assert_eq!(nearest("x", ["y"]), Some("y"));
    assert_eq!(nearest("", ["y"]), None);
    assert_eq!(nearest("slab_crack", ["step_crack_veneer"]), None);
    assert_eq!(nearest(&"x".repeat(100_000), ["x"]), None);
}
