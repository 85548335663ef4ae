use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use wythe_measure::parse_measured;

use super::*;

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-zé ,:#&*'\"{}\\[\\]|>!?%@`-]{0,12}x",
        select(vec![
            "yes",
            "no",
            "null",
            "~",
            "1.5",
            "0x1f",
            "1e3",
            "true",
            "- a",
            "# b",
            "a: b",
            "a\nb\n",
            " a ",
            "2026-03-14",
            "---"
        ])
        .prop_map(str::to_owned),
    ]
    // A number written as such comes back as that number's text.
    .prop_filter("a number", |text| text.trim() == text || !text.trim().is_empty())
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z][a-z0-9_-]{0,6}",
        select(vec!["yes", "no", "null", "true", "12", "1.5", "1e3", "0x10", "-", "."]).prop_map(str::to_owned)
    ]
}

fn date() -> impl Strategy<Value = Date> {
    (2020_u16..2030, 1_u8..=12, 1_u8..=28).prop_map(|(year, month, day)| Date::new(year, month, day).expect("a day"))
}

fn seen() -> impl Strategy<Value = (Seen, bool)> {
    let readings = vec![
        "1/16 in ± 1/64 in",
        "3 mm",
        "1/360",
        "2.5 mm ± 20 %",
        "0.4 %",
        "2 deg",
        "1' 4 1/2\"",
        "1 mm per year",
    ];
    let measured = (select(readings), option::of(words()), any::<bool>()).prop_map(|(text, with, from_photo)| {
        let reading = parse_measured(text).expect("a measurement");
        (
            Seen::Measured {
                reading,
                with,
                from_photo,
            },
            true,
        )
    });
    let looked = prop_oneof![
        Just(Looked::All),
        Just(Looked::Part),
        (1_u32..100).prop_map(|share| Looked::Share(f64::from(share) / 100.0)),
        (0.001..0.999).prop_map(Looked::Share),
    ];
    prop_oneof![
        name().prop_map(|grade| (Seen::Grade(grade), true)),
        Just((Seen::Present, true)),
        measured,
        looked.prop_map(|looked| (Seen::NoneThere { looked }, false)),
        (words(), any::<bool>())
            .prop_filter("a flag", |(why, _)| why != "yes" && why != "no")
            .prop_map(|(why, ask_access)| (Seen::NotReached { why, ask_access }, false)),
    ]
}

/// Places: kinds, labels, notes, what each lies in and which later ones it touches, as numbers to be fitted.
fn places() -> impl Strategy<Value = Vec<Place>> {
    let one = (
        name(),
        option::of(words()),
        option::of(words()),
        any::<usize>(),
        vec(any::<usize>(), 0..3),
    );
    vec(one, 0..6).prop_map(|drawn| {
        let mut places = vec![Place::house()];
        for (index, (kind, label, note, within, _)) in (1..).zip(&drawn) {
            let mut place = Place::new(&format!("p{index}"), kind);
            place.label = label.clone().unwrap_or(place.id.clone());
            place.note = note.clone();
            place.within = Some(within % index);
            places.push(place);
        }
        let mut case = Case::new("a", "a");
        case.places = places;
        for (index, (.., touches)) in (1..).zip(&drawn) {
            for other in touches.iter().map(|other| other % (drawn.len() + 1)) {
                if other != index && !case.contains(other, index) && !case.contains(index, other) {
                    for (one, two) in [(index, other), (other, index)] {
                        case.places[one].touches.push(two);
                        case.places[one].touches.sort_unstable();
                        case.places[one].touches.dedup();
                    }
                }
            }
        }
        case.places
    })
}

fn sighting() -> impl Strategy<Value = (usize, Sighting)> {
    let marks = proptest::collection::btree_map(name(), subsequence(vec!["a", "b", "no"], 1..=3), 0..3);
    let photos = subsequence(vec!["P-1", "12", "yes", "x.jpg"], 0..=4);
    (
        any::<usize>(),
        seen(),
        marks,
        select(Sure::ALL.to_vec()),
        option::of(words()),
        photos,
        any::<bool>(),
    )
        .prop_map(|(at, (seen, marked), marks, sure, note, photos, named)| {
            let owned = |texts: Vec<&str>| texts.into_iter().map(str::to_owned).collect::<Vec<_>>();
            let marks = marks.into_iter().map(|(mark, kinds)| (mark, owned(kinds))).collect();
            let sighting = Sighting {
                id: if named { "named".into() } else { String::new() },
                clue: String::new(),
                at: 0,
                marks: if marked { marks } else { Vec::new() },
                sure: if matches!(seen, Seen::NotReached { .. }) {
                    Sure::Sure
                } else {
                    sure
                },
                seen,
                corrects: None,
                note,
                photos: owned(photos),
                computed: None,
                locus: Locus::default(),
            };
            (at, sighting)
        })
}

prop_compose! {
    fn case()(
        (title, visited, region, places) in (words(), date(), option::of(name()), places()),
        how_many in option::of((name(), 0.5_f64..100.0)),
        contexts in proptest::collection::btree_map(name(), (any::<bool>(), option::of(words())), 0..4),
        passes in vec((option::of(words()), date(), option::of(words()), vec(sighting(), 0..5)), 0..4),
        repairs in vec((option::of(date()), vec(any::<usize>(), 1..3), any::<bool>(), words()), 0..3),
    ) -> Case {
        let count = places.len();
        let mut case = Case::new("drawn", &title);
        case.visited = Some(visited);
        case.region = region;
        case.how_many.extend(how_many);
        case.places = places;
        case.contexts = contexts
            .into_iter()
            .map(|(id, (holds, note))| ContextFact { id, holds, note, computed: None, locus: Locus::default() })
            .collect();
        let mut dates: Vec<Date> = passes.iter().map(|(_, date, ..)| *date).collect();
        dates.sort();
        for (number, ((title, _, by, sightings), date)) in passes.into_iter().zip(dates).enumerate() {
            let id = format!("pass-{number}");
            let sightings = (1..).zip(sightings).map(|(n, (at, sighting))| {
                let named = format!("named-{number}-{n}");
                let id = if sighting.id.is_empty() { format!("{id}.{n}") } else { named };
                Sighting { id, clue: format!("clue-{n}"), at: at % count, ..sighting }
            });
            let sightings = sightings.collect();
            case.passes.push(Pass { id, title, date: Some(date), by, sightings, locus: Locus::default() });
        }
        for (date, at, all, what) in repairs {
            let mut at: Vec<usize> = at.into_iter().map(|at| at % count).collect();
            at.sort_unstable();
            at.dedup();
            let after = |date: Date| case.passes.iter().position(|pass| pass.date >= Some(date)).unwrap_or(case.passes.len());
            let before_pass = date.map_or(0, after);
            let clues = if all { Vec::new() } else { vec!["clue-1".into(), "12".into()] };
            case.repairs.push(Repair { date, before_pass, at, clues, what, locus: Locus::default() });
        }
        case
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn write_then_read_is_the_same_case(case in case()) {
        let text = case.to_yaml();
        let read = Case::read("drawn.yaml", &text).map_err(|problems| TestCaseError::fail(problems.to_string()))?;
        prop_assert_eq!(plain(&read), case, "{}", text);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..200)) {
        let text = String::from_utf8_lossy(&bytes);
        prop_assert!(Case::read("a.yaml", &text).is_err());
    }

    /// A good case with a stretch of it cut out, doubled or put elsewhere.
    #[test]
    fn a_damaged_case_is_read_or_refused(case in case(), cut in (any::<prop::sample::Index>(), 0_usize..40), to in any::<prop::sample::Index>()) {
        let chars: Vec<char> = case.to_yaml().chars().collect();
        let from = cut.0.index(chars.len());
        let piece: Vec<char> = chars.iter().skip(from).take(cut.1).copied().collect();
        let mut damaged = chars.clone();
        damaged.drain(from..from + piece.len());
        let at = to.index(damaged.len() + 1);
        damaged.splice(at..at, piece);
        let text: String = damaged.into_iter().collect();
        match Case::read("a.yaml", &text) {
            Ok(case) => prop_assert!(case.standing().len() <= 20),
            Err(problems) => prop_assert!(problems.iter().all(|problem| !problem.to_string().is_empty())),
        }
    }
}
