//! A case with some of its sightings: as it stood early on, or as if something had not been looked at.

use crate::Case;

impl Case {
    /// Number of sightings in the file, of all passes.
    pub fn sightings(&self) -> usize {
        self.passes.iter().map(|pass| pass.sightings.len()).sum()
    }

    /// The case as it stood after its first `count` sightings, in the order that they were made; later passes and
    /// repairs are left out.
    pub fn first(&self, count: usize) -> Self {
        let mut case = self.clone();
        let (mut left, mut kept) = (count, 0_usize);
        for pass in &mut case.passes {
            if left == 0 {
                break;
            }
            kept = kept.saturating_add(1);
            pass.sightings.truncate(left);
            left = left.saturating_sub(pass.sightings.len());
        }
        case.passes.truncate(kept);
        case.repairs.retain(|repair| repair.before_pass < kept.max(1));
        case
    }

    /// The case as if that clue had never been looked for at that place.
    pub fn without(&self, clue: &str, at: usize) -> Self {
        let mut case = self.clone();
        for pass in &mut case.passes {
            pass.sightings
                .retain(|sighting| sighting.clue != clue || sighting.at != at);
        }
        case
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TWO_PASSES: &str = r#"
format: 1
id: two
places: [{id: south, kind: exterior_wall}]
passes:
  - pass: first
    sightings: [{clue: a, at: south, seen: fine}, {clue: b, at: south, seen: none}]
  - {pass: second, sightings: [{clue: a, at: south, seen: wide}]}
"#;

    #[test]
    fn the_first_sightings_are_those_of_the_earlier_passes() -> Result<(), crate::Problems> {
        let case = Case::read("two", TWO_PASSES)?;
        let ids = |case: &Case| -> Vec<String> {
            let all = case.passes.iter().flat_map(|pass| &pass.sightings);
            all.map(|sighting| sighting.id.clone()).collect()
        };
        assert_eq!(ids(&case.first(0)), Vec::<String>::new());
        assert_eq!(ids(&case.first(1)), ["first.1"]);
        assert_eq!(case.first(2).passes.len(), 1);
        assert_eq!(ids(&case.first(3)), ["first.1", "first.2", "second.1"]);
        assert_eq!(case.first(9), case);
        assert_eq!(ids(&case.without("a", 1)), ["first.2"]);
        assert_eq!(case.without("a", 0), case);
        Ok(())
    }
}
