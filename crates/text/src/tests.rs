//! Tests of the whole crate.

use crate::*;

fn refused(name: &str, text: &str) -> String {
    Doc::parse(name, text).expect_err("should be refused").to_string()
}

#[test]
fn spots_of_every_node() {
    let text = "a: 1\nb:\n  - south wall\n  - 'it''s'\n  - {c: x, d: [y, z], e: {}}\nf: |\n  long\n  text\ng: null\n";
    let doc = Doc::parse("a.yaml", text).expect("parses");
    let mut seen = Vec::new();
    let mut stack = vec![doc.root()];
    while let Some(item) = stack.pop() {
        let spot = doc.problem_at(&item.locus(), "x", None).spot.expect("has a spot");
        seen.push((item.locus(), spot.line, spot.column, spot.length));
        stack.extend(item.children().into_iter().map(|(_, child)| child));
    }
    seen.sort();
    println!("{seen:?}");
}
