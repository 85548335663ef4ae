use super::*;

type Row = (u32, usize, usize, usize);

/// Number, line, column and length of every node.
fn rows(doc: &Doc) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut left = vec![doc.root()];
    while let Some(item) = left.pop() {
        let spot = doc.problem_at(&item.locus(), "x", None).spot.expect("has a spot");
        rows.push((item.locus().0, spot.line, spot.column, spot.length));
        left.extend(item.members().into_iter().map(|(_, child)| child));
    }
    rows.sort();
    rows
}

#[test]
fn yaml_nodes_stand_where_they_do() {
    let text = "a: 1\nb:\n  - south wall\n  - 'it''s'\n  - {c: x, d: [y, z], e: {}, g: []}\nf: |\n  long\ng: null\n";
    let expected = [
        (0, 1, 1, 1),   // the whole stands at its first name
        (1, 1, 4, 1),   // 1
        (2, 3, 5, 5),   // the list stands at its first member
        (3, 3, 5, 10),  // south wall
        (4, 4, 5, 4),   // 'it''s', up to the doubled quote
        (5, 5, 6, 1),   // {c
        (6, 5, 9, 1),   // x
        (7, 5, 16, 1),  // [y
        (8, 5, 16, 1),  // y
        (9, 5, 19, 1),  // z
        (10, 5, 26, 1), // {}
        (11, 5, 33, 1), // []
        (12, 6, 4, 1),  // |
        (13, 8, 4, 4),  // null
    ];
    assert_eq!(rows(&doc(text)), expected);
}

#[test]
fn json_nodes_stand_where_they_do() {
    let text = "{\"a\": 12.5,\n \"b\\\"c\": [\"x, é\", true, {}],\r\n\t\"d\": null}";
    let doc = Doc::parse("A.JSON", text).expect("parses");
    let expected = [
        (0, 1, 1, 1),
        (1, 1, 7, 4),
        (2, 2, 10, 1),
        (3, 2, 11, 6),
        (4, 2, 19, 4),
        (5, 2, 25, 1),
        (6, 3, 7, 4),
    ];
    assert_eq!(rows(&doc), expected);
    let problem = doc.problem_at_key(&doc.root().locus(), "b\"c", "x", None);
    assert_eq!(
        problem.spot,
        Some(Spot {
            line: 2,
            column: 2,
            length: 6
        })
    );
}

#[test]
fn columns_count_characters() {
    let doc = doc("é: {ü: ß, x: wide}\n");
    let inner = doc
        .root()
        .child("é")
        .and_then(|item| item.child("x"))
        .expect("is there");
    let spot = doc.problem_at(&inner.locus(), "x", None).spot;
    assert_eq!(
        spot,
        Some(Spot {
            line: 1,
            column: 14,
            length: 4
        })
    );
}

#[test]
fn a_part_of_a_text_is_pointed_at() {
    for (text, column) in [("a: 1/16 inn\n", 9), ("a: \"1/16 inn\"\n", 10), ("{a: 1/16 inn}\n", 10)] {
        let doc = doc(text);
        let mut problems = Problems::new();
        doc.root()
            .child("a")
            .expect("is there")
            .problem_inside(&mut problems, (5, 3), "x", None);
        let spot = problems.iter().next().and_then(|problem| problem.spot);
        assert_eq!(
            spot,
            Some(Spot {
                line: 1,
                column,
                length: 3
            }),
            "{text}"
        );
    }
}

#[test]
fn a_long_line_is_cut_around_the_caret() {
    let text = format!(
        "{{a: \"{}\", b: here, c: \"{}\"}}\n",
        "x".repeat(3000),
        "y".repeat(3000)
    );
    let doc = doc(&text);
    let locus = doc.root().child("b").expect("is there").locus();
    let shown = doc.problem_at(&locus, "wrong", None).to_string();
    assert!(shown.len() < 700, "{shown}");
    let rows: Vec<&str> = shown.lines().collect();
    let caret = rows[3].find('^').expect("has a caret");
    assert_eq!(
        rows[2].chars().skip(caret).take(4).collect::<String>(),
        "here",
        "{shown}"
    );
}

#[test]
fn problems_come_in_the_order_of_the_file() {
    let doc = doc("a: 1\nb: 2\nc: 3\n");
    let mut problems = Problems::new();
    for key in ["c", "a", "b"] {
        doc.root()
            .child(key)
            .expect("is there")
            .problem(&mut problems, key, None);
    }
    let what: Vec<String> = problems.sorted().iter().map(|problem| problem.what.clone()).collect();
    assert_eq!(what, ["a", "b", "c"]);
}

#[test]
fn problems_past_the_first_500_are_counted() {
    let text: String = (0..700).map(|_| "a: 1\n").collect();
    let problems = Doc::parse("a.yaml", &text).expect_err("names given twice");
    assert_eq!(problems.len(), 699);
    assert!(problems.to_string().ends_with("\nand 199 more\n"));
}

#[test]
fn a_path_of_names_is_followed_as_far_as_it_goes() {
    let doc = doc("a: {b: {c: 1, d: 2}}\n");
    let spot = |path: &[&str]| {
        doc.problem_in(&Locus::default(), path, "x", None)
            .spot
            .map(|spot| spot.column)
    };
    assert_eq!(spot(&["a", "b", "d"]), Some(18));
    assert_eq!(spot(&["a", "b", "e"]), Some(9));
    assert_eq!(spot(&[]), Some(1));
}
