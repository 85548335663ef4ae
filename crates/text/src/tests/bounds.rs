use super::*;

#[test]
fn what_files_have_no_need_of_is_refused() {
    let rows = [
        ("", "a.yaml: there is nothing in the file"),
        ("# only a comment\n", "a.yaml: there is nothing in the file"),
        (
            "a: &x 1\n",
            "a.yaml:1:4: `&` begins an anchor here, and those are not read",
        ),
        (
            "a: [1, *x]\n",
            "a.yaml:1:8: `*` begins an alias here, and those are not read",
        ),
        (
            "- !tag 1\n",
            "a.yaml:1:3: `!` begins a tag here, and those are not read",
        ),
        ("a: 1\n---\nb: 2\n", "a.yaml:2:1: the file holds more than one document"),
        ("a: 1\n...\nb: 2\n", "a.yaml:2:1: the file holds more than one document"),
        ("a: 1\nb: 2\na: 3\n", "a.yaml:3:1: `a` is given twice here"),
        ("a: .nan\n", "a.yaml:1:4: a number must be finite"),
        ("a: [-.inf]\n", "a.yaml:1:5: a number must be finite"),
        ("a: 1\u{7}\n", "a.yaml:1:5: the control character U+0007 is not read"),
        ("a: \u{202e}x\n", "a.yaml:1:4: the control character U+202E is not read"),
        ("a: 1\rb: 2\n", "a.yaml:1:5: the control character U+000D is not read"),
        (
            "a: \"\\e[31m\"\n",
            "a.yaml:1:4: the text holds the control character U+001B",
        ),
        (
            "\"\\u202e\": 1\n",
            "a.yaml:1:1: the text holds the control character U+202E",
        ),
        (
            "? [a]\n: 1\n",
            "a.yaml:1:3: invalid type: sequence, expected a name before the colon (text; put it in quotes)",
        ),
        ("a:\n \tb: 1\n", "a.yaml:2:2: a tab indents this line"),
        (
            "a: b: c\n",
            "a.yaml:1:5: mapping values are not allowed in this context",
        ),
        (
            "a: [1\nb: 2\n",
            "a.yaml:2:2: did not find expected ',' or ']', while parsing a flow sequence at line 1 column 4",
        ),
    ];
    for (text, expected) in rows {
        assert_eq!(first_line("a.yaml", text), expected, "{text:?}");
    }
}

#[test]
fn the_same_bounds_hold_in_json() {
    let rows = [
        ("", "a.json:1:1: the file ends while parsing a value"),
        ("{\"a\": 1,\n \"b\" 2}", "a.json:2:6: expected `:`"),
        ("{\"a\": 1, \"a\": 2}", "a.json:1:10: `a` is given twice here"),
        (
            "{\"a\": \"\\u001b\"}",
            "a.json:1:7: the text holds the control character U+001B",
        ),
        ("1 2", "a.json:1:3: trailing characters"),
        ("[1e999]", "a.json:1:6: number out of range"),
    ];
    for (text, expected) in rows {
        assert_eq!(first_line("a.json", text), expected, "{text:?}");
    }
}

#[test]
fn marks_inside_text_are_no_anchors() {
    let text = "a: b & c, *d !e\nb: 'it''s & *x'\nc: \"[ &x { \\\" *y\"\nd: |\n  &x\n  *y\n# &z\ne: x # *y\nf: [a &b, 'c', \"&d\"]\n\
                g: >-\n\n  !t\nh:\n- |\n *z\n- k: |\n    &n\n  l: x\n'm': |2\n   &x\n";
    doc(text);
    doc("a: 1\r\nb: |\r\n  &x\r\nc: 2\r\n");
    doc("--- # start\na: 1\n...\n# end\n");
    doc("\u{feff}%YAML 1.2\n---\na: 1\n");
    doc("- - a\n  - b\n- -1\n- ---\n");
    doc("a:\t1\nb: [1,\n\t2]\nc:\td\t\n");
}

#[test]
fn nesting_is_bounded() {
    let lists = |depth: usize| format!("{}{}", "[".repeat(depth), "]".repeat(depth));
    doc(&lists(MAX_DEPTH));
    assert!(Doc::parse("a.json", &lists(MAX_DEPTH)).is_ok());
    let deep = "nested more than 64 levels deep";
    for depth in [MAX_DEPTH + 1, 1000, MAX_BYTES / 2] {
        assert!(first_line("a.yaml", &lists(depth)).ends_with(deep));
        assert!(first_line("a.json", &lists(depth)).ends_with(deep));
    }
    assert!(first_line("a.yaml", &"- ".repeat(1_000_000)).ends_with(deep));
    assert!(first_line("a.yaml", &"? ".repeat(1_000_000)).ends_with(deep));
    let stairs: String = (0..70).map(|depth| format!("{}a:\n", " ".repeat(depth))).collect();
    assert!(first_line("a.yaml", &stairs).ends_with(deep));
}

#[test]
fn size_and_count_are_bounded() {
    assert_eq!(
        first_line("a.yaml", &"#".repeat(MAX_BYTES + 1)),
        "a.yaml: the file is larger than 4194304 bytes"
    );
    let many = "the file holds more than 500000 values";
    assert!(first_line("a.yaml", &"- 1\n".repeat(MAX_NODES + 1)).ends_with(many));
    assert!(first_line("a.json", &format!("[{}1]", "1,".repeat(MAX_NODES))).contains(many));
}

/// Were the scan to miss an alias, what it stands for is still bounded by what the file itself could hold.
#[test]
fn aliases_past_the_guard_are_bounded() {
    use serde::de::DeserializeSeed;
    let mut text = String::from("x0: &x0 [a,a,a,a,a,a,a,a]\n");
    for level in 1..20 {
        let inner = format!("*x{}", level - 1);
        text.push_str(&format!("x{level}: &x{level} [{}]\n", [inner.as_str(); 8].join(",")));
    }
    let mut reading = crate::reading::Reading::new(text.len());
    let node = crate::reading::Node {
        reading: &mut reading,
        depth: 0,
    };
    let outcome = node.deserialize(crate::yaml::unguarded(&text));
    assert!(outcome.is_err());
    assert!(reading.sizes.len() < 5 * text.len());
}

#[test]
fn a_file_name_cannot_mislead() {
    assert_eq!(
        first_line("a\u{1b}[2J.yaml", ""),
        "a\u{fffd}[2J.yaml: there is nothing in the file"
    );
}
