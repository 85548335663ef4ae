use proptest::prelude::*;

use super::*;

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[ -~é\n]{0,12}",
        "[&*!|>'\"#:,{}\\[\\]\\-? ]{0,6}",
        proptest::sample::select(vec![
            "yes", "null", "~", "1.5", "0x1", "---", "...", " a", "a\n", "\n a\n", "- &a b"
        ])
        .prop_map(str::to_owned),
    ]
}

fn tree() -> impl Strategy<Value = Tree> {
    let leaf = prop_oneof![
        Just(Tree::Null),
        any::<bool>().prop_map(Tree::Flag),
        any::<i64>().prop_map(Tree::Integer),
        any::<i32>().prop_map(|n| Tree::Number(f64::from(n) + 0.25)),
        text().prop_map(Tree::Text),
    ];
    leaf.prop_recursive(5, 60, 6, |inner| {
        let list = proptest::collection::vec(inner.clone(), 0..6).prop_map(Tree::List);
        let map = proptest::collection::btree_map("[a-zé&*#' :\"-]{0,8}", inner, 0..6);
        prop_oneof![list, map.prop_map(|map| Tree::Map(map.into_iter().collect()))]
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Written and read again, a tree is the same, and every node has a spot.
    #[test]
    fn written_and_read_is_the_same(tree in tree()) {
        for (name, text) in [("a.yaml", to_yaml(&tree).unwrap()), ("a.json", to_json(&tree).unwrap())] {
            let doc = Doc::parse(name, &text).map_err(|problems| TestCaseError::fail(problems.to_string()))?;
            prop_assert_eq!(doc.root().tree(), &tree, "{}", text);
            let mut left = vec![doc.root()];
            while let Some(item) = left.pop() {
                let spot = doc.problem_at(&item.locus(), "x", None).spot;
                prop_assert!(spot.is_some_and(|spot| spot.line > 0 && spot.column > 0), "{}", text);
                left.extend(item.members().into_iter().map(|(_, child)| child));
            }
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in "(?s).{0,80}") {
        for name in ["a.yaml", "a.json"] {
            if let Err(problems) = Doc::parse(name, &text) {
                prop_assert!(!problems.to_string().is_empty());
            }
        }
    }

    #[test]
    fn any_marks_are_read_or_refused(text in "[a1 \n\t:,&*!|>'\"#{}\\[\\]?%.-]{0,60}") {
        for name in ["a.yaml", "a.json"] {
            match Doc::parse(name, &text) {
                Err(problems) => prop_assert!(!problems.to_string().is_empty()),
                Ok(doc) => {
                    let spot = doc.problem_at(&doc.root().locus(), "x", None).spot;
                    prop_assert!(spot.is_some(), "{:?}", text);
                }
            }
        }
    }
}
