//! What was learned of the ground.

use wythe_measure::site::{
    GROUND_FALL, PAVING_FALL, SiteClass, SwellClass, expansion_index_class, ground_fall, ibc_expansive,
    least_fall_reading, lep_class, nearest_tree_reading, plasticity_class, site_class, soil_reading, tree_zone,
};
use wythe_measure::{Length, MeasureError, Reading};
use wythe_text::{Item, Problems};

use super::{at_item, one};
use crate::Readings;
use crate::sheets::Site;

/// The indexes of the soil, the least fall, the nearest tree; what published classes they lie in, as notes.
pub(in crate::read) fn site(blank: Readings, read: &Site, at: usize, item: &Item<'_>) -> Result<Readings, Problems> {
    let (readings, notes) = read.computed().map_err(|error| at_item(item, error.to_string()))?;
    let soil = read.indexes.iter().flatten().count();
    Ok(Readings {
        taken: (soil + read.falls.len() + read.trees.len(), "numbers"),
        computed: readings.into_iter().map(|reading| one(reading, &[at])).collect(),
        notes: read.notes.iter().cloned().chain(notes).collect(),
        ..blank
    })
}

impl Site {
    /// The numbers of the site, and what must be said with them: published classes that they lie in.
    ///
    /// # Errors
    /// A number that no site has.
    pub fn computed(&self) -> Result<(Vec<Reading>, Vec<String>), MeasureError> {
        let (mut found, mut notes) = (Vec::new(), Vec::new());
        let names = ["plasticity-index", "expansion-index", "linear-extensibility"];
        for (name, index) in names.into_iter().zip(self.indexes) {
            if let Some(index) = index {
                found.push(soil_reading(name, index)?);
            }
        }
        notes.extend(soil(self));
        if !self.falls.is_empty() {
            let falls: Vec<(Length, Length, String)> = self
                .falls
                .iter()
                .map(|one| (one.fall, one.run, one.name.clone()))
                .collect();
            // Paving may fall less, so the least is sought among the ground where there is any.
            let ground: Vec<_> = falls
                .iter()
                .zip(&self.falls)
                .filter(|(_, one)| !one.paved)
                .map(|(fall, _)| fall.clone())
                .collect();
            if !ground.is_empty() {
                found.push(least_fall_reading(&ground, self.fall_sd_mm)?);
            }
            for one in &self.falls {
                let fall = ground_fall(one.fall, one.run, self.fall_sd_mm)?;
                let (asked, of) = if one.paved {
                    (PAVING_FALL, "paving")
                } else {
                    (GROUND_FALL, "ground, 6 in in 10 ft")
                };
                let side = if fall.value.value() < 0.0 {
                    "toward the house"
                } else {
                    "away from the house"
                };
                notes.push(format!(
                    "{}: {:.1} % {side}, where new work asks for {:.0} % of {of} (IRC R401.3).",
                    one.name,
                    fall.value.percent().abs(),
                    asked.percent()
                ));
            }
        }
        if !self.trees.is_empty() {
            let trees: Vec<(Length, Length, String)> = self
                .trees
                .iter()
                .map(|one| (one.distance, one.height, one.name.clone()))
                .collect();
            found.push(nearest_tree_reading(&trees, self.tree_sd_mm)?);
            for one in &self.trees {
                let Some(species) = one.species else { continue };
                let zone = Length::mm(1000.0 * tree_zone(one.height.as_mm() / 1000.0, species.demand))?;
                let where_ = if one.distance <= zone { "within" } else { "beyond" };
                notes.push(format!(
                "{}: {} from the house, {where_} the zone of {} that a design guide of the United Kingdom gives this height and species ({}) on shrinking clay (NHBC 4.2). Elsewhere it is a rough guide.",
                one.name,
                one.distance.both(),
                zone.both(),
                species.name
            ));
            }
        }
        Ok((found, notes))
    }
}

fn soil(read: &Site) -> Vec<String> {
    let mut notes = Vec::new();
    let [plasticity, expansion, lep] = read.indexes;
    if let Some(index) = plasticity {
        let classes = plasticity_class(index.value, index.sd);
        let likeliest = classes.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a });
        notes.extend(likeliest.map(|(class, share)| {
            let sure = match share {
                share if share >= 0.95 => "",
                share if share >= 0.6 => ", probably",
                _ => ", as likely as not within its error",
            };
            let word = if class == SwellClass::Medium {
                "marginal"
            } else {
                swell(class)
            };
            format!(
                "Plasticity index {:.0}: {word} swelling{sure} (Snethen and others 1977: under 25 low, over 35 high).",
                index.value
            )
        }));
    }
    if let Some(class) = expansion.and_then(|index| expansion_index_class(index.value)) {
        notes.push(format!("Expansion index: {} (ASTM D4829).", swell(class)));
    }
    if let Some(class) = lep.and_then(|index| lep_class(index.value)) {
        let word = if class == SwellClass::Medium {
            "moderate"
        } else {
            swell(class)
        };
        notes.push(format!("Linear extensibility: {word} (NRCS)."));
    }
    if let Some(expansive) = ibc_expansive(&read.tests) {
        let word = if expansive { "count" } else { "do not count" };
        notes.push(format!(
            "These tests {word} as those of an expansive soil (IBC 1803.5.3; how they combine is from memory)."
        ));
    }
    if let Some(class) = read.surface_movement_mm.and_then(site_class) {
        let name = match class {
            SiteClass::A => "A",
            SiteClass::S => "S",
            SiteClass::M => "M",
            SiteClass::H1 => "H1",
            SiteClass::H2 => "H2",
            SiteClass::E => "E",
        };
        notes.push(format!("Surface movement: site class {name} (AS 2870, quoted)."));
    }
    notes
}

fn swell(class: SwellClass) -> &'static str {
    match class {
        SwellClass::VeryLow => "very low",
        SwellClass::Low => "low",
        SwellClass::Medium => "medium",
        SwellClass::High => "high",
        SwellClass::VeryHigh => "very high",
    }
}
