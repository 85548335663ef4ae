use proptest::prelude::*;

use super::*;

fn map(entries: &[(&str, &str)]) -> Tree {
    let text = |text: &str| Tree::Text(text.to_owned());
    Tree::Map(
        entries
            .iter()
            .map(|(name, value)| ((*name).to_owned(), text(value)))
            .collect(),
    )
}

fn added(name: &str, text: &str, path: &[&str]) -> String {
    let doc = Doc::parse(name, text).expect("parses");
    doc.appended(path, &[map(&[("c", "x y")])]).expect("can be added to")
}

#[test]
fn after_the_last_item_and_before_what_follows() {
    let text =
        "# head\np:\n  - n: one\n    s:\n      - {c: a}  # first\n      # a thought\n\n  # more\n  - n: two\nend: 1\n";
    assert_eq!(
        added("a.yaml", text, &["p", "0", "s"]),
        "# head\np:\n  - n: one\n    s:\n      - {c: a}  # first\n      - {c: x y}\n      # a thought\n\n  # more\n  - n: two\nend: 1\n"
    );
    assert_eq!(
        added("a.yaml", text, &["p", "1", "s"]),
        text.replace("two\n", "two\n    s:\n      - {c: x y}\n")
    );
    assert_eq!(
        added("a.yaml", text, &["p"]),
        text.replace("two\n", "two\n  - {c: x y}\n")
    );
    assert_eq!(added("a.yaml", text, &["q"]), format!("{text}q:\n  - {{c: x y}}\n"));
}

#[test]
fn a_block_of_text_at_the_end_is_not_cut() {
    let text = "s:\n  - c: |\n      one\n\n      # not a comment\nend: 1\n";
    let more = added("a.yaml", text, &["s"]);
    assert_eq!(more, text.replace("end", "  - {c: x y}\nend"));
}

#[test]
fn one_entry_is_set_and_all_else_kept() {
    let yes = Tree::Text("yes".into());
    let note = map(&[("holds", "no"), ("note", "a, b")]);
    for (name, text, value, more) in [
        (
            "a.yaml",
            "f:\n  a: no  # ask\n  b: no\n",
            &yes,
            "f:\n  a: yes  # ask\n  b: no\n",
        ),
        ("a.yaml", "f: {a: no, b: no}\n", &yes, "f: {a: yes, b: no}\n"),
        ("a.yaml", "f: {b: no, a: no}  # x\n", &yes, "f: {b: no, a: yes}  # x\n"),
        ("a.yaml", "f:\n  a: \"no # not\"\n", &yes, "f:\n  a: yes\n"),
        (
            "a.yaml",
            "f:\n  a: {holds: no, note: \"}\"}  # x\n",
            &yes,
            "f:\n  a: yes  # x\n",
        ),
        (
            "a.yaml",
            "f:\n  b: no # x\n\nend: 1\n",
            &yes,
            "f:\n  b: no # x\n  a: yes\n\nend: 1\n",
        ),
        (
            "a.yaml",
            "f:  # facts\nend: 1\n",
            &yes,
            "f:  # facts\n  a: yes\nend: 1\n",
        ),
        ("a.yaml", "f: {}\n", &yes, "f: {a: yes}\n"),
        ("a.yaml", "e: 1  # x", &yes, "e: 1  # x\nf:\n  a: yes\n"),
        ("a.yaml", "{e: 1}", &yes, "{e: 1, f: {a: yes}}"),
        (
            "a.yaml",
            "f:\n  a: no\n",
            &note,
            "f:\n  a: {holds: no, note: \"a, b\"}\n",
        ),
        ("a.json", "{\"f\": {\"a\": \"no\"}}", &yes, "{\"f\": {\"a\": \"yes\"}}"),
        ("a.json", "{\"e\": 1}", &yes, "{\"e\": 1, \"f\": {\"a\": \"yes\"}}"),
        ("a.json", "{\"f\": {}}", &yes, "{\"f\": {\"a\": \"yes\"}}"),
    ] {
        let doc = Doc::parse(name, text).expect("parses");
        assert_eq!(doc.with_entry(&["f"], "a", value).expect("can be set"), more, "{text}");
    }
    let doc = Doc::parse("a.yaml", "f: 3\n").expect("parses");
    assert!(doc.with_entry(&["f"], "a", &yes).is_err());
}

#[test]
fn in_brackets() {
    for (text, more) in [
        ("s: [{c: it's}, {c: \"]\"}]\n", "s: [{c: it's}, {c: \"]\"}, {c: x y}]\n"),
        (
            "s: [\n  {c: a}, # one ]\n  {c: b} # two\n]\n",
            "s: [\n  {c: a}, # one ]\n  {c: b},\n  {c: x y} # two\n]\n",
        ),
        ("s: [{c: a},]\n", "s: [{c: a}, {c: x y}]\n"),
        ("s: []  # none yet\n", "s: \n  - {c: x y}  # none yet\n"),
        ("s:\nend: 1\n", "s:\n  - {c: x y}\nend: 1\n"),
        ("{a: 1}", "{a: 1, s: [{c: x y}]}"),
        ("{a: 1, s: []}", "{a: 1, s: [{c: x y}]}"),
        ("'s': # here\n  [a]", "'s': # here\n  [a, {c: x y}]"),
        ("s:\r\n  - a\r\n", "s:\r\n  - a\r\n  - {c: x y}\r\n"),
        ("s:\n- a", "s:\n- a\n- {c: x y}\n"),
    ] {
        assert_eq!(added("a.yaml", text, &["s"]), more);
    }
}

#[test]
fn json_stays_json() {
    let text = "{\n  \"a\": 1,\n  \"s\": [\n    {\"c\": \"]\"}\n  ]\n}\n";
    let more = text.replace("\"]\"}", "\"]\"},\n    {\"c\": \"x y\"}");
    assert_eq!(added("a.json", text, &["s"]), more);
    assert_eq!(
        added("a.json", "{\"a\": 1}", &["s"]),
        "{\"a\": 1, \"s\": [{\"c\": \"x y\"}]}"
    );
    assert_eq!(added("a.json", "{\"s\": []}", &["s"]), "{\"s\": [{\"c\": \"x y\"}]}");
}

#[test]
fn what_holds_a_list_takes_several_lines() {
    let pass = Tree::Map(vec![
        ("pass".into(), Tree::Text("2".into())),
        ("s".into(), Tree::List(vec![map(&[("c", "a: b")])])),
    ]);
    let more = doc("p:\n  - {pass: one}\n")
        .appended(&["p"], &[pass])
        .expect("can be added to");
    assert_eq!(
        more,
        "p:\n  - {pass: one}\n  - pass: \"2\"\n    s:\n      - {c: \"a: b\"}\n"
    );
}

#[test]
fn no_list_no_change() {
    assert!(doc("s: text\n").appended(&["s"], &[Tree::Null]).is_err());
    assert!(doc("s: text\n").appended(&["t", "u"], &[Tree::Null]).is_err());
    assert!(doc("s: [1]\n").appended(&["s", "4"], &[Tree::Null]).is_err());
    assert_eq!(
        doc("s: [1]\n").appended(&["s"], &[]).expect("nothing to do"),
        "s: [1]\n"
    );
}

proptest! {
    /// Whatever text is put in comes out as that text; all that was there is still there, in order.
    #[test]
    fn any_text_comes_back(new in "[ -~é±\n]{0,40}", form in 0_usize..6) {
        let text = ["s:\n  - a: 1 # one\n\nend: 1\n", "s: [a] # two\n", "s: []\n", "end: 1", "{s: [a, 'b']}", "s:\nend: 1\n"];
        let read = doc(text[form]);
        let more = read.appended(&["s"], &[Tree::Text(new.clone())]).expect("can be added to");
        let back = doc(&more);
        let item = back.root().child("s").expect("a list").members().pop().expect("an item").1;
        prop_assert_eq!(item.tree(), &Tree::Text(new));
        let mut rest = more.chars();
        let kept = text[form].chars().filter(|c| !"[]".contains(*c) || form != 2).all(|c| rest.any(|other| other == c));
        prop_assert!(kept);
    }
}
