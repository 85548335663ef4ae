use super::*;

fn first(text: &str) -> String {
    let problems = Case::read("a.yaml", text).expect_err("should be refused");
    problems.to_string().lines().next().unwrap_or_default().to_owned()
}

fn many(head: &str, count: usize, row: impl Fn(usize) -> String) -> String {
    let rows: String = (0..count).map(row).collect();
    format!("format: 1\nid: a\n{head}{rows}")
}

#[test]
fn numbers_of_things_are_bounded() {
    let places = |count| many("places:\n", count, |n| format!("- {{id: p{n}, kind: room}}\n"));
    assert!(Case::read("a.yaml", &places(MAX_PLACES)).is_ok());
    assert_eq!(first(&places(MAX_PLACES + 1)), "a.yaml:2004:4: more than 2000 places");

    let passes = |count| many("passes:\n", count, |n| format!("- pass: p{n}\n"));
    assert!(Case::read("a.yaml", &passes(MAX_PASSES)).is_ok());
    assert_eq!(first(&passes(MAX_PASSES + 1)), "a.yaml:204:3: more than 200 passes");

    let head = "passes:\n- pass: a\n  sightings:\n";
    let sightings = |count| many(head, count, |n| format!("  - {{clue: c{n}, at: house, seen: x}}\n"));
    assert!(Case::read("a.yaml", &sightings(MAX_SIGHTINGS)).is_ok());
    assert_eq!(
        first(&sightings(MAX_SIGHTINGS + 1)),
        "a.yaml:20006:6: more than 20000 sightings"
    );

    let repairs = many("repairs:\n", 201, |_| "- {at: house, what: painted}\n".into());
    assert_eq!(first(&repairs), "a.yaml:204:4: more than 200 repairs");
}

#[test]
fn costly_files_cost_little() {
    // Each would take long if a problem cost a walk through the file, or a name a look at all the others.
    let names = many("places:\n", 500, |n| {
        format!(
            "- {{id: {}{n:04}, kind: room, in: {}x}}\n",
            "a".repeat(30),
            "b".repeat(34)
        )
    });
    assert!(first(&names).contains("there is no place"));
    let sightings = many("passes:\n- pass: a\n  sightings:\n", 15_000, |n| {
        format!("  - {{clue: c{n}, att: house, sean: x, marks: [y]}}\n")
    });
    assert!(first(&sightings).contains("`at` is missing"));
    let photos = many(
        "passes:\n- pass: a\n  sightings:\n  - clue: c\n    at: house\n    seen: x\n    photos:\n",
        200_000,
        |n| format!("    - P{n}\n"),
    );
    assert!(Case::read("a.yaml", &photos).is_ok());
    let deep = many("places:\n", MAX_PLACES, |n| {
        format!("- {{id: p{n}, kind: room, in: p{}}}\n", (n + 1) % MAX_PLACES)
    });
    assert!(first(&deep).contains("lies in itself"));
    let touches = many("places:\n", 600, |n| {
        let others: Vec<String> = (0..600)
            .filter(|&other| other != n)
            .map(|other| format!("p{other}"))
            .collect();
        format!("- {{id: p{n}, kind: room, touches: [{}]}}\n", others.join(","))
    });
    let case = Case::read("a.yaml", &touches).expect("reads");
    assert!(case.touching(1, 600));
}

/// An alias file whose cost would grow with the square of its size, or exponentially.
#[test]
fn alias_files_are_refused_before_they_are_read() {
    let square = format!(
        "format: 1\nid: a\ntitle: &t {}\ncontexts:\n{}",
        "x".repeat(80_000),
        "- *t\n".repeat(16_000)
    );
    assert_eq!(
        first(&square),
        "a.yaml:3:8: `&` begins an anchor here, and those are not read"
    );
    let mut bomb = String::from("a: &x0 [y, y]\n");
    (1..40).for_each(|n| bomb.push_str(&format!("b{n}: &x{n} [*x{m}, *x{m}]\n", m = n - 1)));
    assert_eq!(
        first(&bomb),
        "a.yaml:1:4: `&` begins an anchor here, and those are not read"
    );
}
