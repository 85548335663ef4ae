//! Matters, notices, looks and advice held back, on an outcome changed by hand.

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Decided, HeldBack, Notice, NoticeKind, Outcome};
use wythe_pack::{Action, Pack, Rival, Support};

use super::{house, pack, weighed};
use crate::{Page, page};

pub(super) struct Made {
    pack: Pack,
    case: Case,
    outcome: Outcome,
}

impl Made {
    pub fn new() -> Made {
        let (pack, case) = (pack(), house("a note"));
        let mut outcome = weighed(&pack, &case);
        for one in &mut outcome.conclusions {
            (one.action, one.support, one.decided) = (Action::Record, Support::NotMoved, Decided::Support);
        }
        outcome.notices.clear();
        Made { pack, case, outcome }
    }

    pub fn at(&mut self, mechanism: &str, place: &str) -> &mut Conclusion {
        let about = About::Mechanism {
            mechanism: self.pack.mechanism(mechanism).unwrap(),
            at: self.case.place(place).unwrap(),
        };
        self.outcome
            .conclusions
            .iter_mut()
            .find(|one| one.about == about)
            .unwrap()
    }

    pub fn page(&self) -> Page {
        page(&self.pack, &self.case, &self.outcome).unwrap()
    }

    fn words(&self) -> String {
        self.page()
            .plain()
            .unwrap()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    }
}

#[test]
fn a_matter_per_mechanism_and_the_highest_action_first() {
    let mut made = Made::new();
    *made.at("corner_pop", "corner") = Conclusion {
        action: Action::Upkeep,
        support: Support::Strong,
        chance: 0.99,
        ..made.at("corner_pop", "corner").clone()
    };
    *made.at("veneer_not_tied", "west") = Conclusion {
        action: Action::Monitor,
        support: Support::Slight,
        chance: 0.1,
        ..made.at("veneer_not_tied", "west").clone()
    };
    let page = made.page();
    let told: Vec<(&str, &str)> = page
        .matters
        .iter()
        .map(|matter| (matter.conclusions[0].as_str(), matter.action))
        .collect();
    assert_eq!(
        told,
        [("veneer_not_tied@west", "monitor"), ("corner_pop@corner", "upkeep")]
    );
}

#[test]
fn members_of_a_family_at_one_place_are_one_matter_with_each_advice() {
    let mut made = Made::new();
    for (mechanism, chance) in [("lintel_short_bearing", 0.6), ("lintel_undersized", 0.7)] {
        let one = made.at(mechanism, "entry");
        (one.action, one.support, one.chance) = (Action::Trade, Support::Fair, chance);
    }
    let page = made.page();
    assert_eq!(page.matters.len(), 1);
    assert_eq!(
        page.matters[0].conclusions,
        ["lintel_undersized@entry", "lintel_short_bearing@entry"]
    );
    assert!(
        page.matters[0].title.ends_with("at the entry"),
        "{}",
        page.matters[0].title
    );
    let trade = made.pack[made.pack.mechanism("lintel_short_bearing").unwrap()]
        .trade
        .clone()
        .unwrap();
    assert!(
        page.matters[0].todo.contains(&format!("Trade: {trade}.")),
        "{:?}",
        page.matters[0].todo
    );
}

#[test]
fn one_mechanism_at_two_places_is_one_matter() {
    let mut made = Made::new();
    for place in ["south", "west"] {
        let one = made.at("veneer_expansion", place);
        (one.action, one.support) = (Action::Upkeep, Support::Fair);
    }
    let page = made.page();
    assert_eq!((page.matters.len(), page.matters[0].places.len()), (1, 2));
}

#[test]
fn a_family_that_asks_leads_its_members_and_asks_for_its_action_only() {
    let mut made = Made::new();
    let family = made.pack.family("ground_movement").unwrap();
    let one = made
        .outcome
        .conclusions
        .iter_mut()
        .find(|one| one.about == About::Family(family))
        .unwrap();
    (one.action, one.support) = (Action::Refer, Support::Fair);
    let member = made.at("corner_drop", "corner");
    (member.action, member.support) = (Action::Monitor, Support::Some);
    let page = made.page();
    assert_eq!(page.matters[0].conclusions, ["ground_movement", "corner_drop@corner"]);
    assert!(
        page.matters[0].todo[0].contains("a licensed professional engineer"),
        "{:?}",
        page.matters[0].todo
    );
    assert!(
        !page.matters[0].todo.iter().any(|line| line.starts_with("Method")),
        "{:?}",
        page.matters[0].todo
    );
}

#[test]
fn a_plan_to_measure_again_has_points_method_months_and_when_to_call() {
    let mut made = Made::new();
    let one = made.at("corner_drop", "corner");
    (one.action, one.support) = (Action::Monitor, Support::Some);
    let clue = made.pack.clue("floor_corner_low").unwrap();
    one_wanting_a_look(&mut made, clue);
    let words = made.words();
    for said in [
        "Points: ",
        "Method: ",
        "12 months, to February 2027",
        "Call a licensed professional engineer if: ",
        "Look first: floor low in one corner at the south-west corner",
    ] {
        assert!(words.contains(said), "{said}: {words}");
    }
}

fn one_wanting_a_look(made: &mut Made, clue: wythe_pack::ClueIx) {
    let at = made.case.place("corner").unwrap();
    made.at("corner_drop", "corner").wants_look = Some((clue, at));
}

/// A strong conclusion is referred at once, and the look that would back it up is asked for beside it.
#[test]
fn a_referral_made_does_not_wait_for_its_look() {
    let mut made = Made::new();
    let one = made.at("corner_drop", "corner");
    (one.action, one.support) = (Action::Refer, Support::Strong);
    let clue = made.pack.clue("floor_corner_low").unwrap();
    one_wanting_a_look(&mut made, clue);
    let words = made.words();
    for said in [
        "licensed professional engineer",
        "Look as well: floor low in one corner at the south-west corner",
        "the referral does not wait for it",
    ] {
        assert!(words.contains(said), "{said}: {words}");
    }
    assert!(!words.contains("Look first"), "{words}");
}

#[test]
fn advice_held_back_is_not_given() {
    let mut made = Made::new();
    let mechanism = made.pack.mechanism("lintel_short_bearing").unwrap();
    let harm = made.pack[mechanism].harm_if_wrong.clone().unwrap();
    let advice = crate::units::with_both_units(&made.pack[mechanism].advice.trade.clone().unwrap());
    let one = made.at("lintel_short_bearing", "entry");
    (one.action, one.support) = (Action::Trade, Support::Fair);
    assert!(made.words().contains(&advice));
    let rival = Rival::Family(made.pack.family("ground_movement").unwrap());
    made.at("lintel_short_bearing", "entry").held_back = Some(HeldBack {
        rival,
        chance: 0.4,
        check_first: harm.check_first,
    });
    let words = made.words();
    assert!(!words.contains(&advice), "{words}");
    assert!(
        words.contains(&format!("Hold off {} for now", harm.what)) && words.contains("about 4 in 10"),
        "{words}"
    );
}

#[test]
fn hazards_come_before_all_and_limits_name_their_source() {
    let mut made = Made::new();
    made.outcome.notices = vec![
        Notice {
            kind: NoticeKind::Misfit,
            reading: None,
            action: Action::Refer,
        },
        Notice {
            kind: NoticeKind::Limit(0),
            reading: Some(0),
            action: Action::Monitor,
        },
        Notice {
            kind: NoticeKind::Hazard(0),
            reading: Some(1),
            action: Action::Promptly,
        },
    ];
    let kinds: Vec<&str> = made.page().notices.iter().map(|notice| notice.kind).collect();
    assert_eq!(kinds, ["hazard", "misfit", "limit"]);
    let words = made.words();
    let place = |said: &str| words.find(said).unwrap_or_else(|| panic!("{said}: {words}"));
    assert!(place("HAZARD.") < place("do not fit a pattern") && place("do not fit a pattern") < place("Source: "));
    assert!(
        words.contains(
            made.pack.hazards[0]
                .notice
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .trim_end_matches('.')
        )
    );
}

#[test]
fn a_house_with_nothing_seen_says_only_that() {
    let pack = pack();
    let mut case = house("a note");
    case.passes.truncate(1);
    case.passes[0].sightings.retain(|one| one.id == "one.4");
    let words = page(&pack, &case, &weighed(&pack, &case)).unwrap().plain().unwrap();
    assert!(
        words.contains("No such signs were seen in the areas viewed."),
        "{words}"
    );
}
